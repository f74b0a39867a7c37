//! Requests and answers as bytes, for what is kept and sent on without being taken apart.
//!
//! It serves the way to a shop. The framing is the library's; a message is never changed here.

use prost::bytes::{Buf as _, BufMut as _, Bytes};
use tonic::body::Body;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBody, EncodeBuf, Encoder, Streaming};
use tonic::codegen::http;
use tonic::{Request, Status};

use crate::call;

/// Messages as bytes.
#[derive(Clone, Copy, Debug, Default)]
struct Raw;

impl Codec for Raw {
    type Encode = Bytes;
    type Decode = Bytes;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        *self
    }

    fn decoder(&mut self) -> Self {
        *self
    }
}

impl Encoder for Raw {
    type Item = Bytes;
    type Error = Status;

    fn encode(&mut self, item: Bytes, out: &mut EncodeBuf<'_>) -> Result<(), Status> {
        out.put(item);
        Ok(())
    }
}

impl Decoder for Raw {
    type Item = Bytes;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<Bytes>, Status> {
        Ok(Some(from.copy_to_bytes(from.remaining())))
    }
}

/// Sends one message to the rpc at a path and gives the answer's.
///
/// # Errors
/// What the service refused, or what broke.
pub(crate) async fn unary(
    service: impl call::Service,
    path: &str,
    message: Bytes,
) -> Result<Bytes, Status> {
    let path = http::uri::PathAndQuery::try_from(path)
        .map_err(|_| Status::invalid_argument("that is no path of an rpc"))?;
    let mut grpc = call::ready(service).await?;
    let answer = grpc.unary(Request::new(message), path, Raw).await?;
    Ok(answer.into_inner())
}

/// The one message of a request.
///
/// # Errors
/// When there is none.
pub(crate) async fn message(body: Body) -> Result<Bytes, Status> {
    let mut messages = Streaming::new_request(Raw, body, None, None);
    let message = messages.message().await?;
    message.ok_or_else(|| Status::invalid_argument("the request is empty"))
}

/// A request again, as often as it is needed.
pub(crate) fn request(parts: &http::request::Parts, message: &Bytes) -> http::Request<Body> {
    http::Request::from_parts(parts.clone(), framed(message.clone()))
}

/// An answer of this side, as a service would have sent it.
pub(crate) fn answer(message: Bytes) -> http::Response<Body> {
    let mut answer = http::Response::new(framed(message));
    let headers = answer.headers_mut();
    let grpc = http::HeaderValue::from_static("application/grpc");
    headers.insert(http::header::CONTENT_TYPE, grpc);
    // With the status in the header no trailer is waited for.
    headers.insert("grpc-status", http::HeaderValue::from_static("0"));
    answer
}

fn framed(message: Bytes) -> Body {
    let once = tokio_stream::once(Ok(message));
    Body::new(EncodeBody::new_client(Raw, once, None, None))
}
