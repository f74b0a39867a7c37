//! The book of the simulated shop: what is set up in it and what is said to it.
//!
//! It serves the year and the habits, which plan by the same book. All of it is invented.

use std::collections::BTreeMap;

use fettlebook_model::car::CarClass;
use fettlebook_model::command::{Receipt, Said};
use fettlebook_model::job::{Car, Job, JobState, Routine, Step};
use fettlebook_model::make::{
    Figures, Grade, LiquidFigures, MachineFigures, Make, PadFigures, PadMaterial, PlateFigures,
};
use fettlebook_model::plan::{Plan, plan_job};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::{Action, Press};
use fettlebook_model::{
    BodyHash, Book, Command, Deed, Entry, Format, Id, Moment, Seq, Tag, decide,
};
use fettlebook_quantity::{Length, Mass, Volume};
use jiff::SignedDuration;
use uuid::Uuid;

/// Pad makes of the two steps.
pub(crate) const PADS: [&str; 2] = ["coarse-foam-150", "fine-foam-150"];
/// Liquids of the two steps.
pub(crate) const LIQUIDS: [&str; 2] = ["coarse-compound-1-l", "fine-polish-500-ml"];
/// Weight of an empty bottle.
const TARE_MG: i64 = 60_000;
/// Density of both liquids.
pub(crate) const DENSITY_MG_PER_ML: i64 = 1_100;
const CARS: [CarClass; 4] = [
    CarClass::City,
    CarClass::MediumSaloon,
    CarClass::MediumHatch,
    CarClass::LargeSuv,
];

pub(crate) fn id(text: &str) -> Id {
    text.parse().unwrap()
}

/// The start of a day's job.
pub(crate) fn start_of(day: usize) -> Moment {
    let first: Moment = "2026-01-05T08:00:00Z".parse().unwrap();
    let hours = i64::try_from(24 * (7 * (day / 5) + day % 5)).unwrap();
    first + SignedDuration::from_hours(hours)
}

/// A book and the moment it is.
pub(crate) struct Ledger {
    pub(crate) book: Book,
    pub(crate) now: Moment,
}

impl Ledger {
    /// A book with makes, cars and the routine, and no kit but a machine and a plate.
    pub(crate) fn set_up() -> Self {
        let mut ledger = Self {
            book: Book::new(),
            now: start_of(0) - SignedDuration::from_hours(48),
        };
        for make in makes() {
            ledger.say(&Command::CreateMake { make });
        }
        for (at, class) in CARS.iter().enumerate() {
            let car = Car {
                id: car_id(at),
                class: *class,
                note: String::new(),
                dimensions: None,
                panels: Vec::new(),
            };
            ledger.say(&Command::CreateCar { car });
        }
        ledger.say(&Command::CreateRoutine { routine: routine() });
        ledger.receive("orbital-150", 1);
        ledger.receive("plate-125-m8", 1);
        ledger
    }

    /// Says a command now; it is taken in.
    pub(crate) fn say(&mut self, command: &Command) -> Entry {
        let decision = decide(&self.book, command, self.now).unwrap();
        let entry = Entry {
            seq: self.book.head().next(),
            format: Format::FIRST,
            book_id: None,
            recorded_at: self.now,
            done_at: decision.done_at,
            request: Uuid::nil(),
            body: BodyHash([0; 16]),
            by: "simulation".to_owned(),
            deeds: decision.deeds,
            flags: decision.flags,
            note: decision.note,
            kept: decision.kept,
        };
        self.book.apply(&entry);
        entry
    }

    /// Sets a policy of the book.
    pub(crate) fn set_policy(&mut self, key: PolicyKey, value: i64) {
        let changes = vec![(key, Some(value))];
        let note = String::new();
        self.say(&Command::SetPolicies { changes, note });
    }

    /// Takes new pieces in; gives their tags.
    pub(crate) fn receive(&mut self, make: &str, piece_count: i64) -> Vec<Tag> {
        let receipt = Receipt {
            said: Said::default(),
            make: id(make),
            place: id("bench"),
            piece_count,
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
        };
        let entry = self.say(&Command::Receive(Box::new(receipt)));
        let tags = entry.deeds.iter().filter_map(|deed| match deed {
            Deed::Received { tag, .. } => Some(*tag),
            _ => None,
        });
        tags.collect()
    }

    /// Books the job of a day.
    pub(crate) fn book_job(&mut self, day: usize, car: usize) -> Id {
        let job = job(day, car);
        let id = job.id.clone();
        self.say(&Command::BookJob { job });
        id
    }

