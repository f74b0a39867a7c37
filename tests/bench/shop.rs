//! A shop of 200 pieces to put a load on, and what is reported in it. All of it invented.
//!
//! It serves every part that gives orders. Making one must stay cheap, since callers share the
//! processors with what is measured.

use std::sync::LazyLock;
use std::time::Instant;

use fettlebook_model::car::CarClass;
use fettlebook_model::command::{Counted, LiquidAmount, LooseLog, PadUse, Said, Weighing};
use fettlebook_model::job::Step;
use fettlebook_model::make::{Figures, Grade, LiquidFigures, Make, PadMaterial};
use fettlebook_model::wear::Press;
use fettlebook_model::{BodyHash, Book, Command, Entry, Moment, Place, Tag, decide};
use fettlebook_quantity::{Mass, Volume};
use fettlebook_server::desk::{Desk, DeskError, Order};
use fettlebook_shed::{
    car, id, job, liquid, loose, make, orbital, pad, plate, receipt, routine, step, tag,
};
use jiff::SignedDuration;
use uuid::Uuid;

/// Pieces of each make.
const PIECE_COUNTS: [(&str, i64); 4] = [
    ("coarse-foam-150", 120),
    ("plate-125-m8", 30),
    ("orbital-150", 30),
    ("coarse-compound", 20),
];

/// Puts the shop into an empty book.
pub(crate) async fn stock(desk: &Desk) -> Result<(), DeskError> {
    let mut requests = Requests::begin();
    for command in set_up() {
        desk.submit(requests.order(command)).await?;
    }
    Ok(())
}

/// So many more pads than [`stock`] has.
pub(crate) fn more_pads(count: i64) -> Command {
    Command::Receive(Box::new(receipt("coarse-foam-150", count)))
}

/// Ids for the requests of one caller, of version 7 and each new. The clock is read and the system
/// asked for chance only once, so that an id costs next to nothing.
pub(crate) struct Requests {
    first_ms: u64,
    begun: Instant,
    state: u64,
}

impl Requests {
    /// A caller's first request is still to come.
    pub(crate) fn begin() -> Self {
        let first = Uuid::now_v7();
        let (second, nanos) = first.get_timestamp().map_or((0, 0), |made| made.to_unix());
        let (_, chance) = first.as_u64_pair();
        Self {
            first_ms: second * 1000 + u64::from(nanos / 1_000_000),
            begun: Instant::now(),
            state: chance,
        }
    }

    /// The next id.
    pub(crate) fn next(&mut self) -> Uuid {
        let since_ms = u64::try_from(self.begun.elapsed().as_millis()).unwrap_or_default();
        let mut chance = [0; 10];
        let mixed = [self.mix(), self.mix()].map(u64::to_le_bytes);
        for (slot, byte) in chance.iter_mut().zip(mixed.as_flattened()) {
            *slot = *byte;
        }
        uuid::Builder::from_unix_timestamp_millis(self.first_ms + since_ms, &chance).into_uuid()
    }

    /// An order with the next id. The id stands in for the hash of the body, whose making is the
    /// edge's work and not the desk's.
    pub(crate) fn order(&mut self, command: Command) -> Order {
        let request = self.next();
        Order {
            request,
            body: BodyHash(request.into_bytes()),
            by: "bench".to_owned(),
            command,
        }
    }

    /// The next of a row of numbers that look like chance.
    ///
    /// Source: SplitMix64, Steele, Lea and Flood 2014, figure 17 with its constants.
    const fn mix(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }
}

/// The commands that set the shop up.
pub(crate) fn set_up() -> impl Iterator<Item = Command> {
    let makes = makes().into_iter().map(|make| Command::CreateMake { make });
    let kit = PIECE_COUNTS
        .iter()
        .map(|(make, piece_count)| Command::Receive(Box::new(receipt(make, *piece_count))));
    makes.chain(kit)
}

/// Sections of one use.
pub(crate) const SECTIONS: i64 = 4;

/// Machine, plate, pad and bottle of a caller's `turn`.
fn pieces(caller: usize, turn: usize) -> [Tag; 4] {
    [("M", 30), ("BP", 30), ("P", 120), ("B", 20)]
        .map(|(letters, count)| tag(letters, (caller + turn * 7) % count + 1))
}

/// The same as a person writes them.
pub(crate) fn tags(caller: usize, turn: usize) -> [String; 4] {
    pieces(caller, turn).map(|tag| tag.to_string())
}

