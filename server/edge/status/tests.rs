//! What a status carries: its reason, its code, its field, what to do, and when to come again.

use super::*;
use crate::desk::StoppedBy;

fn info(status: &Status) -> tonic_types::ErrorInfo {
    status.get_details_error_info().unwrap()
}

#[test]
fn a_refusal_keeps_its_reason_its_field_and_what_to_do() {
    let refusal = Refusal::no_tag("tags", "P-99".parse().unwrap());
    let status = Status::from(EdgeError::from(refusal));
    assert_eq!(status.code(), Code::NotFound);
    assert_eq!(
        status.message(),
        "No piece of kit has the tag P-99. Look at the label, or list the kit."
    );
    let info = info(&status);
    assert_eq!(
        (info.reason.as_str(), info.domain.as_str()),
        ("TAG_UNKNOWN", "fettlebook")
    );
    assert_eq!(info.metadata["field"], "tags");
    assert_eq!(info.metadata["name"], "P-99");
    assert_eq!(info.metadata["todo"], "Look at the label, or list the kit.");
    let violations = status.get_details_bad_request().unwrap().field_violations;
    assert_eq!(violations[0].field, "tags");
    assert_eq!(
        violations[0].description,
        "No piece of kit has the tag P-99."
    );
}

/// A program never has to take the message apart: both sentences stand by themselves.
#[test]
fn what_was_wrong_stands_by_itself_without_a_field_too() {
    let status = Status::from(EdgeError::WatchesFull);
    let info = info(&status);
    let (what, todo) = (&info.metadata["what"], &info.metadata["todo"]);
    assert!(what.ends_with("as many as may be."), "{what}");
    assert_eq!(status.message(), format!("{what} {todo}"));
    let id = "van-fridy".parse().unwrap();
    let refusal = Refusal::no_id(Reason::JobUnknown, "job", "job", &id);
    let told = self::info(&Status::from(EdgeError::from(refusal)));
    assert_eq!(told.metadata["name"], "van-fridy");
    assert!(!told.metadata.contains_key("what"), "the violation has it");
}

/// Source: the codes written beside each reason in `error_reason.proto`.
#[test]
fn every_reason_has_the_code_the_contract_writes_beside_it() {
    let contract = include_str!("../../../proto/fettlebook/v1/error_reason.proto");
    let mut comment = String::new();
    let mut checked = 0;
    for line in contract.lines().map(str::trim) {
        if let Some(text) = line.strip_prefix("//") {
            comment.push_str(text);
            continue;
        }
        if let Some((name, _)) = line.split_once(" = ")
            && let Some(reason) = ErrorReason::from_str_name(name)
            && reason != ErrorReason::Unspecified
        {
            let code = match code_of(reason) {
                Code::InvalidArgument => "INVALID_ARGUMENT",
                Code::NotFound => "NOT_FOUND",
                Code::AlreadyExists => "ALREADY_EXISTS",
                Code::FailedPrecondition => "FAILED_PRECONDITION",
                Code::Aborted => "ABORTED",
                Code::ResourceExhausted => "RESOURCE_EXHAUSTED",
                Code::Unavailable => "UNAVAILABLE",
                Code::DataLoss => "DATA_LOSS",
                Code::Unauthenticated => "UNAUTHENTICATED",
                Code::PermissionDenied => "PERMISSION_DENIED",
                other => panic!("{name} is sent as {other:?}"),
            };
            assert!(comment.contains(code), "{name}: {comment} but {code}");
            checked += 1;
        }
        comment.clear();
    }
    assert_eq!(checked, 54);
}

