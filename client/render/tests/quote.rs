//! A quote and the costs behind it as they are seen on the terminal.

use crate::render::quote::Letterhead;
use crate::render::scenario::cost::{done, forecast, quoted, with_labour};
use crate::render::scenario::supply::eur;
use crate::render::scenario::{ascii, plain, plain_ascii, screen};
use crate::render::{cost, quote};
use fettlebook_contract::v1::{CostSheet, Quote, QuoteLine};
use textwrap::core::display_width;

/// What stands on the quotes of these tests beside the book.
pub(super) const HEAD: Letterhead<'_> = Letterhead {
    from: "Gannet Yard Paintwork",
    to: "The owner of the silver saloon",
    car: "the silver saloon in the yard",
    number_plate: "GY 150",
};

#[test]
fn the_sheet_of_the_customer_at_80_columns() {
    let text = plain(&quote::show(&screen(80), &quoted(), HEAD));
    insta::assert_snapshot!(text, @r"
    Quote: Materials

    For           The owner of the silver saloon
    Car           the silver saloon in the yard
    Number plate  GY 150
    Work          two-step: cut, then finish
    Date          Wed 25 Nov 2026
    Valid until   Wed 9 Dec 2026

    What                                     Net
    coarse compound 1 L, 61.5 mL        3.04 EUR
    fine polish 500 mL, 58 mL           4.07 EUR
    polishing pads and backing plates   6.79 EUR
    towels and sundries                 1.39 EUR

    Net                                15.29 EUR
    Tax, 21 %                           3.21 EUR
    Total                              18.50 EUR

    Prices of materials; labour is quoted apart.
    ");
}

#[test]
fn a_customer_reads_no_id_and_no_line_that_costs_nothing() {
    let mut quote = with_labour();
    quote.lines.push(QuoteLine {
        text: "nitrile gloves, 2 pairs".to_owned(),
        net: eur("0.00"),
    });
    let text = plain(&quote::show(&screen(80), &quote, HEAD));
    for hidden in ["silver-saloon", "nitrile gloves", " 0.00", "quoted apart"] {
        assert!(!text.contains(hidden), "{hidden}: {text}");
    }
    assert!(text.starts_with("Quote: Labour and materials"), "{text}");
}

#[test]
fn what_it_costs_inside_at_80_columns() {
    let sheet = forecast();
    insta::assert_snapshot!(plain(&cost::inside(&screen(80), &quoted(), &sheet)), @r"
    Inside: not for the customer
    Priced with 30 % markup on cost.

    What silver-saloon costs

    What                                 For               Low    Typical       High
    coarse compound 1 L, 61.5 mL         liquid       1.98 EUR   2.34 EUR   2.87 EUR
    fine polish 500 mL, 58 mL            liquid       2.70 EUR   3.13 EUR   3.69 EUR
    coarse foam 150, wear of 4           pad wear     3.42 EUR   4.81 EUR   7.96 EUR
    plate 125 M8, 5 h                    plate wear   0.41 EUR   0.41 EUR   0.41 EUR
    edgeless towel 400 g, 9 and their    towels       1.07 EUR   1.07 EUR   1.07 EUR
    wash
    nitrile gloves, 2 pairs (no price    sundries     0.00 EUR   0.00 EUR   0.00 EUR
    known, counted as nothing)

    All of it                                        10.14 EUR  11.76 EUR  15.02 EUR

    Nine jobs in ten cost more than the low figure, half more than the typical one,
      one in ten more than the high one.

    Machine time 5 h 17 min.

    To keep in mind
    - nitrile gloves have no price; put one on a price list or on the make.
    - Machine time is information and not priced.
    ");
}

#[test]
fn what_a_job_did_cost_at_80_columns_without_line_characters() {
    let text = plain_ascii(&cost::show(&ascii(80), &done()));
    assert!(text.is_ascii(), "{text}");
    insta::assert_snapshot!(text, @r"
    What silver-saloon costs

    What                      For               Low    Typical       High    It cost
    coarse compound 1 L,      liquid       1.98 EUR   2.34 EUR   2.87 EUR   2.51 EUR
    61.5 mL
    fine polish 500 mL,       liquid       2.70 EUR   3.13 EUR   3.69 EUR   3.13 EUR
    58 mL
    coarse foam 150, wear of  pad wear     3.42 EUR   4.81 EUR   7.96 EUR   9.27 EUR
    4
    plate 125 M8, 5 h         plate wear   0.41 EUR   0.41 EUR   0.41 EUR   0.42 EUR
    edgeless towel 400 g, 9   towels       1.07 EUR   1.07 EUR   1.07 EUR   1.07 EUR
    and their wash
    nitrile gloves, 2 pairs   sundries     0.00 EUR   0.00 EUR   0.00 EUR   0.00 EUR
    (no price known, counted
    as nothing)

    All of it                             10.14 EUR  11.76 EUR  15.02 EUR  16.40 EUR

    Nine jobs in ten cost more than the low figure, half more than the typical one,
      one in ten more than the high one.

    Machine time 5 h 17 min.

    Why it differs
    - coarse compound 1 L, 61.5 mL: 66 mL used where 61.5 mL were expected.
    - coarse foam 150, wear of 4: P-03 tore, and what was left of it went with it.

    To keep in mind
    - nitrile gloves have no price; put one on a price list or on the make.
    - Machine time is information and not priced.
    ");
}

#[test]
fn what_a_job_did_cost_at_120_columns() {
    insta::assert_snapshot!(plain(&cost::show(&screen(120), &done())), @r"
    What silver-saloon costs

    What                                                          For               Low    Typical       High    It cost
    coarse compound 1 L, 61.5 mL                                  liquid       1.98 EUR   2.34 EUR   2.87 EUR   2.51 EUR
    fine polish 500 mL, 58 mL                                     liquid       2.70 EUR   3.13 EUR   3.69 EUR   3.13 EUR
    coarse foam 150, wear of 4                                    pad wear     3.42 EUR   4.81 EUR   7.96 EUR   9.27 EUR
    plate 125 M8, 5 h                                             plate wear   0.41 EUR   0.41 EUR   0.41 EUR   0.42 EUR
    edgeless towel 400 g, 9 and their wash                        towels       1.07 EUR   1.07 EUR   1.07 EUR   1.07 EUR
    nitrile gloves, 2 pairs (no price known, counted as nothing)  sundries     0.00 EUR   0.00 EUR   0.00 EUR   0.00 EUR

    All of it                                                                 10.14 EUR  11.76 EUR  15.02 EUR  16.40 EUR

    Nine jobs in ten cost more than the low figure, half more than the typical one, one in ten more than the high one.

    Machine time 5 h 17 min.

    Why it differs
    - coarse compound 1 L, 61.5 mL: 66 mL used where 61.5 mL were expected.
    - coarse foam 150, wear of 4: P-03 tore, and what was left of it went with it.

    To keep in mind
    - nitrile gloves have no price; put one on a price list or on the make.
    - Machine time is information and not priced.
    ");
}

#[test]
fn sums_stand_as_they_were_sent_and_nothing_is_never_below_zero() {
    let odd = Quote {
        tax: eur("-0.00"),
        gross: eur("15.2905"),
        ..quoted()
    };
    let text = plain(&quote::show(&screen(80), &odd, HEAD));
    assert!(text.contains(" 0.00 EUR"), "{text}");
    assert!(text.contains("15.2905 EUR"), "{text}");
    assert!(!text.contains("-0.00"), "{text}");
}

#[test]
fn no_line_runs_over_its_page() {
    for width in [80, 120] {
        let page = screen(width);
        for text in [
            quote::show(&page, &quoted(), HEAD),
            quote::show(&page, &Quote::default(), Letterhead::default()),
            cost::inside(&page, &quoted(), &done()),
            cost::show(&page, &CostSheet::default()),
        ] {
            for line in plain(&text).lines() {
                assert!(display_width(line) <= width, "{width}: {line}");
                assert!(!line.contains("safe"), "{line}");
            }
        }
    }
}
