//! The lines of a check that are not *go*, gravest first, each once, and how many of them fit.
//!
//! What is said of plate, film, vibration and noise is never shortened and never left out.

use std::cmp::Reverse;

use fettlebook_contract::v1::{CheckLine, CheckLineKind, JobCheck, Verdict};

use super::line_count;
use super::verdict::{VERDICT_WIDTH, tinted};
use crate::render::{Screen, gauge};
use crate::word::word;

/// What stands between reasons on one line.
const BETWEEN: &str = " · ";
/// Most lines of a check that are told one by one.
const ITEMS_MAX: usize = 9;
/// What ends the name of a line that is of the second day of a job.
const SECOND_DAY: &str = ", second day";

/// A line that is not *go*, with every step that it blocks.
pub(crate) struct Item<'a> {
    line: &'a CheckLine,
    steps: Vec<&'a str>,
    /// Whether the same is said of both days of a job.
    both_days: bool,
    aim: f64,
}

/// How much is said of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Length {
    /// Why, and each thing to do on a line of its own.
    Apart,
    /// The same, run on.
    RunOn,
    /// What is short and the first thing to do; of hazards all.
    Brief,
}

/// The lines of a check that are not *go*, gravest first, hazards before the others.
pub(crate) fn of_check(check: &JobCheck) -> Vec<Item<'_>> {
    let mut items: Vec<Item<'_>> = Vec::new();
    for line in &check.lines {
        if line.verdict() == Verdict::Go {
            continue;
        }
        let step = line.step.as_str();
        let mut same = items.iter_mut().find(|item| is_same(item.line, line));
        if let Some(item) = &mut same {
            item.both_days |= item.line.what != line.what;
        }
        match same {
            Some(item) if item.steps.contains(&step) => {}
            Some(item) => item.steps.push(step),
            None => items.push(Item {
                line,
                steps: vec![step],
                both_days: false,
                aim: check.carry_target,
            }),
        }
    }
    items.sort_by_key(|item| (Reverse(item.line.verdict), Reverse(item.is_hazard())));
    items
}

/// What a line is about, on whichever day.
fn on_any_day(line: &CheckLine) -> &str {
    line.what.strip_suffix(SECOND_DAY).unwrap_or(&line.what)
}

/// Whether two lines say the same of two steps or days.
fn is_same(one: &CheckLine, other: &CheckLine) -> bool {
    one.kind == other.kind
        && on_any_day(one) == on_any_day(other)
        && one.verdict == other.verdict
        && one.reason == other.reason
        && one.todos == other.todos
}

impl Item<'_> {
    /// Whether somebody can be hurt by what it is about.
    pub(super) fn is_hazard(&self) -> bool {
        matches!(
            CheckLineKind::try_from(self.line.kind),
            Ok(CheckLineKind::Plate
                | CheckLineKind::Film
                | CheckLineKind::Vibration
                | CheckLineKind::Noise)
        )
    }

    /// What it is about.
    pub(super) fn what(&self) -> &str {
        &self.line.what
    }

    /// Why, sentence by sentence where nothing may run together, else in one piece; none where nothing is said.
    pub(crate) fn reasons(&self) -> Vec<&str> {
        reasons(self.line)
    }

    /// What to do, one thing after the other.
    pub(crate) fn todos(&self) -> &[String] {
        &self.line.todos
    }

    /// Its verdict.
    pub(crate) fn verdict(&self) -> Verdict {
        self.line.verdict()
    }

    /// What it is about and the first thing to do, else why.
    pub(super) fn first_thing(&self) -> String {
        let first = self.line.todos.first().unwrap_or(&self.line.reason);
        format!("{}: {first}", self.line.what)
    }

    /// What it is about, the steps it blocks, and its chance where that is below the aim.
    pub(crate) fn about(&self) -> String {
        let steps: Vec<&str> = self
            .steps
            .iter()
            .copied()
            .filter(|s| !s.is_empty())
            .collect();
        let mut about = self.line.what.clone();
        if self.both_days {
            about.push_str(", both days");
        }
        if !steps.is_empty() {
            about.push_str(&format!(" ({})", steps.join(", ")));
        }
        if let Some(chance) = self.line.carry_chance.filter(|chance| *chance < self.aim) {
            about.push_str(&format!(", {}", gauge::chance(chance, self.aim)));
        }
        about
    }

    /// The item as it stands on the page.
    pub(super) fn told(&self, screen: &Screen, length: Length) -> String {
        let verdict = self.line.verdict();
        let gap = " ".repeat(VERDICT_WIDTH.saturating_sub(word(verdict).len()));
        let first = format!("{}{gap}", tinted(verdict));
        let rest = " ".repeat(VERDICT_WIDTH);
        let about = self.about();
        let reasons = self.reasons();
        let reason = reasons.join(BETWEEN);
        let with = |said: &str| {
            if said.is_empty() {
                about.clone()
            } else {
                format!("{about}: {said}")
            }
        };
        match length {
            Length::Apart => {
                let mut text = if reasons.len() > 1 {
                    let head = screen.hung(&first, &rest, &format!("{about}:"));
                    format!("{head}\n{}", listed(screen, &rest, &reasons))
                } else {
                    screen.hung(&first, &rest, &with(&reason))
                };
                for todo in &self.line.todos {
                    text.push('\n');
                    text.push_str(&screen.hung(&format!("{rest}→ "), &format!("{rest}  "), todo));
                }
                text
            }
            Length::Brief if !self.is_hazard() => {
                let short = self.line.short_quantity;
                let said = if short > 0 && self.line.need_quantity > 0 {
                    let told = |value| crate::render::amount::quantity(value, self.line.unit());
                    format!(
                        "short by {} of {}.",
                        told(short),
                        told(self.line.need_quantity)
                    )
                } else {
                    reason
                };
                let todo = self.line.todos.first().map(String::as_str);
                screen.hung(&first, &rest, &run_on(&with(&said), todo))
            }
            Length::RunOn | Length::Brief => {
                let todos = self.line.todos.iter().map(String::as_str);
                screen.hung(&first, &rest, &run_on(&with(&reason), todos))
            }
        }
    }
}

