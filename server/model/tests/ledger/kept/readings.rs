//! The law of readings: whatever devices do, in whatever order it is told and whatever is taken back, what
//! is left of a piece is its newest reading by when it was done, and what was done to it after that.
//!
//! Method: random histories of a bench, which sends at once, and two vans, which keep; each device tells its
//! own in order, their deeds are merged at random, and some are reversed on the way. The level is held
//! against one that is worked out here, from a sorted list, with nothing of the model's.
//!
//! Source: the rule by which a shelf is counted: a count replaces the figure in the books (common practice,
//! no source); that readings by time and uses commute: M. Shapiro, N. Preguiça, C. Baquero, M. Zawirski,
//! *Conflict-free Replicated Data Types*, SSS 2011, last-writer-wins registers and counters. From memory.

use std::sync::OnceLock;

use fettlebook_model::command::{Counted, LiquidAmount, Said, Weighing};
use fettlebook_model::kept::{Kept, KeptMark};
use fettlebook_model::make::Figures;
use fettlebook_model::sums::Sums;
use fettlebook_model::{Command, Moment, Seq};
use fettlebook_quantity::{Mass, Volume};
use jiff::SignedDuration;
use proptest::collection::vec;
use proptest::prelude::{
    Just, ProptestConfig, Strategy, any, prop_assert_eq, prop_oneof, proptest,
};

use super::loose;
use crate::shop::{Shop, at, restored, tag};

/// The bottle from which the other is filled.
const SOURCE: &str = "B-03";
const DEVICES: [&str; 3] = ["bench", "van-a", "van-b"];

/// What is used and read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
}

/// What is done to it, with figures of its own sort.
#[derive(Debug, Clone, Copy)]
enum Act {
    Use(i64),
    /// So many found; of a bundle so many clean and soiled.
    Read(i64, i64),
    /// A bottle is weighed, g; else read.
    Weigh(i64),
    /// Used and then weighed with the same log.
    UseAndWeigh(i64, i64),
    /// A bundle is washed; else nothing is done.
    Wash,
    /// Some towels of a bundle are binned; else some are used.
    Bin(i64),
    /// A bottle is filled up with so much; else nothing is done.
    Fill(i64),
}

#[derive(Debug, Clone, Copy)]
struct Done {
    device: usize,
    act: Act,
    /// Minutes after what this device did before.
    wait_min: i64,
    /// Reversed after so many further deeds were told.
    taken_back_after: Option<usize>,
}

fn histories() -> impl Strategy<Value = Vec<Done>> {
    let act = prop_oneof![
        4 => (1_i64..30).prop_map(Act::Use),
        3 => (0_i64..60, 0_i64..20).prop_map(|(found, soiled)| Act::Read(found, soiled)),
        2 => (400_i64..1_000).prop_map(Act::Weigh),
        1 => (1_i64..30, 400_i64..1_000).prop_map(|(used, gross)| Act::UseAndWeigh(used, gross)),
        2 => Just(Act::Wash),
        1 => (1_i64..5).prop_map(Act::Bin),
        1 => (1_i64..30).prop_map(Act::Fill),
    ];
    let taken_back = prop_oneof![4 => Just(None), 1 => (0_usize..6).prop_map(Some)];
    let done = (0_usize..3, act, 0_i64..40, taken_back).prop_map(
        |(device, act, wait_min, taken_back_after)| Done {
            device,
            act,
            wait_min,
            taken_back_after,
        },
    );
    vec(done, 1..24)
}

/// A deed of a device with its place in the order of time.
#[derive(Debug, Clone, Copy)]
struct Deed {
    done: Done,
    at: Moment,
    number: i64,
}

/// What each device did, in its own order.
fn by_device(history: &[Done]) -> [Vec<Deed>; 3] {
    let mut all = [const { Vec::new() }; 3];
    let mut times = [at("2026-03-05 08:00"); 3];
    for done in history {
        let (own, time) = (&mut all[done.device], &mut times[done.device]);
        *time += SignedDuration::from_mins(done.wait_min);
        let number = i64::try_from(own.len()).unwrap() + 1;
        own.push(Deed {
            done: *done,
            at: *time,
            number,
        });
    }
    all
}

fn stocked() -> Shop {
    static STOCKED: OnceLock<Shop> = OnceLock::new();
    let made = || {
        let mut shop = Shop::stocked();
        shop.receive("coarse-compound-1l", 1);
        shop.go_to("2026-03-07 08:00");
        shop
    };
    STOCKED.get_or_init(made).clone()
}

