//! A shop of 500 pieces with three machines, and a day of five jobs whose steps all three share. All of it
//! invented.

use fettlebook_model::command::Said;
use fettlebook_model::job::{Job, Routine, Share, Step};
use fettlebook_model::make::{Figures, Grade, MachineFigures, Make, PadMaterial};
use fettlebook_model::reach::Reach;
use fettlebook_model::wear::{Action, BinReason};
use fettlebook_model::{Book, Command, Id, Moment};
use fettlebook_quantity::Length;
use fettlebook_shed::{make, orbital, pad, plate, routine, step};
use jiff::SignedDuration;

use crate::ledger::{LIQUIDS, Ledger, PADS, id, job, start_of};

const ROUTINE: &str = "three-machines";
const SMALL_PADS: [&str; 2] = ["coarse-foam-80", "fine-foam-80"];
const PENCIL_PAD: &str = "pencil-foam-30";
const SPOT: &str = "orbital-75";
const PENCIL: &str = "spindle-30";

/// How many of each there are: beside a machine and a plate 498 pieces.
const COUNTS: [(&str, i64); 11] = [
    (PADS[0], 120),
    (PADS[1], 100),
    (SMALL_PADS[0], 70),
    (SMALL_PADS[1], 60),
    (PENCIL_PAD, 52),
    (LIQUIDS[0], 46),
    (LIQUIDS[1], 46),
    (SPOT, 1),
    (PENCIL, 1),
    ("plate-75-m8", 1),
    ("plate-20-m8", 1),
];

/// Five jobs booked on one day, some pads of whose makes have worn out.
pub(crate) fn shared_day() -> (Book, Vec<Id>, Moment) {
    let mut ledger = stocked();
    let mut jobs = Vec::new();
    for hour in 0..5 {
        let job = Job {
            id: id(&format!("job-{hour}")),
            routine: id(ROUTINE),
            starts_at: start_of(1) + SignedDuration::from_hours(hour),
            ..job(1, 1)
        };
        jobs.push(job.id.clone());
        ledger.say(&Command::BookJob { job });
    }
    (ledger.book, jobs, ledger.now)
}

fn stocked() -> Ledger {
    let mut ledger = Ledger::set_up();
    for make in makes() {
        ledger.say(&Command::CreateMake { make });
    }
    let routine = shared();
    ledger.say(&Command::CreateRoutine { routine });
    for (make, count) in COUNTS {
        let tags = ledger.receive(make, count);
        if PADS.contains(&make) || SMALL_PADS.contains(&make) {
            ledger.say(&Command::Bin {
                said: Said::default(),
                tags: tags.into_iter().take(12).collect(),
                reason: BinReason::Torn,
                count: None,
            });
        }
    }
    ledger
}

fn makes() -> Vec<Make> {
    let foam = |grade, face_mm| Figures::Pad(pad(PadMaterial::ThinFoam, grade, face_mm));
    let spot = MachineFigures {
        throw_mm: Length::from_mm(12),
        spot: true,
        ..orbital()
    };
    let pencil = MachineFigures {
        action: Action::Rotary,
        throw_mm: Length::ZERO,
        ..spot.clone()
    };
    [
        (SMALL_PADS[0], foam(Grade::Coarse, 80)),
        (SMALL_PADS[1], foam(Grade::Fine, 80)),
        (PENCIL_PAD, foam(Grade::Fine, 30)),
        (SPOT, Figures::Machine(spot)),
        (PENCIL, Figures::Machine(pencil)),
        ("plate-75-m8", Figures::Plate(plate(70, Some(9_000)))),
        ("plate-20-m8", Figures::Plate(plate(20, Some(9_000)))),
    ]
    .map(|(key, figures)| make(key, figures))
    .to_vec()
}

/// A two-step of which the big machine, the spot machine and pencil pads each work what they reach.
fn shared() -> Routine {
    let share = |of: &str, reach, (machine, pad), liquid: &str| Share {
        reach,
        worked: Step {
            machine_make: Some(id(machine)),
            ..step(&format!("{of}-{reach}"), pad, liquid)
        },
    };
    let [coarse, fine] = SMALL_PADS;
    let whole = |name: &str, own: &str, small: &'static str, liquid: &str| Step {
        shares: vec![
            share(name, Reach::Spot, (SPOT, small), liquid),
            share(name, Reach::Pencil, (PENCIL, PENCIL_PAD), LIQUIDS[1]),
        ],
        ..step(name, own, liquid)
    };
    let steps = vec![
        whole("cut", PADS[0], coarse, LIQUIDS[0]),
        whole("finish", PADS[1], fine, LIQUIDS[1]),
    ];
    routine(ROUTINE, steps)
}
