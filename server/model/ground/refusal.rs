//! Why a command is refused, in words for the person who gave it.
//!
//! A refusal carries a stable reason for programs, the field it is about, what was wrong and what
//! to do next. It must never be raised for something that has happened already: that is recorded
//! and flagged instead.

use std::fmt;

use fettlebook_quantity::field_words;

/// Stable reasons of refusals. The edge maps each to a wire reason and a status code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reason {
    /// A required field is missing.
    FieldMissing,
    /// A field has no sense.
    FieldInvalid,
    /// A quantity is negative, zero where it may not be, or absurd.
    QuantityInvalid,
    /// No piece has that tag.
    TagUnknown,
    /// A tag is taken, or was once.
    TagTaken,
    /// No make has that id.
    MakeUnknown,
    /// No car has that id.
    CarUnknown,
    /// No routine has that id.
    RoutineUnknown,
    /// No job has that id.
    JobUnknown,
    /// No panel has that word.
    PanelUnknown,
    /// An id is taken.
    IdTaken,
    /// A time lies in the past where it may not.
    TimePast,
    /// Something that happened is reported for the future.
    TimeFuture,
    /// The piece is of another sort than the command needs.
    WrongSort,
    /// The job is not in a state for that.
    JobState,
    /// Nothing in the book goes by that tag or id.
    SubjectUnknown,
    /// No entry has that number.
    EntryUnknown,
    /// The entry cannot be reversed.
    NotReversible,
    /// A plan cannot be made from what the book holds.
    NoPlan,
    /// The kit cannot be picked for what was asked to be logged.
    NoPick,
    /// No policy has that key.
    PolicyUnknown,
    /// What was to be edited has changed since it was read.
    ChangedMeanwhile,
    /// No supplier has that id.
    SupplierUnknown,
    /// No order has that id.
    OrderUnknown,
    /// The order is not in a state for that.
    OrderState,
    /// Sums in more than one currency meet.
    CurrencyMismatch,
    /// The check says stop, and nobody said despite what the job goes.
    CheckStops,
    /// The check says stop for what nobody passes: plate, film, vibration.
    NeverPassed,
}

/// A refused command: what was wrong, where, what to do next.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Refusal {
    /// Stable reason.
    pub reason: Reason,
    /// Field it is about, as a path such as `make.pad.face_mm`; empty when it is about no field.
    pub field: String,
    /// The name that it is about, as it was given, such as a tag that no piece has; empty for none.
    pub name: String,
    /// What was wrong, a sentence.
    pub what: String,
    /// What to do next, a sentence; empty when the first says it.
    pub todo: String,
}

impl Refusal {
    /// A refusal that says what was wrong with a field and what to do about it.
    pub fn new(
        reason: Reason,
        field: impl Into<String>,
        what: impl Into<String>,
        todo: impl Into<String>,
    ) -> Self {
        Self {
            reason,
            field: field.into(),
            name: String::new(),
            what: what.into(),
            todo: todo.into(),
        }
    }

    /// The refusal with the name that it is about.
    #[must_use]
    pub(crate) fn about(mut self, name: impl fmt::Display) -> Self {
        self.name = name.to_string();
        self
    }

    /// A required field that was left empty.
    pub fn missing(field: &str, todo: &str) -> Self {
        Self::new(
            Reason::FieldMissing,
            field,
            format!("The {} is missing.", field_words(field)),
            todo,
        )
    }

    /// A field with a value that has no sense.
    pub fn invalid(field: &str, what: impl Into<String>, todo: impl Into<String>) -> Self {
        Self::new(Reason::FieldInvalid, field, what, todo)
    }

    /// A quantity outside what can be true.
    pub fn quantity(field: &str, what: impl Into<String>, todo: impl Into<String>) -> Self {
        Self::new(Reason::QuantityInvalid, field, what, todo)
    }

    /// No piece has this tag.
    pub fn no_tag(field: &str, tag: crate::Tag) -> Self {
        Self::new(
            Reason::TagUnknown,
            field,
            format!("No piece of kit has the tag {tag}."),
            "Look at the label, or list the kit.",
        )
        .about(tag)
    }

    /// The piece is of another sort.
    pub(crate) fn wrong_sort(field: &str, tag: crate::Tag, is: &str, needs: &str) -> Self {
        Self::new(
            Reason::WrongSort,
            field,
            format!("{tag} is a {is}; this needs a {needs}."),
            "Look at the label, or list the kit.",
        )
        .about(tag)
    }

    /// Nothing in the book has this id.
    pub fn no_id(reason: Reason, field: &str, sort: &str, id: &crate::Id) -> Self {
        Self::new(
            reason,
            field,
            format!("The book has no {sort} {id}."),
            format!("Set the {sort} up first, or list what there is."),
        )
        .about(id)
    }

    /// The id is taken already.
    pub(crate) fn id_taken(field: &str, sort: &str, id: &crate::Id) -> Self {
        Self::new(
            Reason::IdTaken,
            field,
            format!("There is a {sort} {id} already."),
            "Edit that one, or choose another id.",
        )
        .about(id)
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        if !self.todo.is_empty() {
            write!(f, " {}", self.todo)?;
        }
        Ok(())
    }
}
