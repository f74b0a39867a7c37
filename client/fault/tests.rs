//! What a fault takes over from a status, and how it ends a command.

use std::collections::HashMap;

use super::Fault;
use crate::exit::Exit;
use crate::solo::{SoloError, SoloErrorKind};
use fettlebook_contract::ERROR_DOMAIN;
use fettlebook_contract::v1::ErrorReason;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, FieldViolation, StatusExt as _};

fn status(reason: &str, code: Code, what: &str, todo: &str) -> Status {
    let metadata = HashMap::from([("todo".to_owned(), todo.to_owned())]);
    let mut details = ErrorDetails::with_error_info(reason, ERROR_DOMAIN, metadata);
    details.add_bad_request_violation("tags[0]", what);
    Status::with_error_details(code, format!("{what} {todo}"), details)
}

#[test]
fn a_refusal_is_told_with_its_field_and_what_to_do() {
    let what = "No piece of kit has the tag P-99.";
    let todo = "Look at the label.";
    let fault = Fault::from(status("TAG_UNKNOWN", Code::NotFound, what, todo));
    assert_eq!(fault.message, what);
    assert_eq!(&*fault.field, "tags[0]");
    assert_eq!(
        fault.todo,
        "Look at the label. See 'fettle kit list' for every tag."
    );
    assert_eq!(fault.exit, Exit::NotFound);
    insta::assert_snapshot!(format!("{:#}", fault.to_json()), @r#"
    {
      "error": {
        "exitCode": 4,
        "field": "tags[0]",
        "message": "No piece of kit has the tag P-99.",
        "reason": "TAG_UNKNOWN",
        "todo": "Look at the label. See 'fettle kit list' for every tag."
      }
    }
    "#);
}

#[test]
fn everything_that_is_wrong_with_a_request_is_told() {
    let metadata = [("field", "tags"), ("todo", "Look.")];
    let metadata = metadata.map(|(key, value)| (key.to_owned(), value.to_owned()));
    let mut details =
        ErrorDetails::with_error_info("FIELD_MISSING", ERROR_DOMAIN, HashMap::from(metadata));
    let violation = |field: &str, what: &str, reason: &str| FieldViolation {
        reason: reason.to_owned(),
        ..FieldViolation::new(field, what)
    };
    details.set_bad_request(vec![
        violation("tags", "The tags are missing.", "FIELD_MISSING"),
        violation("place", "'Van A!' is no place.", "FIELD_INVALID"),
        // Said of two fields, it is told to a person once.
        violation("new_place", "'Van A!' is no place.", "FIELD_INVALID"),
    ]);
    let status = Status::with_error_details(Code::InvalidArgument, "In other words.", details);
    let fault = Fault::from(status);
    assert_eq!(fault.message, "The tags are missing. 'Van A!' is no place.");
    assert_eq!(&*fault.field, "tags");
    let told = fault.to_json();
    let each = told["error"]["violations"].as_array().unwrap();
    assert_eq!(each.len(), 3);
    assert_eq!(each[0]["reason"], "FIELD_MISSING");
    assert_eq!(told["error"]["violations"][1]["field"], "place");
    assert_eq!(
        told["error"]["violations"][1]["message"],
        "'Van A!' is no place."
    );
}

/// A message of other words than the parts stays out of sight: what is told is the parts.
#[test]
fn the_parts_of_a_refusal_are_told_and_not_its_message() {
    let metadata = [("name", "P-99"), ("what", "Gone."), ("todo", "Look.")];
    let metadata = metadata.map(|(key, value)| (key.to_owned(), value.to_owned()));
    let details =
        ErrorDetails::with_error_info("DISK_FAILED", ERROR_DOMAIN, HashMap::from(metadata));
    let status = Status::with_error_details(Code::Unavailable, "In other words.", details);
    let fault = Fault::from(status);
    assert_eq!(
        (fault.message.as_str(), fault.hints.name.as_str()),
        ("Gone.", "P-99")
    );
    assert!(fault.todo.starts_with("Look. If this"), "{}", fault.todo);
}

#[test]
fn every_reason_of_the_contract_ends_as_the_exit_codes_say() {
    let cases = [
        (ErrorReason::FieldMissing, 2),
        (ErrorReason::QuantityInvalid, 2),
        (ErrorReason::PanelUnknown, 2),
        (ErrorReason::TimePast, 2),
        (ErrorReason::WrongSort, 2),
        (ErrorReason::TagUnknown, 4),
        (ErrorReason::JobUnknown, 4),
        (ErrorReason::EntryUnknown, 4),
        (ErrorReason::SupplierUnknown, 4),
        (ErrorReason::OrderUnknown, 4),
        (ErrorReason::TagTaken, 5),
        (ErrorReason::IdTaken, 5),
        (ErrorReason::JobState, 5),
        (ErrorReason::NotReversible, 5),
        (ErrorReason::OrderState, 5),
        (ErrorReason::CurrencyMismatch, 5),
        (ErrorReason::CheckStops, 3),
        (ErrorReason::NeverPassed, 3),
        (ErrorReason::RequestIdReused, 5),
        (ErrorReason::ReadOnly, 7),
        (ErrorReason::NewerThanThis, 1),
        (ErrorReason::ClockAhead, 5),
        (ErrorReason::Busy, 1),
        (ErrorReason::WatchTooSlow, 1),
        (ErrorReason::Stopping, 6),
        (ErrorReason::DiskFailed, 1),
        (ErrorReason::DiskRefuses, 1),
        (ErrorReason::EngineUnready, 6),
        (ErrorReason::Damaged, 8),
    ];
    for (reason, code) in cases {
        let name = reason.as_str_name().trim_start_matches("ERROR_REASON_");
        let fault = Fault::from(status(name, Code::Unknown, "What.", "Do."));
        assert_eq!(fault.exit.code(), code, "{name}");
        assert_eq!(fault.contract_reason(), Some(reason));
    }
}

#[test]
fn after_a_failed_disk_the_disk_comes_first_and_telling_it_again_last() {
    let todo = "Look at the disk first. Only then start fettled again.";
    let fault = Fault::from(status("DISK_FAILED", Code::Unavailable, "It failed.", todo));
    let told = fault.todo;
    assert!(told.starts_with(todo), "{told}");
    assert!(told.contains("fettle book entries --newest"), "{told}");
    let fault = Fault::from(status(
        "READ_ONLY",
        Code::FailedPrecondition,
        "It is.",
        todo,
    ));
    assert!(!fault.todo.contains("mend"), "{}", fault.todo);
}

#[test]
fn a_service_that_is_gone_is_unreachable() {
    let fault = Fault::from(Status::unavailable("connection refused"));
    assert_eq!((fault.reason, fault.exit.code()), ("UNREACHABLE", 6));
    let fault = Fault::from(Status::permission_denied(""));
    assert_eq!(fault.exit, Exit::NotAllowed);
    assert!(!fault.message.is_empty());
}

#[test]
fn a_book_that_cannot_be_opened_says_why_by_its_exit_code() {
    let fault = |kind| {
        Fault::from(SoloError {
            message: "Held.".to_owned(),
            kind,
        })
    };
    assert_eq!(fault(SoloErrorKind::Held).exit.code(), 5);
    assert_eq!(fault(SoloErrorKind::Damaged).exit.code(), 8);
    assert_eq!(fault(SoloErrorKind::Newer).exit.code(), 1);
    assert_eq!(fault(SoloErrorKind::Failed).exit.code(), 1);
    let no_address = fault(SoloErrorKind::NoAddress);
    assert!(no_address.todo.contains("--listen"), "{no_address:?}");
}
