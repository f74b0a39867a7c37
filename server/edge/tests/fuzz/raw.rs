//! Calls with bytes instead of messages.
//!
//! It serves the fuzzing of the edge, which also sends what no client would.

use prost_reflect::MethodDescriptor;
use tonic::client::Grpc;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::codegen::Bytes;
use tonic::codegen::http::uri::PathAndQuery;
use tonic::transport::Channel;
use tonic::{Request, Status};

/// Hands bytes through as they are.
#[derive(Clone, Copy, Default)]
struct Raw;

impl Codec for Raw {
    type Encode = Vec<u8>;
    type Decode = Vec<u8>;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        Self
    }

    fn decoder(&mut self) -> Self {
        Self
    }
}

impl Encoder for Raw {
    type Item = Vec<u8>;
    type Error = Status;

    fn encode(&mut self, item: Vec<u8>, out: &mut EncodeBuf<'_>) -> Result<(), Status> {
        prost::bytes::BufMut::put_slice(out, &item);
        Ok(())
    }
}

impl Decoder for Raw {
    type Item = Vec<u8>;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<Vec<u8>>, Status> {
        let count = prost::bytes::Buf::remaining(from);
        let bytes: Bytes = prost::bytes::Buf::copy_to_bytes(from, count);
        Ok(Some(bytes.to_vec()))
    }
}

/// Calls rpcs by their description.
pub(super) struct Caller(Grpc<Channel>);

impl Caller {
    pub(super) fn new(channel: Channel) -> Self {
        Self(Grpc::new(channel))
    }

    /// Sends bytes as the message of a call; the bytes of the answer.
    pub(super) async fn call(
        &mut self,
        method: &MethodDescriptor,
        bytes: Vec<u8>,
    ) -> Result<Vec<u8>, Status> {
        let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
        let path = PathAndQuery::try_from(path).unwrap();
        self.0.ready().await.unwrap();
        let answer = self.0.unary(Request::new(bytes), path, Raw).await?;
        Ok(answer.into_inner())
    }
}
