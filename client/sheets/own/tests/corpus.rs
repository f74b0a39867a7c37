//! Sheets that are understood.

use super::comes_to;

#[test]
fn plain_sheets_of_each_mark() {
    comes_to(
        "commas",
        "what,how many,size\ncoarse foam pad,5,150 mm\n",
        &["2 coarse foam pad 150 mm|coarse thin-foam 150|5"],
    );
    comes_to(
        "semicolons with decimal commas",
        "what;how many;size;price\nfine foam pad;6;150 mm;17,90\n",
        &["2 fine foam pad 150 mm|fine thin-foam 150|6|17.90 EUR"],
    );
    comes_to(
        "tabs",
        "item\tqty\tsize\nwool pad\t2\t80 mm\n",
        &["2 wool pad 80 mm|coarse wool 80|2"],
    );
    comes_to(
        "bars",
        "item|qty|size\nbacking plate M8|1|125 mm\n",
        &["2 backing plate M8 125 mm|plate 125 M8|1"],
    );
    comes_to(
        "the mark is said",
        "sep=;\nwhat;how many\nnitrile gloves, box of 50 pairs;2\n",
        &["3 nitrile gloves, box of 50 pairs|pair 50|2"],
    );
    comes_to(
        "the mark is said, and another would fit as well",
        "sep=,\nwhat,how many,note; more\ncoarse pad 150 mm,5,soft; blue\n",
        &["3 coarse pad 150 mm|coarse thin-foam 150|5"],
    );
    comes_to(
        "all quoted",
        "\"what\",\"how many\",\"price\"\n\"panel wipe 1 l\",\"1\",\"14,00\"\n",
        &["2 panel wipe 1 l|microlitre 1000000|1|14.00 EUR"],
    );
}

