//! Everything that is wrong with a request, found at once.
//!
//! A request that can be read costs nothing here. One that is refused is looked at field by field, by what
//! the contract says of each: whether it has to be given, within what a number can be true, which words there
//! are, what a text is and what it names. So whoever sent it mends it once. What several fields mean together
//! is for who parses them and for the model, whose refusal is told with the rest.

mod text;

use fettlebook_contract::v1::{ErrorReason, Standing};
use fettlebook_model::{Book, Refusal};
use fettlebook_quantity::{field_words, out_of_bounds};
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, ReflectMessage as _, Value};
use prost_types::Timestamp;

use super::reflected::{decoded, dynamic, is_needed, is_required, rule, standing};
use super::status::{EdgeError, Fault};
use super::{parse, words};

/// The field that says how long a page is.
const PAGE_SIZE: &str = "page_size";

/// What is asked of a request.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Asked {
    /// All of it is there.
    Whole,
    /// It only looks, and needs no request id.
    Look,
    /// It edits: of the thing that it brings only the id has to be there, and the rest may be anything.
    Edit,
}

/// The error with everything else that is wrong with a request, where it says that the request is.
pub(super) fn all<M: Message + Name>(book: &Book, sent: &M, error: EdgeError) -> EdgeError {
    let Ok(sent) = dynamic(sent) else {
        return error;
    };
    with(book, &sent, Asked::Whole, error)
}

/// The same for a request that was taken apart: its name in the contract, its bytes without the request id,
/// and that id.
pub(super) fn all_of(
    book: &Book,
    (name, bytes, request_id): (&str, &[u8], &str),
    asked: Asked,
    error: EdgeError,
) -> EdgeError {
    let Some(mut sent) = decoded(name, bytes) else {
        return error;
    };
    if let Some(field) = sent.descriptor().get_field_by_name("request_id") {
        sent.set_field(&field, Value::String(request_id.to_owned()));
    }
    with(book, &sent, asked, error)
}

/// The error with everything else that is wrong with a part of a request, which stands in a field of it.
pub(super) fn all_of_part<M: Message + Name>(
    book: &Book,
    (field, part): (&str, &M),
    error: EdgeError,
) -> EdgeError {
    let Ok(part) = dynamic(part) else {
        return error;
    };
    let mut look = Look::new(book, Asked::Whole);
    look.message(&part, &Place::top().down(field));
    merged(look.found, error)
}

/// Both, or everything that is wrong with either.
pub(super) fn both<A, B>(
    one: Result<A, EdgeError>,
    other: Result<B, EdgeError>,
) -> Result<(A, B), EdgeError> {
    match (one, other) {
        (Ok(one), Ok(other)) => Ok((one, other)),
        (Err(error), Ok(_)) | (Ok(_), Err(error)) => Err(error),
        (Err(one), Err(other)) => Err(match one.clone().faults() {
            Ok(found) => merged(found, other),
            Err(_) => one,
        }),
    }
}

fn with(book: &Book, sent: &DynamicMessage, asked: Asked, error: EdgeError) -> EdgeError {
    let mut look = Look::new(book, asked);
    look.message(sent, &Place::top());
    merged(look.found, error)
}

/// What was found, with what was told already, each once. What was told already stands where it says the
/// same: it knows more of what to do.
fn merged(found: Vec<Fault>, error: EdgeError) -> EdgeError {
    let Ok(told) = error.clone().faults() else {
        return error;
    };
    let mut all: Vec<Found> = found.into_iter().map(Found::open).collect();
    for fault in told {
        let same = match all.iter().position(|one| one.says(&fault)) {
            Some(at) => Some(at),
            None => all.iter().position(|one| one.is_about(&fault)),
        };
        match same.and_then(|at| all.get_mut(at)) {
            Some(same) => same.settle(fault),
            None => all.push(Found {
                fault,
                is_settled: true,
            }),
        }
    }
    let mut all: Vec<Fault> = all.into_iter().map(|one| one.fault).collect();
    // What the request says by itself comes before what the book has not.
    all.sort_by_key(|fault| names_nothing(fault.reason));
    EdgeError::of(all).unwrap_or(error)
}

