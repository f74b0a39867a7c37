//! The way to a book: the service in this process on a folder, or one that runs elsewhere.
//!
//! It serves `run` and completion. A session holds everything a command needs to ask and nothing it
//! needs to print.

use std::path::PathBuf;
use std::rc::Rc;

use etcetera::BaseStrategy as _;
use fettlebook_contract::call::{Streamed, Unary};
use jiff::ZonedDateTime;
use jiff::tz::TimeZone;
use tonic::transport::{Channel, Endpoint};
use tonic::{Status, Streaming};

use crate::call;
use crate::clock;
use crate::fault::{Fault, root_cause};
use crate::solo::{Local, Solo, SoloClock};
use crate::transport::{Plain, ShopTransport, Transport, plain};
use crate::when::{self, Toward};

/// Where the book is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Whereabouts {
    /// In a folder, served by this process.
    Folder(PathBuf),
    /// Served at an address.
    At(String),
    /// In a shop that this device is paired with.
    Shop {
        /// Folder of the shop.
        folder: PathBuf,
        /// Whether nothing is kept here: what cannot be sent now fails.
        insists: bool,
    },
}

/// A way to a book that is open.
pub(crate) struct Session {
    way: Transport,
    clock: SoloClock,
    zone: TimeZone,
    whereabouts: Whereabouts,
    is_served: bool,
    notices: Vec<String>,
    finish: Option<Local<'static, ()>>,
    solo: &'static dyn Solo,
}

/// The folder a person's book is kept in when none is named.
///
/// # Errors
/// When there is no home folder.
pub(crate) fn own_folder() -> Result<PathBuf, Fault> {
    own("book").ok_or_else(|| {
        Fault::usage(
            "--book",
            "There is no home folder to keep the book in; name a folder with --book DIR.",
        )
    })
}

/// The folder of a shop when none is named; nothing where there is no home folder.
pub(crate) fn shop_folder() -> Option<PathBuf> {
    own("shop")
}

fn own(name: &str) -> Option<PathBuf> {
    let base = etcetera::choose_base_strategy().ok()?;
    Some(base.data_dir().join("fettlebook").join(name))
}

/// The place that does not drive away.
const BENCH: &str = "bench";

impl Session {
    /// Opens the way to a book.
    ///
    /// # Errors
    /// When the folder's book cannot be opened or the address cannot be reached.
    pub(crate) async fn open(
        whereabouts: Whereabouts,
        solo: &'static dyn Solo,
        clock: SoloClock,
    ) -> Result<Self, Fault> {
        Self::begin(whereabouts, solo, clock, false).await
    }

    /// Opens the way to a book for what only shows something: no deed may be sent.
    ///
    /// # Errors
    /// Those of [`Self::open`].
    pub(crate) async fn look(
        whereabouts: Whereabouts,
        solo: &'static dyn Solo,
        clock: SoloClock,
    ) -> Result<Self, Fault> {
        Self::begin(whereabouts, solo, clock, true).await
    }

    async fn begin(
        whereabouts: Whereabouts,
        solo: &'static dyn Solo,
        clock: SoloClock,
        only_looks: bool,
    ) -> Result<Self, Fault> {
        let (way, notices, finish) = match &whereabouts {
            Whereabouts::Folder(folder) => {
                if let Some(channel) = solo.reach(folder).await {
                    return Ok(Self::served(channel, whereabouts, solo, clock));
                }
                let opening = match only_looks {
                    true => solo.look(folder, clock.clone()),
                    false => solo.open(folder, clock.clone()),
                };
                let opened = opening.await?;
                let way = Transport::Plain(Plain::inside(opened.channel));
                (way, opened.notices, Some(opened.finish))
            }
            Whereabouts::At(address) => (Transport::Plain(reach(address).await?), Vec::new(), None),
            Whereabouts::Shop { folder, insists } => {
                let shop = ShopTransport::open(folder, *insists, solo, clock.clone()).await?;
                (Transport::Shop(shop), Vec::new(), None)
            }
        };
        Ok(Self {
            way,
            clock,
            zone: clock::local_zone(),
            whereabouts,
            is_served: false,
            notices,
            finish,
            solo,
        })
    }

