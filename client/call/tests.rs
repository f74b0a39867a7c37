//! Retries against a service that is not there, in time that passes only when all wait for it.

use std::cell::RefCell;
use std::collections::HashMap;
use std::io;
use std::time::Duration;

use fettlebook_contract::ERROR_DOMAIN;
use fettlebook_contract::v1::{WashKitRequest, WashKitResponse};
use tokio::time::Instant;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt as _};

use super::{PATIENCE, WAIT_MAX, patiently};
use crate::fault::Fault;

/// What became of a request, the request ids the service saw and when it saw them.
struct Sent {
    answer: Result<WashKitResponse, Fault>,
    ids: Vec<String>,
    at: Vec<Duration>,
}

/// Sends a wash to a service that refuses as told the first times.
fn sent(refusal: impl Fn() -> Status, refusals: usize) -> Sent {
    let seen = RefCell::new((Vec::new(), Vec::new()));
    let request = WashKitRequest {
        request_id: "id-1".to_owned(),
        ..WashKitRequest::default()
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .start_paused(true)
        .build()
        .unwrap();
    let answer = runtime.block_on(async {
        let start = Instant::now();
        let call = || {
            let (ids, at) = &mut *seen.borrow_mut();
            ids.push(request.clone().request_id);
            at.push(start.elapsed());
            let answer = if ids.len() > refusals {
                Ok(WashKitResponse::default())
            } else {
                Err(refusal())
            };
            async move { answer }
        };
        patiently(call).await
    });
    let (ids, at) = seen.into_inner();
    Sent { answer, ids, at }
}

fn refusal(code: Code, reason: &str, retry_after: Option<Duration>) -> Status {
    let mut details = ErrorDetails::with_error_info(reason, ERROR_DOMAIN, HashMap::new());
    if retry_after.is_some() {
        details.set_retry_info(retry_after);
    }
    Status::with_error_details(code, "wait", details)
}

fn busy() -> Status {
    refusal(Code::ResourceExhausted, "BUSY", None)
}

#[test]
fn a_busy_service_is_asked_again_with_the_same_request_id() {
    let sent = sent(busy, 2);
    assert!(sent.answer.is_ok());
    assert_eq!(sent.ids, ["id-1", "id-1", "id-1"]);
}

#[test]
fn waits_grow_and_end_in_a_time_that_a_person_waits() {
    let sent = sent(busy, usize::MAX);
    let fault = sent.answer.unwrap_err();
    assert_eq!((fault.reason, fault.exit.code()), ("BUSY", 1));
    let waits: Vec<Duration> = sent.at.windows(2).map(|pair| pair[1] - pair[0]).collect();
    assert!(waits[0] >= Duration::from_millis(50), "{waits:?}");
    assert!(waits[0] <= Duration::from_millis(101), "{waits:?}");
    for (at, wait) in waits.iter().enumerate() {
        assert!(*wait <= WAIT_MAX * 2, "{at}: {waits:?}");
    }
    assert!(waits[4] > waits[0] * 4, "{waits:?}");
    let total = *sent.at.last().unwrap();
    assert!(total <= PATIENCE && total > PATIENCE / 2, "{total:?}");
}

#[test]
fn callers_turned_away_together_do_not_come_back_together() {
    let firsts: Vec<Duration> = (0..8).map(|_| sent(busy, 1).at[1]).collect();
    assert!(firsts.iter().any(|at| *at != firsts[0]), "{firsts:?}");
}

#[test]
fn the_wait_that_the_service_asks_for_is_kept() {
    let asked = Duration::from_millis(1_700);
    let later = || refusal(Code::ResourceExhausted, "BUSY", Some(asked));
    let sent = sent(later, 1);
    assert!(sent.answer.is_ok());
    assert!(sent.at[1] >= asked, "{:?}", sent.at);
    let never = || refusal(Code::ResourceExhausted, "BUSY", Some(PATIENCE * 2));
    assert_eq!(
        self::sent(never, 9).at.len(),
        1,
        "longer than anybody waits"
    );
}

#[test]
fn a_lost_connection_is_tried_again_and_then_said_to_be_in_doubt() {
    let broken = || Status::from_error(Box::new(io::Error::from(io::ErrorKind::BrokenPipe)));
    let gone = || Status::unavailable("connection refused");
    assert!(sent(broken, 3).answer.is_ok());
    assert_eq!(sent(gone, 3).ids.len(), 4);
    let fault = sent(gone, usize::MAX).answer.unwrap_err();
    assert_eq!((fault.reason, fault.exit.code()), ("UNREACHABLE", 6));
    assert!(fault.message.contains("connection refused"), "{fault:?}");
    assert!(
        fault.todo.contains("fettle book entries --newest"),
        "{fault:?}"
    );
}

#[test]
fn any_other_refusal_is_final() {
    for status in [
        refusal(Code::NotFound, "TAG_UNKNOWN", None),
        refusal(Code::Unavailable, "DISK_FAILED", None),
        Status::internal("broken"),
        Status::deadline_exceeded("late"),
    ] {
        let sent = sent(|| status.clone(), 2);
        assert!(sent.answer.is_err());
        assert_eq!(sent.ids.len(), 1, "{status:?}");
    }
}