#[test]
fn sheets_in_each_encoding() {
    let text = "Artikel;Anzahl;Größe;Preis\nSchwamm fein;4;80 mm;15,50 €\n";
    let rows = ["2 Schwamm fein 80 mm|fine thin-foam 80|4|15.50 EUR"];
    comes_to("utf-8", text, &rows);
    comes_to("utf-8 with its mark", format!("\u{feff}{text}"), &rows);
    let latin: Vec<u8> = text
        .chars()
        .map(|letter| match letter {
            '€' => 0x80,
            letter => u8::try_from(u32::from(letter)).unwrap(),
        })
        .collect();
    comes_to("an old spreadsheet's", latin, &rows);
    let words: Vec<u8> = [0xfeff]
        .into_iter()
        .chain(text.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    comes_to("unicode text", words, &rows);
    comes_to(
        "line ends of another system",
        text.replace('\n', "\r\n"),
        &rows,
    );
    comes_to("line ends of an old one", text.replace('\n', "\r"), &rows);
}

#[test]
fn headings_in_other_words_and_orders() {
    comes_to(
        "another order",
        "Price,Qty,Item,Diameter\n18.90,5,Cutting pad,150mm\n",
        &["2 Cutting pad 150mm|coarse thin-foam 150|5|18.90 EUR"],
    );
    comes_to(
        "units in the headings",
        "Item,Qty,Size (mm),Price (EUR)\nfinishing pad,6,150,17.90\n",
        &["2 finishing pad 150 mm|fine thin-foam 150|6|17.90 EUR"],
    );
    comes_to(
        "another currency in the heading",
        "Item,Qty,Size mm,Price GBP\nfinishing pad,6,150,17.90\n",
        &["2 finishing pad 150 mm|fine thin-foam 150|6|17.90 GBP"],
    );
    comes_to(
        "millilitres in the heading",
        "product;bottle size;left [ml]\nfine polish;500 ml;350\n",
        &["2 fine polish 500 ml|fine liquid 500|1@350000ul"],
    );
    comes_to(
        "grams in the heading",
        "product,bottle size,weight (g)\nfine polish,500 ml,431\n",
        &["2 fine polish 500 ml|fine liquid 500|1@431000mg"],
    );
    comes_to(
        "capitals and signs",
        "ITEM NAME:,NO.,SIZE\nMEDIUM FOAM PAD,4,80MM\n",
        &["2 MEDIUM FOAM PAD 80MM|medium thin-foam 80|4"],
    );
    comes_to(
        "Dutch",
        "omschrijving;aantal;maat;plaats\npad grof;3;150 mm;bus 1\n",
        &["2 pad grof 150 mm|coarse thin-foam 150|3 bus-1"],
    );
    comes_to(
        "a sort in a column of its own",
        "name,type,grade,size,qty\norange,pad,coarse,150 mm,5\n",
        &["2 orange 150 mm|coarse thin-foam 150|5"],
    );
}

#[test]
fn what_stands_around_the_list_is_passed() {
    comes_to(
        "a title, a date and a blank row above",
        "Gannet Yard kit list,,\nas of 3 October,,\n,,\nwhat,how many,size\ncoarse pad,5,150 mm\n",
        &["5 coarse pad 150 mm|coarse thin-foam 150|5"],
    );
    comes_to(
        "headings that span columns",
        "Thing,,Stock,,Price\nname,size,how many,how full,(EUR)\nfine polish,500 ml,1,half,27.00\n",
        &["3 fine polish 500 ml|fine liquid 500|1@500‰|27.00 EUR"],
    );
    comes_to(
        "a row of sums",
        "what;how many;size;price\ncoarse pad;5;150 mm;18,90\nTotal;5;;94,50\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|5|18.90 EUR"],
    );
    comes_to(
        "sums without a word",
        "what;how many;size;price\ncoarse pad;5;150 mm;18,90\n;5;;94,50\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|5|18.90 EUR"],
    );
    comes_to(
        "blank rows and rows of marks",
        "what,how many,size\n\ncoarse pad,5,150 mm\n,,\nfine pad,6,150 mm\n\n\n",
        &[
            "3 coarse pad 150 mm|coarse thin-foam 150|5",
            "5 fine pad 150 mm|fine thin-foam 150|6",
        ],
    );
    comes_to(
        "parts with headings of their own",
        "what,how many,size\nPADS,,\norange coarse,5,150 mm\nCompounds:,,\nheavy cut,1,1 l\n",
        &[
            "3 orange coarse 150 mm|coarse thin-foam 150|5",
            "5 heavy cut 1 l|coarse liquid 1000|1",
        ],
    );
    comes_to(
        "headings repeated on each page",
        "what,how many,size\ncoarse pad,5,150 mm\nwhat,how many,size\nfine pad,6,150 mm\n",
        &[
            "2 coarse pad 150 mm|coarse thin-foam 150|5",
            "4 fine pad 150 mm|fine thin-foam 150|6",
        ],
    );
    comes_to(
        "tags, totals and links of one's own",
        "tag,what,how many,size,total price,link\nP1,coarse pad,5,150 mm,94.50,see mail\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|5"],
    );
    comes_to(
        "cells guarded from being formulas",
        "what,how many,size\n'coarse pad,'5,'150 mm\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|5"],
    );
}

