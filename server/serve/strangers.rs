//! Connections on which no good token has come yet: few at once, and not for long.
//!
//! Whoever has a token must get in whatever others do. So strangers have a pool of their own, smaller
//! than the places there are; a newcomer takes the place of one from the most crowded address, and
//! whoever comes from where there are fewest is the last to go. From where a device called lately one
//! is taken in though the strangers come from ever so many addresses.

use std::collections::VecDeque;
use std::future::poll_fn;
use std::io;
use std::net::IpAddr;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::{Duration, Instant};

use rustc_hash::FxHashSet;
use tokio::sync::oneshot;
use tokio::time::Sleep;

use super::crowd::Crowd;
use super::doorway::Doorway;
use crate::access::network;
use crate::edge::Visit;
use crate::limits::{
    STRANGER_BYTES_MAX, STRANGER_SPARED_FOR, STRANGERS_PER_PLACE_MAX, STRANGERS_PER_SITE_MAX,
};

/// Bits of the network that one subscriber has in IPv6. Source: RFC 6177, section 2.
const PLACE_BITS: u32 = 64;
/// Bits of the network that one site has in IPv6. Source: RFC 6177, section 2.
const SITE_BITS: u32 = 48;

/// Who is here without a token, the oldest first.
#[derive(Debug)]
pub(super) struct Strangers {
    held: Vec<Held>,
    /// How many of them are from where.
    crowd: Crowd,
    device_places: DevicePlaces,
    doorway: Doorway,
    time_max: Duration,
}

/// Where good tokens came from lately.
#[derive(Debug, Default)]
struct DevicePlaces {
    /// The last one last.
    order: VecDeque<IpAddr>,
    known: FxHashSet<IpAddr>,
}

impl DevicePlaces {
    fn has(&self, place: IpAddr) -> bool {
        self.known.contains(&place)
    }

    /// One came from there; the oldest are forgotten where there are more than these.
    fn add(&mut self, place: IpAddr, most: usize) {
        if self.order.back() == Some(&place) {
            return;
        }
        if !self.known.insert(place) {
            self.order.retain(|known| *known != place);
        }
        self.order.push_back(place);
        let too_many = self.order.len().saturating_sub(most);
        for gone in self.order.drain(..too_many) {
            self.known.remove(&gone);
        }
    }
}

/// One of them.
#[derive(Debug)]
struct Held {
    visit: Visit,
    at: At,
    since: Instant,
    shut: oneshot::Sender<()>,
}

impl Held {
    /// Whether it is still a stranger, and still there.
    fn counts(&self) -> bool {
        !self.shut.is_closed() && !self.visit.is_known()
    }
}

/// Where one comes from: an address, and the networks around it in IPv6.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct At {
    /// The address, or the network of one subscriber.
    pub(super) place: IpAddr,
    /// The address, or the network of one site.
    pub(super) site: IpAddr,
}

impl At {
    /// Of this address.
    pub(super) fn of(from: IpAddr) -> Self {
        Self {
            place: network(from, PLACE_BITS),
            site: network(from, SITE_BITS),
        }
    }
}

/// One who was taken in on probation.
#[derive(Debug)]
pub(super) struct Newcomer {
    /// What it may still do.
    pub(super) probation: Probation,
    /// Where it comes from.
    pub(super) at: At,
    /// Whether a device called from there lately.
    pub(super) device: bool,
}

impl Strangers {
    /// Nobody yet, before this door; each may stay so long.
    pub(super) fn new(doorway: Doorway, time_max: Duration) -> Self {
        Self {
            held: Vec::new(),
            crowd: Crowd::default(),
            device_places: DevicePlaces::default(),
            doorway,
            time_max,
        }
    }

    /// Takes a newcomer in on probation, where there is room or somebody can be sent away for it.
    pub(super) fn admit(&mut self, visit: &Visit, now: Instant) -> Option<Newcomer> {
        self.forget_known();
        let at = At::of(visit.from());
        let (in_site, in_place) = self.crowd.around(at);
        let device = self.device_places.has(at.place);
        if in_place >= STRANGERS_PER_PLACE_MAX {
            self.send_away(|held| held.at.place == at.place, at, false, now)?;
        } else if in_site >= STRANGERS_PER_SITE_MAX {
            self.send_away(|held| held.at.site == at.site, at, device, now)?;
        } else if self.held.len() >= self.doorway.strangers_max() {
            self.send_away(|_| true, at, device, now)?;
        }
        self.crowd.add(at);
        let (shut, over) = oneshot::channel();
        self.held.push(Held {
            visit: visit.clone(),
            at,
            since: now,
            shut,
        });
        let probation = Probation {
            over,
            patience: Box::pin(tokio::time::sleep(self.time_max)),
            bytes_left: STRANGER_BYTES_MAX,
        };
        Some(Newcomer {
            probation,
            at,
            device,
        })
    }

