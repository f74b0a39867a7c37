//! Sending a request, and sending it again when the service is busy or the connection broke.
//!
//! It serves every command. A retry carries the same request id, so it can never count twice. It
//! gives up in a time that a person still waits.

use std::error::Error as _;
use std::future::Future;
use std::time::Duration;

use backon::{ExponentialBuilder, Retryable as _};
use fettlebook_contract::call::{Streamed, Unary};
use fettlebook_contract::v1::ErrorReason;
use prost::bytes::Bytes;
use tokio::time::Instant;
use tonic::body::Body;
use tonic::client::{Grpc, GrpcService};
use tonic::codegen::http::uri::PathAndQuery;
use tonic::codegen::{Body as HttpBody, StdError};
use tonic::{Code, Request, Status, Streaming};
use tonic_prost::ProstCodec;
use tonic_types::StatusExt as _;

use crate::fault::Fault;

/// Wait before the first further try; each later one is twice as long, and each is drawn out by a
/// part of itself at random, so that callers who were turned away together do not come back so.
const WAIT_MIN: Duration = Duration::from_millis(50);
/// Longest wait between two tries that the client chooses by itself.
const WAIT_MAX: Duration = Duration::from_secs(2);
/// Longest time that tries are repeated for.
const PATIENCE: Duration = Duration::from_secs(10);
/// Largest answer taken, far above any page.
const ANSWER_BYTES_MAX: usize = 64 * 1024 * 1024;

/// Sends a request and hands back the answer.
///
/// # Errors
/// What the service refused, or that it cannot be reached.
pub(crate) async fn send<C: Unary>(
    service: &(impl Service + Clone),
    request: C,
) -> Result<C::Answer, Fault> {
    patiently(|| once(service.clone(), request.clone())).await
}

/// Sends a request once and hands back the answer.
///
/// # Errors
/// What the service refused, or what broke.
pub(crate) async fn once<C: Unary>(service: impl Service, request: C) -> Result<C::Answer, Status> {
    let mut grpc = ready(service).await?;
    let (path, codec) = (PathAndQuery::from_static(C::RPC.path), ProstCodec::new());
    let answer = grpc.unary(Request::new(request), path, codec).await?;
    Ok(answer.into_inner())
}

/// Sends a request that is answered by a stream.
///
/// # Errors
/// What the service refused, or what broke.
pub(crate) async fn stream<C: Streamed>(
    service: impl Service,
    request: C,
) -> Result<Streaming<C::Answer>, Status> {
    let mut grpc = ready(service).await?;
    let (path, codec) = (PathAndQuery::from_static(C::RPC.path), ProstCodec::new());
    let answer = grpc.server_streaming(Request::new(request), path, codec);
    Ok(answer.await?.into_inner())
}

/// What calls are sent on.
pub(crate) trait Service:
    GrpcService<
        Body,
        Error: Into<StdError>,
        ResponseBody: HttpBody<Data = Bytes, Error: Into<StdError> + Send> + Send + 'static,
    >
{
}

impl<S> Service for S where
    S: GrpcService<
            Body,
            Error: Into<StdError>,
            ResponseBody: HttpBody<Data = Bytes, Error: Into<StdError> + Send> + Send + 'static,
        >
{
}

/// A service that takes a request now.
///
/// # Errors
/// What broke.
pub(crate) async fn ready<S: Service>(service: S) -> Result<Grpc<S>, Status> {
    let mut grpc = Grpc::new(service).max_decoding_message_size(ANSWER_BYTES_MAX);
    let ready = grpc.ready().await;
    ready.map_err(|error| Status::from_error(error.into()))?;
    Ok(grpc)
}

/// Calls until there is an answer that is not to be asked for again, or nobody waits any longer.
async fn patiently<A, F>(call: impl FnMut() -> F) -> Result<A, Fault>
where
    F: Future<Output = Result<A, Status>>,
{
    let start = Instant::now();
    let answer = call
        .retry(waits())
        .sleep(tokio::time::sleep)
        .when(|status| is_busy(status) || is_lost(status))
        .adjust(|status, wait| {
            let wait = wait?.saturating_add(asked_wait(status));
            (start.elapsed().saturating_add(wait) <= PATIENCE).then_some(wait)
        });
    answer.await.map_err(told)
}

/// Waits that grow, with chance in them, without end.
pub(crate) fn waits() -> ExponentialBuilder {
    ExponentialBuilder::new()
        .with_min_delay(WAIT_MIN)
        .with_max_delay(WAIT_MAX)
        .with_factor(2.0)
        .with_jitter()
        .without_max_times()
}

/// The wait that the service asks for, in addition to one's own; none where it asks for none.
pub(crate) fn asked_wait(status: &Status) -> Duration {
    let hint = status.get_details_retry_info();
    hint.and_then(|hint| hint.retry_delay).unwrap_or_default()
}

/// Whether the service turned the request away for now, another is about to answer it, or what keeps the book is
/// about to be ready. It may be sent again.
pub(crate) fn is_busy(status: &Status) -> bool {
    matches!(
        reason(status),
        Some(ErrorReason::Busy | ErrorReason::HeldElsewhere | ErrorReason::EngineUnready)
    )
}

/// Whether the request or its answer was lost on the way: nobody knows what became of it.
pub(crate) fn is_lost(status: &Status) -> bool {
    match status.code() {
        Code::Unavailable => reason(status).is_none(),
        // What the service says has no source; what broke in this process has.
        Code::Unknown | Code::Internal | Code::Cancelled => status.source().is_some(),
        _ => false,
    }
}

/// The reason of ours that a status has.
pub(crate) fn reason(status: &Status) -> Option<ErrorReason> {
    let info = status.get_details_error_info()?;
    let ours = info.domain == fettlebook_contract::ERROR_DOMAIN;
    let name = format!("ERROR_REASON_{}", info.reason);
    ErrorReason::from_str_name(&name).filter(|_| ours)
}

fn told(status: Status) -> Fault {
    if is_lost(&status) {
        Fault::lost(&status, PATIENCE)
    } else {
        Fault::from(status)
    }
}

#[cfg(test)]
mod tests;
