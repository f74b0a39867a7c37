//! What a quote lets out, and how its rates are written.

use super::{put_out, rate, seen_by};
use crate::args::Cli;
use crate::render::scenario::cost::quoted;
use crate::render::scenario::{heard, screen};
use crate::render::{Form, Printer};
use clap::Parser as _;
use fettlebook_contract::v1::QuoteJobResponse;

fn put(form: Form, inside: bool) -> String {
    let answer = QuoteJobResponse {
        quote: Some(quoted()),
    };
    let answer = seen_by(answer, inside);
    let quote = answer.quote.as_ref().unwrap();
    heard(|out| {
        let mut printer = Printer::onto(out, form, screen(80));
        put_out(&answer, quote, &mut printer).unwrap();
    })
}

#[test]
fn a_rate_carries_its_sign() {
    assert_eq!(rate("30%"), Ok(300));
    assert_eq!(rate(" 12.5 % "), Ok(125));
    assert_eq!(rate("0%"), Ok(0));
    for text in ["30", "0.3", "", "%", "-5%", "12,5%", "12.55%", "30 percent"] {
        assert!(rate(text).unwrap_err().contains("30%"), "{text}");
    }
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
            "text,net.amount,net.currencyCode",
            "\"coarse compound 1 L, 61.5 mL\",3.04,EUR"
        ]
    );
}

#[test]
fn a_markup_or_a_margin_and_names_only_on_paper() {
    let parsed = |words: &[&str]| {
        let line = ["fettle", "quote", "saloon"].iter().chain(words);
        Cli::try_parse_from(line).is_ok()
    };
    assert!(parsed(&[
        "--markup", "30%", "--tax", "21%", "--valid", "14 days"
    ]));
    assert!(parsed(&[
        "--html", "q.html", "--from", "us", "--to", "them", "--force"
    ]));
    assert!(!parsed(&["--markup", "30%", "--margin", "25%"]));
    assert!(!parsed(&["--from", "us"]) && !parsed(&["--force"]));
}
