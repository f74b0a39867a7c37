//! What goes to a job: one line a sort, tags in ranges, amounts as a person measures them.
//!
//! It serves the check and the take, which tell the same pieces alike.

use crate::render::screen::Screen;
use crate::render::{shares, tags};

/// Blanks before a sort.
const INDENT: usize = 2;

/// What sort a piece is, in the order they are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Sort {
    Pads,
    Plates,
    Machines,
    Batteries,
    Liquids,
    Towels,
    Sundries,
    Tools,
    /// Nobody here knows what it is.
    Others,
}

impl Sort {
    /// All of them, in the order they are told.
    const ALL: [Self; 9] = [
        Self::Pads,
        Self::Plates,
        Self::Machines,
        Self::Batteries,
        Self::Liquids,
        Self::Towels,
        Self::Sundries,
        Self::Tools,
        Self::Others,
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::Pads => "pads",
            Self::Plates => "plates",
            Self::Machines => "machines",
            Self::Batteries => "batteries",
            Self::Liquids => "liquids",
            Self::Towels => "towels",
            Self::Sundries => "sundries",
            Self::Tools => "tools",
            Self::Others => "others",
        }
    }
}

/// A piece that goes, for one step or the whole job.
#[derive(Clone, Debug)]
pub(crate) struct Goes<'a> {
    pub(crate) tag: &'a str,
    pub(crate) sort: Sort,
    /// Step it is for; empty for the whole job.
    pub(crate) step: &'a str,
    /// How much of it, where it is drawn on.
    pub(crate) amount: Option<String>,
    /// Whether it is not planned to work.
    pub(crate) spare: bool,
    /// What it is, where the tag alone says too little.
    pub(crate) what: &'a str,
}

/// The pieces that go, under `Take`.
pub(crate) fn lines(screen: &Screen, goes: &[Goes<'_>]) -> String {
    let sorts = Sort::ALL.into_iter().filter_map(|sort| {
        let of_sort: Vec<&Goes<'_>> = goes.iter().filter(|one| one.sort == sort).collect();
        (!of_sort.is_empty()).then(|| (sort.word(), of_steps(&of_sort)))
    });
    let sorts: Vec<_> = sorts.collect();
    let widest = sorts.iter().map(|(word, _)| word.len()).max();
    let width = widest.unwrap_or_default().saturating_add(2);
    let rest = " ".repeat(INDENT.saturating_add(width));
    let told = sorts.iter().map(|(word, told)| {
        let first = format!("{:INDENT$}{word:<width$}", "");
        screen.hung(&first, &rest, told)
    });
    told.collect::<Vec<_>>().join("\n")
}

/// The pieces of a sort, by the steps they are for: `cut P-01…P-03; spare P-05 · finish P-13`, and after a step what
/// others share of it: `cut P-01…P-03; spot P-17`.
fn of_steps(goes: &[&Goes<'_>]) -> String {
    let mut groups: Vec<(Vec<&str>, Vec<&Goes<'_>>)> = Vec::new();
    let mut told: Vec<(&str, bool)> = Vec::new();
    for one in goes {
        let is_told = told.contains(&(one.tag, one.spare));
        if one.amount.is_none() && is_told {
            continue;
        }
        told.push((one.tag, one.spare));
        let steps = steps(one, goes);
        match groups.iter_mut().find(|(of, _)| *of == steps) {
            Some((_, group)) => group.push(one),
            None => groups.push((steps, vec![one])),
        }
    }
    let all: Vec<&str> = goes.iter().map(|one| one.step).collect();
    let mut text = String::new();
    // The step whose own pieces were told last.
    let mut last: Option<&str> = None;
    for (steps, group) in &groups {
        let share = match steps.as_slice() {
            [one] => shares::share_of(one, &all),
            _ => None,
        };
        let is_beside = share.is_some_and(|(step, _)| last == Some(step));
        if !text.is_empty() {
            text.push_str(if is_beside { "; " } else { " · " });
        }
        let name = match share {
            Some((_, reach)) if is_beside => reach.to_owned(),
            _ => shares::told(steps, &all),
        };
        if !name.is_empty() {
            text.push_str(&name);
            text.push(' ');
        }
        text.push_str(&of_group(group));
        if !is_beside {
            last = steps.first().copied().filter(|_| steps.len() == 1);
        }
    }
    text
}

/// The steps a piece is for: of what is drawn on each step by itself, of what is not all of them.
fn steps<'a>(of: &Goes<'a>, goes: &[&Goes<'a>]) -> Vec<&'a str> {
    let same = |one: &&&Goes<'a>| {
        let is_drawn = of.amount.is_some();
        one.tag == of.tag && one.spare == of.spare && (!is_drawn || one.step == of.step)
    };
    let mut steps: Vec<&str> = Vec::new();
    for one in goes.iter().filter(same) {
        if !one.step.is_empty() && !steps.contains(&one.step) {
            steps.push(one.step);
        }
    }
    steps
}

/// Pieces for the same steps: how much of each that is drawn on, the others as tags in ranges, spares apart.
fn of_group(group: &[&Goes<'_>]) -> String {
    let drawn = group.iter().filter_map(|one| {
        let amount = one.amount.as_deref()?;
        let what = if one.what.is_empty() { "" } else { " of " };
        Some(format!("{} {amount}{what}{}", one.tag, one.what))
    });
    let mut parts: Vec<String> = drawn.collect();
    let whole = |spare: bool| {
        let whole = group.iter().filter(|one| one.amount.is_none());
        let tags: Vec<&str> = whole
            .filter(|one| one.spare == spare)
            .map(|one| one.tag)
            .collect();
        tags::ranges(&tags)
    };
    parts.extend(Some(whole(false)).filter(|tags| !tags.is_empty()));
    let mut told = parts.join(", ");
    let spares = whole(true);
    if !spares.is_empty() {
        let gap = if told.is_empty() { "" } else { "; " };
        told.push_str(&format!("{gap}spare {spares}"));
    }
    told
}
