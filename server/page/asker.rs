//! Whoever asks for a view: the token of the cookie, and every call of the contract with it.
//!
//! What the service knows of the connection goes along with each call, so that its guard sees the telephone and
//! not the page.

use std::collections::BTreeSet;

use axum::extract::FromRequestParts;
use axum::http::Extensions;
use axum::http::request::Parts;
use axum::response::Response;
use fettlebook_contract::call::{Call as _, Paged, Unary};
use fettlebook_contract::v1::{
    Entry, GetBookRequest, GetPieceRequest, Piece, Role, WatchEntriesRequest, WatchEntriesResponse,
};
use tonic::client::Grpc;
use tonic::codegen::http::uri::PathAndQuery;
use tonic::metadata::{AsciiMetadataValue, MetadataMap};
use tonic::{Request, Status, Streaming};
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
    /// Places where kit is.
    pub(crate) places: Vec<String>,
}

impl Here {
    /// Whether deeds may be told from here.
    pub(crate) fn may_work(&self) -> bool {
        self.role >= Role::Work && self.read_only.is_empty()
    }

    /// Whether orders may be written from here.
    pub(crate) fn may_keep(&self) -> bool {
        self.role >= Role::Keep && self.read_only.is_empty()
    }

    /// Whether an entry may be taken back from here: whoever keeps the book takes back any, all others their own.
    pub(crate) fn may_undo(&self, entry: &Entry) -> bool {
        let is_undo = entry.deeds.iter().any(|deed| deed.reverses_seq.is_some());
        let is_open = entry.reversed_by_seq.is_none() && !is_undo;
        is_open && (self.may_keep() || (self.may_work() && entry.by == self.caller))
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
        call(&self.contract, self.request(sent)).await
    }

    /// A request of the device.
    fn request<C>(&self, sent: C) -> Request<C> {
        let mut metadata = MetadataMap::new();
        metadata.insert("authorization", self.token.clone());
        Request::from_parts(metadata, self.connection.clone(), sent)
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

    /// Pieces by their tags, each once.
    ///
    /// # Errors
    /// What the service refused.
    pub(crate) async fn pieces(
        &self,
        tags: impl Iterator<Item = String>,
    ) -> Result<Vec<Piece>, Status> {
        let tags: BTreeSet<String> = tags.collect();
        let mut pieces = Vec::new();
        for tag in tags {
            pieces.extend(self.call(GetPieceRequest { tag }).await?.piece);
        }
        Ok(pieces)
    }

    /// Entries as they come, until the device is shut out.
    ///
    /// # Errors
    /// What the service refused.
    pub(crate) async fn watch(
        &self,
        sent: WatchEntriesRequest,
    ) -> Result<Streaming<WatchEntriesResponse>, Status> {
        let mut grpc = grpc(&self.contract).await;
        let path = PathAndQuery::from_static(WatchEntriesRequest::RPC.path);
        let answer = grpc
            .server_streaming(self.request(sent), path, ProstCodec::new())
            .await?;
        Ok(answer.into_inner())
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
            places: book.places,
        })
    }
}

/// Calls an rpc of the contract.
pub(crate) async fn call<C: Unary>(
    contract: &Service,
    request: Request<C>,
) -> Result<C::Answer, Status> {
    let mut grpc = grpc(contract).await;
    let path = PathAndQuery::from_static(C::RPC.path);
    let answer = grpc.unary(request, path, ProstCodec::new()).await?;
    Ok(answer.into_inner())
}

/// The services of the contract, ready to be called.
async fn grpc(contract: &Service) -> Grpc<Service> {
    let mut grpc = Grpc::new(contract.clone()).max_decoding_message_size(ANSWER_BYTES_MAX);
    match grpc.ready().await {
        Ok(()) => grpc,
        Err(never) => match never {},
    }
}
