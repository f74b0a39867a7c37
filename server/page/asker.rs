//! Whoever asks for a view: the token of the cookie, and every call of the contract with it.
//!
//! What the service knows of the connection goes along with each call, so that its guard sees the telephone and
//! not the page.

use axum::extract::FromRequestParts;
use axum::http::Extensions;
use axum::http::request::Parts;
use axum::response::Response;
use fettlebook_contract::call::{Paged, Unary};
use fettlebook_contract::v1::{GetBookRequest, Role};
use tonic::client::Grpc;
use tonic::codegen::http::uri::PathAndQuery;
use tonic::metadata::{AsciiMetadataValue, MetadataMap};
use tonic::{Request, Status};
use tonic_prost::ProstCodec;

use crate::limits::{ANSWER_BYTES_MAX, FETCHED_ROWS};
use crate::{Service, Shop, pairing, session};

/// Whoever asks.
pub(crate) struct Asker {
    contract: Service,
    token: AsciiMetadataValue,
    connection: Extensions,
}

/// What the asker is here.
pub(crate) struct Here {
    /// Name of the device.
    pub(crate) caller: String,
    /// What it may do.
    pub(crate) role: Role,
    /// Where it works.
    pub(crate) place: String,
    /// Number of the last entry of the book.
    pub(crate) head_seq: i64,
    /// Why the book is read-only; empty when it is not.
    pub(crate) read_only: String,
}

impl Here {
    /// Whether deeds may be told from here.
    pub(crate) fn may_work(&self) -> bool {
        self.role >= Role::Work && self.read_only.is_empty()
    }
}

impl FromRequestParts<Shop> for Asker {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, shop: &Shop) -> Result<Self, Response> {
        let token = session::token(&parts.headers);
        let bearer = token.and_then(|token| format!("Bearer {token}").parse().ok());
        let Some(token) = bearer else {
            return Err(pairing::asked(parts));
        };
        Ok(Self {
            contract: shop.contract.clone(),
            token,
            connection: parts.extensions.clone(),
        })
    }
}

impl Asker {
    /// Calls an rpc as the device.
    ///
    /// # Errors
    /// What the service refused.
    pub(crate) async fn call<C: Unary>(&self, sent: C) -> Result<C::Answer, Status> {
        let mut metadata = MetadataMap::new();
        metadata.insert("authorization", self.token.clone());
        let connection = self.connection.clone();
        let request = Request::from_parts(metadata, connection, sent);
        call(&self.contract, request).await
    }

    /// The whole of a list.
    ///
    /// # Errors
    /// What the service refused.
    pub(crate) async fn every<C: Paged>(&self, mut sent: C) -> Result<C::Answer, Status> {
        sent.turn(FETCHED_ROWS, String::new());
        let mut all = self.call(sent.clone()).await?;
        let mut next = C::take_token(&mut all);
        while !next.is_empty() {
            sent.turn(FETCHED_ROWS, next);
            let mut more = self.call(sent.clone()).await?;
            next = C::take_token(&mut more);
            C::join(&mut all, more);
        }
        Ok(all)
    }

    /// What the asker is here.
    ///
    /// # Errors
    /// What the service refused.
    pub(crate) async fn here(&self) -> Result<Here, Status> {
        let book = self.call(GetBookRequest::default()).await?;
        Ok(Here {
            role: book.caller_role(),
            caller: book.caller,
            place: book.caller_place,
            head_seq: book.head_seq,
            read_only: book.read_only_reason,
        })
    }
}

/// Calls an rpc of the contract.
pub(crate) async fn call<C: Unary>(
    contract: &Service,
    request: Request<C>,
) -> Result<C::Answer, Status> {
    let mut grpc = Grpc::new(contract.clone()).max_decoding_message_size(ANSWER_BYTES_MAX);
    match grpc.ready().await {
        Ok(()) => {}
        Err(never) => match never {},
    }
    let path = PathAndQuery::from_static(C::RPC.path);
    let answer = grpc.unary(request, path, ProstCodec::new()).await?;
    Ok(answer.into_inner())
}
