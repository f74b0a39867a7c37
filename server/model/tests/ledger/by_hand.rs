//! Goal: what ends a stop for thin paint can be planned, checked, logged and costed: the finest liquid by
//! hand.
//!
//! Method: a routine of one step by hand on the saloon's bonnet and roof, 2 × 1.42 m². Source: half a
//! square metre in a quarter of an hour, from memory, so that 2.84 m² take 85.2 minutes; the film bands
//! are common practice, no source.

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::command::JobLog;
use fettlebook_model::job::{PanelNote, Routine, Step};
use fettlebook_model::job_cost::CostKind;
use fettlebook_model::kit::Readiness;
use fettlebook_model::lives::usual_job;
use fettlebook_model::make::{Figures, Grade, PadMaterial};
use fettlebook_model::plan::plan_job;
use fettlebook_model::{Command, Deed, Entry, Reason, Refusal, Seq};
use fettlebook_quantity::Thickness;

use crate::cost::sheet;
use crate::shop::{
    Shop, eur, foam, id, make, pad_use, replayed, routine, saloon_job, step, tag, tags_of,
};

/// Time by hand on bonnet and roof: 2.84 m² at 30 minutes a square metre.
const TIME_MS: i64 = 5_112_000;

/// A step by hand with this liquid on bonnet and roof.
fn hand_step(liquid: &str) -> Step {
    Step {
        machine_make: None,
        panels: vec!["bonnet".parse().unwrap(), "roof".parse().unwrap()],
        ..step("edges", "hand-applicator", liquid)
    }
}

/// The stocked shop with four applicators, P-13 to P-16, and a routine by hand.
fn shop(liquid: &str) -> Shop {
    let mut shop = Shop::stocked();
    let Figures::Pad(mut applicator) = foam(Grade::Fine, 90) else {
        panic!("a pad")
    };
    applicator.material = PadMaterial::Applicator;
    shop.say(Command::CreateMake {
        make: make("hand-applicator", Figures::Pad(applicator)),
    });
    shop.receive("hand-applicator", 4);
    let by_hand = Routine {
        towel_make: Some(id("edgeless-towel-400g")),
        ..routine("by-hand", vec![hand_step(liquid)])
    };
    shop.say(Command::CreateRoutine { routine: by_hand });
    book(&mut shop, "thursday", "by-hand");
    shop
}

fn book(shop: &mut Shop, job: &str, routine: &str) {
    let mut booked = saloon_job(job, "2026-03-05 08:00");
    booked.routine = id(routine);
    shop.say(Command::BookJob { job: booked });
}

fn checked(shop: &Shop, job: &str) -> JobCheck {
    let mut checks = check_jobs(&shop.book, &[id(job)], shop.now).unwrap();
    checks.remove(0)
}

fn line(check: &JobCheck, kind: LineKind) -> Line {
    let mut lines = check.lines.iter();
    lines.find(|line| line.kind == kind).unwrap().clone()
}

/// Every panel measured at 120 µm, the roof at this.
fn measured(shop: &mut Shop, roof_um: i64) {
    let panels: Vec<_> = plan_job(&shop.book, shop.book.job(&id("whole")).unwrap())
        .unwrap()
        .panels;
    shop.edit_saloon(|car| {
        car.panels = panels
            .iter()
            .map(|facts| PanelNote {
                panel: facts.panel,
                area_mm2: None,
                left_out: false,
                split: None,
                film_um: Some(Thickness::from_um(
                    if facts.panel == "roof".parse().unwrap() {
                        roof_um
                    } else {
                        120
                    },
                )),
            })
            .collect();
    });
}

#[test]
fn a_step_by_hand_takes_its_time_by_area_and_no_machine() {
    let shop = shop("fine-polish-500ml");
    let plan = plan_job(&shop.book, shop.book.job(&id("thursday")).unwrap()).unwrap();
    let step = &plan.steps[0];
    assert_eq!((step.time_ms, step.by_hand), (TIME_MS, true));
    assert_eq!(step.work().micro_sections(), 0);
    assert!(step.pad_count > 0 && step.volume.ul() > 0 && plan.towel_count > 0);
    let check = checked(&shop, "thursday");
    let kinds: Vec<LineKind> = check.lines.iter().map(|line| line.kind).collect();
    for kind in [LineKind::Machine, LineKind::Plate] {
        assert!(!kinds.contains(&kind), "{kinds:?}");
    }
    assert_eq!(check.exposure.machine_time_s, 0);
    assert_eq!(
        (check.exposure.a8_m_per_s2, check.exposure.points),
        (0.0, 0.0)
    );
    let vibration = check.lines.iter();
    let vibration = vibration
        .filter(|line| line.kind == LineKind::Vibration)
        .map(|line| line.reason.as_str());
    assert!(vibration.eq(["No machine runs that day."]));
    assert!(kinds.contains(&LineKind::Pad) && kinds.contains(&LineKind::Liquid));
}

