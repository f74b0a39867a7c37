//! The numbers of a request, each held to the bounds that the contract gives it.
//!
//! All of it is generated from the option `field` of the contract's fields (`options.proto`). Nobody
//! keeps a list of figures beside it. Bounds that depend on something else than the number itself, such
//! as a bottle's size, are the model's.

use std::fmt;

use crate::v1;

/// Within what a number can be true, both ends with it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// The least.
    pub least: i64,
    /// The most.
    pub most: i64,
    /// What stands behind the figures, such as `mm`; empty for a bare number.
    pub unit: &'static str,
}

/// A number that cannot be true.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Beyond {
    /// Path of its field, such as `make.pad.face_mm`.
    pub field: String,
    /// What was sent.
    pub number: i64,
    /// What can be true.
    pub bounds: Bounds,
}

impl fmt::Display for Beyond {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            field,
            number,
            bounds: Bounds { least, most, unit },
        } = self;
        let space = if unit.is_empty() { "" } else { " " };
        write!(f, "`{field}` is {number}; it ")?;
        if *most == i64::MAX {
            return write!(f, "is at least {least}{space}{unit}.");
        }
        write!(f, "lies between {least} and {most}{space}{unit}.")
    }
}

/// The place of a message in its request.
#[derive(Clone, Copy, Debug)]
pub struct At<'a> {
    up: Option<&'a At<'a>>,
    name: &'static str,
}

impl<'a> At<'a> {
    /// The request itself.
    pub const TOP: At<'static> = At { up: None, name: "" };

    /// A field of it by name, for a message that stands alone.
    pub const fn down(&'a self, name: &'static str) -> Self {
        Self {
            up: Some(self),
            name,
        }
    }

    /// Notes a number that is outside its bounds.
    fn hold(
        &self,
        name: &'static str,
        number: impl Into<i64>,
        bounds: &Bounds,
        found: &mut Vec<Beyond>,
    ) {
        let number = number.into();
        if !(bounds.least..=bounds.most).contains(&number) {
            let field = self.down(name).to_string();
            let bounds = *bounds;
            found.push(Beyond {
                field,
                number,
                bounds,
            });
        }
    }
}

impl fmt::Display for At<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Some(up) = self.up else { return Ok(()) };
        if up.up.is_some() {
            write!(f, "{up}.")?;
        }
        f.write_str(self.name)
    }
}

/// A message that a request can bring.
pub trait Numbers {
    /// Notes every number in it that cannot be true.
    fn beyond(&self, at: At<'_>, found: &mut Vec<Beyond>);
}

include!(concat!(env!("OUT_DIR"), "/fettlebook_numbers.rs"));
