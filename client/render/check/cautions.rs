//! The cautions of a check: in full the first time on a device, afterwards one line that names each hazard.
//!
//! A caution that was not shown here before, or that comes from a service which does not name its hazard,
//! is always told in full.

use std::collections::BTreeSet;

use fettlebook_contract::v1::JobCheck;

use crate::render::Screen;

/// To what every caution defers.
const DEFERS: &str = "Follow the label, the data sheet and local rules";

/// Cautions in full for what is not in `known`, and the hazards of the rest.
pub(super) fn block(screen: &Screen, check: &JobCheck, known: &BTreeSet<String>) -> String {
    let (fresh, before) = split(check, known);
    let mut lines: Vec<String> = fresh
        .iter()
        .map(|caution| screen.hung("Caution: ", "  ", caution))
        .collect();
    if !before.is_empty() {
        let named = before.join(" · ");
        lines.push(screen.hung(
            "Cautions: ",
            "  ",
            &format!("{named}. {DEFERS}; --cautions tells each in full."),
        ));
    }
    lines.join("\n")
}

/// Every hazard of several jobs in one line.
pub(super) fn hazards(screen: &Screen, checks: &[JobCheck]) -> String {
    let mut named: Vec<&str> = Vec::new();
    for check in checks {
        let (fresh, hazards) = split_by(check, |_| true);
        for hazard in hazards.into_iter().chain(fresh) {
            if !named.contains(&hazard) {
                named.push(hazard);
            }
        }
    }
    if named.is_empty() {
        return String::new();
    }
    let named = named.join(" · ");
    let told = format!("{named}. {DEFERS}; 'fettle check JOB' tells those of a job.");
    screen.hung("Cautions: ", "  ", &told)
}

/// The cautions that a short check tells in full.
pub(crate) fn shown_in_full(check: &JobCheck, known: &BTreeSet<String>) -> Vec<String> {
    let (fresh, _) = split(check, known);
    fresh.into_iter().map(str::to_owned).collect()
}

/// Cautions to tell in full, and the hazards of those that were shown before, each once.
fn split<'a>(check: &'a JobCheck, known: &BTreeSet<String>) -> (Vec<&'a str>, Vec<&'a str>) {
    split_by(check, |text| known.contains(text))
}

fn split_by(check: &JobCheck, is_known: impl Fn(&str) -> bool) -> (Vec<&str>, Vec<&str>) {
    let (mut fresh, mut before) = (Vec::new(), Vec::new());
    for text in &check.cautions {
        let named = check.hazards.iter().find(|one| one.text == *text);
        match named.filter(|one| !one.hazard.is_empty() && is_known(text)) {
            Some(one) if before.contains(&one.hazard.as_str()) => {}
            Some(one) => before.push(one.hazard.as_str()),
            None => fresh.push(text.as_str()),
        }
    }
    (fresh, before)
}
