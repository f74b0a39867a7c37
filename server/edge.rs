//! The edge: the contract on one side, the desk and the book on the other.
//!
//! It serves every client, whether over TCP or in this process: a message is parsed, given to the
//! desk or answered from the book, and the result shown. No rule of the trade lives here, and no
//! message may reach the desk half understood.

mod access_service;
mod book_service;
mod caller;
mod changed;
mod condition;
mod copy;
mod etag;
mod faults;
mod front;
mod guard;
mod job_service;
mod kit_service;
mod lists;
mod mask;
mod methods;
#[cfg(feature = "postgres")]
mod newcomers;
mod no_book;
mod numbers;
#[cfg(feature = "postgres")]
mod office;
mod pages;
mod paging;
mod parse;
mod prices;
mod readable;
mod record;
mod reflected;
mod roles;
mod router;
mod shops;
mod show;
mod sought;
mod status;
mod supply_service;
mod switch;
#[cfg(test)]
mod tests;
mod traced;
mod until_end;
mod visit;
mod watch;
mod words;

use std::sync::Arc;

use fettlebook_contract::v1::access_service_server::AccessServiceServer;
use fettlebook_contract::v1::book_service_server::BookServiceServer;
use fettlebook_contract::v1::job_service_server::JobServiceServer;
use fettlebook_contract::v1::kit_service_server::KitServiceServer;
use fettlebook_contract::v1::supply_service_server::SupplyServiceServer;
use fettlebook_model::Book;
use prost::{Message, Name};
use tonic::service::Routes;
use tonic::{Response, Status};

use crate::access::Access;
use crate::desk::Desk;
use crate::limits::{ACCESS_MESSAGE_BYTES_MAX, ANSWER_BYTES_MAX, MESSAGE_BYTES_MAX};

pub use caller::Caller;
pub use front::Front;
pub use guard::{GuardLayer, Guarded};
#[cfg(feature = "postgres")]
pub(crate) use newcomers::Entrance;
pub use no_book::NoBook;
#[cfg(feature = "postgres")]
pub(crate) use office::OfficeAnswers;
pub use pages::{BenchPage, Paged, PagesLayer};
pub use readable::{ReadableLayer, readable};
pub use router::{Asker, Books, Routed, Router, Way};
pub use switch::{Confirmed, Hold, Switch, Switched, Usage};
pub use traced::{Traced, TracedLayer};
pub use visit::Visit;
pub use watch::Watch;

use status::EdgeError;
use watch::Watches;

/// What a handler answers with.
type Answer<T> = Result<Response<T>, Status>;

/// The five services on one desk. Clones share it.
#[derive(Clone)]
pub struct Edge {
    desk: Desk,
    owner: Caller,
    access: Option<Arc<Access>>,
    wants_tokens: bool,
    watches: Arc<Watches>,
}

impl Edge {
    /// Services for this caller, unless a request says that another sent it.
    pub fn new(desk: Desk, owner: Caller) -> Self {
        Self {
            desk,
            owner,
            access: None,
            wants_tokens: false,
            watches: Arc::default(),
        }
    }

    /// The same, for devices that show who they are.
    #[must_use]
    pub fn for_devices(self, access: Arc<Access>) -> Self {
        Self {
            wants_tokens: true,
            ..self.with_devices(access)
        }
    }

    /// The same for this caller without a token, with devices to look after.
    #[must_use]
    pub fn with_devices(self, access: Arc<Access>) -> Self {
        let access = Some(access);
        Self { access, ..self }
    }

    /// Ends every watch of the book, and each that is asked for from now on: the service stops.
    pub fn end_watches(&self) {
        self.watches.end();
    }

    /// The services, each with its limits.
    pub fn routes(&self) -> Routes {
        let kit = KitServiceServer::new(self.clone())
            .max_decoding_message_size(MESSAGE_BYTES_MAX)
            .max_encoding_message_size(ANSWER_BYTES_MAX);
        let job = JobServiceServer::new(self.clone())
            .max_decoding_message_size(MESSAGE_BYTES_MAX)
            .max_encoding_message_size(ANSWER_BYTES_MAX);
        let book = BookServiceServer::new(self.clone())
            .max_decoding_message_size(MESSAGE_BYTES_MAX)
            .max_encoding_message_size(ANSWER_BYTES_MAX);
        let supply = SupplyServiceServer::new(self.clone())
            .max_decoding_message_size(MESSAGE_BYTES_MAX)
            .max_encoding_message_size(ANSWER_BYTES_MAX);
        let access = AccessServiceServer::new(self.clone())
            .max_decoding_message_size(ACCESS_MESSAGE_BYTES_MAX)
            .max_encoding_message_size(ANSWER_BYTES_MAX);
        Routes::new(kit)
            .add_service(job)
            .add_service(book)
            .add_service(supply)
            .add_service(access)
    }

    /// What was read of a request, or everything that is wrong with the request.
    fn read<M: Message + Name, T, E: Into<EdgeError>>(
        &self,
        sent: &M,
        read: Result<T, E>,
    ) -> Result<T, EdgeError> {
        read.map_err(|error| faults::all(&self.book(), sent, error.into()))
    }

    fn book(&self) -> Arc<Book> {
        self.desk.book()
    }
}
