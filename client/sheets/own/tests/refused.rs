//! Sheets with something wrong: all of it at once, by row and cell, each with what to write instead.

use super::is_wrong;

#[test]
fn everything_wrong_is_named_at_once() {
    is_wrong(
        "several rows and cells",
        "what;how many;size;price;how full\n\
         coarse pad;five;150 mm;18,90;\n\
         blue pad;4;150 mm;cheap;\n\
         fine polish;1;500 ml;27,00;some\n\
         fine pad;6;;17,90;\n\
         coarse pad;2;150 mm;;used\n\
         tin of biscuits;1;;;\n",
        &[
            (2, "how many (B2)", "five"),
            (3, "what (A3)", "coarse, medium or fine"),
            (3, "price (D3)", "cheap"),
            (4, "how full (E4)", "some"),
            (5, "size (C5)", "how wide"),
            (6, "how full (E6)", "used"),
            (7, "what (A7)", "not clear what this is"),
        ],
    );
}

/// What a row counts is looked at although nobody knows of what.
#[test]
fn a_count_is_named_beside_a_thing_that_is_not_clear() {
    is_wrong(
        "both",
        "what,how many,size\nfine pad,many,\n",
        &[(2, "size (C2)", "how wide"), (2, "how many (B2)", "many")],
    );
}

#[test]
fn what_could_mean_two_things_is_asked_about() {
    is_wrong(
        "a bare figure",
        "what,size,how full\nfine polish,500 ml,350\n",
        &[(2, "how full (C2)", "350")],
    );
    is_wrong(
        "a sum with three digits",
        "what;size;price\nfine pad;80 mm;1.234\n",
        &[(2, "price (C2)", "1.234")],
    );
    is_wrong(
        "a day that is none",
        "what,size,use by\nfine polish,500 ml,soon\n",
        &[(2, "use by (C2)", "soon")],
    );
    is_wrong(
        "two figures of a month",
        "what,size,use by\nfine polish,500 ml,03/04/2027\n",
        &[(2, "use by (C2)", "03/04/2027")],
    );
    is_wrong(
        "a pack without a number",
        "what,size,price,pack\nfine pad,80 mm,15.50,twin\n",
        &[(2, "pack (D2)", "twin")],
    );
}

#[test]
fn a_row_that_names_nothing_is_named() {
    is_wrong(
        "figures and a word",
        "what,how many,where\n,5,bench\n",
        &[(2, "what (A2)", "what the thing is")],
    );
}

#[test]
fn a_sheet_without_things_says_what_to_write() {
    is_wrong("nothing", "", &[(1, "", "which column")]);
    is_wrong(
        "numbers alone",
        "1,2,3\n4,5,6\n",
        &[(1, "", "which column")],
    );
    is_wrong(
        "headings alone",
        "what,how many,size\n",
        &[(1, "", "no thing below")],
    );
}