/// A fault that was found, and whether what was told already has taken its place: two that are told of one field
/// are two.
struct Found {
    fault: Fault,
    is_settled: bool,
}

impl Found {
    const fn open(fault: Fault) -> Self {
        Self {
            fault,
            is_settled: false,
        }
    }

    /// Whether a fault that was told is this one, in the same words; where it stands comes before them.
    fn says(&self, told: &Fault) -> bool {
        !self.is_settled
            && self.fault.reason == told.reason
            && self.fault.what.ends_with(&told.what)
    }

    /// Whether a fault that was told is about the same field for the same reason.
    fn is_about(&self, told: &Fault) -> bool {
        !self.is_settled && (&self.fault.field, self.fault.reason) == (&told.field, told.reason)
    }

    /// Puts a fault that was told in its place; where it stands is still said.
    fn settle(&mut self, mut told: Fault) {
        if self.says(&told) {
            told.what = std::mem::take(&mut self.fault.what);
        }
        *self = Self {
            fault: told,
            is_settled: true,
        };
    }
}

/// Whether a fault is that the book does not have something.
const fn names_nothing(reason: ErrorReason) -> bool {
    matches!(
        reason,
        ErrorReason::TagUnknown
            | ErrorReason::MakeUnknown
            | ErrorReason::CarUnknown
            | ErrorReason::RoutineUnknown
            | ErrorReason::JobUnknown
            | ErrorReason::SupplierUnknown
            | ErrorReason::OrderUnknown
            | ErrorReason::SubjectUnknown
            | ErrorReason::EntryUnknown
            | ErrorReason::DeviceUnknown
    )
}

/// Where something stands in a request.
struct Place {
    /// Path of its field.
    path: String,
    /// Which of several it is of, for people; empty where there is one.
    which: String,
}

impl Place {
    const fn top() -> Self {
        Self {
            path: String::new(),
            which: String::new(),
        }
    }

    /// A field of it.
    fn down(&self, name: &str) -> Self {
        let path = if self.path.is_empty() {
            name.to_owned()
        } else {
            format!("{}.{name}", self.path)
        };
        Self {
            path,
            which: self.which.clone(),
        }
    }

    /// The one with this number of so many that stand in a field.
    fn at(&self, number: usize, count: usize) -> Self {
        let mut which = self.which.clone();
        if count > 1 {
            which = format!(
                "{which}Number {number} of the {}: ",
                field_words(&self.path)
            );
        }
        Self {
            path: self.path.clone(),
            which,
        }
    }
}

/// Looks at a request, and keeps what is wrong with it.
struct Look<'a> {
    book: &'a Book,
    asked: Asked,
    found: Vec<Fault>,
}

impl<'a> Look<'a> {
    const fn new(book: &'a Book, asked: Asked) -> Self {
        Self {
            book,
            asked,
            found: Vec::new(),
        }
    }

    fn tell(&mut self, place: &Place, refusal: Refusal) {
        let mut fault = Fault::from(refusal);
        fault.what.insert_str(0, &place.which);
        self.found.push(fault);
    }

    fn message(&mut self, message: &DynamicMessage, at: &Place) {
        let kind = message.descriptor();
        for field in kind.fields() {
            if standing(&field) != Standing::Own {
                self.field(message, &field, &at.down(field.name()));
            }
        }
        let is_given = |name: FieldDescriptor| message.has_field(&name);
        for choice in kind.oneofs().filter(is_needed) {
            if !choice.fields().any(is_given) {
                let place = at.down(choice.name());
                let names: Vec<String> =
                    choice.fields().map(|one| field_words(one.name())).collect();
                let todo = format!("Give one of {}.", names.join(", "));
                self.tell(&place, Refusal::missing(&place.path, &todo));
            }
        }
    }