/// Says a deed; gives its entry.
fn tell(shop: &mut Shop, thing: Thing, deed: Deed, seen: Seq) -> Option<Seq> {
    let mark = KeptMark {
        number: deed.number,
        seen,
        kept_at: deed.at,
    };
    let kept = (deed.done.device > 0).then(|| Kept {
        mark,
        by: DEVICES[deed.done.device].to_owned(),
        tag_letter: None,
    });
    let said = Said {
        done_at: Some(deed.at),
        note: String::new(),
        kept,
    };
    let tag = tag(thing.tag());
    let read = |found: i64, soiled: i64| Counted {
        quantity: (thing != Thing::Bundle).then_some(found),
        clean_count: (thing == Thing::Bundle).then_some(found),
        soiled_count: (thing == Thing::Bundle).then_some(soiled),
    };
    let weighing = |gross: i64| Weighing {
        tag,
        gross_mg: Mass::from_mg(gross * 1_000),
    };
    let entry = match simplified(thing, deed.done)? {
        Act::Read(found, soiled) => shop.say(Command::Count {
            said,
            tag,
            count: read(found, soiled),
        }),
        Act::Weigh(gross) => shop.say(Command::Weigh {
            said,
            weighings: vec![weighing(gross)],
        }),
        Act::Wash => shop.say(Command::Wash {
            said,
            tags: vec![tag],
            inspections: Vec::new(),
        }),
        Act::Bin(count) => shop.say(Command::Bin {
            said,
            tags: vec![tag],
            reason: "torn".parse().unwrap(),
            count: Some(count),
        }),
        Act::Fill(filled) => shop.say(Command::Fill {
            said,
            bottle: tag,
            from: crate::shop::tag(SOURCE),
            volume_ul: Some(Volume::from_ul(filled)),
        }),
        Act::Use(used) | Act::UseAndWeigh(used, _) => loose(shop, said, |loose| match thing {
            Thing::Sundry => loose.sundries = vec![(tag, used)],
            Thing::Bundle => loose.bundles = vec![(tag, used)],
            Thing::Bottle => {
                let amount = LiquidAmount::Volume(Volume::from_ul(used));
                loose.bottles = vec![(tag, amount)];
                if let Act::UseAndWeigh(_, gross) = deed.done.act {
                    loose.weighings = vec![weighing(gross)];
                }
            }
        }),
    };
    Some(entry.seq)
}

/// An act as it can be done to this thing. Whoever sends at once and bins the last towels bins the bundle with
/// them, which is no matter of levels.
const fn simplified(thing: Thing, done: Done) -> Option<Act> {
    match (thing, done.act) {
        (Thing::Bottle | Thing::Sundry, Act::Bin(count)) => Some(Act::Use(count)),
        (Thing::Bundle, Act::Bin(count)) if done.device == 0 => Some(Act::Use(count)),
        (Thing::Sundry | Thing::Bundle, Act::Weigh(gross)) => Some(Act::Read(gross / 20, 3)),
        (Thing::Sundry | Thing::Bundle, Act::UseAndWeigh(used, _)) => Some(Act::Use(used)),
        (Thing::Sundry | Thing::Bottle, Act::Wash)
        | (Thing::Sundry | Thing::Bundle, Act::Fill(_)) => None,
        (_, act) => Some(act),
    }
}

/// Tells what the devices did, merged as `order` says, and takes back what is to be; gives the shop and the
/// entry of each deed by device and number.
fn told(thing: Thing, history: &[Done], order: &[usize]) -> Shop {
    let mut shop = stocked();
    let seen = shop.book.head();
    let mut waiting = by_device(history).map(Vec::into_iter);
    let mut to_reverse: Vec<(usize, Seq)> = Vec::new();
    let mut turns = order.iter().cycle();
    let mut told_count = 0;
    loop {
        let first = turns.next().copied().unwrap_or(0);
        let next = (0..3).find_map(|more| waiting[(first + more) % 3].next());
        let is_over = next.is_none();
        if let Some(deed) = next {
            told_count += 1;
            let seq = tell(&mut shop, thing, deed, seen);
            if let (Some(seq), Some(after)) = (seq, deed.done.taken_back_after) {
                to_reverse.push((told_count + after, seq));
            }
        }
        let due = |(when, _): &(usize, Seq)| is_over || *when <= told_count;
        let now: Vec<Seq> = to_reverse
            .iter()
            .filter(|one| due(one))
            .map(|one| one.1)
            .collect();
        to_reverse.retain(|one| !due(one));
        for seq in now {
            shop.reverse(seq).unwrap();
        }
        if is_over {
            return shop;
        }
    }
}