    /// Lets go of those who have gone or are strangers no more, and remembers where devices call from.
    fn forget_known(&mut self) {
        let most = self.doorway.device_places_max();
        for held in self.held.iter().filter(|held| held.visit.is_known()) {
            self.device_places.add(held.at.place, most);
        }
        for gone in self.held.extract_if(.., |held| !held.counts()) {
            self.crowd.take(gone.at);
        }
    }

    /// Sends the oldest of the most crowded place among some away for a newcomer; nobody where that
    /// would be no fairer and the oldest has only just come: sealing a connection costs more than
    /// closing one. A newcomer from where a `device` called lately takes the place of one who is not,
    /// all the same.
    fn send_away(
        &mut self,
        among: impl Fn(&Held) -> bool,
        new: At,
        device: bool,
        now: Instant,
    ) -> Option<()> {
        // Of equals the last is taken, which is the oldest this way round.
        let candidates = self.held.iter().enumerate().rev();
        let candidates = candidates
            .filter(|(_, held)| among(held) && !(device && self.device_places.has(held.at.place)));
        let (index, held) = candidates.max_by_key(|(_, held)| self.crowd.around(held.at))?;
        let fairer = self.is_fairer(new, held.at);
        let spared = now.saturating_duration_since(held.since) < STRANGER_SPARED_FOR;
        if !fairer && spared && !device {
            return None;
        }
        let sent = self.held.remove(index);
        self.crowd.take(sent.at);
        // Whoever has gone in the meantime does not hear it.
        let _ = sent.shut.send(());
        Some(())
    }

    /// Whether one less here and one more there spreads places more evenly.
    fn is_fairer(&self, there: At, here: At) -> bool {
        let (in_site, in_place) = self.crowd.around(there);
        let (out_of_site, out_of_place) = self.crowd.around(here);
        if there.site == here.site {
            in_place + 1 < out_of_place
        } else {
            in_site + 1 < out_of_site
        }
    }
}

/// What a connection may still do before a good token comes on it.
#[derive(Debug)]
pub(super) struct Probation {
    over: oneshot::Receiver<()>,
    patience: Pin<Box<Sleep>>,
    bytes_left: usize,
}

impl Probation {
    /// Whether it goes on; wakes whoever asks when it is over.
    ///
    /// # Errors
    /// Once its place is needed, its time is up or it has said too much.
    pub(super) fn check(&mut self, context: &mut Context<'_>) -> io::Result<()> {
        if Pin::new(&mut self.over).poll(context).is_ready() {
            return Err(io::Error::other("its place was needed by another"));
        }
        if self.patience.as_mut().poll(context).is_ready() {
            return Err(io::ErrorKind::TimedOut.into());
        }
        if self.bytes_left == 0 {
            return Err(io::Error::other("it said too much without a token"));
        }
        Ok(())
    }

    /// Waits until it is over.
    pub(super) async fn over(&mut self) {
        poll_fn(|context| match self.check(context) {
            Ok(()) => Poll::Pending,
            Err(_) => Poll::Ready(()),
        })
        .await;
    }