/// Why a line says what it says, sentence by sentence where nothing may run together.
pub(super) fn reasons(line: &CheckLine) -> Vec<&str> {
    let whole = std::slice::from_ref(&line.reason);
    let said = if line.reasons.is_empty() {
        whole
    } else {
        &line.reasons
    };
    let said = said.iter().map(String::as_str);
    said.filter(|said| !said.is_empty()).collect()
}

/// Reasons on lines of their own.
pub(super) fn listed(screen: &Screen, indent: &str, reasons: &[&str]) -> String {
    let told = reasons.iter();
    let told = told.map(|said| screen.hung(&format!("{indent}- "), &format!("{indent}  "), said));
    told.collect::<Vec<_>>().join("\n")
}

fn run_on<'a>(said: &str, todos: impl IntoIterator<Item = &'a str>) -> String {
    let mut text = said.to_owned();
    for todo in todos {
        text.push_str(" → ");
        text.push_str(todo);
    }
    text
}

/// The first thing to do, and what else is not *go*.
pub(super) fn first_thing(items: &[Item<'_>]) -> Option<String> {
    let (first, others) = items.split_first()?;
    Some(format!("{}{}", first.first_thing(), besides(others)))
}

/// How many more are not *go*, with the name of each that somebody can be hurt by.
fn besides(others: &[Item<'_>]) -> String {
    let hazards: Vec<&str> = others
        .iter()
        .filter(|item| item.is_hazard())
        .map(|item| item.what())
        .collect();
    let rest = others.len().saturating_sub(hazards.len());
    let more = match (hazards.is_empty(), rest) {
        (true, 0) => return String::new(),
        (true, rest) => format!("{rest} more"),
        (false, 0) => hazards.join(", "),
        (false, rest) => format!("{}, {rest} more", hazards.join(", ")),
    };
    format!(" (and {more})")
}

/// As many items as may be told one by one, all of them if they are few enough.
pub(super) fn few(screen: &Screen, items: &[Item<'_>], length: Length) -> Option<Vec<String>> {
    (items.len() <= ITEMS_MAX).then(|| {
        let told = items.iter().map(|item| item.told(screen, length));
        told.collect()
    })
}

/// The gravest items that fit into so many lines, hazards in any case, and a line that names the others.
pub(super) fn gravest(screen: &Screen, job: &str, items: &[Item<'_>], room: usize) -> Vec<String> {
    let told: Vec<String> = items
        .iter()
        .map(|item| item.told(screen, Length::Brief))
        .collect();
    let hazards: Vec<usize> = (0..items.len())
        .filter(|at| items.get(*at).is_some_and(Item::is_hazard))
        .collect();
    let mut kept = hazards.clone();
    let page = |kept: &[usize]| -> Vec<String> {
        let of = |at: usize| told.get(at).cloned().filter(|_| kept.contains(&at));
        let mut page: Vec<String> = (0..items.len()).filter_map(of).collect();
        let others: Vec<&Item<'_>> = (0..items.len())
            .filter(|at| !kept.contains(at))
            .filter_map(|at| items.get(at))
            .collect();
        page.extend(named(screen, job, &others));
        page
    };
    for at in (0..items.len()).filter(|at| !hazards.contains(at)) {
        let mut more = kept.clone();
        more.push(at);
        let lines: usize = page(&more).iter().map(|item| line_count(item)).sum();
        if more.len() > ITEMS_MAX || lines > room {
            break;
        }
        kept = more;
    }
    page(&kept)
}

/// Those that are not told one by one, by name.
fn named(screen: &Screen, job: &str, others: &[&Item<'_>]) -> Option<String> {
    let of = |verdict: Verdict| {
        let names: Vec<&str> = others
            .iter()
            .filter(|item| item.verdict() == verdict)
            .map(|item| item.what())
            .collect();
        (!names.is_empty()).then(|| format!("{}: {}", word(verdict), names.join("; ")))
    };
    let told: Vec<String> = [Verdict::Stop, Verdict::Watch]
        .into_iter()
        .filter_map(of)
        .collect();
    let count = others.len();
    (count > 0).then(|| {
        let told = told.join(". ");
        let text = format!("{told}. 'fettle check {job} --full' says why.");
        screen.hung(&format!("and {count} more, "), "  ", &text)
    })
}
