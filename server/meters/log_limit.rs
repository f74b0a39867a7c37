//! Log lines that others can cause: so many a minute are written, the rest are counted and told in one
//! line.
//!
//! Whoever is refused must not fill a disk by asking again and again. Who was refused first, and how
//! often it went on, stays in the log.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

use crate::limits::{
    REFUSALS_TOLD_MAX, REFUSALS_TOLD_PER_ADDRESS_MAX, REFUSALS_WINDOW, REFUSING_ADDRESSES_MAX,
};

/// What was told lately. Clones share it.
#[derive(Debug, Clone, Default)]
pub struct LogLimit(Arc<Mutex<Lately>>);

/// One window of time.
#[derive(Debug, Default)]
struct Lately {
    began: Option<Instant>,
    told: u32,
    held_back: u64,
    by_address: HashMap<IpAddr, Count>,
}

/// What came of one address.
#[derive(Debug, Default, Clone, Copy)]
struct Count {
    told: u32,
    held_back: u64,
}

/// What was not told one by one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Rest {
    count: u64,
    addresses: usize,
    most_from: Option<IpAddr>,
}

impl LogLimit {
    /// Whether a line about somebody at an address is written now.
    pub fn tells(&self, from: IpAddr) -> bool {
        let (rest, tells) = {
            let mut lately = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            let now = Instant::now();
            (lately.turn(now), lately.tells(from, now))
        };
        tell(rest);
        tells
    }

    /// Tells what was held back in a window that is over.
    pub fn tell_rest(&self) {
        let rest = {
            let mut lately = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            lately.turn(Instant::now())
        };
        tell(rest);
    }
}

fn tell(rest: Option<Rest>) {
    let Some(rest) = rest else { return };
    let (count, addresses) = (rest.count, rest.addresses);
    let most_from = rest.most_from.map(tracing::field::display);
    tracing::warn!(
        count,
        addresses,
        most_from,
        "more was refused than is told one by one"
    );
}

impl Lately {
    /// Ends a window that is over; what was held back in it, if anything was.
    fn turn(&mut self, now: Instant) -> Option<Rest> {
        let began = self.began?;
        if now.saturating_duration_since(began) < REFUSALS_WINDOW {
            return None;
        }
        let over = std::mem::take(self);
        let most = over
            .by_address
            .iter()
            .max_by_key(|(_, count)| count.held_back);
        let rest = Rest {
            count: over.held_back,
            addresses: over.by_address.len(),
            most_from: most.map(|(address, _)| *address),
        };
        (rest.count > 0).then_some(rest)
    }

    fn tells(&mut self, from: IpAddr, now: Instant) -> bool {
        self.began.get_or_insert(now);
        let room = self.by_address.len() < REFUSING_ADDRESSES_MAX;
        let count = match self.by_address.get_mut(&from) {
            Some(count) => Some(count),
            None if room => Some(self.by_address.entry(from).or_default()),
            None => None,
        };
        let tells = self.told < REFUSALS_TOLD_MAX
            && count
                .as_ref()
                .is_some_and(|count| count.told < REFUSALS_TOLD_PER_ADDRESS_MAX);
        if tells {
            self.told += 1;
        } else {
            self.held_back += 1;
        }
        if let Some(count) = count {
            count.told += u32::from(tells);
            count.held_back += u64::from(!tells);
        }
        tells
    }
}

#[cfg(test)]
mod tests {
    use std::net::Ipv4Addr;

    use super::*;

    fn address(number: u32) -> IpAddr {
        Ipv4Addr::from_bits(0xC000_0200 + number).into()
    }

    #[test]
    fn one_address_is_told_of_so_often_a_minute_and_the_rest_in_one_line() {
        let (mut lately, begun) = (Lately::default(), Instant::now());
        let told = (0..20_000)
            .filter(|_| lately.tells(address(7), begun))
            .count();
        assert_eq!(u32::try_from(told).unwrap(), REFUSALS_TOLD_PER_ADDRESS_MAX);
        assert!(lately.tells(address(8), begun), "another is told of");
        assert_eq!(lately.turn(begun), None);
        let rest = Rest {
            count: 20_000 - u64::from(REFUSALS_TOLD_PER_ADDRESS_MAX),
            addresses: 2,
            most_from: Some(address(7)),
        };
        let later = begun + REFUSALS_WINDOW;
        assert_eq!(lately.turn(later), Some(rest));
        assert!(lately.tells(address(7), later));
        assert_eq!(lately.turn(later + REFUSALS_WINDOW), None, "all was told");
    }

    #[test]
    fn many_addresses_are_told_of_so_often_in_all_and_so_many_are_remembered() {
        let (mut lately, begun) = (Lately::default(), Instant::now());
        let count = u32::try_from(REFUSING_ADDRESSES_MAX).unwrap() + 99;
        let told = (0..count)
            .filter(|number| lately.tells(address(*number), begun))
            .count();
        assert_eq!(u32::try_from(told).unwrap(), REFUSALS_TOLD_MAX);
        assert_eq!(lately.by_address.len(), REFUSING_ADDRESSES_MAX);
        let rest = lately.turn(begun + REFUSALS_WINDOW).unwrap();
        assert_eq!(rest.count, u64::from(count - REFUSALS_TOLD_MAX));
    }
}
