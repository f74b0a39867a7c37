//! How an answer ends: at once, after the last message of a stream, or because nobody waits for it
//! any more.
//!
//! It serves the layer around every request. Nothing of the answer may be changed or held back, and
//! each ends exactly once in the log and in the meters.

use std::net::IpAddr;
use std::time::Instant;

use fettlebook_contract::v1::ErrorReason;
use tonic::body::Body;
use tonic::codegen::http::Response;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;
use tracing::{Span, debug, error, info, warn};

use crate::edge::status::reason_name;
use crate::edge::until_end::{Kept, Part, until_end};
use crate::meters::{LogLimit, RequestMeter};

/// Stands for refusals without a reason of ours, such as a method that does not exist.
const NO_REASON: &str = "none";

/// A request that is being answered.
#[derive(Debug)]
pub(super) struct Flight {
    /// None once it has ended.
    meter: Option<RequestMeter>,
    span: Span,
    start: Instant,
    /// Where it came from, and which refusals of those there are told; nothing in one process.
    log_limit: Option<(IpAddr, LogLimit)>,
}

impl Flight {
    pub(super) const fn new(
        meter: RequestMeter,
        span: Span,
        start: Instant,
        log_limit: Option<(IpAddr, LogLimit)>,
    ) -> Self {
        Self {
            meter: Some(meter),
            span,
            start,
            log_limit,
        }
    }

    /// Follows an answer to its end.
    pub(super) fn follow(mut self, response: Response<Body>) -> Response<Body> {
        if let Some(meter) = &mut self.meter {
            meter.began(self.start.elapsed());
        }
        let refused = response.extensions().get::<Status>();
        if let Some(status) = refused {
            self.end(status);
            return response;
        }
        response.map(|body| until_end(body, self))
    }

    /// Tells how it ended, the first time.
    fn end(&mut self, status: &Status) {
        let Some(mut meter) = self.meter.take() else {
            return;
        };
        let (took, code) = (self.start.elapsed(), code_name(status.code()));
        let refused = status.code() != Code::Ok;
        let reason = refused.then(|| reason_of(status).map_or(NO_REASON, reason_name));
        meter.began(took);
        meter.ended(code, reason);
        let time_us = u64::try_from(took.as_micros()).unwrap_or(u64::MAX);
        self.span.record("code", code);
        let _entered = self.span.enter();
        let (reason, why) = (reason.unwrap_or_default(), status.message());
        match status.code() {
            Code::Ok | Code::Cancelled => debug!(time_us, "answered"),
            // A watch that ends with the service is no fault of it.
            Code::Unavailable if reason == reason_name(ErrorReason::Stopping) => {
                info!(time_us, reason, why, "ended");
            }
            // Nor is the book of another node.
            Code::Unavailable if reason == reason_name(ErrorReason::HeldElsewhere) => {
                debug!(time_us, reason, why, "sent on");
            }
            // The writer tells that of each group; every device asks again and again.
            Code::Unavailable if reason == reason_name(ErrorReason::EngineUnready) => {
                if self.is_told() {
                    warn!(time_us, reason, why, "refused");
                }
            }
            Code::Unknown | Code::Internal | Code::Unavailable | Code::DataLoss => {
                error!(time_us, reason, why, "failed");
            }
            _ if self.is_told() => info!(time_us, reason, why, "refused"),
            _ => debug!(time_us, reason, why, "refused"),
        }
    }

    /// Whether one more refusal there is told.
    fn is_told(&self) -> bool {
        let mut log_limit = self.log_limit.iter();
        log_limit.all(|(from, log_limit)| log_limit.tells(*from))
    }
}

impl Drop for Flight {
    fn drop(&mut self) {
        self.end(&Status::cancelled("nobody waits for the answer any more"));
    }
}

impl Kept for Flight {
    fn see(&mut self, part: Option<&Part>) {
        match part {
            Some(Ok(frame)) => {
                if let Some(trailers) = frame.trailers_ref() {
                    let status = Status::from_header_map(trailers);
                    self.end(&status.unwrap_or_else(|| Status::ok("")));
                }
            }
            Some(Err(status)) => self.end(status),
            None => self.end(&Status::ok("")),
        }
    }
}

/// The reason that a refusal gives, if it is one of ours.
fn reason_of(status: &Status) -> Option<ErrorReason> {
    let info = status.get_details_error_info()?;
    ErrorReason::from_str_name(&format!("ERROR_REASON_{}", info.reason))
}

/// Source: <https://grpc.io/docs/guides/status-codes/>, the names of the codes.
const fn code_name(code: Code) -> &'static str {
    match code {
        Code::Ok => "OK",
        Code::Cancelled => "CANCELLED",
        Code::Unknown => "UNKNOWN",
        Code::InvalidArgument => "INVALID_ARGUMENT",
        Code::DeadlineExceeded => "DEADLINE_EXCEEDED",
        Code::NotFound => "NOT_FOUND",
        Code::AlreadyExists => "ALREADY_EXISTS",
        Code::PermissionDenied => "PERMISSION_DENIED",
        Code::ResourceExhausted => "RESOURCE_EXHAUSTED",
        Code::FailedPrecondition => "FAILED_PRECONDITION",
        Code::Aborted => "ABORTED",
        Code::OutOfRange => "OUT_OF_RANGE",
        Code::Unimplemented => "UNIMPLEMENTED",
        Code::Internal => "INTERNAL",
        Code::Unavailable => "UNAVAILABLE",
        Code::DataLoss => "DATA_LOSS",
        Code::Unauthenticated => "UNAUTHENTICATED",
    }
}