    /// Counts bytes that came.
    pub(super) const fn count(&mut self, bytes: usize) {
        self.bytes_left = self.bytes_left.saturating_sub(bytes);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limits::{CONNECTIONS_MAX, DEVICE_PLACES_MAX, STRANGERS_MAX};

    /// Long enough that nobody's time is up here.
    const LONG: Duration = Duration::from_secs(3_600);

    /// Strangers and those who were taken in, with where they came from.
    struct Hall {
        strangers: Strangers,
        taken: Vec<(IpAddr, Probation)>,
        now: Instant,
    }

    impl Hall {
        fn new() -> Self {
            Self {
                strangers: Strangers::new(Doorway::for_connections(CONNECTIONS_MAX), LONG),
                taken: Vec::new(),
                now: Instant::now(),
            }
        }

        /// One comes; whether it is taken in.
        fn comes(&mut self, from: &str) -> bool {
            let from = from.parse().unwrap();
            let newcomer = self.strangers.admit(&Visit::new(from), self.now);
            let taken = newcomer.is_some();
            self.taken
                .extend(newcomer.map(|newcomer| (from, newcomer.probation)));
            taken
        }

        /// Those who have not been sent away, in a network of IPv6 or at an address.
        fn left(&mut self, network: &str) -> usize {
            let there = |from: &IpAddr| from.to_string().starts_with(network);
            let mut left = 0;
            for (_, probation) in self.taken.iter_mut().filter(|(from, _)| there(from)) {
                left += usize::from(
                    probation
                        .over
                        .try_recv()
                        .is_err_and(|error| error == oneshot::error::TryRecvError::Empty),
                );
            }
            left
        }
    }

    #[tokio::test]
    async fn an_address_has_its_share_and_its_oldest_goes_for_its_newest() {
        let mut hall = Hall::new();
        for _ in 0..STRANGERS_PER_PLACE_MAX {
            assert!(hall.comes("192.0.2.7"));
        }
        assert!(!hall.comes("192.0.2.7"), "nobody is sent away so soon");
        assert!(hall.comes("192.0.2.8"));
        hall.now += STRANGER_SPARED_FOR;
        assert!(hall.comes("192.0.2.7"));
        assert_eq!(hall.left("192.0.2.7"), STRANGERS_PER_PLACE_MAX);
        assert!(
            hall.taken[0].1.over.try_recv().is_err(),
            "the first heard it"
        );
    }

    /// Source: RFC 6177, section 2: a subscriber has a network of 64 bits, a site one of 48.
    #[tokio::test]
    async fn a_site_of_ipv6_has_its_share_whatever_its_networks() {
        let mut hall = Hall::new();
        for number in 0..STRANGERS_PER_SITE_MAX {
            assert!(hall.comes(&format!("2001:db8:1:{number:x}::1")));
        }
        assert!(!hall.comes("2001:db8:1:ffff::1"));
        assert!(hall.comes("2001:db8:2::1"));
        assert_eq!(hall.left("2001:db8:1:"), STRANGERS_PER_SITE_MAX);
    }

    #[tokio::test]
    async fn whoever_comes_from_where_there_are_few_always_gets_in() {
        let mut hall = Hall::new();
        assert!(hall.comes("203.0.113.1"), "the oldest of all, and alone");
        let mut number = 0;
        while hall.strangers.held.len() < STRANGERS_MAX {
            let address = number % (STRANGERS_MAX / 2);
            assert!(hall.comes(&format!("198.51.100.{address}")));
            number += 1;
        }
        for quiet in 1..=9 {
            assert!(hall.comes(&format!("192.0.2.{quiet}")));
        }
        assert_eq!(hall.left("192.0.2."), 9);
        assert_eq!(hall.left("203.0.113."), 1, "those who are many went");
        assert_eq!(hall.strangers.held.len(), STRANGERS_MAX);
        assert!(!hall.comes("198.51.100.40"), "no fairer than it was");
    }

    /// However many addresses they come from, they do not shut out the shop's own.
    #[tokio::test]
    async fn from_where_a_device_called_lately_one_always_gets_in() {
        let mut hall = Hall::new();
        let device = Visit::new("192.0.2.7".parse().unwrap());
        let newcomer = hall.strangers.admit(&device, hall.now).unwrap();
        assert!(!newcomer.device, "none has called yet");
        device.make_known();
        drop(newcomer);
        for number in 0..STRANGERS_MAX {
            assert!(hall.comes(&format!("198.51.100.{number}")));
        }
        assert!(!hall.comes("192.0.2.8"), "nobody is sent away so soon");
        for _ in 1..STRANGERS_PER_PLACE_MAX {
            assert!(hall.comes("192.0.2.7"));
        }
        let again = Visit::new("192.0.2.7".parse().unwrap());
        let newcomer = hall.strangers.admit(&again, hall.now).unwrap();
        assert!(newcomer.device);
        hall.taken.push((again.from(), newcomer.probation));
        assert!(!hall.comes("192.0.2.7"), "it has its share as well");
        assert_eq!(hall.left("192.0.2.7"), STRANGERS_PER_PLACE_MAX);
    }

    #[test]
    fn so_many_places_of_devices_are_remembered_the_last_ones() {
        let mut places = DevicePlaces::default();
        let place = |number: u32| IpAddr::from(number.to_be_bytes());
        let most = u32::try_from(DEVICE_PLACES_MAX).unwrap();
        for number in 0..most {
            places.add(place(number), DEVICE_PLACES_MAX);
        }
        // The first has called again meanwhile, so that the second is the oldest.
        places.add(place(0), DEVICE_PLACES_MAX);
        places.add(place(most), DEVICE_PLACES_MAX);
        assert!(places.has(place(0)) && places.has(place(most)));
        assert!(!places.has(place(1)));
        assert_eq!(places.order.len(), DEVICE_PLACES_MAX);
        assert_eq!(places.known.len(), DEVICE_PLACES_MAX);
    }

    #[tokio::test]
    async fn whoever_has_gone_or_shown_a_token_takes_no_place() {
        let mut hall = Hall::new();
        for _ in 0..STRANGERS_PER_PLACE_MAX - 1 {
            assert!(hall.comes("192.0.2.7"));
        }
        let device = Visit::new("192.0.2.7".parse().unwrap());
        let _newcomer = hall.strangers.admit(&device, hall.now).unwrap();
        assert!(!hall.comes("192.0.2.7"));
        device.make_known();
        assert!(hall.comes("192.0.2.7"));
        assert!(!hall.comes("192.0.2.7"));
        hall.taken.truncate(1);
        assert!(hall.comes("192.0.2.7"));
    }
}
