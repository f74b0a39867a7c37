//! What a person is told when a message could not be read at all.
//!
//! It serves clients that send a truncated message, text that is not UTF-8, or more than is taken.
//! The framework refuses those itself, before any handler and without a reason of ours; here they
//! get one. Nothing a handler said may be changed.

use tonic::body::Body;
use tonic::codegen::http::Response;
use tonic::{Code, Status};

use super::status::EdgeError;

/// What the transport says of a request whose connection ended before all of it had come.
const BROKEN_OFF: &str = "h2 protocol error";

/// A layer that gives the framework's own refusals a reason.
pub type ReadableLayer = tower::util::MapResponseLayer<fn(Response<Body>) -> Response<Body>>;

/// See [`ReadableLayer`].
pub fn readable() -> ReadableLayer {
    ReadableLayer::new(told)
}

/// Handlers answer with details, always; a bare refusal to read is the decoder's.
fn told(response: Response<Body>) -> Response<Body> {
    let status = response.extensions().get::<Status>();
    let Some(status) = status.filter(|status| status.details().is_empty()) else {
        return response;
    };
    let error = match status.code() {
        Code::OutOfRange => too_large(status.message()),
        Code::Internal => EdgeError::Unreadable {
            why: plain(status.message()),
        },
        // Nobody hears this; it is the caller's connection that failed, not the service.
        Code::Unknown if status.message().starts_with(BROKEN_OFF) => {
            return Status::cancelled(status.message()).into_http();
        }
        _ => return response,
    };
    Status::from(error).into_http()
}

/// Which length was too much. The decoder says it in a sentence with two numbers, the length that was
/// found and the limit.
fn too_large(message: &str) -> EdgeError {
    let words = message.split(|letter: char| !letter.is_ascii_digit());
    let mut numbers = words.filter_map(|word| word.parse().ok());
    match (numbers.next(), numbers.next()) {
        (Some(sent_bytes), Some(most_bytes)) => EdgeError::TooLarge {
            sent_bytes,
            most_bytes,
        },
        _ => EdgeError::Unreadable {
            why: plain(message),
        },
    }
}

/// The decoder's sentence without its prefix and full stop.
fn plain(message: &str) -> String {
    let message = message.trim_start_matches("failed to decode Protobuf message: ");
    let message = message.trim_start_matches("tonic-web: ");
    message.trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::Refusal;
    use tonic_types::StatusExt;

    fn passed(status: Status) -> Status {
        Status::from_header_map(told(status.into_http()).headers()).unwrap()
    }

    #[test]
    fn the_frameworks_refusals_get_a_reason() {
        for status in [
            Status::internal("failed to decode"),
            Status::out_of_range("too large"),
        ] {
            let told = passed(status);
            assert_eq!(told.code(), Code::InvalidArgument);
            assert_eq!(
                told.get_details_error_info().unwrap().reason,
                "FIELD_INVALID"
            );
            assert!(told.message().contains("Nothing was recorded."));
        }
    }

    #[test]
    fn a_request_that_broke_off_is_no_failure_of_the_service() {
        let broke = "h2 protocol error: error reading a body from connection";
        assert_eq!(passed(Status::unknown(broke)).code(), Code::Cancelled);
        assert_eq!(passed(Status::unknown("else")).code(), Code::Unknown);
    }

    #[test]
    fn what_a_handler_said_and_other_codes_pass_as_they_are() {
        let said = Status::from(EdgeError::from(Refusal::missing("job", "Name it.")));
        assert_eq!(passed(said.clone()).message(), said.message());
        assert_eq!(
            passed(Status::unimplemented("no such method")).code(),
            Code::Unimplemented
        );
        assert!(told(Response::new(Body::empty())).headers().is_empty());
    }
}