/// What a caller logs on its `turn`: one pad, a plate and a machine over four sections, and the
/// compound they took.
pub(crate) fn usage(caller: usize, turn: usize) -> Command {
    let [machine, plate, pad, bottle] = pieces(caller, turn);
    Command::LogLoose(Box::new(LooseLog {
        step: Some(STEP.clone()),
        machine: Some(machine),
        plate: Some(plate),
        section_count: SECTIONS,
        pads: vec![PadUse {
            tag: pad,
            section_count: None,
            found: None,
            aside: None,
        }],
        bottles: vec![(bottle, LiquidAmount::Volume(Volume::from_ul(1)))],
        ..loose()
    }))
}

/// A small report: the volume read off a bottle.
pub(crate) fn count(caller: usize, turn: usize) -> Command {
    Command::Count {
        said: Said::default(),
        tag: bottle(caller, turn),
        count: Counted {
            quantity: Some(400_000 + left(caller, turn)),
            ..Counted::default()
        },
    }
}

/// A mix of small reports: mostly counts, weigh-ins and moves, some washes, some compound used.
///
/// Only the last twelve pads are washed and no pad works, so that the rest of the kit is as good
/// after a million reports as after ten thousand, and a check has the same kit before it.
pub(crate) fn mixed(caller: usize, turn: usize) -> Command {
    let said = Said::default();
    match (caller + turn) % 16 {
        0..=4 => count(caller, turn),
        5..=9 => Command::Weigh {
            said,
            weighings: vec![Weighing {
                tag: bottle(caller, turn),
                gross_mg: Mass::from_mg(50_000 + 440_000 + left(caller, turn)),
            }],
        },
        10..=12 => Command::Move {
            said,
            tags: vec![tag("BP", 2 + (caller + turn) % 29)],
            place: place(turn),
        },
        13 | 14 => Command::Wash {
            said,
            tags: vec![tag("P", 109 + (caller + turn) % 12)],
            inspections: Vec::new(),
        },
        _ => Command::LogLoose(Box::new(LooseLog {
            bottles: vec![(
                bottle(caller, turn),
                LiquidAmount::Volume(Volume::from_ul(1)),
            )],
            ..loose()
        })),
    }
}

/// A bottle, by its tag.
fn bottle(caller: usize, turn: usize) -> Tag {
    tag("B", (caller + turn * 7) % 20 + 1)
}

/// A small number that differs from report to report.
fn left(caller: usize, turn: usize) -> i64 {
    i64::try_from((caller * 31 + turn) % 1000).unwrap_or_default()
}

/// A medium saloon, a routine of one step and a job booked for the day after `now`.
pub(crate) fn saloon_tomorrow(now: Moment) -> [Command; 3] {
    let car = car("medium-saloon-silver", CarClass::MediumSaloon);
    let routine = routine("one-step", vec![STEP.clone()]);
    let starts_at = now + SignedDuration::from_hours(24);
    let job = job("tomorrow", car.id.as_str(), "one-step", starts_at);
    [
        Command::CreateCar { car },
        Command::CreateRoutine { routine },
        Command::BookJob { job },
    ]
}

/// The entry a command becomes in a book.
#[allow(clippy::expect_used, reason = "what is said in this file is taken")]
pub(crate) fn entry(book: &Book, command: &Command) -> Entry {
    let now = Moment::UNIX_EPOCH;
    let decision = decide(book, command, now).expect("a decision");
    Entry {
        request: Uuid::now_v7(),
        body: BodyHash(*Uuid::now_v7().as_bytes()),
        ..fettlebook_shed::entry(book, decision, "bench", now)
    }
}

static STEP: LazyLock<Step> = LazyLock::new(|| Step {
    press: Some(Press::Moderate),
    ..step("cut", "coarse-foam-150", "coarse-compound")
});

static PLACES: LazyLock<[Place; 2]> = LazyLock::new(|| [id("bench"), id("van-a")]);

/// The bench and the van by turns.
fn place(turn: usize) -> Place {
    let [bench, van] = &*PLACES;
    if turn.is_multiple_of(2) { van } else { bench }.clone()
}

fn makes() -> [Make; 4] {
    let compound = LiquidFigures {
        density_mg_per_ml: Some(1_100),
        ..liquid(Grade::Coarse, 100_000, 50)
    };
    let coarse = pad(PadMaterial::ThickFoam, Grade::Coarse, 150);
    [
        make("coarse-foam-150", Figures::Pad(coarse)),
        make("plate-125-m8", Figures::Plate(plate(125, Some(7_000)))),
        make("orbital-150", Figures::Machine(orbital())),
        make("coarse-compound", Figures::Liquid(compound)),
    ]
}
