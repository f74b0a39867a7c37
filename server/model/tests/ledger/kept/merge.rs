//! Goal: whatever two devices keep and in whatever order it arrives, what is left of a sundry, a bottle
//! or a bundle is what there was, less every use, and more or less by every correction; of a bundle each
//! wash makes clean what its van saw soiled.
//!
//! Method: each van makes up uses, counts and washes against its own copy; their outboxes are merged at
//! random, each in its own order. A use takes, a count adds the difference from what was seen, and a
//! wash moves what was seen soiled, so that the result must not depend on the merge, even where together
//! they use more than there is or wash the same towels.
//!
//! Source: M. Shapiro, N. Preguiça, C. Baquero, M. Zawirski, *Conflict-free Replicated Data Types*,
//! SSS 2011, counters: increments and decrements commute. From memory.

use fettlebook_model::command::{Counted, LiquidAmount, Said};
use fettlebook_model::kept::SeenLevel;
use fettlebook_model::make::Figures;
use fettlebook_model::{Command, Moment, Seq};
use fettlebook_quantity::Volume;
use jiff::SignedDuration;
use proptest::collection::vec;
use proptest::prelude::{Just, Strategy, any, prop_assert, prop_assert_eq, prop_oneof, proptest};

use super::{kept, loose, use_sundry, with_level};
use crate::shop::{Shop, at, tag};

/// So many that two vans together can use more than there are.
const START: i64 = 20;

/// Towels of the bundle that are soiled before either van drives off.
const START_SOILED: i64 = 4;

/// What the vans use and count.
#[derive(Debug, Clone, Copy)]
enum Thing {
    Sundry,
    Bottle,
    Bundle,
}

impl Thing {
    const fn tag(self) -> &'static str {
        match self {
            Self::Sundry => "S-01",
            Self::Bottle => "B-01",
            Self::Bundle => "T-01",
        }
    }

    fn use_up(self, shop: &mut Shop, said: Said, quantity: i64) {
        let tag = tag(self.tag());
        match self {
            Self::Sundry => {
                use_sundry(shop, said, self.tag(), quantity);
            }
            Self::Bottle => {
                let amount = LiquidAmount::Volume(Volume::from_ul(quantity));
                loose(shop, said, |loose| loose.bottles = vec![(tag, amount)]);
            }
            Self::Bundle => {
                loose(shop, said, |loose| loose.bundles = vec![(tag, quantity)]);
            }
        }
    }

    /// The count of so many left, of a bundle of so many clean and so many soiled.
    fn counted(self, left: i64, soiled: i64) -> Counted {
        match self {
            Self::Sundry | Self::Bottle => Counted {
                quantity: Some(left),
                ..Counted::default()
            },
            Self::Bundle => Counted {
                quantity: None,
                clean_count: Some(left),
                soiled_count: Some(soiled),
            },
        }
    }

    /// What is left, below nothing where more was used, and of a bundle what is soiled. What dries is clean.
    fn left(self, shop: &Shop) -> (i64, i64) {
        let piece = shop.piece(self.tag());
        match self {
            Self::Sundry => (piece.sundry_left().unwrap(), 0),
            Self::Bottle => (shop.left_ul(self.tag()), 0),
            Self::Bundle => {
                let bundle = piece.bundle().unwrap();
                let clean = bundle.clean_count + bundle.drying_count;
                (clean, bundle.soiled_count)
            }
        }
    }
}

#[derive(Debug, Clone, Copy)]
enum Act {
    Use(i64),
    /// Found so many more than its copy says.
    Count(i64),
    /// Washed what is soiled, where it can be.
    Wash,
}

/// What a van does, each so many minutes after the one before.
fn acts() -> impl Strategy<Value = Vec<(Act, i64)>> {
    let act = prop_oneof![
        (1_i64..13).prop_map(Act::Use),
        (-12_i64..13).prop_map(Act::Count),
        Just(Act::Wash)
    ];
    vec((act, 1_i64..120), 0..9)
}

fn things() -> impl Strategy<Value = Thing> {
    prop_oneof![
        Just(Thing::Sundry),
        Just(Thing::Bottle),
        Just(Thing::Bundle)
    ]
}

