//! The figures of makes: one table of how each is typed, what it is called and how it is shown.
//!
//! `make add`, `make edit` and `make show` follow from it, over the contract's own fields; the sheets take
//! theirs from the contract. Within what a figure can be true is said in the contract alone.

mod given;
mod held;
pub(crate) mod minutes;
pub(crate) mod read;
mod table;
#[cfg(test)]
mod tests;

use fettlebook_contract::v1::{Make, PolicyFigure};

use crate::fault::Fault;
use crate::options::Stock;
use crate::render::amount;
use crate::render::entry::Understood;
use crate::word::Words;

pub(crate) use given::{Given, Of, OfAny, sorts};
pub(crate) use held::{Held, sort};
pub(crate) use table::FIGURES;

/// One figure of a sort of make.
pub(crate) struct Figure {
    /// The sort, as the contract names its figures.
    pub(crate) sort: &'static str,
    /// The contract's field.
    pub(crate) field: &'static str,
    /// The option that gives it.
    pub(crate) option: &'static str,
    /// What stands for its value in the help.
    value: &'static str,
    /// How it is typed.
    read: Read,
    /// Whether a make of the sort cannot do without.
    needed: bool,
    /// What it is, in the help of `make add`.
    help: &'static str,
    /// What it is, in the help of `make edit`, after the sorts that have it.
    in_edit: &'static str,
    /// What it is called where it is shown; empty for one that is told with another.
    pub(crate) label: &'static str,
    /// What is shown of it.
    pub(crate) told: fn(&Held, &str) -> String,
}

/// What differs between two makes, each with what it is called; of one that is new all that is set.
///
/// # Errors
/// When the contract cannot be read.
pub(crate) fn differences(old: Option<&Make>, new: &Make) -> Result<Vec<Understood>, Fault> {
    let held = Held::of(new)?;
    let before = match old {
        Some(old) => Held::of(old)?,
        None => Held::new(&Make::default(), held.sort())?,
    };
    let price = |make: &Make| match (&make.price, make.pack_count) {
        (None, _) => String::new(),
        (Some(price), 0 | 1) => amount::money(price),
        (Some(price), pack) => format!("{} for {pack}", amount::money(price)),
    };
    let of = |told: &dyn Fn(&Make) -> String, name: &str| Understood {
        name: name.to_owned(),
        old: old.map(told).unwrap_or_default(),
        new: told(new),
    };
    let mut all = vec![
        of(&|make| make.name.clone(), "Name"),
        of(&price, "Price"),
        of(&|make| make.ghs_codes.join(", "), "Hazards"),
        of(&|make| make.note.clone(), "Note"),
    ];
    let figures = held.rows().filter(|figure| !figure.label.is_empty());
    all.extend(figures.map(|figure| Understood {
        name: figure.label.to_owned(),
        old: (figure.told)(&before, figure.field),
        new: (figure.told)(&held, figure.field),
    }));
    all.retain(|one| one.old != one.new);
    if old.is_none() {
        all.iter_mut().for_each(|one| one.old.clear());
    }
    Ok(all)
}

/// The figures of a make that are from the policy, each with its row of the table.
pub(crate) fn from_policy(make: &Make) -> impl Iterator<Item = (&'static Figure, &PolicyFigure)> {
    make.policy_figures.iter().filter_map(|from| {
        let (sort, field) = from.figure.split_once('.')?;
        let mut rows = FIGURES.iter();
        let row = rows.find(|row| row.sort == sort && row.field == field)?;
        Some((row, from))
    })
}

/// How a figure is typed.
enum Read {
    /// As a number with its unit.
    Number(fn(&str) -> Result<i64, String>),
    /// As one of these words, each with its number in the contract.
    Word(fn() -> Words),
    /// As it is marked.
    Text(fn(&str) -> Result<String, String>),
    /// As ids, one or several.
    Ids,
    /// By naming the option; in an edit with true or false.
    Yes,
    /// As an amount, whose unit is a field of its own.
    Stock,
}

/// What was typed for a figure.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Typed {
    /// A number.
    Number(i64),
    /// The number of a word.
    Word(i32),
    /// A text.
    Text(String),
    /// Ids.
    Ids(Vec<String>),
    /// Yes or no.
    Yes(bool),
    /// An amount with its unit.
    Stock(Stock),
}
