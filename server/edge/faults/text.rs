//! A text of a request: whether it is what the contract says that it is, and whether the book has what it
//! names.

use fettlebook_contract::v1::TextForm;
use fettlebook_model::{Book, Id, Reason, Refusal};

use crate::edge::parse;

/// What is wrong with a text; nothing where nothing is.
pub(super) fn wrong(book: &Book, form: TextForm, field: &str, text: &str) -> Option<Refusal> {
    match form {
        TextForm::Unspecified | TextForm::Text | TextForm::Opaque => None,
        TextForm::Uuid => parse::uuid(field, text).err(),
        TextForm::Date => parse::open_date(field, text).err(),
        TextForm::Id => parse::id(field, text).err(),
        TextForm::Place => parse::place(field, text).err(),
        TextForm::Tag => parse::tag(field, text).err(),
        TextForm::Piece => match parse::tag(field, text) {
            Ok(tag) if book.piece(tag).is_none() => Some(Refusal::no_tag(field, tag)),
            read => read.err(),
        },
        TextForm::Make
        | TextForm::Car
        | TextForm::Routine
        | TextForm::Job
        | TextForm::Supplier
        | TextForm::Order => match parse::id(field, text) {
            Ok(id) => named(book, form, field, &id),
            Err(refusal) => Some(refusal),
        },
        TextForm::Subject => parse::book::subjects(text, book).err(),
        TextForm::Panel => parse::panel_group(field, text).err(),
        TextForm::HazardCode => parse::make::hazard_code(field, text).err(),
        TextForm::Thread => parse::make::thread(field, text).err(),
        TextForm::PolicyKey => parse::book::policy_key(field, text).err(),
        TextForm::StarterKit => parse::start::starter_kit(field, text).err(),
        TextForm::Address => parse::access::address(field, text).err(),
        TextForm::TagLetter => parse::kept::tag_letter(field, text).err(),
    }
}

/// That the book does not have what an id names.
fn named(book: &Book, form: TextForm, field: &str, id: &Id) -> Option<Refusal> {
    let (has, reason, sort) = match form {
        TextForm::Make => (book.make(id).is_some(), Reason::MakeUnknown, "make"),
        TextForm::Car => (book.car(id).is_some(), Reason::CarUnknown, "car"),
        TextForm::Routine => (
            book.routine(id).is_some(),
            Reason::RoutineUnknown,
            "routine",
        ),
        TextForm::Job => (book.job(id).is_some(), Reason::JobUnknown, "job"),
        TextForm::Supplier => (
            book.supplier(id).is_some(),
            Reason::SupplierUnknown,
            "supplier",
        ),
        TextForm::Order => (book.order(id).is_some(), Reason::OrderUnknown, "order"),
        _ => return None,
    };
    (!has).then(|| Refusal::no_id(reason, field, sort, id))
}

/// That a text is missing which has to be given.
pub(super) fn missing(form: TextForm, field: &str) -> Refusal {
    let read = match form {
        TextForm::Uuid => parse::uuid(field, "").err(),
        TextForm::Place => parse::place(field, "").err(),
        TextForm::Tag | TextForm::Piece => parse::tag(field, "").err(),
        TextForm::Id
        | TextForm::Make
        | TextForm::Car
        | TextForm::Routine
        | TextForm::Job
        | TextForm::Supplier
        | TextForm::Order => parse::id(field, "").err(),
        TextForm::Thread => parse::make::thread(field, "").err(),
        TextForm::PolicyKey => parse::book::policy_key(field, "").err(),
        _ => None,
    };
    read.unwrap_or_else(|| Refusal::missing(field, "Fill it in; the contract says with what."))
}
