//! The figures that a make has, read and written by the names of their fields.

use fettlebook_contract::v1::{Grade, MachineAction, Make, Unit};
use prost_reflect::{DynamicMessage, ReflectMessage as _, Value};

use super::{FIGURES, Figure, Typed};
use crate::fault::Fault;
use crate::json;
use crate::render::amount;
use crate::word::{Worded, word};

/// The figures of one make.
pub(crate) struct Held {
    make: DynamicMessage,
    sort: String,
}

/// The sort of a make, as it is typed; empty where its figures are missing.
pub(crate) fn sort(make: &Make) -> String {
    Held::of(make).map(|held| held.sort).unwrap_or_default()
}

impl Held {
    /// The figures of a make.
    ///
    /// # Errors
    /// When the contract cannot be read.
    pub(crate) fn of(make: &Make) -> Result<Self, Fault> {
        let make = json::dynamic(make)?;
        let choice = make.descriptor().oneofs().find(|one| !one.is_synthetic());
        let set = choice.and_then(|choice| choice.fields().find(|field| make.has_field(field)));
        let sort = set.map_or_else(String::new, |field| field.name().to_owned());
        Ok(Self { make, sort })
    }

    /// The figures of a make of this sort, of which nothing is known yet.
    ///
    /// # Errors
    /// When the contract cannot be read.
    pub(crate) fn new(make: &Make, sort: &str) -> Result<Self, Fault> {
        let mut held = Self::of(make)?;
        sort.clone_into(&mut held.sort);
        Ok(held)
    }

    /// The sort, as it is typed.
    pub(crate) fn sort(&self) -> &str {
        &self.sort
    }

    /// The rows of the table that the make has.
    pub(crate) fn rows(&self) -> impl Iterator<Item = &'static Figure> + use<> {
        let sort = self.sort.clone();
        FIGURES.iter().filter(move |figure| figure.sort == sort)
    }

    /// Puts what was typed for a figure; gives the paths of the fields it is in.
    ///
    /// # Errors
    /// When the contract has no such field.
    pub(crate) fn put(&mut self, figure: &Figure, typed: &Typed) -> Result<Vec<String>, Fault> {
        let parts = match typed {
            Typed::Number(number) => vec![(figure.field, Value::I64(*number))],
            Typed::Word(number) => vec![(figure.field, Value::EnumNumber(*number))],
            Typed::Text(text) => vec![(figure.field, Value::String(text.clone()))],
            Typed::Ids(ids) => {
                let ids = ids.iter().cloned().map(Value::String).collect();
                vec![(figure.field, Value::List(ids))]
            }
            Typed::Yes(yes) => vec![(figure.field, Value::Bool(*yes))],
            Typed::Stock(stock) => vec![
                (figure.field, Value::I64(stock.quantity)),
                ("unit", Value::EnumNumber(stock.unit.into())),
            ],
        };
        let mut paths = Vec::new();
        let unknown = || Fault::answer("a figure of the contract");
        let sort = self.make.descriptor().get_field_by_name(&self.sort);
        let figures = self.make.get_field_mut(&sort.ok_or_else(unknown)?);
        let figures = figures.as_message_mut().ok_or_else(unknown)?;
        for (name, value) in parts {
            let field = figures.descriptor().get_field_by_name(name);
            let field = field.ok_or_else(unknown)?;
            figures
                .try_set_field(&field, value)
                .map_err(|_| unknown())?;
            paths.push(format!("{}.{name}", self.sort));
        }
        Ok(paths)
    }

    /// The make with these figures.
    ///
    /// # Errors
    /// When it cannot be put together.
    pub(crate) fn make(&self) -> Result<Make, Fault> {
        let whole = self.make.transcode_to();
        whole.map_err(|_| Fault::answer("a message that can be read back"))
    }

    fn value(&self, field: &str) -> Option<Value> {
        let figures = self.make.get_field_by_name(&self.sort)?;
        let figures = figures.as_message()?;
        let field = figures.descriptor().get_field_by_name(field)?;
        let there = !field.supports_presence() || figures.has_field(&field);
        there.then(|| figures.get_field(&field).into_owned())
    }

    /// A number, where it is known.
    pub(crate) fn number(&self, field: &str) -> Option<i64> {
        self.value(field)?.as_i64()
    }

    /// Yes or no.
    pub(crate) fn is(&self, field: &str) -> bool {
        self.value(field)
            .and_then(|value| value.as_bool())
            .unwrap_or_default()
    }

    /// Ids, as they are listed.
    pub(crate) fn ids(&self, field: &str) -> String {
        let value = self.value(field);
        let ids = value.as_ref().and_then(Value::as_list).unwrap_or_default();
        let ids = ids.iter().filter_map(Value::as_str);
        ids.collect::<Vec<_>>().join(", ")
    }

    /// A text.
    pub(crate) fn text(&self, field: &str) -> String {
        let value = self.value(field);
        let text = value.as_ref().and_then(Value::as_str);
        text.unwrap_or_default().to_owned()
    }

    fn named<T: Worded + Default>(&self, field: &str) -> T {
        let number = self.value(field).and_then(|value| value.as_enum_number());
        number
            .and_then(|number| T::try_from(number).ok())
            .unwrap_or_default()
    }

    /// A word.
    pub(crate) fn word<T: Worded + Default>(&self, field: &str) -> String {
        word(self.named::<T>(field))
    }

    /// A grade.
    pub(crate) fn grade(&self, field: &str) -> String {
        amount::grade(self.named::<Grade>(field))
    }

    /// A length.
    pub(crate) fn length(&self, field: &str) -> String {
        amount::length(self.number(field).unwrap_or_default())
    }

    /// A time, which may be left to the book.
    pub(super) fn span(&self, field: &str) -> String {
        self.number(field).map_or_else(String::new, amount::time)
    }

    /// A figure with its unit, which may be left to the book.
    pub(crate) fn rated(&self, field: &str, unit: &str) -> String {
        self.number(field)
            .map_or_else(String::new, |value| format!("{value} {unit}"))
    }

    /// A speed, or what is said without one.
    pub(crate) fn speed(&self, field: &str, without: &str) -> String {
        self.number(field)
            .map_or_else(|| without.to_owned(), |speed| format!("{speed}/min"))
    }

    /// How a machine moves the pad, with its throw.
    pub(crate) fn action(&self, field: &str) -> String {
        match self.named(field) {
            MachineAction::Orbital => format!("orbital, {} throw", self.length("throw_mm")),
            MachineAction::Rotary => "rotary".to_owned(),
            MachineAction::Unspecified => String::new(),
        }
    }

    /// The vibration with whose figure it is.
    pub(super) fn vibration(&self, field: &str) -> String {
        let how = if self.is("vibration_measured") {
            "measured at work"
        } else {
            "declared; counted double"
        };
        self.number(field).map_or_else(
            || "not known".to_owned(),
            |value| format!("{} m/s² ({how})", amount::thousandths(value)),
        )
    }

    /// What one piece of a sundry holds.
    pub(crate) fn holds(&self, field: &str) -> String {
        let quantity = self.number(field).unwrap_or_default();
        let unit = self.named::<Unit>("unit");
        format!("holds {}", amount::quantity(quantity, unit))
    }
}
