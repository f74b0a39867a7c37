//! The door of a service that listens for devices: who may come in, and how connections are sealed.
//!
//! It serves starting. Whatever would keep every device out, or let in somebody who is no device, is
//! found before anything listens there.

mod shown;

use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;

use fettlebook_contract::pairing::host_and_port;
use fettlebook_model::Moment;
use tonic::codegen::http::HeaderValue;

use super::ServeError;
use super::seals::Seals;
use crate::access::{
    Access, AccessError, Credentials, Fingerprint, SERVICE_NAME, ServiceNote, ShownNow,
    lets_an_owner_in, paired_count,
};
use crate::args::Args;
use crate::desk::{Clock, Desk};
use crate::store::Cabinet;

pub(super) use shown::Shown;

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
        let note = ServiceNote::new(address, credentials.fingerprint());
        let seals = Seals::with(credentials)?;
        Self::opened(desk, &note, &ShownNow::of(credentials), seals)
    }

    fn opened(
        desk: &Desk,
        note: &ServiceNote,
        shown: &ShownNow,
        seals: Seals,
    ) -> Result<Self, AccessError> {
        let access = Access::open(desk.cabinet(), desk.standing().identity.book_id, note)?;
        Ok(Self {
            access: Arc::new(access.behind(shown.clone())),
            seals,
            fingerprint: shown.fingerprint(),
            certificate: shown.held(),
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
/// or written yet: these are the cabinets of the books, of which one has to let somebody in.
pub(super) fn asked(
    args: &Args,
    cabinets: &[Arc<dyn Cabinet>],
    clock: &dyn Clock,
) -> Result<Asked, ServeError> {
    if !args.for_devices() {
        return Ok(Asked::None);
    }
    if !args.listen.ip().is_loopback() && !lets_somebody_in(cabinets, clock.now())? {
        let (address, kept) = (args.listen, args.kept.typed());
        return Err(match cabinets {
            [] | [_] => ServeError::NobodyPaired { address, kept },
            several => ServeError::NobodyPairedOfAny {
                address,
                kept,
                count: several.len(),
            },
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

/// Whether somebody is paired with one of these books, or could come in and own it.
///
/// # Errors
/// When none does, and what lets somebody in cannot be read of one.
fn lets_somebody_in(cabinets: &[Arc<dyn Cabinet>], now: Moment) -> Result<bool, AccessError> {
    let of_one = |cabinet: &dyn Cabinet| {
        Ok::<_, AccessError>(paired_count(cabinet)? > 0 || lets_an_owner_in(cabinet, now)?)
    };
    let mut unread = None;
    for cabinet in cabinets {
        match of_one(&**cabinet) {
            Ok(true) => return Ok(true),
            Ok(false) => {}
            Err(error) => unread = Some(error),
        }
    }
    unread.map_or(Ok(false), Err)
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
        let is_given = matches!(self, Self::Given(_));
        let credentials = match self {
            Self::None => return Ok(None),
            Self::Own => Credentials::own(cabinet, &hosts(address, &args.reached_at), now)?,
            Self::Given(credentials) => credentials,
        };
        let shown = Shown::of(&credentials, is_given, (args, address))?;
        Ok(Some(shown))
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
