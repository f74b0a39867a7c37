//! The door of a service that listens for devices: who may come in, and how connections are sealed.
//!
//! It serves starting. Whatever would keep every device out, or let in somebody who is no device, is
//! found before anything listens there.

use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;

use fettlebook_contract::pairing::host_and_port;
use fettlebook_model::Moment;
use tonic::codegen::http::HeaderValue;

use super::ServeError;
use super::seals::Seals;
use crate::access::{
    Access, AccessError, Credentials, Fingerprint, SERVICE_NAME, ServiceNote, lets_an_owner_in,
    paired_count,
};
use crate::args::Args;
use crate::desk::{Clock, Desk};
use crate::store::{Cabinet, Store};

/// Who may come in, and how connections are sealed.
pub struct Door {
    /// Who may use the book.
    pub access: Arc<Access>,
    /// How connections are sealed.
    pub(crate) seals: Seals,
    /// By which devices know the service.
    pub fingerprint: Fingerprint,
    /// The certificate of that fingerprint.
    pub certificate: Vec<u8>,
    /// Pages of these origins may read answers in a browser.
    pub page_origins: Vec<HeaderValue>,
}

impl Door {
    /// A door with these credentials, for a book on this address.
    ///
    /// # Errors
    /// When the certificate cannot be served, or a file cannot be read or written.
    pub fn open(
        desk: &Desk,
        address: SocketAddr,
        credentials: &Credentials,
    ) -> Result<Self, AccessError> {
        Self::opened(
            desk,
            &ServiceNote::new(address, credentials.fingerprint()),
            credentials,
        )
    }

    fn opened(
        desk: &Desk,
        note: &ServiceNote,
        credentials: &Credentials,
    ) -> Result<Self, AccessError> {
        let seals = Seals::with(credentials)?;
        let fingerprint = credentials.fingerprint();
        let held = credentials.chain().last();
        let access = Access::open(desk.cabinet(), desk.standing().identity.book_id, note)?;
        let access = access.with_certificate_end(credentials.good_until());
        Ok(Self {
            access: Arc::new(access),
            seals,
            fingerprint,
            certificate: held.map_or_else(Vec::new, |held| held.to_vec()),
            page_origins: Vec::new(),
        })
    }
}

impl Door {
    /// A door for a book with its own certificate, or with the one in these files, its key second.
    ///
    /// # Errors
    /// Those of [`Self::open`], and when the files hold nothing that a device would believe.
    pub(crate) fn of_book(
        desk: &Desk,
        address: SocketAddr,
        given: Option<(&Path, &Path)>,
    ) -> Result<Self, ServeError> {
        let credentials = match given {
            Some((chain, key)) => Credentials::given(chain, key, desk.now())?,
            None => Credentials::own(&*desk.cabinet(), &hosts(address, &[]), desk.now())?,
        };
        Ok(Self::open(desk, address, &credentials)?)
    }
}

/// Which door is asked for.
pub(super) enum Asked {
    /// None: whoever is on this machine comes in.
    None,
    /// One with the book's own certificate.
    Own,
    /// One with this certificate.
    Given(Credentials),
}

/// Looks which door is asked for, and refuses one that nobody could come through. Nothing is opened
/// or written yet. Of several books nobody knows yet which is asked for: whether somebody is paired with one is not
/// looked at.
pub(super) fn asked(
    args: &Args,
    store: Option<&dyn Store>,
    clock: &dyn Clock,
) -> Result<Asked, ServeError> {
    if !args.for_devices() {
        return Ok(Asked::None);
    }
    let may_come_in = || {
        let Some(store) = store else { return Ok(true) };
        let cabinet = store.cabinet();
        let by_code = || lets_an_owner_in(&*cabinet, clock.now());
        Ok::<_, ServeError>(paired_count(&*cabinet)? > 0 || by_code()?)
    };
    if !args.listen.ip().is_loopback() && !may_come_in()? {
        return Err(ServeError::NobodyPaired {
            address: args.listen,
            kept: args.kept.typed(),
        });
    }
    let (Some(certificate), Some(key)) = (&args.certificate, &args.key) else {
        return Ok(Asked::Own);
    };
    let credentials = Credentials::given(certificate, key, clock.now())?;
    let note = ServiceNote::new(args.listen, credentials.fingerprint());
    let reached = if args.reached_at.is_empty() {
        vec![note.address]
    } else {
        args.reached_at.clone()
    };
    for host in reached.iter().filter_map(|address| host_of(address)) {
        if !credentials.stands_for(SERVICE_NAME) && !credentials.stands_for(&host) {
            tracing::warn!(
                "the certificate does not stand for {host}: name a host that it stands for when a \
                 device is paired, with 'fettled pair --at HOST:PORT', or for all with --reached-at"
            );
        }
    }
    Ok(Asked::Given(credentials))
}

