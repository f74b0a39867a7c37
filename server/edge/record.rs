//! The way of every command: request id, hash of the body, parse, desk, entry.
//!
//! It serves all handlers that write, so that none can forget a step. The hash is taken over what
//! was sent, before anything is read from it: a retry is known by its bytes, not by what they mean.

use std::sync::Arc;

use fettlebook_contract::numbers::{At, Numbers};
use fettlebook_contract::v1;
use fettlebook_model::{BodyHash, Book, Command, Seq, decide};
use prost::{Message, Name};
use sha2::{Digest, Sha256};
use tonic::{Request, Status};
use tracing::field::display;
use uuid::Uuid;

use super::status::EdgeError;
use super::{Caller, Edge, numbers, parse, show};
use crate::desk::Order;

/// A request that writes.
pub(super) trait Writing: Message + Name + Numbers {
    /// Whether its numbers are held to their bounds by who parses it: an edit once it is put together, a
    /// notebook row by row.
    const HELD_BY_PARSER: bool = false;

    /// Takes the request id out.
    fn take_request_id(&mut self) -> String;

    /// How a device kept it, where it can be kept.
    fn kept_mut(&mut self) -> Option<&mut v1::Kept>;
}

/// A request that writes, or only looks at what it would write.
pub(super) trait Looking: Writing {
    /// Whether it only looks.
    fn validate_only(&self) -> bool;
}

macro_rules! looking {
    ($($request:ident),+ $(,)?) => {
        $(impl Looking for v1::$request {
            fn validate_only(&self) -> bool {
                self.validate_only
            }
        })+
    };
}

looking!(
    WashKitRequest,
    WeighBottlesRequest,
    CountKitRequest,
    CreateCarRequest,
    UpdateCarRequest,
    LogUseRequest,
);

macro_rules! writing {
    (parsed: $($parsed:ident),+; plain: $($plain:ident),+; kept: $($kept:ident),+ $(,)?) => {
        $(impl Writing for v1::$parsed {
            const HELD_BY_PARSER: bool = true;

            fn take_request_id(&mut self) -> String {
                std::mem::take(&mut self.request_id)
            }

            fn kept_mut(&mut self) -> Option<&mut v1::Kept> {
                None
            }
        })+
        $(impl Writing for v1::$plain {
            fn take_request_id(&mut self) -> String {
                std::mem::take(&mut self.request_id)
            }

            fn kept_mut(&mut self) -> Option<&mut v1::Kept> {
                None
            }
        })+
        $(impl Writing for v1::$kept {
            fn take_request_id(&mut self) -> String {
                std::mem::take(&mut self.request_id)
            }

            fn kept_mut(&mut self) -> Option<&mut v1::Kept> {
                self.kept.as_mut()
            }
        })+
    };
}

writing!(
    parsed:
    UpdateMakeRequest,
    UpdateCarRequest,
    UpdateRoutineRequest,
    UpdateJobRequest,
    ImportPadsRequest,
    StartRequest,
    UpdateSupplierRequest;
    plain:
    CreateMakeRequest,
    CreateCarRequest,
    CreateRoutineRequest,
    BookJobRequest,
    CallOffJobRequest,
    ReverseEntryRequest,
    UpdatePolicyRequest,
    CreateSupplierRequest,
    CreateOrderRequest,
    PlaceOrderRequest,
    CloseOrderRequest,
    ReceiveOrderRequest;
    kept:
    ReceiveKitRequest,
    MoveKitRequest,
    WashKitRequest,
    MarkDryRequest,
    WeighBottlesRequest,
    CountKitRequest,
    SetAsideRequest,
    ReturnKitRequest,
    BinKitRequest,
    DemoteTowelsRequest,
    TakeJobRequest,
    LogUseRequest,
);

