//! Sending a request, and sending it again when the service is busy.
//!
//! It serves every command. A retry carries the same request id, so it can never count twice.

use std::future::Future;
use std::time::Duration;

use fettlebook_contract::v1::ErrorReason;
use tonic::{Response, Status};

use crate::fault::Fault;

/// Waits before each further try of a busy service.
const WAITS: [Duration; 3] = [
    Duration::from_millis(50),
    Duration::from_millis(250),
    Duration::from_millis(1_000),
];

/// Sends a request and hands back the answer.
///
/// # Errors
/// What the service refused, or that it cannot be reached.
pub(crate) async fn send<Q, A, F>(request: Q, mut call: impl FnMut(Q) -> F) -> Result<A, Fault>
where
    Q: Clone,
    F: Future<Output = Result<Response<A>, Status>>,
{
    for wait in WAITS {
        match call(request.clone()).await {
            Ok(answer) => return Ok(answer.into_inner()),
            Err(status) => {
                let fault = Fault::from(status);
                if fault.contract_reason() != Some(ErrorReason::Busy) {
                    return Err(fault);
                }
            }
        }
        tokio::time::sleep(wait).await;
    }
    call(request)
        .await
        .map(Response::into_inner)
        .map_err(Fault::from)
}