    /// What each car needs, by car.
    pub(crate) fn plans(&self) -> Vec<Plan> {
        (0..CARS.len())
            .map(|car| plan_job(&self.book, &job(0, car)).unwrap())
            .collect()
    }

    /// Tags of the pads that are soiled now, by make.
    pub(crate) fn soiled(&self) -> BTreeMap<usize, Vec<Tag>> {
        let mut soiled: BTreeMap<usize, Vec<Tag>> = BTreeMap::new();
        for (at, make) in PADS.iter().enumerate() {
            let make = id(make);
            for piece in self.book.pieces_of(&make) {
                if piece.readiness.at(self.now).word() == "soiled" {
                    soiled.entry(at).or_default().push(piece.tag);
                }
            }
        }
        soiled
    }
}

/// How many cars there are to choose from.
pub(crate) const CAR_COUNT: usize = CARS.len();

fn car_id(at: usize) -> Id {
    id(&format!("car-{}", at + 1))
}

/// The job of a day.
pub(crate) fn job(day: usize, car: usize) -> Job {
    Job {
        id: id(&format!("job-{day}")),
        car: car_id(car),
        routine: id("two-step"),
        place: id("bench"),
        starts_at: start_of(day),
        utc_offset_s: 0,
        left_out: Vec::new(),
        state: JobState::Booked,
        note: String::new(),
        last_seq: Seq::default(),
        done_in: None,
        taken: None,
        person: String::new(),
    }
}

fn routine() -> Routine {
    let step = |at: usize, name: &str, press, arm_speed| Step {
        name: id(name),
        machine_make: Some(id("orbital-150")),
        pad_make: id(PADS[at]),
        liquid_make: id(LIQUIDS[at]),
        side_mm: None,
        overlap_permille: None,
        pass_count: None,
        arm_speed_mm_per_s: Some(arm_speed),
        press: Some(press),
        speed_per_min: None,
        panels: Vec::new(),
        wipe_down_make: None,
        cleaning: None,
    };
    Routine {
        id: id("two-step"),
        name: "two-step".to_owned(),
        steps: vec![
            step(0, "cut", Press::Moderate, 50),
            step(1, "finish", Press::Light, 75),
        ],
        towel_make: None,
        cells_per_section: None,
        sundries: Vec::new(),
        tools: Vec::new(),
    }
}

fn makes() -> Vec<Make> {
    let pad = |grade| {
        Figures::Pad(PadFigures {
            material: PadMaterial::ThinFoam,
            grade,
            face_mm: Length::from_mm(150),
            rated_work_sections: None,
            rated_wash_count: None,
            load_sections: None,
            dry_time_s: None,
            typical_life_sections: None,
            least_life_sections: None,
        })
    };
    let liquid = |grade, ml: i64| {
        Figures::Liquid(LiquidFigures {
            grade,
            bottle_ul: Volume::from_ul(ml * 1_000),
            density_mg_per_ml: Some(DENSITY_MG_PER_ML),
            tare_mg: Some(Mass::from_mg(TARE_MG)),
            prime_dot_count: None,
            refresh_dot_count: None,
        })
    };
    let machine = Figures::Machine(MachineFigures {
        action: Action::Orbital,
        throw_mm: Length::from_mm(15),
        thread: "M8".parse().unwrap(),
        max_speed_per_min: 5_000,
        work_speed_per_min: Some(4_500),
        vibration_mm_per_s2: None,
        vibration_measured: false,
        noise_db: None,
        spot: false,
    });
    let plate = Figures::Plate(PlateFigures {
        diameter_mm: Length::from_mm(125),
        thread: "M8".parse().unwrap(),
        rated_speed_per_min: Some(9_000),
        rated_run_h: None,
        rated_change_count: None,
    });
    [
        (PADS[0], pad(Grade::Coarse)),
        (PADS[1], pad(Grade::Fine)),
        (LIQUIDS[0], liquid(Grade::Coarse, 1_000)),
        (LIQUIDS[1], liquid(Grade::Fine, 500)),
        ("orbital-150", machine),
        ("plate-125-m8", plate),
    ]
    .into_iter()
    .map(|(name, figures)| Make {
        id: id(name),
        name: name.replace('-', " "),
        price: None,
        pack_count: 1,
        ghs: Vec::new(),
        note: String::new(),
        figures,
        filled: None,
    })
    .collect()
}

/// The weight of a bottle with so much in it.
pub(crate) fn weight_of(left_ul: f64) -> Mass {
    let net_mg = left_ul / 1_000.0 * DENSITY_MG_PER_ML as f64;
    Mass::from_mg(TARE_MG + net_mg.round() as i64)
}