/// What lies there: what is left, or of a bundle clean with drying, and soiled.
fn lies(thing: Thing, shop: &Shop) -> (i64, i64) {
    let piece = shop.piece(thing.tag());
    match thing {
        Thing::Sundry => (piece.sundry_left().unwrap(), 0),
        Thing::Bottle => (shop.left_ul(thing.tag()), 0),
        Thing::Bundle => {
            let bundle = piece.bundle().unwrap();
            (
                bundle.clean_count + bundle.drying_count,
                bundle.soiled_count,
            )
        }
    }
}

/// The same, worked out from the list of what was done, in the order of time; at one moment the bench goes
/// first, then the vans by name.
fn by_time(thing: Thing, history: &[Done]) -> (i64, i64) {
    let shop = stocked();
    let (mut left, mut soiled) = lies(thing, &shop);
    let (mut drying, mut dry_at) = (0, Moment::MIN);
    let mut all: Vec<Deed> = by_device(history).into_iter().flatten().collect();
    all.retain(|deed| deed.done.taken_back_after.is_none());
    all.sort_by_key(|deed| (deed.at, deed.done.device, deed.number));
    // `left` is without what dries here.
    for deed in all {
        if dry_at <= deed.at {
            left += drying;
            drying = 0;
        }
        let Some(act) = simplified(thing, deed.done) else {
            continue;
        };
        match (thing, act) {
            (Thing::Bundle, Act::Use(used)) => {
                let used = used.min(left);
                (left, soiled) = (left - used, soiled + used);
            }
            (Thing::Bundle, Act::Wash) => {
                (drying, soiled) = (drying + soiled, 0);
                dry_at = deed.at + SignedDuration::from_secs(dry_time_s(&shop));
            }
            (Thing::Bundle, Act::Bin(count)) => {
                let of_soiled = count.min(soiled);
                let of_drying = (count - of_soiled).min(drying);
                let of_clean = (count - of_soiled - of_drying).min(left);
                (left, soiled, drying) = (left - of_clean, soiled - of_soiled, drying - of_drying);
            }
            (Thing::Bundle, Act::Read(found, counted)) => {
                (left, soiled, drying) = (found, counted, 0);
            }
            (_, Act::Fill(filled)) => left += filled,
            (_, Act::Use(used)) => left -= used,
            (_, Act::Read(found, _)) => left = found,
            (_, Act::Weigh(gross) | Act::UseAndWeigh(_, gross)) => left = liquid_ul(&shop, gross),
            (_, act) => panic!("{act:?} of {thing:?}"),
        }
    }
    (left + drying, soiled)
}

/// A compound's density where nobody said it, mg/mL: worked out from mixtures, 0.95–1.25 g/mL.
const COMPOUND_MG_PER_ML: i64 = 1_100;

/// What is left at a weight, g. Source: arithmetic: (gross − tare) / density.
fn liquid_ul(shop: &Shop, gross_g: i64) -> i64 {
    let make = shop.book.make(&shop.piece("B-01").make).unwrap();
    let Figures::Liquid(liquid) = &make.figures else {
        panic!("no liquid")
    };
    let net_mg = gross_g * 1_000 - liquid.tare_mg.unwrap().mg();
    let exact = net_mg * 1_000;
    (2 * exact + COMPOUND_MG_PER_ML).div_euclid(2 * COMPOUND_MG_PER_ML)
}

fn dry_time_s(shop: &Shop) -> i64 {
    let make = shop.book.make(&shop.piece("T-01").make).unwrap();
    match &make.figures {
        Figures::Towel(towel) => towel.dry_time_s.unwrap().s(),
        other => panic!("{other:?}"),
    }
}

/// How many histories: 256, or as many as `FETTLEBOOK_HISTORIES` says.
fn config() -> ProptestConfig {
    let said = std::env::var("FETTLEBOOK_HISTORIES").ok();
    ProptestConfig::with_cases(said.map_or(256, |cases| cases.parse().unwrap()))
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn the_newest_reading_stands_and_what_was_done_after_it_comes_off(
        thing in prop_oneof![Just(Thing::Sundry), Just(Thing::Bottle), Just(Thing::Bundle)],
        history in histories(),
        orders in vec(vec(0_usize..3, 1..24), 2),
        is_restored in any::<bool>(),
    ) {
        let meant = by_time(thing, &history);
        for order in &orders {
            let mut shop = told(thing, &history, order);
            if is_restored {
                shop.book = restored(&shop.book);
            }
            prop_assert_eq!(lies(thing, &shop), meant, "{:?}", order);
            let mut sums = Sums::default();
            shop.entries.iter().for_each(|entry| sums.take(entry));
            prop_assert_eq!(sums.differences(&shop.book), Vec::<String>::new());
        }
    }
}
