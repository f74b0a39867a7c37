//! A shop of 200 pieces to put a load on, and the uses that are logged in it. All of it invented.

use std::error::Error;

use fettlebook_model::car::CarClass;
use fettlebook_model::command::{LiquidAmount, LooseLog, PadUse, Receipt, Said};
use fettlebook_model::job::{Car, Job, JobState, Routine, Step};
use fettlebook_model::make::{
    Figures, Grade, LiquidFigures, MachineFigures, Make, PadFigures, PadMaterial, PlateFigures,
};
use fettlebook_model::wear::{Action, Press};
use fettlebook_model::{BodyHash, Book, Command, Entry, Id, Moment, Seq, Tag, decide};
use fettlebook_quantity::{Length, Volume};
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
    for command in set_up() {
        desk.submit(order(command)).await?;
    }
    Ok(())
}

/// An order with a request id of its own.
pub(crate) fn order(command: Command) -> Order {
    let request = Uuid::now_v7();
    Order {
        request,
        body: BodyHash(request.into_bytes()),
        by: "bench".to_owned(),
        command,
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
        said: Said::default(),
        step: Some(step()),
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
        bundles: Vec::new(),
        sundries: Vec::new(),
        weighings: Vec::new(),
    }))
}

/// A medium saloon, a routine of one step and a job booked for the day after the beginning of time.
pub(crate) fn saloon_tomorrow() -> [Command; 3] {
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
        steps: vec![step()],
        towel_make: None,
        cells_per_section: None,
        sundries: Vec::new(),
    };
    let job = Job {
        id: id("tomorrow"),
        car: car.id.clone(),
        routine: routine.id.clone(),
        place: id("bench"),
        starts_at: Moment::UNIX_EPOCH + SignedDuration::from_hours(24),
        utc_offset_s: 0,
        left_out: Vec::new(),
        state: JobState::Booked,
        note: String::new(),
        last_seq: Seq::default(),
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
        recorded_at: now,
        done_at: decision.done_at,
        request: Uuid::now_v7(),
        body: BodyHash(*Uuid::now_v7().as_bytes()),
        by: "bench".to_owned(),
        deeds: decision.deeds,
        flags: decision.flags,
        note: decision.note,
    }
}

/// The bytes that one use puts into the journal, for the ceiling.
pub(crate) fn line() -> Result<Vec<u8>, Box<dyn Error>> {
    let mut book = Book::new();
    for command in set_up().chain([usage(0, 0)]) {
        book.apply(&entry(&book, &command));
    }
    let entry = serde_json::to_string(&entry(&book, &usage(0, 0)))?;
    Ok(format!("{{\"chain\":\"{:064}\",\"entry\":{entry}}}\n", 0).into_bytes())
}

fn step() -> Step {
    Step {
        name: id("cut"),
        machine_make: id("orbital-150"),
        pad_make: id("coarse-foam-150"),
        liquid_make: id("coarse-compound"),
        side_mm: None,
        overlap_permille: None,
        pass_count: None,
        arm_speed_mm_per_s: None,
        press: Press::Moderate,
        speed_per_min: None,
        panels: Vec::new(),
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
        density_mg_per_ml: None,
        tare_mg: None,
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
