//! How often wrong tokens and codes came from where.
//!
//! It serves the look at who calls: whoever guesses is soon not looked at any more, for a while. It
//! holds so many places at most, and must never turn away a good token.

use std::collections::HashMap;
use std::net::{IpAddr, Ipv6Addr};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use fettlebook_model::Moment;

use super::AccessError;
use crate::limits::{TRIES_PLACES_MAX, TRIES_WINDOW, WRONG_TRIES_MAX};

/// Wrong tries by place.
#[derive(Debug)]
pub(crate) struct Tries {
    held: Mutex<HashMap<IpAddr, Window>>,
    /// Places whose tries are counted.
    places_max: usize,
}

impl Default for Tries {
    fn default() -> Self {
        Self::of_places(TRIES_PLACES_MAX)
    }
}

/// The wrong tries of one place since a moment.
#[derive(Debug, Clone, Copy)]
struct Window {
    began: Moment,
    count: u32,
}

impl Window {
    /// How long it still lasts; nothing when it is over. A clock that was set back ends it too.
    fn left(self, now: Moment) -> Option<Duration> {
        let gone = Duration::try_from(now.duration_since(self.began)).ok()?;
        TRIES_WINDOW
            .checked_sub(gone)
            .filter(|left| !left.is_zero())
    }
}

impl Tries {
    /// None yet, and never of more places than these.
    pub(super) fn of_places(places_max: usize) -> Self {
        Self {
            held: Mutex::default(),
            places_max,
        }
    }

    /// Whether anything from there is looked at now.
    pub(super) fn look(&self, from: IpAddr, now: Moment) -> Result<(), AccessError> {
        let held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        let window = held.get(&place(from)).copied();
        match window.map(|window| (window.count, window.left(now))) {
            Some((count, Some(wait))) if count >= WRONG_TRIES_MAX => {
                Err(AccessError::TriesUsedUp { wait })
            }
            _ => Ok(()),
        }
    }

    /// Counts a wrong try, unless there were too many already.
    pub(crate) fn wrong(&self, from: IpAddr, now: Moment) -> Result<(), AccessError> {
        self.look(from, now)?;
        let mut held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        let place = place(from);
        if held.len() >= self.places_max && !held.contains_key(&place) {
            make_room(&mut held, self.places_max, now);
        }
        let new = Window {
            began: now,
            count: 0,
        };
        let window = held.entry(place).or_insert(new);
        if window.left(now).is_none() {
            *window = new;
        }
        window.count = window.count.saturating_add(1);
        Ok(())
    }
}

/// Forgets what is over, or else the oldest.
fn make_room(held: &mut HashMap<IpAddr, Window>, places_max: usize, now: Moment) {
    held.retain(|_, window| window.left(now).is_some());
    if held.len() < places_max {
        return;
    }
    let oldest = held.iter().min_by_key(|(_, window)| window.began);
    if let Some(place) = oldest.map(|(place, _)| *place) {
        held.remove(&place);
    }
}

/// What counts as one place: an address, or the network of 64 bits that one subscriber has in IPv6.
pub(super) fn place(from: IpAddr) -> IpAddr {
    network(from, 64)
}

/// An address of IPv4 itself, or the network of so many bits that an address of IPv6 is in.
pub fn network(address: IpAddr, bits: u32) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(address) => {
            let rest = u128::MAX.checked_shr(bits).unwrap_or(0);
            IpAddr::V6(Ipv6Addr::from_bits(address.to_bits() & !rest))
        }
        v4 @ IpAddr::V4(_) => v4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(second: i64) -> Moment {
        Moment::from_second(1_780_000_000 + second).unwrap()
    }

    fn address(text: &str) -> IpAddr {
        text.parse().unwrap()
    }

    #[test]
    fn the_eleventh_wrong_try_in_a_minute_is_not_looked_at() {
        let tries = Tries::default();
        let van = address("192.0.2.7");
        for second in 0..10 {
            assert_eq!(tries.wrong(van, at(second)), Ok(()));
        }
        let wait = Duration::from_secs(48);
        let refused = Err(AccessError::TriesUsedUp { wait });
        assert_eq!(tries.wrong(van, at(12)), refused);
        assert_eq!(tries.look(van, at(12)), refused);
        assert_eq!(tries.look(address("::ffff:192.0.2.7"), at(12)), refused);
        assert_eq!(tries.wrong(address("192.0.2.8"), at(12)), Ok(()));
        assert_eq!(tries.look(van, at(60)), Ok(()));
        assert_eq!(tries.wrong(van, at(60)), Ok(()));
    }

    /// Source: RFC 6177, section 2: a site has a network of 64 bits or shorter.
    #[test]
    fn one_network_of_ipv6_is_one_place() {
        let tries = Tries::default();
        for number in 0..10 {
            let from = address(&format!("2001:db8::{number}"));
            assert_eq!(tries.wrong(from, at(0)), Ok(()));
        }
        assert!(tries.wrong(address("2001:db8::ffff"), at(0)).is_err());
        assert!(tries.wrong(address("2001:db8:0:1::1"), at(0)).is_ok());
    }

    #[test]
    fn a_clock_that_is_set_back_locks_nobody_out() {
        let tries = Tries::default();
        let van = address("192.0.2.7");
        for _ in 0..10 {
            tries.wrong(van, at(0)).unwrap();
        }
        assert_eq!(tries.look(van, at(-3_600)), Ok(()));
    }

    #[test]
    fn so_many_places_are_held_and_no_more() {
        let tries = Tries::default();
        for number in 0..u32::try_from(TRIES_PLACES_MAX).unwrap() + 100 {
            let from = IpAddr::from(number.to_be_bytes());
            tries.wrong(from, at(i64::from(number) / 1_000)).unwrap();
        }
        assert_eq!(tries.held.lock().unwrap().len(), TRIES_PLACES_MAX);
    }
}
