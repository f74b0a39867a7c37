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

#[cfg(test)]
mod tests {
    use std::cell::RefCell;
    use std::collections::HashMap;

    use super::send;
    use crate::fault::Fault;
    use fettlebook_contract::ERROR_DOMAIN;
    use fettlebook_contract::v1::{WashKitRequest, WashKitResponse};
    use tonic::{Code, Response, Status};
    use tonic_types::{ErrorDetails, StatusExt as _};

    /// Sends a wash to a service that refuses with `reason` the first times, and answers with the
    /// request ids it saw.
    fn sent(reason: &str, refusals: usize) -> (Result<WashKitResponse, Fault>, Vec<String>) {
        let seen = RefCell::new(Vec::new());
        let request = WashKitRequest {
            request_id: "id-1".to_owned(),
            ..WashKitRequest::default()
        };
        let call = |request: WashKitRequest| {
            seen.borrow_mut().push(request.request_id);
            let answer = if seen.borrow().len() > refusals {
                Ok(Response::new(WashKitResponse::default()))
            } else {
                let details = ErrorDetails::with_error_info(reason, ERROR_DOMAIN, HashMap::new());
                Err(Status::with_error_details(
                    Code::ResourceExhausted,
                    "wait",
                    details,
                ))
            };
            async move { answer }
        };
        let answer = crate::run::runtime().unwrap().block_on(send(request, call));
        (answer, seen.into_inner())
    }

    #[test]
    fn a_busy_service_is_asked_again_with_the_same_request_id() {
        let (answer, ids) = sent("BUSY", 2);
        assert!(answer.is_ok());
        assert_eq!(ids, ["id-1", "id-1", "id-1"]);
    }

    #[test]
    fn any_other_refusal_is_final() {
        let (answer, ids) = sent("TAG_UNKNOWN", 2);
        assert_eq!(answer.unwrap_err().reason, "TAG_UNKNOWN");
        assert_eq!(ids.len(), 1);
    }
}
