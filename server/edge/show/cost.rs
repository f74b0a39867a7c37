//! Costs and quotes on the wire.
//!
//! It serves `GetJobCost` and `QuoteJob`. The sums and the sentences are the model's.

use fettlebook_contract::v1;
use fettlebook_model::job_cost::{CostLine, CostSheet, JobHours};
use fettlebook_model::job_quote::{JobQuote, QuotedLine};

use super::money::money;
use crate::edge::parse::quote::MILLI_PERCENT_PER_PERMILLE;
use crate::edge::words;

pub(in crate::edge) fn sheet(sheet: CostSheet) -> v1::CostSheet {
    v1::CostSheet {
        job: sheet.job.to_string(),
        lines: sheet.lines.into_iter().map(line).collect(),
        low: Some(money(sheet.low)),
        typical: Some(money(sheet.typical)),
        high: Some(money(sheet.high)),
        actual: sheet.actual.map(money),
        machine_time_s: sheet.machine_time_s,
        hand_time_s: sheet.hand_time_s,
        hours: Some(hours(sheet.hours)),
        caveats: sheet.caveats,
    }
}

fn hours(hours: JobHours) -> v1::JobHours {
    let cost = hours.cost.as_ref();
    v1::JobHours {
        low_s: hours.low_s,
        typical_s: hours.typical_s,
        high_s: hours.high_s,
        actual_s: hours.actual_s,
        logged: hours.is_logged,
        rate: cost.map(|cost| money(cost.rate)),
        low: cost.map(|cost| money(cost.low)),
        typical: cost.map(|cost| money(cost.typical)),
        high: cost.map(|cost| money(cost.high)),
        actual: cost.and_then(|cost| cost.actual).map(money),
        person: hours.person,
        rests_on: hours.rests_on,
    }
}

fn line(line: CostLine) -> v1::CostLine {
    v1::CostLine {
        kind: words::cost_kind_word(line.kind),
        make: line.make.to_string(),
        text: line.text,
        low: Some(money(line.low)),
        typical: Some(money(line.typical)),
        high: Some(money(line.high)),
        actual: line.actual.map(money),
        difference: line.difference,
        price_missing: line.is_price_missing,
    }
}

pub(in crate::edge) fn quote(quote: JobQuote) -> v1::Quote {
    v1::Quote {
        job: quote.job.to_string(),
        car: quote.car,
        routine: quote.routine,
        date: quote.date.to_string(),
        valid_until_date: quote.valid_until.to_string(),
        lines: quote.lines.into_iter().map(quoted).collect(),
        net: Some(money(quote.net)),
        tax_permille: permille(quote.tax_milli_percent),
        tax_milli_percent: quote.tax_milli_percent,
        tax: Some(money(quote.tax)),
        gross: Some(money(quote.gross)),
        markup_permille: quote.markup_permille,
        margin_permille: quote.margin_permille,
        cost: Some(sheet(quote.cost)),
        labour: quote.labour.map(money),
    }
}

/// A rate to the nearest thousandth, a half up.
const fn permille(milli_percent: i64) -> i64 {
    milli_percent
        .saturating_add(MILLI_PERCENT_PER_PERMILLE / 2)
        .div_euclid(MILLI_PERCENT_PER_PERMILLE)
}

fn quoted(line: QuotedLine) -> v1::QuoteLine {
    v1::QuoteLine {
        text: line.text,
        net: Some(money(line.net)),
    }
}
