//! The book of the simulated shop: what is set up in it and what is said to it.
//!
//! It serves the year and the habits, which plan by the same book. All of it is invented.

use std::collections::BTreeMap;

use fettlebook_model::car::CarClass;
use fettlebook_model::job::{Job, Routine, Step};
use fettlebook_model::make::{Figures, Grade, LiquidFigures, Make, PadMaterial};
use fettlebook_model::plan::{Plan, plan_job};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::Press;
use fettlebook_model::{Book, Command, Deed, Entry, Id, Moment, Tag, decide};
use fettlebook_quantity::Mass;
pub(crate) use fettlebook_shed::id;
use fettlebook_shed::{car, entry, liquid, make, orbital, pad, plate, receipt, routine, step};
use jiff::SignedDuration;

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
            let car = car(&car_id(at), *class);
            ledger.say(&Command::CreateCar { car });
        }
        ledger.say(&Command::CreateRoutine {
            routine: two_step(),
        });
        ledger.receive("orbital-150", 1);
        ledger.receive("plate-125-m8", 1);
        ledger
    }

    /// Says a command now; it is taken in.
    pub(crate) fn say(&mut self, command: &Command) -> Entry {
        let decision = decide(&self.book, command, self.now).unwrap();
        let entry = entry(&self.book, decision, "simulation", self.now);
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
        let receipt = receipt(make, piece_count);
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

fn car_id(at: usize) -> String {
    format!("car-{}", at + 1)
}

/// The job of a day.
pub(crate) fn job(day: usize, car: usize) -> Job {
    let key = format!("job-{day}");
    fettlebook_shed::job(&key, &car_id(car), "two-step", start_of(day))
}

fn two_step() -> Routine {
    let step = |at: usize, name: &str, press, arm_speed| Step {
        arm_speed_mm_per_s: Some(arm_speed),
        press: Some(press),
        ..step(name, PADS[at], LIQUIDS[at])
    };
    let steps = vec![
        step(0, "cut", Press::Moderate, 50),
        step(1, "finish", Press::Light, 75),
    ];
    routine("two-step", steps)
}

fn makes() -> Vec<Make> {
    let pad = |grade| Figures::Pad(pad(PadMaterial::ThinFoam, grade, 150));
    let liquid = |grade, bottle_ml| {
        Figures::Liquid(LiquidFigures {
            density_mg_per_ml: Some(DENSITY_MG_PER_ML),
            ..liquid(grade, bottle_ml, TARE_MG / 1_000)
        })
    };
    [
        (PADS[0], pad(Grade::Coarse)),
        (PADS[1], pad(Grade::Fine)),
        (LIQUIDS[0], liquid(Grade::Coarse, 1_000)),
        (LIQUIDS[1], liquid(Grade::Fine, 500)),
        ("orbital-150", Figures::Machine(orbital())),
        ("plate-125-m8", Figures::Plate(plate(125, Some(9_000)))),
    ]
    .map(|(key, figures)| make(key, figures))
    .to_vec()
}

/// The weight of a bottle with so much in it.
pub(crate) fn weight_of(left_ul: f64) -> Mass {
    let net_mg = left_ul / 1_000.0 * DENSITY_MG_PER_ML as f64;
    Mass::from_mg(TARE_MG + net_mg.round() as i64)
}
