//! A quote as the customer reads it, on the terminal: no ids, no line that costs nothing.
//!
//! What it costs inside never stands here.

use fettlebook_contract::v1::{Quote, QuoteLine};

use crate::render::amount::{money_or, tax_rate};
use crate::render::screen::{Screen, day};
use crate::render::table::{Column, sheet, table};
use crate::render::tint;

/// What is not in the prices.
const APART: &str = "Prices of materials; labour is quoted apart.";

/// What stands on a quote that is not in the book.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Letterhead<'a> {
    /// Who quotes; on paper, where empty, a line to write on.
    pub(crate) from: &'a str,
    /// For whom; on paper, where empty, a line to write on.
    pub(crate) to: &'a str,
    /// The car, in words that the customer knows.
    pub(crate) car: &'a str,
    /// Its number plate; empty where it was not given.
    pub(crate) number_plate: &'a str,
}

/// What it is a quote for.
pub(crate) const fn title(quote: &Quote) -> &'static str {
    if quote.labour.is_some() {
        "Labour and materials"
    } else {
        "Materials"
    }
}

/// What is not in it; empty where nothing is left out.
pub(crate) const fn apart(quote: &Quote) -> &'static str {
    if quote.labour.is_some() { "" } else { APART }
}

/// Its lines that cost something.
pub(crate) fn priced(quote: &Quote) -> impl Iterator<Item = &QuoteLine> {
    quote.lines.iter().filter(|line| {
        let amount = line.net.as_ref().map_or("", |net| net.amount.as_str());
        amount.bytes().any(|byte| matches!(byte, b'1'..=b'9'))
    })
}

/// The sheet of the customer.
pub(crate) fn show(screen: &Screen, quote: &Quote, head: Letterhead<'_>) -> String {
    let name = screen.hung("", "  ", &tint::strong(&format!("Quote: {}", title(quote))));
    let until = day(&quote.valid_until_date);
    let facts = sheet(
        screen,
        [
            ("For", head.to.to_owned()),
            ("Car", head.car.to_owned()),
            ("Number plate", head.number_plate.to_owned()),
            ("Work", quote.routine.clone()),
            ("Date", day(&quote.date)),
            ("Valid until", until),
        ],
    );
    let lines = priced(quote).map(|line| {
        let net = money_or(line.net.as_ref(), "");
        vec![line.text.clone(), net]
    });
    let sums = [
        vec![String::new(), String::new()],
        vec!["Net".to_owned(), money_or(quote.net.as_ref(), "")],
        vec![
            format!("Tax, {}", tax_rate(quote)),
            money_or(quote.tax.as_ref(), ""),
        ],
        vec![
            tint::strong("Total"),
            tint::strong(&money_or(quote.gross.as_ref(), "")),
        ],
    ];
    let headings = [("What", Column::Text), ("Net", Column::Right)];
    let prices = table(screen, &headings, lines.chain(sums));
    let mut parts = vec![name, facts, prices, screen.hung("", "", apart(quote))];
    parts.retain(|part| !part.is_empty());
    parts.join("\n\n")
}
