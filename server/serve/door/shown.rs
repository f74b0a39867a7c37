//! What a service shows to devices, whichever book it has.

use std::net::SocketAddr;
#[cfg(feature = "postgres")]
use std::sync::Arc;

#[cfg(feature = "postgres")]
use fettlebook_model::Moment;
use tonic::codegen::http::HeaderValue;

use super::Door;
#[cfg(feature = "postgres")]
use super::hosts;
#[cfg(feature = "postgres")]
use crate::access::{Access, AccessError};
use crate::access::{CertificateError, Credentials, ServiceNote, ShownNow};
use crate::args::Args;
use crate::desk::Desk;
use crate::serve::ServeError;
use crate::serve::seals::Seals;
#[cfg(feature = "postgres")]
use crate::store::Cabinet;

/// What a service shows to devices, whichever book it has.
pub(in crate::serve) struct Shown {
    pub(in crate::serve) now: ShownNow,
    pub(in crate::serve) seals: Seals,
    address: SocketAddr,
    /// Where devices reach it, as it was told.
    reached_at: Vec<String>,
    page_origins: Vec<HeaderValue>,
    /// What this machine is called, and where it is reached.
    #[cfg(feature = "postgres")]
    pub(in crate::serve) hosts: Vec<String>,
    /// Whether it was given, and is not the service's own.
    is_given: bool,
}

impl Shown {
    /// These, on this address; they may be given ones.
    pub(super) fn of(
        credentials: &Credentials,
        is_given: bool,
        (args, address): (&Args, SocketAddr),
    ) -> Result<Self, CertificateError> {
        Ok(Self {
            now: ShownNow::of(credentials),
            seals: Seals::with(credentials)?,
            address,
            reached_at: args.reached_at.clone(),
            page_origins: args.page_from.clone(),
            #[cfg(feature = "postgres")]
            hosts: hosts(address, &args.reached_at),
            is_given,
        })
    }

    /// What the service notes of itself.
    fn note(&self) -> ServiceNote {
        let note = ServiceNote::new(self.address, self.now.fingerprint());
        note.with_reached_at(&self.reached_at)
            .with_given(self.is_given)
    }

    /// Notes where the service is, for whoever makes codes beside it, before it is known who has the book.
    #[cfg(feature = "postgres")]
    pub(in crate::serve) fn write_note(&self, cabinet: &dyn Cabinet) -> Result<(), AccessError> {
        // Where a certificate was given nobody has opened it yet.
        cabinet.open()?;
        self.note().write(cabinet)
    }

    /// Whether it can be what all books have in common: where one was given, that stays.
    #[cfg(feature = "postgres")]
    pub(in crate::serve) const fn may_turn(&self) -> bool {
        !self.is_given
    }

    /// Shows everyone who comes from now on what the authority in this cabinet signs.
    #[cfg(feature = "postgres")]
    pub(in crate::serve) fn turn_to(
        &self,
        cabinet: &dyn Cabinet,
        now: Moment,
    ) -> Result<(), AccessError> {
        let credentials = Credentials::own(cabinet, &self.hosts, now)?;
        // First what proofs are held against: who is shown the new one may show a proof at once.
        self.now.turn_to(&credentials);
        self.seals.turn_to(&credentials)?;
        self.write_note(cabinet)
    }

    /// Who may use one of the books of a node. New devices of a book hold on to its own certificate, but where one
    /// was given.
    #[cfg(feature = "postgres")]
    pub(in crate::serve) fn access(&self, desk: &Desk) -> Result<Arc<Access>, ServeError> {
        let access = Access::open(
            desk.cabinet(),
            desk.standing().identity.book_id,
            &self.note(),
        )?;
        let access = access.behind(self.now.clone());
        let access = if self.is_given {
            access
        } else {
            access.beside_others(desk.now())?
        };
        Ok(Arc::new(access))
    }

    /// The door of a book with it.
    pub(super) fn door(&self, desk: &Desk) -> Result<Door, ServeError> {
        let door = Door::opened(desk, &self.note(), &self.now, self.seals.clone())?;
        Ok(Door {
            page_origins: self.page_origins.clone(),
            ..door
        })
    }
}