/// The shop that was stopped for a roof of 75 µm does it by hand with the finest liquid; with a coarser
/// one, or below 70 µm, not even that.
#[test]
fn thin_paint_that_stops_the_machine_is_watched_by_hand_and_below_seventy_nothing_goes() {
    for (roof_um, liquid, machine, hand) in [
        (95, "fine-polish-500ml", Verdict::Watch, Verdict::Watch),
        (75, "fine-polish-500ml", Verdict::Stop, Verdict::Watch),
        (75, "coarse-compound-1l", Verdict::Stop, Verdict::Stop),
        (70, "fine-polish-500ml", Verdict::Stop, Verdict::Watch),
        (69, "fine-polish-500ml", Verdict::Stop, Verdict::Stop),
        (65, "fine-polish-500ml", Verdict::Stop, Verdict::Stop),
    ] {
        let mut shop = shop(liquid);
        book(&mut shop, "whole", "two-step");
        measured(&mut shop, roof_um);
        let film = |job| line(&checked(&shop, job), LineKind::Film);
        assert_eq!(film("whole").verdict, machine, "{roof_um} {liquid}");
        let by_hand = film("thursday");
        assert_eq!(by_hand.verdict, hand, "{roof_um} {liquid}: {by_hand:?}");
        assert!(by_hand.reason.contains("roof"), "{by_hand:?}");
        if hand == Verdict::Stop {
            assert!(by_hand.todos.iter().any(|todo| todo.contains("roof")));
        }
    }
}

#[test]
fn a_log_by_hand_runs_no_machine_and_its_applicators_wear_by_their_washes() {
    let mut shop = shop("fine-polish-500ml");
    shop.go_to("2026-03-05 15:00");
    let entry = shop.log("thursday");
    let ran = |deed: &Deed| matches!(deed, Deed::MachineUsed { .. } | Deed::PlateUsed { .. });
    assert!(!entry.deeds.iter().any(ran));
    let worked: i64 = entry
        .deeds
        .iter()
        .filter_map(|deed| match deed {
            Deed::PadUsed { work, .. } => Some(work.time_ms),
            _ => None,
        })
        .sum();
    assert_eq!(worked, TIME_MS);
    let used = |shop: &Shop| {
        let piece = shop.piece("P-13");
        let pad = piece.pad().unwrap();
        (piece.readiness, pad.use_count, pad.work.micro_sections())
    };
    assert_eq!(used(&shop), (Readiness::Soiled, 1, 0));
    let damage = |shop: &Shop| fettlebook_model::damage::damage_of(&shop.book, shop.piece("P-13"));
    assert_eq!(damage(&shop), Some(0.0));
    shop.wash("P-13");
    // One of the 25 washes that an applicator is rated for, from memory; so is each job of its kind.
    assert_eq!(damage(&shop), Some(0.04));
    let make = shop.book.make(&id("hand-applicator")).unwrap();
    let Figures::Pad(figures) = &make.figures else {
        panic!("a pad")
    };
    assert_eq!(usual_job(&shop.book, make, figures).damage, 0.04);
    assert_eq!(replayed(&shop.entries), shop.book);
}

/// No machine ran, so nobody can say for how long; and where one ran beside, the hand took its own time.
#[test]
fn the_minutes_of_machines_are_of_machines_alone() {
    let log = |job: &str, seconds| {
        Command::LogJob(Box::new(JobLog {
            job: Some(id(job)),
            machine_time_s: Some(seconds),
            ..JobLog::default()
        }))
    };
    let mut shop = shop("fine-polish-500ml");
    shop.go_to("2026-03-05 15:00");
    let refused = shop.try_say(log("thursday", 600)).unwrap_err();
    assert_eq!(refused.field, "machine_time_s");
    assert!(
        refused.what.contains("is worked by a machine"),
        "{}",
        refused.what
    );

    let mut shop = self::shop("fine-polish-500ml");
    let was = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    let by_hand = shop.book.job(&id("thursday")).unwrap().routine.clone();
    let hand = shop.book.routine(&by_hand).unwrap().steps[0].clone();
    let mut both = was.clone();
    both.steps.push(hand);
    shop.say(Command::EditRoutine { was, routine: both });
    shop.book_saloon("friday", "2026-03-06 08:00");
    let plan = plan_job(&shop.book, shop.book.job(&id("friday")).unwrap()).unwrap();
    let by_machine = plan.steps.iter().filter(|step| !step.by_hand);
    let planned_s = by_machine.map(|step| step.time_ms).sum::<i64>() / 1_000;
    shop.go_to("2026-03-06 18:00");
    let applicators = tags_of("P-13 P-14 P-15 P-16");
    let worked = |shop: &mut Shop, command: Command| {
        let deeds = shop.say(command).deeds.clone();
        let applied = deeds.into_iter().find_map(|deed| match deed {
            Deed::PadUsed { tag, work, .. } if applicators.contains(&tag) => Some(work),
            _ => None,
        });
        applied.map(|work| format!("{work:?}"))
    };
    let mut planned = shop.clone();
    let as_planned = worked(
        &mut planned,
        Command::LogJob(Box::new(JobLog {
            job: Some(id("friday")),
            ..JobLog::default()
        })),
    );
    assert!(as_planned.is_some());
    let twice = worked(&mut shop, log("friday", 2 * planned_s));
    assert_eq!(twice, as_planned);
}

