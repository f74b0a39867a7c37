//! What a job costs inside, on paper: by itself, and as a part of a quote's inside copy.

use fettlebook_contract::v1::CostSheet;
use minijinja::{Value, context};

use super::{Ground, cleaned};
use crate::fault::Fault;
use crate::render::amount::money_or;
use crate::render::cost;
use crate::render::tint::clean;

const TEMPLATE: (&str, &str) = ("cost.html", include_str!("cost.html"));

/// The costs of one job.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn html(ground: &Ground<'_>, sheet: &CostSheet) -> Result<String, Fault> {
    let told = context! { costs => told(sheet, &[]) };
    ground.sheet(TEMPLATE, &cost::title(sheet), told)
}

/// What `costs.html` tells, with facts that stand before the time it takes.
pub(super) fn told(sheet: &CostSheet, before: &[(&str, String)]) -> Value {
    let sum = |sum| clean(&money_or(sum, ""));
    let times = [
        (
            "Machine time",
            cost::machine_time(sheet).unwrap_or_default(),
        ),
        ("By hand", cost::hand_time(sheet).unwrap_or_default()),
        ("Hours", cost::hours_told(sheet).unwrap_or_default()),
    ];
    let facts = before.iter().chain(&times);
    let facts = facts.filter(|(_, text)| !text.is_empty());
    let facts = facts.map(|(name, text)| context! { name => *name, text => clean(text) });
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
    context! {
        facts => facts.collect::<Value>(),
        done => cost::is_done(sheet),
        lines => lines.collect::<Value>(),
        low => sum(sheet.low.as_ref()),
        typical => sum(sheet.typical.as_ref()),
        high => sum(sheet.high.as_ref()),
        actual => sum(sheet.actual.as_ref()),
        how_to_read => cost::HOW_TO_READ,
        differences => cleaned(&cost::differences(sheet)),
        caveats => cleaned(&sheet.caveats),
    }
}
