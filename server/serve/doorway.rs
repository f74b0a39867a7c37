//! How wide the door is: how many without a token are taken in at once, and how fast connections are sealed.
//!
//! It grows with the shops behind it, whose devices may all come back at once. What one address may do does not, nor
//! how often wrong codes are looked at: one count is for all shops of a service.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::limits::{
    DEVICE_PLACES_MAX, DEVICE_PLACES_OF_MANY_MAX, DEVICE_SEALS_PER_S_MAX, SHOPS_PER_DOOR,
    STRANGER_SEALS_PER_S_MAX, STRANGERS_MAX, TURNS_REMEMBERED_MAX, WIDER_FOR_DEVICES_MAX,
    WIDER_FOR_STRANGERS_MAX,
};

/// How wide the door of a service is now. Clones are the same.
#[derive(Debug, Clone)]
pub(super) struct Doorway {
    shops: Arc<AtomicUsize>,
    /// Connections that may be open, of which strangers have a quarter at most.
    connections: usize,
}

/// So many in a second, and some of them without a pause where none came for a while.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Rate {
    pub(super) per_s: u32,
    pub(super) at_once: u32,
}

impl Rate {
    /// So many, half of them without a pause.
    const fn of(per_s: u32) -> Self {
        Self {
            per_s,
            at_once: per_s / 2,
        }
    }
}

impl Doorway {
    /// For so many connections, whoever they are of; of one shop until more are told.
    pub(super) fn for_connections(connections: usize) -> Self {
        Self {
            shops: Arc::new(AtomicUsize::new(1)),
            connections,
        }
    }

    /// So many shops are behind it from now on.
    #[cfg(feature = "postgres")]
    pub(super) fn tell_shops(&self, count: usize) {
        self.shops.store(count.max(1), Ordering::Relaxed);
    }

    /// How often as wide it is as for one shop, with a bound.
    fn wider(&self, most: usize) -> usize {
        let shops = self.shops.load(Ordering::Relaxed);
        shops.div_ceil(SHOPS_PER_DOOR).min(most)
    }

    /// Connections open at once on which no good token has come.
    pub(super) fn strangers_max(&self) -> usize {
        let wanted = STRANGERS_MAX * self.wider(WIDER_FOR_DEVICES_MAX);
        wanted.min(self.connections / 4).max(1)
    }

    /// Places that a good token came from lately, which are remembered.
    pub(super) fn device_places_max(&self) -> usize {
        let shops = self.shops.load(Ordering::Relaxed);
        let wanted = shops.saturating_mul(DEVICE_PLACES_MAX);
        wanted.min(DEVICE_PLACES_OF_MANY_MAX)
    }

    /// How fast strangers are sealed.
    pub(super) fn stranger_seals(&self) -> Rate {
        Rate::of(STRANGER_SEALS_PER_S_MAX * narrow(self.wider(WIDER_FOR_STRANGERS_MAX)))
    }

    /// How fast those are sealed who come from where devices called lately.
    pub(super) fn device_seals(&self) -> Rate {
        Rate::of(DEVICE_SEALS_PER_S_MAX * narrow(self.wider(WIDER_FOR_DEVICES_MAX)))
    }

    /// Turns at being sealed that are remembered.
    pub(super) fn turns_remembered_max(&self) -> usize {
        TURNS_REMEMBERED_MAX * self.wider(WIDER_FOR_STRANGERS_MAX)
    }
}

/// A factor that has a small bound.
fn narrow(factor: usize) -> u32 {
    u32::try_from(factor).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limits::CONNECTIONS_MAX;
    #[cfg(feature = "postgres")]
    use crate::limits::{NEWCOMER_PLACES_MAX, NODE_CONNECTIONS_MAX, TRIES_WINDOW};

    #[test]
    fn one_shop_has_the_door_that_it_ever_had() {
        let door = Doorway::for_connections(CONNECTIONS_MAX);
        assert_eq!(door.strangers_max(), STRANGERS_MAX);
        assert_eq!(door.device_places_max(), DEVICE_PLACES_MAX);
        assert_eq!(door.stranger_seals(), Rate::of(STRANGER_SEALS_PER_S_MAX));
        assert_eq!(door.device_seals(), Rate::of(DEVICE_SEALS_PER_S_MAX));
        assert_eq!(door.turns_remembered_max(), TURNS_REMEMBERED_MAX);
    }

    /// A node is started anew, and three devices of each of a thousand shops come back: none is known yet.
    #[cfg(feature = "postgres")]
    #[test]
    fn the_devices_of_a_thousand_shops_are_back_within_a_quarter_of_a_minute() {
        let door = Doorway::for_connections(NODE_CONNECTIONS_MAX);
        door.tell_shops(1_000);
        assert!(door.stranger_seals().per_s * 15 >= 3_000);
        assert!(door.device_places_max() >= 3_000);
        // They wait in the line for their turn, and are no more than their part of the connections.
        assert!(door.strangers_max() * 8 <= NODE_CONNECTIONS_MAX);
        assert_eq!(door.clone().stranger_seals(), door.stranger_seals());
        door.tell_shops(SHOPS_PER_DOOR);
        assert_eq!(door.stranger_seals().per_s, STRANGER_SEALS_PER_S_MAX);
    }

    /// Whoever guesses from one address after the other gets no further than one that comes again: as many are
    /// remembered as can be sealed in the time for which wrong tries are counted.
    #[cfg(feature = "postgres")]
    #[test]
    fn wrong_codes_are_counted_for_every_place_that_can_come_meanwhile() {
        let door = Doorway::for_connections(NODE_CONNECTIONS_MAX);
        door.tell_shops(usize::MAX);
        let in_a_window = u64::from(door.stranger_seals().per_s) * TRIES_WINDOW.as_secs();
        assert!(u64::try_from(NEWCOMER_PLACES_MAX).unwrap() >= in_a_window);
    }

    #[test]
    fn where_few_connections_may_be_open_strangers_have_a_quarter_of_them() {
        let door = Doorway::for_connections(64);
        assert_eq!(door.strangers_max(), 16);
        assert_eq!(Doorway::for_connections(0).strangers_max(), 1);
    }
}