    /// The way to a book in a folder that a process of this person serves.
    pub(crate) fn served(
        channel: Channel,
        whereabouts: Whereabouts,
        solo: &'static dyn Solo,
        clock: SoloClock,
    ) -> Self {
        Self {
            way: Transport::Plain(Plain::inside(channel)),
            clock,
            zone: clock::local_zone(),
            whereabouts,
            is_served: true,
            notices: Vec::new(),
            finish: None,
            solo,
        }
    }

    /// Whether the book is in a folder and a process of this person serves it to others too.
    pub(crate) const fn is_served(&self) -> bool {
        self.is_served
    }

    /// The place of whoever names none: in a shop that of this device; empty where it is for the book to say.
    pub(crate) fn place(&self) -> String {
        let said = self.shop().map(|shop| {
            shop.heed();
            shop.paired().place
        });
        said.unwrap_or_default()
    }

    /// The place of this device in a shop where that is a van, so that it goes by what is there.
    pub(crate) fn van(&self) -> Option<String> {
        let place = self.place();
        (!place.is_empty() && place != BENCH).then_some(place)
    }

    /// The way to the shop, in a shop.
    pub(crate) const fn shop(&self) -> Option<&Rc<ShopTransport>> {
        match &self.way {
            Transport::Shop(shop) => Some(shop),
            Transport::Plain(_) => None,
        }
    }

    /// What reads and writes folders for the person in this process.
    pub(crate) const fn solo(&self) -> &'static dyn Solo {
        self.solo
    }

    /// Waits until what is on its way is written and the book is closed.
    pub(crate) async fn close(self) {
        if let Some(shop) = self.shop() {
            shop.close().await;
        }
        drop(self.way);
        if let Some(finish) = self.finish {
            finish.await;
        }
    }

    /// Where the book is.
    pub(crate) const fn whereabouts(&self) -> &Whereabouts {
        &self.whereabouts
    }

    /// What was found on opening that the person should know.
    pub(crate) fn notices(&self) -> &[String] {
        &self.notices
    }

    /// Sends a request and hands back the answer.
    ///
    /// # Errors
    /// What the service refused, or that it cannot be reached.
    pub(crate) async fn call<C: Unary>(&self, request: C) -> Result<C::Answer, Fault> {
        call::send(&self.way, request).await
    }

    /// Sends a request once, for what can do without its answer.
    ///
    /// # Errors
    /// What the service refused, or what broke.
    pub(crate) async fn once<C: Unary>(&self, request: C) -> Result<C::Answer, Status> {
        call::once(self.way.clone(), request).await
    }

    /// Sends a request that is answered by a stream.
    ///
    /// # Errors
    /// What the service refused, or what broke.
    pub(crate) async fn stream<C: Streamed>(
        &self,
        request: C,
    ) -> Result<Streaming<C::Answer>, Status> {
        call::stream(self.way.clone(), request).await
    }

    /// The present moment where the person is.
    pub(crate) fn now(&self) -> ZonedDateTime {
        clock::now(&self.clock).to_zoned_datetime(self.zone.clone())
    }

    /// Reads a moment that an option gives.
    ///
    /// # Errors
    /// When it is not written in one of the accepted forms.
    pub(crate) fn moment(
        &self,
        option: &str,
        text: &str,
        toward: Toward,
    ) -> Result<ZonedDateTime, Fault> {
        when::moment(text, &self.now(), toward).map_err(|why| Fault::usage(option, why))
    }
}

async fn reach(address: &str) -> Result<Plain, Fault> {
    if address.starts_with("https://") {
        return Err(Fault::speaks_tls(address));
    }
    let plain = address.starts_with("http://");
    let endpoint = Endpoint::from_shared(address.to_owned())
        .ok()
        .filter(|_| plain)
        .ok_or_else(|| {
            Fault::usage(
                "--at",
                format!(
                    "'{address}' is not an address of a service; write for example \
                     http://127.0.0.1:7420."
                ),
            )
        })?;
    let endpoint = plain::patient(endpoint);
    Plain::connect(address, &endpoint)
        .await
        .map_err(|error| Fault::unreachable(address, &root_cause(&error)))
}
