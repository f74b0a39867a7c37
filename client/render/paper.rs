//! A quote as one file to print on sheets of A4 and hand over.
//!
//! It serves `quote --html`. Every text is escaped by the template engine, nothing is fetched from
//! anywhere and no script runs. What it costs inside stands on a sheet of its own that says whom it is
//! not for, and only in the inside copy.

use fettlebook_contract::v1::{CostSheet, Quote};
use minijinja::{Environment, UndefinedBehavior, Value, context};

use crate::fault::Fault;
use crate::render::amount::{money_or, tax_rate};
use crate::render::cost;
use crate::render::quote::{self, Letterhead};
use crate::render::screen::day;
use crate::render::tint::clean;

/// The sheet; its name ends in `html`, by which the engine knows how to escape.
const NAME: &str = "quote.html";
const TEMPLATE: &str = include_str!("quote.html");

/// The quote as HTML; with a cost sheet in it, the inside copy.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn html(quote: &Quote, head: Letterhead<'_>) -> Result<String, Fault> {
    let mut paper = Environment::new();
    paper.set_undefined_behavior(UndefinedBehavior::SemiStrict);
    let inside = quote.cost.as_ref().map(|sheet| inside(quote, sheet));
    let lines = quote::priced(quote).map(|line| {
        context! { text => clean(&line.text), net => clean(&money_or(line.net.as_ref(), "")) }
    });
    let until = &quote.valid_until_date;
    let told = context! {
        job => clean(&quote.job),
        title => quote::title(quote),
        apart => quote::apart(quote),
        car => clean(head.car),
        number_plate => clean(head.number_plate),
        routine => clean(&quote.routine),
        date => clean(&day(&quote.date)),
        valid_until => clean(&day(until)),
        shop => lines_of(head.from),
        customer => lines_of(head.to),
        lines => lines.collect::<Value>(),
        net => clean(&money_or(quote.net.as_ref(), "")),
        tax_rate => tax_rate(quote),
        tax => clean(&money_or(quote.tax.as_ref(), "")),
        gross => clean(&money_or(quote.gross.as_ref(), "")),
        inside => inside,
    };
    paper
        .render_named_str(NAME, TEMPLATE, told)
        .map_err(|_| Fault::answer("a quote that can be laid out"))
}

/// Text that keeps its lines.
fn lines_of(text: &str) -> String {
    let lines: Vec<_> = text.trim().lines().map(clean).collect();
    lines.join("\n")
}

/// What stands on the second sheet.
fn inside(quote: &Quote, sheet: &CostSheet) -> Value {
    let sum = |sum| clean(&money_or(sum, ""));
    let lines = sheet.lines.iter().map(|line| {
        context! {
            text => clean(&cost::what(line)),
            kind => cost::kind(line.kind()),
            low => sum(line.low.as_ref()),
            typical => sum(line.typical.as_ref()),
            high => sum(line.high.as_ref()),
            actual => sum(line.actual.as_ref()),
        }
    });
    let said = |sentences: &[String]| -> Value { sentences.iter().map(|one| clean(one)).collect() };
    context! {
        pricing => cost::pricing(quote),
        machine_time => cost::machine_time(sheet),
        hand_time => cost::hand_time(sheet),
        done => cost::is_done(sheet),
        lines => lines.collect::<Value>(),
        low => sum(sheet.low.as_ref()),
        typical => sum(sheet.typical.as_ref()),
        high => sum(sheet.high.as_ref()),
        actual => sum(sheet.actual.as_ref()),
        how_to_read => cost::HOW_TO_READ,
        differences => said(&cost::differences(sheet)),
        caveats => said(&sheet.caveats),
    }
}

#[cfg(test)]
mod tests;
