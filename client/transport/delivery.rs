//! Sending what waits, in order, and judging what comes back for each.
//!
//! It serves the way to a shop and `shop sync`. A deed is sent as often as it takes: its request id
//! makes it count once. One that the shop refuses is put aside and never holds up those behind it.

use std::time::Duration;

use backon::BackoffBuilder as _;
use fettlebook_contract::v1::{ErrorReason, WashKitResponse};
use prost::Message as _;
use prost::bytes::Bytes;
use tokio::time::{Instant, timeout};
use tonic::{Code, Status};

use crate::call::{asked_wait, is_busy, is_lost, reason, waits};
use crate::fault::Fault;
use crate::outbox::{Deed, Line, Outbox};
use crate::shop::trouble::{Cause, Trouble};
use crate::shop::wire::Wire;
use crate::transport::raw;

/// Longest wait for one answer; the deed stays kept, so that nothing is risked by waiting no longer.
const ANSWER_WAIT: Duration = Duration::from_secs(5);
/// Longest time that a service which is busy is asked again for.
const BUSY_PATIENCE: Duration = Duration::from_secs(5);
/// Deeds whose sending is noted in one go. A note that gets lost does no harm: the deed is sent again
/// and counts once.
const NOTED_TOGETHER: usize = 100;

/// A deed that the shop has now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Sent {
    /// Number of the deed.
    pub(crate) number: i64,
    /// Number of its entry; 0 where the answer has none.
    pub(crate) seq: i64,
    /// What of it contradicts the book, a sentence each.
    pub(crate) flags: Vec<String>,
}

/// What became of what was sent.
#[derive(Debug, Default)]
pub(crate) struct Delivery {
    /// The deeds that the shop has now.
    pub(crate) sent: Vec<Sent>,
    /// Numbers of the deeds that were parked.
    pub(crate) parked: Vec<i64>,
    /// What came back for the deed that a person waits for.
    pub(crate) fresh: Option<Result<Bytes, Status>>,
    /// Why it stopped before the end.
    pub(crate) stopped: Option<Stop>,
    /// Why what became of deeds could not be noted.
    pub(crate) unnoted: Option<Fault>,
}

/// Why sending stops; all that is left stays.
#[derive(Debug)]
pub(crate) enum Stop {
    /// The shop is out of reach.
    Lost(Trouble),
    /// The shop takes nothing from this device, or nothing at all, just now.
    Barred(Status),
}

/// What a refusal means for a deed that waits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Judged {
    /// Nothing: the shop is out of reach, or too busy.
    OutOfReach,
    /// Nothing: it is about this device, or about the book as a whole.
    Barred,
    /// It cannot be recorded as it is.
    Refused,
    /// Nobody can say what became of it; a person has to look.
    Unclear,
}

/// Judges a refusal.
pub(crate) fn judge(status: &Status) -> Judged {
    if is_lost(status) {
        return Judged::OutOfReach;
    }
    match (reason(status), status.code()) {
        (
            Some(
                ErrorReason::Busy
                | ErrorReason::Stopping
                | ErrorReason::HeldElsewhere
                | ErrorReason::EngineUnready,
            ),
            _,
        )
        | (None, Code::Unavailable | Code::DeadlineExceeded | Code::Cancelled) => {
            Judged::OutOfReach
        }
        (
            Some(
                ErrorReason::TokenMissing
                | ErrorReason::TokenUnknown
                | ErrorReason::TokenOtherBook
                | ErrorReason::DeviceRevoked
                | ErrorReason::RoleTooLow
                | ErrorReason::TriesUsedUp
                | ErrorReason::TlsNeeded
                | ErrorReason::ReadOnly
                | ErrorReason::DiskFailed
                | ErrorReason::DiskRefuses
                | ErrorReason::ClockAhead
                | ErrorReason::Damaged,
            ),
            _,
        )
        | (
            None,
            Code::PermissionDenied
            | Code::Unauthenticated
            | Code::Unimplemented
            | Code::ResourceExhausted
            | Code::DataLoss,
        ) => Judged::Barred,
        (Some(_), _)
        | (
            None,
            Code::InvalidArgument
            | Code::NotFound
            | Code::AlreadyExists
            | Code::FailedPrecondition
            | Code::OutOfRange,
        ) => Judged::Refused,
        (None, Code::Ok | Code::Unknown | Code::Internal | Code::Aborted) => Judged::Unclear,
    }
}