#[test]
fn a_job_by_hand_is_costed_without_machine_time() {
    let mut shop = shop("fine-polish-500ml");
    shop.price("fine-polish-500ml", "15.50", 1);
    shop.price("hand-applicator", "2.50", 1);
    shop.price("edgeless-towel-400g", "1.20", 1);
    let before = sheet(&shop, "thursday");
    assert_eq!((before.machine_time_s, before.hand_time_s), (0, 5_112));
    let kinds: Vec<CostKind> = before.lines.iter().map(|line| line.kind).collect();
    assert_eq!(kinds, [CostKind::Liquid, CostKind::Pads, CostKind::Towels]);
    // Applicators wear by their washes: so many of 2.50 over 25 washes.
    let plan = plan_job(&shop.book, shop.book.job(&id("thursday")).unwrap()).unwrap();
    let pads = &before.lines[1];
    let each = eur("0.10").amount * rust_decimal::Decimal::from(plan.steps[0].pad_count);
    assert_eq!(pads.typical.amount, each);
    shop.go_to("2026-03-05 15:00");
    shop.say(Command::LogJob(Box::new(JobLog {
        job: Some(id("thursday")),
        ..JobLog::default()
    })));
    let after = sheet(&shop, "thursday");
    assert_eq!(after.lines[1].actual, Some(eur(&each.to_string())));
}

fn set<'a>(shop: &'a mut Shop, key: &str, steps: Vec<Step>) -> Result<&'a Entry, Refusal> {
    shop.try_say(Command::CreateRoutine {
        routine: routine(key, steps),
    })
}

#[test]
fn a_machine_takes_no_applicator_and_a_hand_nothing_else() {
    let mut shop = shop("fine-polish-500ml");
    let machine = Step {
        machine_make: Some(id("orbital-150")),
        ..hand_step("fine-polish-500ml")
    };
    let refused = set(&mut shop, "wrong", vec![machine]).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::WrongSort, "routine.steps.edges.pad_make")
    );
    let pad = Step {
        pad_make: id("fine-foam-150"),
        ..hand_step("fine-polish-500ml")
    };
    let refused = set(&mut shop, "wrong", vec![pad]).unwrap_err();
    assert!(
        refused.what.contains("is no applicator"),
        "{}",
        refused.what
    );
    let fast = Step {
        speed_per_min: Some(4_500),
        ..hand_step("fine-polish-500ml")
    };
    let refused = set(&mut shop, "wrong", vec![fast]).unwrap_err();
    assert_eq!(refused.field, "routine.steps.edges.speed_per_min");
}

#[test]
fn a_loose_use_by_hand_names_no_machine() {
    let mut shop = shop("fine-polish-500ml").shipped();
    let head: Seq = shop.book.head();
    let refused = shop.log_loose(|loose| {
        loose.step = Some(hand_step("fine-polish-500ml"));
        loose.section_count = 3;
        loose.machine = Some(tag("M-01"));
        loose.pads = tags_of("P-13")
            .into_iter()
            .map(|tag| pad_use(&tag.to_string()))
            .collect();
    });
    assert_eq!(refused.unwrap_err().field, "loose.machine");
    assert_eq!(shop.book.head(), head);
    // Three sections of 300 mm, a tenth of each worked by its neighbour: 0.243 m² in 7.29 minutes.
    let entry = shop.log_loose(|loose| {
        loose.step = Some(hand_step("fine-polish-500ml"));
        loose.section_count = 3;
        loose.pads = vec![pad_use("P-13")];
    });
    let Deed::PadUsed { work, .. } = &entry.unwrap().deeds[0] else {
        panic!("a use")
    };
    assert_eq!((work.time_ms, work.speed_per_min), (437_400, 0));
}
