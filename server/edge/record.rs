//! The way of every command: request id, hash of the body, parse, desk, entry.
//!
//! It serves all handlers that write, so that none can forget a step. The hash is taken over what
//! was sent, before anything is read from it: a retry is known by its bytes, not by what they mean.

use std::sync::Arc;

use fettlebook_contract::numbers::{At, Numbers};
use fettlebook_contract::v1;
use fettlebook_model::{BodyHash, Book, Command, decide};
use prost::{Message, Name};
use sha2::{Digest, Sha256};
use tonic::{Request, Status};
use tracing::field::display;
use uuid::Uuid;

use super::changed::Changed;
use super::faults::{self, Asked, both};
use super::status::EdgeError;
use super::{Caller, Edge, numbers, parse, show};
use crate::desk::Order;

/// A request that writes.
pub(super) trait Writing: Message + Name + Numbers {
    /// How it is looked at as a whole where it is refused; nothing for what is looked at row by row.
    const ASKED: Option<Asked> = Some(Asked::Whole);

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
    FillBottleRequest,
    CountKitRequest,
    CreateCarRequest,
    UpdateCarRequest,
    LogUseRequest,
    ChargeBatteriesRequest,
    RecordFilmRequest,
);

macro_rules! writing {
    (edits: $($edit:ident),+; rows: $($rows:ident),+; plain: $($plain:ident),+; kept: $($kept:ident),+ $(,)?) => {
        $(impl Writing for v1::$edit {
            const ASKED: Option<Asked> = Some(Asked::Edit);

            fn take_request_id(&mut self) -> String {
                std::mem::take(&mut self.request_id)
            }

            fn kept_mut(&mut self) -> Option<&mut v1::Kept> {
                None
            }
        })+
        $(impl Writing for v1::$rows {
            const ASKED: Option<Asked> = None;

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
    edits:
    UpdateMakeRequest,
    UpdateCarRequest,
    UpdateRoutineRequest,
    UpdateJobRequest,
    UpdateSupplierRequest;
    rows:
    ImportPadsRequest,
    StartRequest;
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
    MarkLabelledRequest,
    ChargeBatteriesRequest,
    WeighBottlesRequest,
    FillBottleRequest,
    CountKitRequest,
    SetAsideRequest,
    ReturnKitRequest,
    BinKitRequest,
    DemoteTowelsRequest,
    TakeJobRequest,
    LogUseRequest,
    RecordFilmRequest,
);

impl Edge {
    /// Records a request, or shows what it would record where it only looks.
    pub(super) async fn record_or_look<M: Looking, E: Into<EdgeError>>(
        &self,
        request: Request<M>,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> Result<Changed, Status> {
        if request.get_ref().validate_only() {
            let (changed, _) = self.look(request, parse)?;
            return Ok(changed);
        }
        self.record(request, parse).await
    }

    /// What a request would change, its entry with number 0, and the pick it starts from. Nothing is
    /// recorded.
    pub(super) fn look<M: Writing, E: Into<EdgeError>>(
        &self,
        request: Request<M>,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> Result<(Changed, Vec<v1::PickedPiece>), EdgeError> {
        let caller = self.caller(&request);
        let mut message = request.into_inner();
        let request_id = message.take_request_id();
        let body = message.encode_to_vec();
        self.count_as_seen(&mut message);
        let command = self
            .parsed(message, parse)
            .and_then(|command| self.preview(command, request_id.clone(), &caller));
        command.map_err(|error| self.all_wrong::<M>(&body, &request_id, Asked::Look, error))
    }

    /// Holds a request's numbers to their bounds, where its parser does not, and parses it.
    fn parsed<M: Writing, E: Into<EdgeError>>(
        &self,
        message: M,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> Result<Command, EdgeError> {
        let held = match M::ASKED {
            Some(Asked::Whole) => numbers::hold(&message, At::TOP),
            _ => Ok(()),
        };
        let parsed = parse(message, &self.book()).map_err(E::into);
        both(held, parsed).map(|((), command)| command)
    }

    /// The error with everything else that is wrong with a request, of which this is the body.
    fn all_wrong<M: Writing>(
        &self,
        body: &[u8],
        request_id: &str,
        whole: Asked,
        error: EdgeError,
    ) -> EdgeError {
        let asked = match M::ASKED {
            Some(Asked::Whole) => whole,
            Some(asked) => asked,
            None => return error,
        };
        let sent = (M::full_name(), body, request_id);
        faults::all_of(&self.book(), (&sent.0, sent.1, sent.2), asked, error)
    }

    /// Parses a request, has the desk record it, and shows what it changed.
    ///
    /// It is parsed at once: what waits for the desk then is small, where a message would be moved and kept for as
    /// long.
    pub(super) fn record<M: Writing, E: Into<EdgeError>>(
        &self,
        request: Request<M>,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> impl Future<Output = Result<Changed, Status>> {
        let received = self.receive(request, parse);
        async move {
            let (sent, parsed) = received?;
            let all = |error| self.all_wrong::<M>(&sent.bytes, &sent.id, Asked::Whole, error);
            let entry = match parsed {
                Ok(command) => {
                    let recorded = self.desk.submit(sent.order(command)).await;
                    recorded.map_err(|error| all(error.into()))?
                }
                // What cannot be parsed any more may have been taken once, and this is its retry.
                Err(refused) => match self.desk.answered(sent.request, sent.body).await {
                    Ok(Some(entry)) => Arc::new(entry),
                    Ok(None) => return Err(all(refused).into()),
                    Err(error) => return Err(EdgeError::from(error).into()),
                },
            };
            let (book, now) = (self.book(), self.desk.now());
            Ok(Changed::by(&entry, book, now, sent.caller.prices()))
        }
    }

    /// What was sent, and what it asks for or why that cannot be told.
    fn receive<M: Writing, E: Into<EdgeError>>(
        &self,
        request: Request<M>,
        parse: impl FnOnce(M, &Book) -> Result<Command, E>,
    ) -> Result<(Sent, Result<Command, EdgeError>), EdgeError> {
        let caller = self.caller(&request);
        let mut message = request.into_inner();
        let id = message.take_request_id();
        let bytes = message.encode_to_vec();
        let request = parse::request_id(&id)
            .map_err(|error| self.all_wrong::<M>(&bytes, &id, Asked::Whole, error.into()))?;
        tracing::Span::current().record("request_id", display(request));
        let body = body_hash::<M>(&bytes);
        self.count_as_seen(&mut message);
        let parsed = self.parsed(message, parse);
        let sent = Sent {
            caller,
            id,
            request,
            bytes,
            body,
        };
        Ok((sent, parsed))
    }
}

/// A request that writes, without its message.
struct Sent {
    caller: Caller,
    /// Its id as it was written, and as it is understood.
    id: String,
    request: Uuid,
    /// Its bytes without the id, and their hash.
    bytes: Vec<u8>,
    body: BodyHash,
}

impl Sent {
    /// The order to do what it asks for.
    fn order(&self, command: Command) -> Order {
        let by = self.caller.name.to_string();
        let command = command.reported_by(&by);
        Order {
            request: self.request,
            body: self.body,
            by,
            command,
        }
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

    /// What a command would change now, its entry with number 0, and the pick it starts from. Nothing is
    /// recorded.
    pub(super) fn preview(
        &self,
        command: Command,
        request_id: String,
        caller: &Caller,
    ) -> Result<(Changed, Vec<v1::PickedPiece>), EdgeError> {
        let (book, now) = (self.book(), self.desk.now());
        let order = Order {
            request: Uuid::nil(),
            body: BodyHash([0; 16]),
            by: caller.name.to_string(),
            command: command.reported_by(&caller.name),
        };
        let decision = decide(&book, &order.command, now)?;
        let picked = decision.picked.iter().map(show::take::picked).collect();
        let entry = order.entry(decision, book.head().next(), now);
        let mut after = Book::clone(&book);
        after.apply(&entry);
        let mut changed = Changed::by(&entry, Arc::new(after), now, caller.prices());
        (changed.entry.seq, changed.entry.request_id) = (0, request_id);
        Ok((changed, picked))
    }
}

/// First 16 bytes of the SHA-256 over the request's name and its bytes without the request id.
fn body_hash<M: Writing>(body: &[u8]) -> BodyHash {
    let hash = Sha256::new()
        .chain_update(M::NAME)
        .chain_update(body)
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

    fn hash<M: Writing>(message: &M) -> BodyHash {
        body_hash::<M>(&message.encode_to_vec())
    }

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
        assert_ne!(hash(&wash), hash(&dry));
        let noted = v1::WashKitRequest {
            note: "twice".to_owned(),
            ..wash.clone()
        };
        assert_ne!(hash(&wash), hash(&noted));
        assert_eq!(hash(&wash), hash(&wash.clone()));
    }
}