impl Asked {
    /// Opens it for a book that listens on an address.
    pub(super) fn open(
        self,
        args: &Args,
        desk: &Desk,
        address: SocketAddr,
    ) -> Result<Option<Door>, ServeError> {
        let shown = self.shown(args, &*desk.cabinet(), address, desk.now())?;
        shown.map(|shown| shown.door(desk)).transpose()
    }

    /// What is shown there; none where no door was asked for. Whoever may open the cabinet need not have the
    /// book.
    pub(super) fn shown(
        self,
        args: &Args,
        cabinet: &dyn Cabinet,
        address: SocketAddr,
        now: Moment,
    ) -> Result<Option<Shown>, ServeError> {
        let hosts = hosts(address, &args.reached_at);
        #[cfg(feature = "postgres")]
        let is_given = matches!(self, Self::Given(_));
        let credentials = match self {
            Self::None => return Ok(None),
            Self::Own => Credentials::own(cabinet, &hosts, now)?,
            Self::Given(credentials) => credentials,
        };
        let note = ServiceNote::new(address, credentials.fingerprint());
        Ok(Some(Shown {
            note: note.with_reached_at(&args.reached_at),
            credentials,
            page_origins: args.page_from.clone(),
            #[cfg(feature = "postgres")]
            hosts,
            #[cfg(feature = "postgres")]
            is_given,
        }))
    }
}

/// What a service shows to devices, whichever book it has.
#[derive(Debug)]
pub(super) struct Shown {
    note: ServiceNote,
    pub(super) credentials: Credentials,
    page_origins: Vec<HeaderValue>,
    /// What this machine is called, and where it is reached.
    #[cfg(feature = "postgres")]
    pub(super) hosts: Vec<String>,
    /// Whether it was given, and is not the service's own.
    #[cfg(feature = "postgres")]
    is_given: bool,
}

impl Shown {
    /// Notes where the service is, for whoever makes codes beside it, before it is known who has the book.
    #[cfg(feature = "postgres")]
    pub(super) fn note(&self, cabinet: &dyn Cabinet) -> Result<(), AccessError> {
        // Where a certificate was given nobody has opened it yet.
        cabinet.open()?;
        self.note.write(cabinet)
    }

    /// Who may use one of the books of a node. New devices of a book hold on to its own certificate, but where one
    /// was given.
    #[cfg(feature = "postgres")]
    pub(super) fn access(&self, desk: &Desk) -> Result<Arc<Access>, ServeError> {
        let access = Access::open(desk.cabinet(), desk.standing().identity.book_id, &self.note)?;
        let access = access.with_certificate_end(self.credentials.good_until());
        let access = if self.is_given {
            access
        } else {
            access.beside_others(desk.now())?
        };
        Ok(Arc::new(access))
    }

    /// The door of a book with it.
    pub(super) fn door(&self, desk: &Desk) -> Result<Door, ServeError> {
        let door = Door::opened(desk, &self.note, &self.credentials)?;
        Ok(Door {
            page_origins: self.page_origins.clone(),
            ..door
        })
    }
}

/// What this machine is called, and where it is reached: for the certificate.
fn hosts(address: SocketAddr, reached_at: &[String]) -> Vec<String> {
    let reached = ServiceNote::reached_at(address.ip());
    let name = host_name();
    let told = reached_at.iter().filter_map(|address| host_of(address));
    [name, address.ip().to_string(), reached.to_string()]
        .into_iter()
        .chain(told)
        .filter(|host| Credentials::can_stand_for(host))
        .collect()
}

/// The host of an address, without its port and brackets.
fn host_of(address: &str) -> Option<String> {
    host_and_port(address).map(|(host, _)| host)
}

#[cfg(unix)]
fn host_name() -> String {
    let system = rustix::system::uname();
    system.nodename().to_string_lossy().to_ascii_lowercase()
}

/// Without a name of its own: the certificate stands for the addresses.
#[cfg(not(unix))]
const fn host_name() -> String {
    String::new()
}
