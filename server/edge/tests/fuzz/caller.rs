//! Calls with bytes instead of messages.
//!
//! It serves the fuzzing of the edge, which also sends what no client would.

use prost_reflect::MethodDescriptor;
use tonic::client::Grpc;
use tonic::codegen::http::uri::PathAndQuery;
use tonic::transport::Channel;
use tonic::{Request, Status};

use super::super::raw::Raw;

/// Calls rpcs by their description.
pub(in crate::edge::tests) struct Caller(Grpc<Channel>);

impl Caller {
    pub(in crate::edge::tests) fn new(channel: Channel) -> Self {
        Self(Grpc::new(channel))
    }

    /// Sends bytes as the message of a call; the bytes of the answer.
    pub(in crate::edge::tests) async fn call(
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