    fn field(&mut self, message: &DynamicMessage, field: &FieldDescriptor, at: &Place) {
        let value = message.get_field(field);
        if let Value::List(values) = value.as_ref() {
            if values.is_empty() && self.wants(field) {
                self.tell(at, Refusal::missing(&at.path, "Give at least one."));
            }
            for (index, value) in values.iter().enumerate() {
                self.value(field, value, &at.at(index.saturating_add(1), values.len()));
            }
            return;
        }
        if message.has_field(field) {
            self.value(field, &value, at);
        } else if !self.is_beyond(field, &value, at) && self.wants(field) {
            let missing = match field.kind() {
                Kind::Enum(kind) => words::missing(&at.path, kind.name()),
                Kind::String => text::missing(rule(field).form(), &at.path),
                _ => Refusal::missing(&at.path, "Fill it in; the contract says with what."),
            };
            self.tell(at, missing);
        }
    }

    /// Whether a field has to be given here.
    fn wants(&self, field: &FieldDescriptor) -> bool {
        if !is_required(field) {
            return false;
        }
        match self.asked {
            Asked::Whole | Asked::Edit => true,
            Asked::Look => field.name() != "request_id",
        }
    }

    /// A number that is not said is 0 where the contract has no other way to say so.
    fn is_beyond(&mut self, field: &FieldDescriptor, value: &Value, at: &Place) -> bool {
        let is_number = matches!(field.kind(), Kind::Int32 | Kind::Int64);
        let before = self.found.len();
        if is_number && !field.supports_presence() {
            self.value(field, value, at);
        }
        self.found.len() > before
    }

    fn value(&mut self, field: &FieldDescriptor, value: &Value, at: &Place) {
        match value {
            Value::Message(message) => self.inner(message, at),
            Value::EnumNumber(number) => {
                if let Kind::Enum(kind) = field.kind()
                    && kind.get_value(*number).is_none()
                {
                    self.tell(at, words::unknown(&at.path, *number, kind.name()));
                }
            }
            Value::I32(number) => self.number(field, i64::from(*number), at),
            Value::I64(number) => self.number(field, *number, at),
            Value::String(said) => {
                if let Some(refusal) = text::wrong(self.book, rule(field).form(), &at.path, said) {
                    self.tell(at, refusal);
                }
            }
            _ => {}
        }
    }

    fn number(&mut self, field: &FieldDescriptor, number: i64, at: &Place) {
        // Whoever lists reads the page by itself, whatever else is wrong.
        if field.name() == PAGE_SIZE {
            return;
        }
        if let Some(bounds) = rule(field).bounds
            && !(bounds.least..=bounds.most).contains(&number)
        {
            let what = out_of_bounds(&at.path, number, bounds.least, bounds.most, &bounds.unit);
            self.tell(
                at,
                Refusal::quantity(&at.path, what, "Look at the figure and its unit."),
            );
        }
    }

    fn inner(&mut self, message: &DynamicMessage, at: &Place) {
        let wrong = match message.descriptor().full_name() {
            "google.protobuf.Timestamp" => {
                let stamp: Option<Timestamp> = message.transcode_to().ok();
                parse::moment(&at.path, stamp).err()
            }
            "fettlebook.v1.Money" => {
                let before = self.found.len();
                self.message(message, at);
                if self.found.len() > before {
                    return;
                }
                let sum = message.transcode_to().ok();
                parse::open_money(&at.path, sum.as_ref()).err()
            }
            name if !name.starts_with("fettlebook.") => None,
            _ if self.asked == Asked::Edit => return self.id(message, at),
            _ => return self.message(message, at),
        };
        if let Some(refusal) = wrong {
            self.tell(at, refusal);
        }
    }

    /// The id of what is edited.
    fn id(&mut self, message: &DynamicMessage, at: &Place) {
        for field in message.descriptor().fields() {
            if standing(&field) == Standing::Settled {
                self.field(message, &field, &at.down(field.name()));
            }
        }
    }
}