/// Sends everything that waits, in order. `fresh` is the number of the deed that a person waits for:
/// when it is refused they are told, so that it is not parked.
/// `incarnation_id` is that of the book, where it is known.
pub(crate) async fn send_waiting(
    wire: &Wire,
    outbox: &mut Outbox,
    fresh: Option<i64>,
    incarnation_id: &str,
) -> Delivery {
    let mut done = Delivery::default();
    let mut notes = Vec::new();
    let waiting: Vec<Deed> = outbox.folded().waiting().cloned().collect();
    for deed in waiting {
        let number = deed.number;
        let answer = deliver(wire, &deed.method, deed.body.into()).await;
        let judged = answer.as_ref().err().map(judge);
        match (&answer, judged) {
            (Ok(answer), _) => {
                let sent = recorded_as(number, answer);
                let seq = sent.seq;
                done.sent.push(sent);
                notes.push(Line::Sent {
                    number,
                    seq,
                    incarnation_id: incarnation_id.to_owned(),
                });
            }
            (Err(status), Some(Judged::OutOfReach)) => {
                done.stopped = Some(Stop::Lost(trouble(status)));
                break;
            }
            (Err(status), Some(Judged::Barred)) => {
                done.stopped = Some(Stop::Barred(status.clone()));
                break;
            }
            (Err(status), judged) => {
                let told = fresh == Some(number) && judged == Some(Judged::Refused);
                let fault = Fault::from(status.clone());
                if told {
                    let reason = fault.reason.to_owned();
                    notes.push(Line::Refused { number, reason });
                } else {
                    done.parked.push(number);
                    notes.push(Line::Parked {
                        number,
                        reason: fault.reason.to_owned(),
                        message: fault.message,
                        todo: fault.todo,
                    });
                }
            }
        }
        if fresh == Some(number) {
            done.fresh = Some(answer);
        }
        if notes.len() >= NOTED_TOGETHER {
            note(outbox, &mut notes, &mut done);
        }
    }
    note(outbox, &mut notes, &mut done);
    done
}

/// Notes what became of deeds. When that cannot be written they are sent again another time.
fn note(outbox: &mut Outbox, notes: &mut Vec<Line>, done: &mut Delivery) {
    if let Err(fault) = outbox.mark(&std::mem::take(notes)) {
        done.unnoted = Some(fault);
    }
}

/// Sends one deed: again at once over a new connection when the first broke, and for a while when
/// the service is busy.
pub(crate) async fn deliver(wire: &Wire, path: &str, body: Bytes) -> Result<Bytes, Status> {
    let start = Instant::now();
    let mut pauses = waits().build();
    let mut broke = false;
    loop {
        let sent = timeout(ANSWER_WAIT, raw::unary(wire.clone(), path, body.clone())).await;
        let Ok(answer) = sent else {
            let seconds = ANSWER_WAIT.as_secs();
            return Err(Status::unavailable(format!(
                "no answer in {seconds} seconds"
            )));
        };
        match answer {
            Err(status) if is_busy(&status) => {
                let pause = pauses.next().unwrap_or_default();
                let pause = pause.saturating_add(asked_wait(&status));
                if start.elapsed().saturating_add(pause) > BUSY_PATIENCE {
                    return Err(status);
                }
                tokio::time::sleep(pause).await;
            }
            Err(status) if is_lost(&status) && !std::mem::replace(&mut broke, true) => {}
            answer => return answer,
        }
    }
}

/// What an answer says of a deed. All answers carry the entry in the same field.
fn recorded_as(number: i64, answer: &Bytes) -> Sent {
    let read = WashKitResponse::decode(answer.clone());
    let entry = read.ok().and_then(|answer| answer.entry);
    let entry = entry.unwrap_or_default();
    Sent {
        number,
        seq: entry.seq,
        flags: entry.flags.into_iter().map(|flag| flag.text).collect(),
    }
}

/// Why the shop is out of reach.
pub(crate) fn trouble(status: &Status) -> Trouble {
    let told = match reason(status) {
        Some(ErrorReason::Busy) => "it has too much to do".to_owned(),
        Some(ErrorReason::Stopping) => "it is stopping".to_owned(),
        _ => crate::fault::innermost(status),
    };
    let what = told.trim_end_matches('.');
    match reason(status) {
        Some(ErrorReason::EngineUnready) => Trouble::new(Cause::Engine, what),
        _ => Trouble::lost(what),
    }
}
