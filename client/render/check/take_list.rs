//! What a check takes along, a row a tag, whichever steps it is for.

use fettlebook_contract::v1::{CheckLineKind, JobCheck, Unit};

use crate::render::picks::Sort;
use crate::render::{amount, gauge, shares};

/// A piece that goes to a job.
pub(crate) struct Along<'a> {
    pub(crate) tag: &'a str,
    pub(crate) sort: Sort,
    /// What it is.
    pub(crate) what: String,
    /// Steps it is for; none for the whole job.
    steps: Vec<&'a str>,
    /// The same in few words.
    named: String,
    quantity: i64,
    unit: Unit,
    spare: bool,
    damage: Option<f64>,
}

/// The pieces that the lines pick, sort by sort, in the order of the lines.
pub(crate) fn take_list(check: &JobCheck) -> Vec<Along<'_>> {
    let mut list: Vec<Along<'_>> = Vec::new();
    for line in &check.lines {
        for pick in &line.picks {
            let at = list.iter().position(|along| along.tag == pick.tag);
            let at = at.unwrap_or_else(|| {
                list.push(Along {
                    tag: &pick.tag,
                    sort: Sort::Others,
                    what: String::new(),
                    steps: Vec::new(),
                    named: String::new(),
                    quantity: 0,
                    unit: Unit::Unspecified,
                    spare: false,
                    damage: None,
                });
                list.len().saturating_sub(1)
            });
            let Some(along) = list.get_mut(at) else {
                continue;
            };
            along.what.clone_from(&line.what);
            along.sort = sort(line.kind()).unwrap_or(Sort::Others);
            if !line.step.is_empty() && !along.steps.contains(&line.step.as_str()) {
                along.steps.push(&line.step);
            }
            along.quantity = along.quantity.saturating_add(pick.quantity);
            along.unit = line.unit();
            along.spare |= pick.spare;
            // Of a pad that works on both days: as it goes to the first.
            along.damage = along.damage.or(pick.damage);
        }
    }
    let of_lines = check.lines.iter().map(|line| line.step.as_str());
    let all: Vec<&str> = of_lines.filter(|step| !step.is_empty()).collect();
    for along in &mut list {
        along.named = shares::told(&along.steps, &all);
    }
    list.sort_by_key(|along| along.sort);
    list
}

impl Along<'_> {
    /// Steps it goes for; empty where it is for the whole job.
    pub(crate) fn steps(&self) -> &str {
        &self.named
    }

    /// Whether it is not planned to work.
    pub(crate) const fn is_spare(&self) -> bool {
        self.spare
    }

    /// What it goes for, in words wherever it goes.
    pub(crate) fn goes_for(&self) -> String {
        let steps = if self.named.is_empty() {
            "the whole job"
        } else {
            &self.named
        };
        let spare = if self.spare { ", spare" } else { "" };
        format!("{steps}{spare}")
    }

    /// Whether it is drawn on.
    const fn is_measured(&self) -> bool {
        matches!(self.sort, Sort::Liquids | Sort::Towels | Sort::Sundries)
    }

    /// How much of it is used, to the last figure; empty where it is not drawn on.
    pub(crate) fn exact(&self) -> String {
        self.drawn(amount::quantity)
    }

    /// The same as a person measures it.
    pub(crate) fn rounded(&self) -> String {
        self.drawn(amount::rounded)
    }

    fn drawn(&self, told: impl Fn(i64, Unit) -> String) -> String {
        if self.is_measured() {
            told(self.quantity, self.unit)
        } else {
            String::new()
        }
    }

    /// How worn it is; empty where it does not wear.
    pub(crate) fn worn(&self) -> String {
        self.damage.map_or_else(String::new, gauge::percent)
    }
}

/// What sort a line picks; nothing for lines that are about no piece.
pub(super) const fn sort(kind: CheckLineKind) -> Option<Sort> {
    Some(match kind {
        CheckLineKind::Pad => Sort::Pads,
        CheckLineKind::Plate => Sort::Plates,
        CheckLineKind::Machine => Sort::Machines,
        CheckLineKind::Battery => Sort::Batteries,
        CheckLineKind::Liquid => Sort::Liquids,
        CheckLineKind::Towel => Sort::Towels,
        CheckLineKind::Sundry => Sort::Sundries,
        CheckLineKind::Tool => Sort::Tools,
        CheckLineKind::Unspecified
        | CheckLineKind::Film
        | CheckLineKind::Vibration
        | CheckLineKind::Noise
        | CheckLineKind::Car
        | CheckLineKind::Time => return None,
    })
}