#[test]
fn counts_as_people_write_them() {
    comes_to(
        "2x before the thing",
        "what,size\n2x coarse pad,150 mm\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|2"],
    );
    comes_to(
        "a number before the thing",
        "what\n5 coarse foam pads 150 mm\n",
        &["2 coarse foam pads 150 mm|coarse thin-foam 150|5"],
    );
    comes_to(
        "x4 behind it",
        "what,size\nfine pad (x4),80 mm\n",
        &["2 fine pad 80 mm|fine thin-foam 80|4"],
    );
    comes_to(
        "pieces",
        "what,size,qty\nfine pad,80 mm,4 pcs\nwool pad,80 mm,x2\ncoarse pad,80 mm,3x\n",
        &[
            "2 fine pad 80 mm|fine thin-foam 80|4",
            "3 wool pad 80 mm|coarse wool 80|2",
            "4 coarse pad 80 mm|coarse thin-foam 80|3",
        ],
    );
    comes_to(
        "numbers with decimals",
        "what;size;qty\nfine pad;80 mm;4,00\n",
        &["2 fine pad 80 mm|fine thin-foam 80|4"],
    );
    comes_to(
        "none of one",
        "what,size,qty\nfine pad,80 mm,0\ncoarse pad,80 mm,2\n",
        &["3 coarse pad 80 mm|coarse thin-foam 80|2"],
    );
    comes_to(
        "no count is one",
        "what\npad brush\npaint thickness gauge\n",
        &[
            "2 pad brush|pad-brush|1",
            "3 paint thickness gauge|film-gauge|1",
        ],
    );
    comes_to(
        "no headings at all",
        "coarse pad;5;150 mm;18,90\nfine pad;6;150 mm;17,90\n",
        &[
            "1 coarse pad 150 mm|coarse thin-foam 150|5|18.90 EUR",
            "2 fine pad 150 mm|fine thin-foam 150|6|17.90 EUR",
        ],
    );
}

#[test]
fn pads_with_work_behind_them() {
    comes_to(
        "jobs in a column",
        "what,size,qty,jobs done\ncoarse pad,150 mm,2,8\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|2@8j"],
    );
    comes_to(
        "jobs in the count",
        "what,size,qty\ncoarse pad,150 mm,\"5, 2 of them 8 jobs\"\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|3+2@8j"],
    );
    comes_to(
        "how they stand",
        "what;size;qty;condition\ncoarse pad;150 mm;3;new\ncoarse pad;150 mm;2;used, 8 jobs\n",
        &[
            "2 coarse pad 150 mm|coarse thin-foam 150|3",
            "3 coarse pad 150 mm|coarse thin-foam 150|2@8j",
        ],
    );
    comes_to(
        "washes",
        "what,size,qty,jobs,washes\nfine pad,150 mm,1,4,3\n",
        &["2 fine pad 150 mm|fine thin-foam 150|1@4j@3w"],
    );
}

#[test]
fn bottles_by_how_full_they_are() {
    let sheet = "what;size;how full\n\
                 cutting compound;1 l;3/4\n\
                 medium polish;500 ml;full\n\
                 fine polish;500 ml;431 g\n\
                 finishing polish;250ml;1/2 bottle\n\
                 fine polish;500 ml;75%\n\
                 heavy compound;1 L;0,4 l\n";
    comes_to(
        "each way",
        sheet,
        &[
            "2 cutting compound 1 l|coarse liquid 1000|1@750‰",
            "3 medium polish 500 ml|medium liquid 500|1",
            "4 fine polish 500 ml|fine liquid 500|1@431000mg",
            "5 finishing polish 250ml|fine liquid 250|1@500‰",
            "6 fine polish 500 ml|fine liquid 500|1@750‰",
            "7 heavy compound 1 L|coarse liquid 1000|1@400000ul",
        ],
    );
    comes_to(
        "two of them",
        "what;size;qty;how full\nfine polish;500 ml;2;full, half\n",
        &["2 fine polish 500 ml|fine liquid 500|1+1@500‰"],
    );
    comes_to(
        "one and a half",
        "what;size;qty\nfine polish;500 ml;1,5\nmedium polish;500 ml;½\n",
        &[
            "2 fine polish 500 ml|fine liquid 500|1+1@500‰",
            "3 medium polish 500 ml|medium liquid 500|1@500‰",
        ],
    );
    comes_to(
        "ounces",
        "what,size,qty\ncompound,32 oz,1\n",
        &["2 compound 32 oz|coarse liquid 946|1"],
    );
    comes_to(
        "lot and date",
        "what,size,qty,lot,use by\nfine polish,500 ml,1,GY-140,03/2027\n",
        &["2 fine polish 500 ml|fine liquid 500|1"],
    );
}

