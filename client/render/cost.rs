//! What a job's materials cost inside: a forecast with its range, and what it did cost.
//!
//! It serves `job cost`, `quote --inside` and the inside copy on paper. It is never for the customer.
//! Figures and sentences are the service's.

use fettlebook_contract::v1::{CostKind, CostLine, CostSheet, Quote};

use crate::render::amount::{self, money_or};
use crate::render::screen::Screen;
use crate::render::table::{Column, table};
use crate::render::tint;

/// How the three figures of a cost are to be read.
pub(crate) const HOW_TO_READ: &str = "Nine jobs in ten cost more than the low figure, half more than \
     the typical one, one in ten more than the high one.";

/// What is said where a price is not known.
const NO_PRICE: &str = "no price known, counted as nothing";

/// What is told.
pub(crate) fn title(sheet: &CostSheet) -> String {
    format!("What {} costs", sheet.job)
}

/// One job's costs with their sum, why they differ and what to keep in mind.
pub(crate) fn show(screen: &Screen, sheet: &CostSheet) -> String {
    let title = tint::strong(&title(sheet));
    let time = machine_time(sheet).map(|time| format!("Machine time {time}."));
    let hand = hand_time(sheet).map(|time| format!("By hand {time}."));
    let hours = hours(sheet).map(|told| screen.hung("", "  ", &told));
    let parts = [
        title,
        costs(screen, sheet),
        screen.hung("", "  ", HOW_TO_READ),
        time.unwrap_or_default(),
        hand.unwrap_or_default(),
        hours.unwrap_or_default(),
        listed(screen, "Why it differs", &differences(sheet)),
        listed(screen, "To keep in mind", &sheet.caveats),
    ];
    let told = parts.into_iter().filter(|part| !part.is_empty());
    told.collect::<Vec<_>>().join("\n\n")
}

/// What a quoted job costs inside, marked as not for the customer.
pub(crate) fn inside(screen: &Screen, quote: &Quote, sheet: &CostSheet) -> String {
    let mark = tint::warn("Inside: not for the customer");
    let priced = match pricing(quote) {
        none if none.is_empty() => none,
        told => format!("\nPriced with {told}."),
    };
    format!("{mark}{priced}\n\n{}", show(screen, sheet))
}

fn costs(screen: &Screen, sheet: &CostSheet) -> String {
    let done = is_done(sheet);
    let mut headings = vec![
        ("What", Column::Text),
        ("For", Column::Whole),
        ("Low", Column::Right),
        ("Typical", Column::Right),
        ("High", Column::Right),
    ];
    if done {
        headings.push(("It cost", Column::Right));
    }
    let width = headings.len();
    let cells = |mut cells: Vec<String>| {
        cells.truncate(width);
        cells
    };
    let lines = sheet.lines.iter().map(|line| {
        cells(vec![
            what(line),
            kind(line.kind()).to_owned(),
            money_or(line.low.as_ref(), ""),
            money_or(line.typical.as_ref(), ""),
            money_or(line.high.as_ref(), ""),
            money_or(line.actual.as_ref(), ""),
        ])
    });
    let all = cells(vec![
        tint::strong("All of it"),
        String::new(),
        money_or(sheet.low.as_ref(), ""),
        tint::strong(&money_or(sheet.typical.as_ref(), "")),
        money_or(sheet.high.as_ref(), ""),
        tint::strong(&money_or(sheet.actual.as_ref(), "")),
    ]);
    let blank = vec![String::new(); width];
    table(screen, &headings, lines.chain([blank, all]))
}

fn listed(screen: &Screen, title: &str, sentences: &[String]) -> String {
    if sentences.is_empty() {
        return String::new();
    }
    let mut lines = vec![tint::strong(title)];
    lines.extend(sentences.iter().map(|said| screen.hung("- ", "  ", said)));
    lines.join("\n")
}

/// What a cost is for, with a word where its price is not known.
pub(crate) fn what(line: &CostLine) -> String {
    if line.price_missing {
        format!("{} ({NO_PRICE})", line.text)
    } else {
        line.text.clone()
    }
}

/// A kind of cost in a word.
pub(crate) const fn kind(kind: CostKind) -> &'static str {
    match kind {
        CostKind::Unspecified => "",
        CostKind::Liquid => "liquid",
        CostKind::Pads => "pad wear",
        CostKind::Plates => "plate wear",
        CostKind::Towels => "towels",
        CostKind::Sundries => "sundries",
    }
}

/// Whether the job is done, so that there is something it did cost.
pub(crate) fn is_done(sheet: &CostSheet) -> bool {
    sheet.actual.is_some() || sheet.lines.iter().any(|line| line.actual.is_some())
}

/// Machine time in words; none where there is none.
pub(crate) fn machine_time(sheet: &CostSheet) -> Option<String> {
    (sheet.machine_time_s > 0).then(|| amount::time(sheet.machine_time_s))
}

/// Time by hand in words; none where there is none.
pub(crate) fn hand_time(sheet: &CostSheet) -> Option<String> {
    (sheet.hand_time_s > 0).then(|| amount::time(sheet.hand_time_s))
}

/// What the hours of a job cost, apart from its materials; none where the shop has no rate.
fn hours(sheet: &CostSheet) -> Option<String> {
    let person = sheet.hours.as_ref()?.person.as_str();
    let of = if person.is_empty() {
        String::new()
    } else {
        format!(" of {person}")
    };
    let told = hours_told(sheet)?;
    Some(format!("Hours{of}, apart from the materials: {told}"))
}

/// How many hours at which price, with their range, and what they came to.
pub(crate) fn hours_told(sheet: &CostSheet) -> Option<String> {
    let hours = sheet.hours.as_ref()?;
    let rate = hours.rate.as_ref()?;
    let mut told = format!(
        "{} at {} an hour, {}; in eight of ten jobs {} to {}.",
        amount::time(hours.typical_s),
        amount::money(rate),
        money_or(hours.typical.as_ref(), ""),
        money_or(hours.low.as_ref(), ""),
        money_or(hours.high.as_ref(), ""),
    );
    if let (Some(actual_s), Some(actual)) = (hours.actual_s, &hours.actual) {
        let known = if hours.logged { "" } else { ", as planned" };
        told.push_str(&format!(
            " It took {}{known}: {}.",
            amount::time(actual_s),
            amount::money(actual)
        ));
    }
    Some(told)
}

/// Why costs came out other than expected, by cause.
pub(crate) fn differences(sheet: &CostSheet) -> Vec<String> {
    let said = sheet
        .lines
        .iter()
        .filter(|line| !line.difference.is_empty());
    said.map(|line| format!("{}: {}", line.text, line.difference))
        .collect()
}

/// What a quote was priced with; empty when it was the book's policy and is not told.
pub(crate) fn pricing(quote: &Quote) -> String {
    let markup = quote.markup_permille.map(|rate| {
        let rate = amount::percent(rate);
        format!("{rate} markup on cost")
    });
    let margin = quote.margin_permille.map(|rate| {
        let rate = amount::percent(rate);
        format!("{rate} margin on price")
    });
    let told = [markup, margin];
    told.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
