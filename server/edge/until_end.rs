//! The body of an answer that keeps something until it has ended.
//!
//! It serves whoever counts answers or follows them. Nothing of an answer is changed or held back; what is kept goes
//! with the body, whether that was read or not.

use std::pin::Pin;
use std::task::{Context, Poll, ready};

use http_body::{Body as HttpBody, Frame, SizeHint};
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::Bytes;

/// A part of an answer, or why it breaks off.
pub(super) type Part = Result<Frame<Bytes>, Status>;

/// What is kept until an answer has ended.
pub(super) trait Kept: Send + Unpin + 'static {
    /// A part of the answer goes to the connection; none at its end.
    fn see(&mut self, _part: Option<&Part>) {}
}

/// An answer that keeps this until it has ended.
pub(super) fn until_end(body: Body, mut kept: impl Kept) -> Body {
    if body.is_end_stream() {
        kept.see(None);
        return body;
    }
    Body::new(Keeping { body, kept })
}

struct Keeping<K> {
    body: Body,
    kept: K,
}

impl<K: Kept> HttpBody for Keeping<K> {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Part>> {
        let part = ready!(Pin::new(&mut self.body).poll_frame(context));
        self.kept.see(part.as_ref());
        Poll::Ready(part)
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}
