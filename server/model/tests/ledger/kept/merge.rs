//! Goal: whatever two devices keep and in whatever order it arrives, what is left of a sundry is what
//! there was, less every use, and more or less by every correction.
//!
//! Method: each van makes up uses and counts against its own copy; their outboxes are merged at
//! random, each in its own order. A use takes, and a count adds the difference from what was seen, so
//! that the result must not depend on the merge.
//!
//! Source: M. Shapiro, N. Preguiça, C. Baquero, M. Zawirski, *Conflict-free Replicated Data Types*,
//! SSS 2011, counters: increments and decrements commute. From memory.

use fettlebook_model::{Moment, Seq};
use jiff::SignedDuration;
use proptest::collection::vec;
use proptest::prelude::{Strategy, any, prop_assert, prop_assert_eq, prop_oneof, proptest};

use super::{count, kept, kept_with, left, use_sundry};
use crate::shop::{Shop, at};

/// So many that no act makes them fewer than nothing.
const START: i64 = 1_000;

#[derive(Debug, Clone, Copy)]
enum Act {
    Use(i64),
    /// Found so many more than its copy says.
    Count(i64),
}

/// What a van does, each so many minutes after the one before.
fn acts() -> impl Strategy<Value = Vec<(Act, i64)>> {
    let act = prop_oneof![
        (1_i64..10).prop_map(Act::Use),
        (-9_i64..10).prop_map(Act::Count)
    ];
    vec((act, 1_i64..120), 0..9)
}

/// A van without signal: its name, what it has still to send, and its own copy.
struct Van<'a> {
    name: &'static str,
    waiting: &'a [(Act, i64)],
    level: i64,
    time: Moment,
}

impl Van<'_> {
    /// Sends its next deed; says whether it had one.
    fn send(&mut self, shop: &mut Shop, seen: Seq) -> bool {
        let Some((&(act, wait_min), rest)) = self.waiting.split_first() else {
            return false;
        };
        self.waiting = rest;
        self.time += SignedDuration::from_mins(wait_min);
        let said = kept(self.name, seen, self.time);
        match act {
            Act::Use(quantity) => {
                use_sundry(shop, said, "S-01", quantity);
                self.level -= quantity;
            }
            Act::Count(more) => {
                let found = self.level + more;
                shop.say(count(kept_with(said, "S-01", self.level), "S-01", found));
                self.level = found;
            }
        }
        true
    }
}

fn merged(one: &[(Act, i64)], other: &[(Act, i64)], order: &[bool]) -> Shop {
    let mut shop = Shop::stocked();
    shop.count("S-01", START);
    shop.go_to("2026-03-07 08:00");
    let seen = shop.book.head();
    let [mut a, mut b] = [("van-a", one), ("van-b", other)].map(|(name, waiting)| Van {
        name,
        waiting,
        level: START,
        time: at("2026-03-05 08:00"),
    });
    for is_a in order {
        let (first, second) = if *is_a {
            (&mut a, &mut b)
        } else {
            (&mut b, &mut a)
        };
        let _ = first.send(&mut shop, seen) || second.send(&mut shop, seen);
    }
    while a.send(&mut shop, seen) || b.send(&mut shop, seen) {}
    shop
}

/// What the acts add up to.
fn sum(acts: &[(Act, i64)]) -> i64 {
    acts.iter()
        .map(|(act, _)| match act {
            Act::Use(quantity) => -quantity,
            Act::Count(more) => *more,
        })
        .sum()
}

proptest! {
    #[test]
    fn uses_and_differences_commute(
        one in acts(), other in acts(), order in vec(any::<bool>(), 20),
    ) {
        let shop = merged(&one, &other, &order);
        prop_assert_eq!(left(&shop, "S-01"), START + sum(&one) + sum(&other));
        // Nobody but a van that met nobody may take a level for counted.
        let both = !one.is_empty() && !other.is_empty();
        let counts = |acts: &[(Act, i64)]| acts.iter().any(|(act, _)| matches!(act, Act::Count(_)));
        let uses_only = !counts(&one) && !counts(&other);
        prop_assert!(both || uses_only || !shop.piece("S-01").needs_count);
    }
}
