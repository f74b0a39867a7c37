//! The figures of makes: one table of how each is typed, what it is called and how it is shown.
//!
//! `make add`, `make edit` and `make show` follow from it, over the contract's own fields; the sheets take
//! theirs from the contract. Within what a figure can be true is said in the contract alone.

mod given;
mod held;
pub(crate) mod read;
mod table;
#[cfg(test)]
mod tests;

use fettlebook_contract::v1::{Make, PolicyFigure};

use crate::options::Stock;

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
    Word(fn() -> Vec<(String, i32)>),
    /// As it is marked.
    Text,
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
    /// Yes or no.
    Yes(bool),
    /// An amount with its unit.
    Stock(Stock),
}
