//! A quote for a job's materials as the customer reads it, on the terminal.
//!
//! It serves `quote`. What it costs inside never stands here.

use fettlebook_contract::v1::Quote;

use crate::render::amount::{money_or, tax_rate};
use crate::render::screen::{Screen, day};
use crate::render::table::{Column, sheet, table};
use crate::render::tint;

/// What is not in the prices.
const APART: &str = "Prices of materials; labour is quoted apart.";

/// The sheet of the customer.
pub(crate) fn show(screen: &Screen, quote: &Quote) -> String {
    let title = format!("Materials for {}", quote.job);
    let title = screen.hung("", "  ", &tint::strong(&title));
    let until = day(&quote.valid_until_date);
    let head = sheet(
        screen,
        [
            ("Car", quote.car.clone()),
            ("Work", quote.routine.clone()),
            ("Date", day(&quote.date)),
            ("Valid until", until),
        ],
    );
    let lines = quote.lines.iter().map(|line| {
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
    let headings = [("Material", Column::Text), ("Net", Column::Right)];
    let prices = table(screen, &headings, lines.chain(sums));
    let parts = [title, head, prices, screen.hung("", "", APART)];
    parts.join("\n\n")
}