#[test]
fn what_the_desk_cannot_do_is_told_by_reason() {
    let cases = [
        (
            DeskError::Busy {
                retry_after: RETRY_AFTER_MAX,
            },
            "BUSY",
            Code::ResourceExhausted,
        ),
        (DeskError::Closed, "BUSY", Code::ResourceExhausted),
        (
            DeskError::HeldElsewhere { at: None },
            "HELD_ELSEWHERE",
            Code::Unavailable,
        ),
        (
            DeskError::ReadOnly { reason: "x".into() },
            "READ_ONLY",
            Code::FailedPrecondition,
        ),
        (
            DeskError::Stopped {
                reason: "x".into(),
                by: StoppedBy::Disk,
            },
            "READ_ONLY",
            Code::FailedPrecondition,
        ),
        (
            DeskError::ClockAhead {
                now: fettlebook_model::Moment::MAX,
                last: fettlebook_model::Moment::UNIX_EPOCH,
            },
            "CLOCK_AHEAD",
            Code::FailedPrecondition,
        ),
        (
            DeskError::NewerThanThis { reason: "x".into() },
            "NEWER_THAN_THIS",
            Code::FailedPrecondition,
        ),
        (
            DeskError::DiskFailed { reason: "x".into() },
            "DISK_FAILED",
            Code::Unavailable,
        ),
        (
            DeskError::EngineUnready { reason: "x".into() },
            "ENGINE_UNREADY",
            Code::Unavailable,
        ),
        (
            DeskError::DiskRefuses { reason: "x".into() },
            "DISK_REFUSES",
            Code::ResourceExhausted,
        ),
        (
            DeskError::Damaged { what: "x".into() },
            "DAMAGED",
            Code::DataLoss,
        ),
    ];
    for (error, reason, code) in cases {
        let status = Status::from(EdgeError::from(error));
        assert_eq!(
            (info(&status).reason.as_str(), status.code()),
            (reason, code)
        );
    }
}

/// Source: google/rpc/error_details.proto, RetryInfo.
#[test]
fn whoever_is_turned_away_is_told_when_to_come_again() {
    let retry_after = Duration::from_millis(40);
    let status = Status::from(EdgeError::from(DeskError::Busy { retry_after }));
    let hint = status.get_details_retry_info().unwrap();
    assert_eq!(hint.retry_delay, Some(retry_after));
    let status = Status::from(EdgeError::from(DeskError::Closed));
    assert!(status.get_details_retry_info().is_none());
}

#[test]
fn a_watch_that_is_ended_is_told_where_to_go_on() {
    let after = Seq(812);
    for error in [
        EdgeError::WatchTooSlow { after },
        EdgeError::Stopping { after },
    ] {
        let status = Status::from(error);
        assert_eq!(info(&status).metadata["after_seq"], "812", "{status:?}");
    }
}

#[test]
fn a_long_sentence_is_cut_so_that_the_headers_stay_short() {
    let long = "ü".repeat(10_000);
    let status = Status::from(EdgeError::from(Refusal::invalid(
        "note",
        long.clone(),
        long,
    )));
    let headers = status.to_http_header_bytes();
    assert!(headers < 16_000, "{headers}");
}

trait HeaderBytes {
    fn to_http_header_bytes(&self) -> usize;
}

impl HeaderBytes for Status {
    fn to_http_header_bytes(&self) -> usize {
        let response = self.clone().into_http::<tonic::body::Body>();
        response
            .headers()
            .iter()
            .map(|(name, value)| name.as_str().len() + value.len())
            .sum()
    }
}

/// A failed sync is never tried again by the same process, so that the disk comes first and opening
/// the book anew second; a damaged book is not mended by starting anything.
#[test]
fn starting_the_service_again_is_advised_where_it_helps_and_after_the_disk() {
    let todo = |error: DeskError| {
        let status = Status::from(EdgeError::from(error));
        info(&status)
            .metadata
            .get("todo")
            .cloned()
            .unwrap_or_default()
    };
    let reason = "syncing the journal failed";
    let failed = todo(DeskError::DiskFailed {
        reason: reason.into(),
    });
    let stopped = |by| DeskError::Stopped {
        reason: reason.into(),
        by,
    };
    assert_eq!(todo(stopped(StoppedBy::Disk)), failed);
    let (disk, start) = (failed.find("disk").unwrap(), failed.find("start").unwrap());
    assert!(disk < start, "{failed}");
    assert!(todo(stopped(StoppedBy::Program)).contains("Start fettled again"));
    for other in [
        DeskError::ReadOnly { reason: "x".into() },
        DeskError::Damaged { what: "x".into() },
        DeskError::DiskRefuses { reason: "x".into() },
        DeskError::Unreadable { reason: "x".into() },
    ] {
        let told = todo(other.clone());
        assert!(!told.contains("again, where"), "{other:?}: {told}");
    }
}
