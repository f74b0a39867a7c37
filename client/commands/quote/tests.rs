//! What a quote lets out, and how its rates are written.

use super::{put_out, rate, seen_by, tax_rate, tax_sent, unpriced};
use crate::args::Cli;
use crate::render::quote::Letterhead;
use crate::render::scenario::cost::quoted;
use crate::render::scenario::{heard, screen};
use crate::render::{Form, Printer};
use clap::Parser as _;
use fettlebook_contract::v1::{CostSheet, QuoteJobResponse};

fn put(form: Form, inside: bool) -> String {
    let answer = QuoteJobResponse {
        quote: Some(quoted()),
    };
    let answer = seen_by(answer, inside);
    let quote = answer.quote.as_ref().unwrap();
    heard(|out| {
        let mut printer = Printer::onto(out, form, screen(80));
        put_out(&answer, quote, Letterhead::default(), &mut printer).unwrap();
    })
}

#[test]
fn a_rate_carries_its_sign() {
    assert_eq!(rate("30%"), Ok(300));
    assert_eq!(rate(" 12.5 % "), Ok(125));
    assert_eq!(rate("0%"), Ok(0));
    assert_eq!(rate("12,5%"), Ok(125));
    for text in [
        "30",
        "0.3",
        "",
        "%",
        "-5%",
        "12,555%",
        "12.55%",
        "30 percent",
    ] {
        assert!(rate(text).unwrap_err().contains("30%"), "{text}");
    }
}

/// Source of such rates: common practice, no source; 8.875 % and 7.25 % are sales taxes somewhere.
#[test]
fn a_tax_rate_has_up_to_three_decimals() {
    assert_eq!(tax_rate("8.875%"), Ok(8_875));
    assert_eq!(tax_rate("7.25 %"), Ok(7_250));
    assert_eq!(tax_rate("21%"), Ok(21_000));
    for text in ["8.8755%", "8.875", "-1%", "8,875%"] {
        assert!(tax_rate(text).unwrap_err().contains("8.875%"), "{text}");
    }
    assert_eq!(tax_sent(Some(21_000)), (Some(210), None));
    assert_eq!(tax_sent(Some(8_875)), (None, Some(8_875)));
    assert_eq!(tax_sent(None), (None, None));
}

#[test]
fn what_it_costs_inside_is_let_out_in_no_form_unless_it_was_asked_for() {
    for form in [Form::People, Form::Json, Form::Csv] {
        let text = put(form, false);
        for secret in ["4.81", "markup on cost", "300", "pad wear", "COST_KIND"] {
            assert!(!text.contains(secret), "{secret}: {text}");
        }
        assert!(put(form, true).contains("4.81"));
    }
}

#[test]
fn rows_are_the_lines_of_the_quote() {
    assert_eq!(
        put(Form::Csv, false).lines().take(2).collect::<Vec<_>>(),
        [
            "text,net.amount,net.currency_code",
            "\"coarse compound 1 L, 61.5 mL\",3.04,EUR"
        ]
    );
}

#[test]
fn who_quotes_is_told_what_is_not_in_the_price() {
    let mut quote = quoted();
    let cost = quote.cost.as_mut().unwrap();
    cost.lines[5].make = "nitrile-gloves-50".to_owned();
    let answer = |quote| QuoteJobResponse { quote: Some(quote) };
    let told = unpriced(&answer(quote.clone())).unwrap();
    assert!(told.ends_with("known: nitrile-gloves-50."), "{told}");
    quote.cost = Some(CostSheet::default());
    assert_eq!(unpriced(&answer(quote)), None);
}

#[test]
fn a_markup_or_a_margin_and_the_shops_name_only_on_paper() {
    let parsed = |words: &[&str]| {
        let line = ["fettle", "quote", "saloon"].iter().chain(words);
        Cli::try_parse_from(line).is_ok()
    };
    assert!(parsed(&[
        "--markup", "30%", "--tax", "21%", "--valid", "14 days"
    ]));
    assert!(parsed(&[
        "--paper", "q.html", "--size", "a5", "--from", "us", "--to", "them", "--force"
    ]));
    assert!(parsed(&[
        "--customer",
        "them",
        "--labour",
        "6 h at 45",
        "--one-line"
    ]));
    assert!(!parsed(&["--markup", "30%", "--margin", "25%"]));
    assert!(!parsed(&["--from", "us"]) && !parsed(&["--force"]));
}