#[test]
fn towels_and_what_is_counted_or_measured() {
    comes_to(
        "each",
        "what;how many;left\n\
         edgeless towels 400 gsm;24;\n\
         microfibre cloths 350 gsm;2x12;\n\
         drying towels 600 gsm;x3;\n\
         nitrile gloves 100 pcs;1;30 pairs\n\
         masking tape 50 m;2;\n\
         panel wipe 1 l;1;half\n",
        &[
            "2 edgeless towels 400 gsm|towel 400|1@24t",
            "3 microfibre cloths 350 gsm|towel 350|1@12t+1@12t",
            "4 drying towels 600 gsm|towel 600|1@3t",
            "5 nitrile gloves 100 pcs|pair 50|1@30q",
            "6 masking tape 50 m|millimetre 50000|2",
            "7 panel wipe 1 l|microlitre 1000000|1@500000q",
        ],
    );
}

#[test]
fn machines_and_their_plates() {
    comes_to(
        "with figures in their names",
        "machine / tool,qty\n\"150 mm orbital, 15 mm throw\",1\nsmall polisher 75 mm,1\nrotary polisher M14,1\n\
         backing plate 125 mm M8 12000 rpm,2\n",
        &[
            "2 150 mm orbital, 15 mm throw|orbital 15|1",
            "3 small polisher 75 mm|orbital 12|1",
            "4 rotary polisher M14|rotary 0|1",
            "5 backing plate 125 mm M8 12000 rpm|plate 125 M8|2",
        ],
    );
}

#[test]
fn prices_and_packs() {
    comes_to(
        "a pack in words",
        "what,size,qty,price\ncoarse pad,150 mm,5,18.90 for 2\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|5|18.90 EUR/2"],
    );
    comes_to(
        "a pack in a column",
        "what;size;qty;price;pack\ncoarse pad;150 mm;5;€ 18,90;pack of 2\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|5|18.90 EUR/2"],
    );
    comes_to(
        "thousands",
        "what;size;qty;price\nrotary polisher;150 mm;1;1.249,00\n",
        &["2 rotary polisher 150 mm|rotary 0|1|1249.00 EUR"],
    );
    comes_to(
        "no price",
        "what,size,qty,price\ncoarse pad,150 mm,5,-\n",
        &["2 coarse pad 150 mm|coarse thin-foam 150|5"],
    );
}

#[test]
fn makes_that_the_book_has_are_known_again() {
    comes_to(
        "by id, by name, with the size apart",
        "what,size,qty\ncoarse-foam-150,,1\nCoarse Foam 150,,2\ncoarse foam,150,3\ncoarse foam,150 mm,4\n",
        &[
            "2 coarse foam 150|known|1",
            "3 coarse foam 150|known|2",
            "4 coarse foam 150|known|3",
            "5 coarse foam 150|known|4",
        ],
    );
}

#[test]
fn from_whom_where_and_notes_are_kept() {
    let sheet =
        "what,size,qty,from,where,note\nfine pad,150 mm,6,Tern Quay Supplies,Van A,soft ones\n";
    comes_to(
        "all three",
        sheet,
        &["2 fine pad 150 mm|fine thin-foam 150|6 van-a"],
    );
    let read = super::read("kit.csv", sheet.as_bytes(), &super::beside());
    let make = read.rows[0].make.clone().unwrap();
    assert_eq!(make.note, "soft ones; from Tern Quay Supplies");
}

/// What a wipe can do to people is said until its data sheet says otherwise.
#[test]
fn a_wipe_has_the_codes_of_one_until_its_data_sheet_is_read() {
    let read = super::read("kit.csv", b"what,size\npanel wipe,1 l\n", &super::beside());
    let make = read.rows[0].make.clone().unwrap();
    assert_eq!(make.ghs_codes, ["H225", "H319", "H336"]);
}
