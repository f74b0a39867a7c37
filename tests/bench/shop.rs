//! A shop of 200 pieces to put a load on, and what is reported in it. All of it invented.
//!
//! It serves every part that gives orders. Making one must stay cheap, since callers share the
//! processors with what is measured.

use std::sync::LazyLock;
use std::time::Instant;

use fettlebook_model::car::CarClass;
use fettlebook_model::command::{Counted, LiquidAmount, LooseLog, PadUse, Receipt, Said, Weighing};
use fettlebook_model::job::{Car, Job, JobState, Routine, Step};
use fettlebook_model::make::{
    Figures, Grade, LiquidFigures, MachineFigures, Make, PadFigures, PadMaterial, PlateFigures,
};
use fettlebook_model::wear::{Action, Press};
use fettlebook_model::{
    BodyHash, Book, Command, Entry, Format, Id, Moment, Place, Seq, Tag, decide,
};
use fettlebook_quantity::{Length, Mass, Volume};
use fettlebook_server::desk::{Desk, DeskError, Order};
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
    let kit = PIECE_COUNTS.iter().map(|(make, piece_count)| {
        Command::Receive(Box::new(Receipt {
            said: Said::default(),
            make: id(make),
            place: id("bench"),
            piece_count: *piece_count,
            tags: Vec::new(),
            towel_count: 0,
            lot: String::new(),
            expiry: None,
            volume_ul: None,
            tare_mg: None,
            quantity: None,
            towel_grade: None,
            work: None,
            wash_count: None,
            check_due: None,
        }))
    });
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
        ..nothing_used()
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
            ..nothing_used()
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
    let car = Car {
        id: id("medium-saloon-silver"),
        class: CarClass::MediumSaloon,
        note: String::new(),
        dimensions: None,
        panels: Vec::new(),
    };
    let routine = Routine {
        id: id("one-step"),
        name: "one-step".to_owned(),
        steps: vec![STEP.clone()],
        towel_make: None,
        cells_per_section: None,
        sundries: Vec::new(),
        tools: Vec::new(),
    };
    let job = Job {
        id: id("tomorrow"),
        car: car.id.clone(),
        routine: routine.id.clone(),
        place: id("bench"),
        starts_at: now + SignedDuration::from_hours(24),
        utc_offset_s: 0,
        left_out: Vec::new(),
        state: JobState::Booked,
        note: String::new(),
        last_seq: Seq::default(),
        done_in: None,
        taken: None,
        person: String::new(),
    };
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
        seq: Seq(book.head().0 + 1),
        format: Format::FIRST,
        book_id: None,
        recorded_at: now,
        done_at: decision.done_at,
        request: Uuid::now_v7(),
        body: BodyHash(*Uuid::now_v7().as_bytes()),
        by: "bench".to_owned(),
        deeds: decision.deeds,
        flags: decision.flags,
        note: decision.note,
        kept: decision.kept,
    }
}

static STEP: LazyLock<Step> = LazyLock::new(|| Step {
    name: id("cut"),
    machine_make: Some(id("orbital-150")),
    pad_make: id("coarse-foam-150"),
    liquid_make: id("coarse-compound"),
    side_mm: None,
    overlap_permille: None,
    pass_count: None,
    arm_speed_mm_per_s: None,
    press: Some(Press::Moderate),
    speed_per_min: None,
    panels: Vec::new(),
    wipe_down_make: None,
    cleaning: None,
});

static PLACES: LazyLock<[Place; 2]> = LazyLock::new(|| [id("bench"), id("van-a")]);

/// The bench and the van by turns.
fn place(turn: usize) -> Place {
    let [bench, van] = &*PLACES;
    if turn.is_multiple_of(2) { van } else { bench }.clone()
}

/// A log with nothing in it yet.
fn nothing_used() -> LooseLog {
    LooseLog {
        said: Said::default(),
        step: None,
        machine: None,
        plate: None,
        section_count: 0,
        pads: Vec::new(),
        bottles: Vec::new(),
        bundles: Vec::new(),
        sundries: Vec::new(),
        weighings: Vec::new(),
    }
}

fn makes() -> [Make; 4] {
    let pad = PadFigures {
        material: PadMaterial::ThickFoam,
        grade: Grade::Coarse,
        face_mm: Length::from_mm(150),
        rated_work_sections: None,
        rated_wash_count: None,
        load_sections: None,
        dry_time_s: None,
        typical_life_sections: None,
        least_life_sections: None,
    };
    let plate = PlateFigures {
        diameter_mm: Length::from_mm(125),
        thread: thread(),
        rated_speed_per_min: Some(7_000),
        rated_run_h: None,
        rated_change_count: None,
    };
    let machine = MachineFigures {
        action: Action::Orbital,
        throw_mm: Length::from_mm(15),
        thread: thread(),
        max_speed_per_min: 5_000,
        work_speed_per_min: Some(4_500),
        vibration_mm_per_s2: None,
        vibration_measured: false,
        noise_db: None,
        spot: false,
    };
    let liquid = LiquidFigures {
        grade: Grade::Coarse,
        bottle_ul: Volume::from_ul(100_000_000),
        density_mg_per_ml: Some(1_100),
        tare_mg: Some(Mass::from_mg(50_000)),
        prime_dot_count: None,
        refresh_dot_count: None,
    };
    [
        make("coarse-foam-150", Figures::Pad(pad)),
        make("plate-125-m8", Figures::Plate(plate)),
        make("orbital-150", Figures::Machine(machine)),
        make("coarse-compound", Figures::Liquid(liquid)),
    ]
}

fn make(name: &str, figures: Figures) -> Make {
    let (note, ghs) = (String::new(), Vec::new());
    Make {
        id: id(name),
        name: name.to_owned(),
        price: None,
        pack_count: 1,
        ghs,
        note,
        figures,
        filled: None,
    }
}

#[allow(clippy::expect_used, reason = "the names are written in this file")]
fn id(text: &str) -> Id {
    text.parse().expect("an id")
}

#[allow(clippy::expect_used, reason = "the names are written in this file")]
fn tag(letters: &str, number: usize) -> Tag {
    u32::try_from(number)
        .ok()
        .and_then(|number| Tag::new(letters, number))
        .expect("a tag")
}

#[allow(clippy::expect_used, reason = "the names are written in this file")]
fn thread() -> fettlebook_model::plate::Thread {
    "M8".parse().expect("a thread")
}