/// A van without signal: its name, what it has still to send, and its own copy.
struct Van<'a> {
    name: &'static str,
    thing: Thing,
    waiting: &'a [(Act, i64)],
    level: i64,
    soiled: i64,
    /// How many of its level dry, and until when.
    drying: (i64, Moment),
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
        let drying = if self.time < self.drying.1 {
            self.drying.0
        } else {
            0
        };
        match possible(act, self.level) {
            Act::Use(quantity) => {
                self.thing.use_up(shop, said, quantity);
                self.level -= quantity;
                self.soiled += quantity;
            }
            Act::Wash if !matches!(self.thing, Thing::Bundle) => {}
            Act::Wash => {
                let level = self.seen(drying);
                shop.say(Command::Wash {
                    said: with_level(said, level),
                    tags: vec![tag(self.thing.tag())],
                    inspections: Vec::new(),
                });
                let dry_at = self.time + SignedDuration::from_secs(dry_time_s(shop));
                self.drying = (drying + self.soiled, dry_at);
                self.level += self.soiled;
                self.soiled = 0;
            }
            Act::Count(more) => {
                let level = self.seen(drying);
                let found = self.level + more;
                shop.say(Command::Count {
                    said: with_level(said, level),
                    tag: tag(self.thing.tag()),
                    count: self.thing.counted(found, self.soiled),
                });
                self.level = found;
                // What dried was counted among the clean.
                self.drying.0 = 0;
            }
        }
        true
    }

    /// What its copy says, with so many drying.
    fn seen(&self, drying: i64) -> SeenLevel {
        let seen = self.thing.counted(self.level - drying, self.soiled);
        SeenLevel {
            tag: tag(self.thing.tag()),
            quantity: seen.quantity,
            clean_count: seen.clean_count,
            soiled_count: seen.soiled_count,
            drying_count: seen.clean_count.map(|_| drying),
        }
    }
}

/// How long the bundle dries after a wash.
fn dry_time_s(shop: &Shop) -> i64 {
    let make = shop.book.make(&shop.piece("T-01").make).unwrap();
    match &make.figures {
        Figures::Towel(towel) => towel.dry_time_s.unwrap().s(),
        other => panic!("{other:?}"),
    }
}

/// An act as a van can do it that has so many: it uses and loses no more than it sees, and finds no
/// more than there were.
fn possible(act: Act, level: i64) -> Act {
    match act {
        Act::Use(quantity) => Act::Use(quantity.min(level)),
        Act::Count(more) => Act::Count(more.clamp(-level, START - level)),
        Act::Wash => Act::Wash,
    }
}

fn merged(thing: Thing, one: &[(Act, i64)], other: &[(Act, i64)], order: &[bool]) -> Shop {
    let mut shop = Shop::stocked();
    shop.say(Command::Count {
        said: Said::default(),
        tag: tag(thing.tag()),
        count: thing.counted(START, START_SOILED),
    });
    shop.go_to("2026-03-07 08:00");
    let seen = shop.book.head();
    let [mut a, mut b] = [("van-a", one), ("van-b", other)].map(|(name, waiting)| Van {
        name,
        thing,
        waiting,
        level: START,
        soiled: START_SOILED,
        drying: (0, Moment::MIN),
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

/// By how much the acts of a van change what is left, and what of a bundle is soiled.
fn sum(thing: Thing, acts: &[(Act, i64)]) -> (i64, i64) {
    let (mut level, mut soiled) = (START, START_SOILED);
    for (act, _) in acts {
        match possible(*act, level) {
            Act::Use(quantity) => {
                level -= quantity;
                soiled += quantity;
            }
            Act::Count(more) => level += more,
            Act::Wash if matches!(thing, Thing::Bundle) => {
                level += soiled;
                soiled = 0;
            }
            Act::Wash => {}
        }
    }
    (level - START, soiled - START_SOILED)
}

proptest! {
    #[test]
    fn uses_differences_and_washes_commute(
        thing in things(), one in acts(), other in acts(), order in vec(any::<bool>(), 20),
    ) {
        let shop = merged(thing, &one, &other, &order);
        let ((more, soiled), (more_too, soiled_too)) = (sum(thing, &one), sum(thing, &other));
        let soiled = if matches!(thing, Thing::Bundle) { START_SOILED + soiled + soiled_too } else { 0 };
        prop_assert_eq!(thing.left(&shop), (START + more + more_too, soiled));
        // Nobody but a van that met nobody may take a level for counted; what dries and is used all the same
        // is asked to be counted.
        let both = !one.is_empty() && !other.is_empty();
        let has = |what: fn(&Act) -> bool| one.iter().chain(&other).any(|(act, _)| what(act));
        let counted = has(|act| matches!(act, Act::Count(_))) && !has(|act| matches!(act, Act::Wash));
        prop_assert!(both || !counted || !shop.piece(thing.tag()).needs_count);
    }
}
