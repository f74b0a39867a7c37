//! The paper read back as XML: well formed, closed to the outside, and not to be broken by any text.

use super::Letterhead;
use crate::fault::Fault;
use crate::paper::tests::{ground, read, texts};
use crate::paper::{Size, quote};
use crate::render::scenario::cost::{done, quoted};
use crate::render::scenario::supply::eur;
use fettlebook_contract::v1::{Quote, QuoteLine};

const HEAD: Letterhead<'_> = Letterhead {
    from: "Gannet Yard Paintwork\n1 Harbour Row",
    to: "The owner of the silver saloon",
    car: "the silver saloon in the yard",
    number_plate: "GY 150",
};

fn html(quote: &Quote, head: Letterhead<'_>) -> Result<String, Fault> {
    quote::html(&ground(Size::A4), quote, head)
}

fn for_customer() -> Quote {
    Quote {
        cost: None,
        markup_permille: None,
        ..quoted()
    }
}

#[test]
fn the_paper_is_well_formed_and_says_all_that_a_customer_needs() {
    let paper = html(&for_customer(), HEAD).unwrap();
    let document = read(&paper);
    let told = texts(&document);
    for text in [
        "Materials",
        "Gannet Yard Paintwork\n1 Harbour Row",
        "The owner of the silver saloon",
        "the silver saloon in the yard",
        "GY 150",
        "two-step: cut, then finish",
        "Wed 25 Nov 2026",
        "Wed 9 Dec 2026",
        "coarse compound 1 L, 61.5 mL",
        "3.04 EUR",
        "15.29 EUR",
        "Tax, 21 %",
        "3.21 EUR",
        "18.50 EUR",
        "Prices of materials; labour is quoted apart.",
    ] {
        assert!(told.iter().any(|one| one == text), "{text}: {told:?}");
    }
}

#[test]
fn only_the_inside_copy_says_what_it_costs_and_says_whom_it_is_not_for() {
    let paper = html(&for_customer(), HEAD).unwrap();
    for secret in ["4.81", "markup", "Inside copy", "pad wear"] {
        assert!(!paper.contains(secret), "{secret}");
    }
    let inside = Quote {
        cost: Some(done()),
        ..quoted()
    };
    let paper = html(&inside, HEAD).unwrap();
    let document = read(&paper);
    let told = texts(&document);
    let at = |text: &str| told.iter().position(|one| one == text);
    let mark = at("Inside copy: not for the customer").unwrap();
    // All of it comes after the mark, on a sheet of its own.
    for text in [
        "4.81 EUR",
        "30 % markup on cost",
        "pad wear",
        "9.27 EUR",
        "coarse foam 150, wear of 4: P-03 tore, and what was left of it went with it.",
        "nitrile gloves, 2 pairs (no price known, counted as nothing)",
    ] {
        assert!(at(text).unwrap() > mark, "{text}");
    }
    assert!(paper.contains("<section class=\"fresh\">"));
}

#[test]
fn text_of_the_book_cannot_break_out_of_its_place() {
    let attack = "</td><script>alert(1)</script><img src=x onerror=alert(1)> {{ job }} \
                  {% raw %} \"'&amp; ]]> \u{1b}[31m\u{0}\u{202e}\u{fffe}";
    let mut sheet = done();
    sheet.lines[0].text = attack.to_owned();
    sheet.lines[0].difference = attack.to_owned();
    sheet.caveats = vec![attack.to_owned()];
    let quote = Quote {
        job: attack.to_owned(),
        car: attack.to_owned(),
        routine: attack.to_owned(),
        date: attack.to_owned(),
        valid_until_date: attack.to_owned(),
        lines: vec![QuoteLine {
            text: attack.to_owned(),
            net: eur(attack),
        }],
        cost: Some(sheet),
        ..quoted()
    };
    let head = Letterhead {
        from: attack,
        to: attack,
        car: attack,
        number_plate: attack,
    };
    let paper = html(&quote, head).unwrap();
    let document = read(&paper);
    let strange = |tag| document.descendants().any(|node| node.has_tag_name(tag));
    assert!(!strange("script") && !strange("img"), "{paper}");
    let shown = "</td><script>alert(1)</script><img src=x onerror=alert(1)> {{ job }} {% raw %} \
                 \"'&amp; ]]> [31m<U+202E>";
    let told = texts(&document);
    for whole in [shown.to_owned(), format!("What {shown} costs")] {
        assert!(told.contains(&whole), "{told:?}");
    }
}

#[test]
fn a_customer_reads_no_id_and_no_line_that_costs_nothing() {
    let mut quote = for_customer();
    quote.lines.push(QuoteLine {
        text: "nitrile gloves, 2 pairs".to_owned(),
        net: eur("0.00"),
    });
    quote.labour = eur("270.00");
    let paper = html(&quote, HEAD).unwrap();
    for hidden in [
        "silver-saloon",
        "nitrile gloves",
        ">0.00 EUR<",
        "quoted apart",
    ] {
        assert!(!paper.contains(hidden), "{hidden}");
    }
    assert!(texts(&read(&paper)).contains(&"Labour and materials".to_owned()));
}

#[test]
fn the_customer_signs_on_one_page_below_the_total_and_before_what_is_inside() {
    let inside = Quote {
        cost: Some(done()),
        ..quoted()
    };
    let paper = html(&inside, HEAD).unwrap();
    let document = read(&paper);
    let at = |text: &str| {
        let told = texts(&document);
        told.iter().position(|one| one == text).unwrap()
    };
    let signs = ["Place and date", "Signature of the customer"].map(at);
    assert!(signs[0] > at("18.50 EUR") && signs[1] < at("Inside copy: not for the customer"));
    let whole = document.descendants().find(|node| {
        let class = node.attribute("class").unwrap_or_default();
        class.split(' ').any(|word| word == "whole")
    });
    let room = |node: &roxmltree::Node<'_, '_>| node.attribute("class") == Some("room");
    assert_eq!(whole.unwrap().descendants().filter(room).count(), 2);
    let accepted = "Accepted as quoted above, which holds until Wed 9 Dec 2026:";
    assert!(texts(&document).contains(&accepted.to_owned()), "{paper}");
}

/// A customer's page that says how many there are would tell of the inside copy.
#[test]
fn the_pages_of_a_quote_are_not_counted() {
    let paper = html(&for_customer(), HEAD).unwrap();
    let counted = paper.rfind("content: counter(page)").unwrap();
    assert!(paper.rfind("content: none").unwrap() > counted);
}

#[test]
fn without_names_there_are_lines_to_write_them_on() {
    let lines = |head| {
        let paper = html(&for_customer(), head).unwrap();
        paper.matches("<div class=\"line\">").count()
    };
    assert_eq!(lines(HEAD), 0);
    assert_eq!(lines(Letterhead::default()), 2);
}

#[test]
fn sums_stand_as_they_were_sent_and_nothing_is_never_below_zero() {
    let odd = Quote {
        tax: eur("-0.00"),
        gross: eur("15.2905"),
        ..for_customer()
    };
    let paper = html(&odd, HEAD).unwrap();
    let told = texts(&read(&paper));
    assert!(told.contains(&"0.00 EUR".to_owned()), "{told:?}");
    assert!(told.contains(&"15.2905 EUR".to_owned()), "{told:?}");
}

#[test]
fn a_quote_without_anything_known_is_still_a_sheet() {
    let paper = html(&Quote::default(), Letterhead::default()).unwrap();
    read(&paper);
}
