//! The figures as options: those of one sort for `make add`, those of every sort for `make edit`.

use std::marker::PhantomData;

use clap::builder::{BoolishValueParser, ValueParser};
use clap::{Arg, ArgAction, ArgMatches, Args, Command, Error, FromArgMatches};

use super::{FIGURES, Figure, Read, Typed, read};
use crate::options;

/// A sort of make, for the options of `make add`.
pub(crate) trait Of {
    /// As the contract names its figures.
    const SORT: &'static str;
}

/// No sort by itself: the options of every sort, for `make edit`.
#[derive(Clone, Debug)]
pub(crate) struct OfAny;

macro_rules! sorts {
    ($($name:ident $sort:literal),+) => {
        $(
            #[doc = concat!("A make that is a ", $sort, ".")]
            #[derive(Debug)]
            pub(crate) struct $name;

            impl super::Of for $name {
                const SORT: &'static str = $sort;
            }
        )+
    };
}

/// The sorts of make.
pub(crate) mod sorts {
    sorts!(
        Pad "pad",
        Plate "plate",
        Machine "machine",
        Towel "towel",
        Liquid "liquid",
        Sundry "sundry",
        Tool "tool",
        Battery "battery"
    );
}

/// The figures that were given, each by its option.
#[derive(Clone, Debug)]
pub(crate) struct Given<S> {
    typed: Vec<(&'static str, Typed)>,
    of: PhantomData<S>,
}

impl<S> Given<S> {
    /// What was typed for each option.
    pub(crate) fn typed(&self) -> &[(&'static str, Typed)] {
        &self.typed
    }

    fn from<'a>(found: &ArgMatches, figures: impl Iterator<Item = &'a Figure>) -> Self {
        let mut typed: Vec<(&'static str, Typed)> = Vec::new();
        for figure in figures {
            let is_new = typed.iter().all(|(option, _)| *option != figure.option);
            if is_new && let Some(one) = typed_in(found, figure) {
                typed.push((figure.option, one));
            }
        }
        let of = PhantomData;
        Self { typed, of }
    }
}

/// What was typed for a figure, if anything was.
fn typed_in(found: &ArgMatches, figure: &Figure) -> Option<Typed> {
    let id = figure.option;
    match figure.read {
        Read::Number(_) => found.get_one(id).copied().map(Typed::Number),
        Read::Word(_) => found.get_one(id).copied().map(Typed::Word),
        Read::Text(_) => found.get_one(id).cloned().map(Typed::Text),
        Read::Ids => found.get_one(id).cloned().map(Typed::Ids),
        Read::Yes => found.get_one(id).copied().map(Typed::Yes),
        Read::Stock => found.get_one(id).copied().map(Typed::Stock),
    }
}

impl Figure {
    /// The option by itself, with what it takes.
    fn arg(&self) -> Arg {
        Arg::new(self.option)
            .long(self.option)
            .value_name(self.value)
            .value_parser(self.parser())
    }

    fn parser(&self) -> ValueParser {
        match self.read {
            Read::Number(read) => ValueParser::new(read),
            Read::Word(words) => ValueParser::new(words()),
            Read::Text(read) => ValueParser::new(read),
            Read::Ids => ValueParser::new(read::ids),
            Read::Yes => ValueParser::new(BoolishValueParser::new()),
            Read::Stock => ValueParser::new(options::stock),
        }
    }

    /// The option in `make add`: what a make of its sort needs is asked for, and yes is said by naming it.
    fn to_add(&self) -> Arg {
        let arg = self.arg().help(self.help).required(self.needed);
        match self.read {
            Read::Yes => Arg::new(self.option)
                .long(self.option)
                .help(self.help)
                .action(ArgAction::SetTrue),
            _ => arg,
        }
    }

    /// The option in `make edit`, where it belongs to all sorts that have it; one that is yes or no is yes
    /// where neither is said.
    fn to_edit(&self) -> Arg {
        let sorts = FIGURES.iter().filter(|one| one.option == self.option);
        let mut sorts = sorts.map(|one| one.sort).collect::<Vec<_>>().join(", ");
        if let Some(first) = sorts.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let arg = self.arg().help(format!("{sorts}: {}", self.in_edit));
        match self.read {
            Read::Yes => arg.num_args(0..=1).default_missing_value("true"),
            _ => arg,
        }
    }
}

/// The rows of one sort.
fn rows<S: Of>() -> impl Iterator<Item = &'static Figure> {
    FIGURES.iter().filter(|figure| figure.sort == S::SORT)
}

/// The first row of every option.
fn options() -> impl Iterator<Item = &'static Figure> {
    let is_first = |(at, figure): &(usize, &'static Figure)| {
        let before = FIGURES.iter().take(*at);
        before.filter(|one| one.option == figure.option).count() == 0
    };
    FIGURES
        .iter()
        .enumerate()
        .filter(is_first)
        .map(|(_, figure)| figure)
}

impl<S: Of> FromArgMatches for Given<S> {
    fn from_arg_matches(found: &ArgMatches) -> Result<Self, Error> {
        Ok(Self::from(found, rows::<S>()))
    }

    fn update_from_arg_matches(&mut self, found: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(found)?;
        Ok(())
    }
}

impl<S: Of> Args for Given<S> {
    fn augment_args(command: Command) -> Command {
        command.args(rows::<S>().map(Figure::to_add))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Given<OfAny> {
    fn from_arg_matches(found: &ArgMatches) -> Result<Self, Error> {
        Ok(Self::from(found, options()))
    }

    fn update_from_arg_matches(&mut self, found: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(found)?;
        Ok(())
    }
}

impl Args for Given<OfAny> {
    fn augment_args(command: Command) -> Command {
        command.args(options().map(Figure::to_edit))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}
