//! A quote to print and hand over.
//!
//! What it costs inside stands on a sheet of its own that says whom it is not for, and only in the inside copy.

use fettlebook_contract::v1::Quote;
use minijinja::{Value, context};

use super::{Ground, cost};
use crate::fault::Fault;
use crate::render::amount::{money_or, tax_rate};
use crate::render::cost::pricing;
use crate::render::quote::{self, Letterhead};
use crate::render::screen::day;
use crate::render::tint::clean;

const TEMPLATE: (&str, &str) = ("quote.html", include_str!("quote.html"));

/// The quote; with a cost sheet in it, the inside copy.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn html(
    ground: &Ground<'_>,
    quote: &Quote,
    head: Letterhead<'_>,
) -> Result<String, Fault> {
    let net = clean(&money_or(quote.net.as_ref(), ""));
    let lines = quote::priced(quote).map(|line| {
        context! { text => clean(&line.text), net => clean(&money_or(line.net.as_ref(), "")) }
    });
    let before = [
        ("Priced with", pricing(quote)),
        ("Quoted, net", net.clone()),
    ];
    let costs = quote.cost.as_ref().map(|sheet| cost::told(sheet, &before));
    let told = context! {
        job => clean(&quote.job),
        kind => quote::title(quote),
        apart => quote::apart(quote),
        car => clean(head.car),
        number_plate => clean(head.number_plate),
        routine => clean(&quote.routine),
        date => clean(&day(&quote.date)),
        valid_until => clean(&day(&quote.valid_until_date)),
        shop => lines_of(head.from),
        customer => lines_of(head.to),
        lines => lines.collect::<Value>(),
        net,
        tax_rate => tax_rate(quote),
        tax => clean(&money_or(quote.tax.as_ref(), "")),
        gross => clean(&money_or(quote.gross.as_ref(), "")),
        costs,
    };
    ground.sheet(TEMPLATE, &format!("Quote: {}", quote::title(quote)), told)
}

/// Text that keeps its lines.
fn lines_of(text: &str) -> String {
    let lines: Vec<_> = text.trim().lines().map(clean).collect();
    lines.join("\n")
}

#[cfg(test)]
mod tests;