impl Edge {
    /// Records a request, or shows what it would record where it only looks.
    pub(super) async fn record_or_look<M: Looking, E: Into<EdgeError>>(
        &self,
        request: Request<M>,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> Result<v1::Entry, Status> {
        if request.get_ref().validate_only() {
            let (entry, _) = self.look(request, parse)?;
            return Ok(entry);
        }
        self.record(request, parse).await
    }

    /// The entry that a request would make, with number 0, and the pick it starts from. Nothing is
    /// recorded.
    pub(super) fn look<M: Writing, E: Into<EdgeError>>(
        &self,
        request: Request<M>,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> Result<(v1::Entry, Vec<v1::PickedPiece>), EdgeError> {
        let caller = self.caller(&request);
        let mut message = request.into_inner();
        let request_id = message.take_request_id();
        if !M::HELD_BY_PARSER {
            numbers::hold(&message, At::TOP)?;
        }
        self.count_as_seen(&mut message);
        let command = parse(message, &self.book()).map_err(E::into)?;
        self.preview(command, request_id, &caller)
    }

    /// Parses a request, has the desk record it, and shows the entry.
    pub(super) async fn record<M: Writing, E: Into<EdgeError>>(
        &self,
        request: Request<M>,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> Result<v1::Entry, Status> {
        let caller = self.caller(&request);
        let mut message = request.into_inner();
        let request = parse::request_id(&message.take_request_id()).map_err(EdgeError::from)?;
        tracing::Span::current().record("request_id", display(request));
        let body = body_hash(&message);
        self.count_as_seen(&mut message);
        let parsed = if M::HELD_BY_PARSER {
            Ok(())
        } else {
            numbers::hold(&message, At::TOP)
        };
        let parsed = parsed.and_then(|()| parse(message, &self.book()).map_err(E::into));
        let entry = match parsed {
            Ok(command) => {
                let by = caller.name.to_string();
                let command = command.reported_by(&by);
                let order = Order {
                    request,
                    body,
                    by,
                    command,
                };
                self.desk.submit(order).await.map_err(EdgeError::from)?
            }
            // What cannot be parsed any more may have been taken once, and this is its retry.
            Err(refused) => match self.desk.answered(request, body).await {
                Ok(Some(entry)) => Arc::new(entry),
                Ok(None) => return Err(refused.into()),
                Err(error) => return Err(EdgeError::from(error).into()),
            },
        };
        Ok(show::entry::entry(&self.book(), &entry, caller.prices()))
    }
}

impl Edge {
    /// What a device saw in another incarnation of the book is no entry of this one, unless this one
    /// began with it.
    fn count_as_seen(&self, message: &mut impl Writing) {
        let identity = self.desk.standing().identity;
        if let Some(kept) = message.kept_mut()
            && !kept.incarnation_id.is_empty()
            && kept.incarnation_id != identity.incarnation_id.to_string()
        {
            kept.seen_seq = kept.seen_seq.min(show::seq(identity.since));
        }
    }

    /// The entry that a command would make now, with number 0, and the pick it starts from. Nothing is
    /// recorded.
    pub(super) fn preview(
        &self,
        command: Command,
        request_id: String,
        caller: &Caller,
    ) -> Result<(v1::Entry, Vec<v1::PickedPiece>), EdgeError> {
        let (book, now) = (self.book(), self.desk.now());
        let order = Order {
            request: Uuid::nil(),
            body: BodyHash([0; 16]),
            by: caller.name.to_string(),
            command: command.reported_by(&caller.name),
        };
        let decision = decide(&book, &order.command, now)?;
        let picked = decision.picked.iter().map(show::take::picked).collect();
        let entry = order.entry(decision, Seq(0), now);
        let entry = v1::Entry {
            request_id,
            ..show::entry::entry(&book, &entry, caller.prices())
        };
        Ok((entry, picked))
    }
}

/// First 16 bytes of the SHA-256 over the request's name and its bytes without the request id.
fn body_hash<M: Writing>(message: &M) -> BodyHash {
    let hash = Sha256::new()
        .chain_update(M::NAME)
        .chain_update(message.encode_to_vec())
        .finalize();
    let mut first = [0; 16];
    for (to, from) in first.iter_mut().zip(hash) {
        *to = from;
    }
    BodyHash(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_tells_bodies_and_commands_apart() {
        let tags = vec!["P-07".to_owned()];
        let wash = v1::WashKitRequest {
            tags: tags.clone(),
            ..Default::default()
        };
        let dry = v1::MarkDryRequest {
            tags,
            ..Default::default()
        };
        assert_eq!(wash.encode_to_vec(), dry.encode_to_vec());
        assert_ne!(body_hash(&wash), body_hash(&dry));
        let noted = v1::WashKitRequest {
            note: "twice".to_owned(),
            ..wash.clone()
        };
        assert_ne!(body_hash(&wash), body_hash(&noted));
        assert_eq!(body_hash(&wash), body_hash(&wash.clone()));
    }
}
