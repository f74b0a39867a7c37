//! What is refused, with the reason and the field, and changes nothing.

use fettlebook_model::command::{JobLog, Receipt, Said};
use fettlebook_model::job::{Job, PanelNote};
use fettlebook_model::make::{Figures, Grade, MachineFigures, Make, Unit};
use fettlebook_model::panel::Panel;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::Length;

use crate::shop::{
    Shop, at, foam, id, make, orbital, plate, receipt, routine, saloon_job, step, tag,
};

fn refused(shop: &mut Shop, command: Command, reason: Reason, field: &str) {
    let before = shop.book.clone();
    let said = shop.try_say(command).unwrap_err();
    assert_eq!(
        (said.reason, said.field.as_str()),
        (reason, field),
        "{said}"
    );
    assert_eq!(shop.book, before);
    assert!(
        said.what.ends_with('.') && !said.to_string().to_lowercase().contains("safe"),
        "{said}"
    );
}

#[test]
fn makes_that_make_no_sense() {
    let mut shop = Shop::new();
    let create = |make: Make| Command::CreateMake { make };
    let machine = |change: &dyn Fn(&mut MachineFigures)| {
        let mut figures = orbital();
        change(&mut figures);
        create(make("m", Figures::Machine(figures)))
    };
    for (command, reason, field) in [
        (
            create(make("coarse-foam-150", foam(Grade::Coarse, 150))),
            Reason::IdTaken,
            "make.make",
        ),
        (
            machine(&|m| m.throw_mm = Length::ZERO),
            Reason::QuantityInvalid,
            "make.machine.throw_mm",
        ),
        (
            machine(&|m| m.work_speed_per_min = Some(9000)),
            Reason::QuantityInvalid,
            "make.machine.work_speed_per_min",
        ),
        (
            create(Make {
                name: " ".into(),
                ..make("x", foam(Grade::Fine, 150))
            }),
            Reason::FieldMissing,
            "make.name",
        ),
        (
            create(Make {
                name: "x".repeat(81),
                ..make("x", foam(Grade::Fine, 150))
            }),
            Reason::FieldInvalid,
            "make.name",
        ),
        (
            create(Make {
                note: "two\nlines".into(),
                ..make("x", foam(Grade::Fine, 150))
            }),
            Reason::FieldInvalid,
            "note",
        ),
    ] {
        refused(&mut shop, command, reason, field);
    }
}

#[test]
fn receipts_that_make_no_sense() {
    let mut shop = Shop::stocked();
    let say = |receipt: Receipt| Command::Receive(Box::new(receipt));
    for (command, reason, field) in [
        (say(receipt("unheard-of", 1)), Reason::MakeUnknown, "make"),
        (
            say(receipt("coarse-foam-150", -1)),
            Reason::QuantityInvalid,
            "piece_count",
        ),
        (
            say(receipt("coarse-foam-150", 1_000_000)),
            Reason::QuantityInvalid,
            "piece_count",
        ),
        (
            say(Receipt {
                tags: vec![tag("P-01")],
                ..receipt("fine-foam-150", 1)
            }),
            Reason::TagTaken,
            "tags",
        ),
        (
            say(Receipt {
                tags: vec![tag("P-91"), tag("P-91")],
                ..receipt("fine-foam-150", 0)
            }),
            Reason::TagTaken,
            "tags",
        ),
        (
            say(receipt("edgeless-towel-400g", 1)),
            Reason::FieldMissing,
            "towel_count",
        ),
        (
            say(Receipt {
                lot: "L1".into(),
                ..receipt("coarse-foam-150", 1)
            }),
            Reason::FieldInvalid,
            "lot",
        ),
        (
            say(Receipt {
                expiry: Some("2026-03-03".parse().unwrap()),
                ..receipt("fine-polish-500ml", 1)
            }),
            Reason::FieldInvalid,
            "expiry_date",
        ),
        (
            say(Receipt {
                said: Said {
                    done_at: Some(at("2026-03-09 08:00")),
                    ..Said::default()
                },
                ..receipt("fine-foam-150", 1)
            }),
            Reason::TimeFuture,
            "done_time",
        ),
    ] {
        refused(&mut shop, command, reason, field);
    }
}

#[test]
fn bookings_that_make_no_sense() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let book = |job: Job| Command::BookJob { job };
    let job = || saloon_job("friday", "2026-03-06 08:00");
    for (command, reason, field) in [
        (
            book(saloon_job("friday", "2026-03-01 08:00")),
            Reason::TimePast,
            "job.start_time",
        ),
        (
            book(saloon_job("friday", "2066-03-01 08:00")),
            Reason::FieldInvalid,
            "job.start_time",
        ),
        (
            book(Job {
                utc_offset_s: 64_801,
                ..job()
            }),
            Reason::FieldInvalid,
            "job.utc_offset_s",
        ),
        (
            book(saloon_job("thursday", "2026-03-06 08:00")),
            Reason::IdTaken,
            "job.job",
        ),
        (
            book(Job {
                car: id("other"),
                ..job()
            }),
            Reason::CarUnknown,
            "job.car",
        ),
        (
            book(Job {
                routine: id("other"),
                ..job()
            }),
            Reason::RoutineUnknown,
            "job.routine",
        ),
        (
            book(Job {
                left_out: Panel::ALL.to_vec(),
                ..job()
            }),
            Reason::NoPlan,
            "job.left_out_panels",
        ),
        (
            Command::LogJob(Box::new(JobLog {
                job: Some(id("unheard-of")),
                ..JobLog::default()
            })),
            Reason::JobUnknown,
            "job",
        ),
    ] {
        refused(&mut shop, command, reason, field);
    }
}

#[test]
fn routines_that_make_no_sense() {
    let mut shop = Shop::new();
    let routine = |step| Command::CreateRoutine {
        routine: routine("odd", vec![step]),
    };
    let good = || step("cut", "coarse-foam-150", "coarse-compound-1l");
    let mut narrow = good();
    narrow.side_mm = Some(Length::from_mm(150));
    let mut fast = good();
    fast.speed_per_min = Some(9000);
    for (step, reason, field) in [
        (
            step("cut", "plate-125-m8", "coarse-compound-1l"),
            Reason::WrongSort,
            "routine.steps.cut.pad_make",
        ),
        (
            step("cut", "unheard-of", "coarse-compound-1l"),
            Reason::MakeUnknown,
            "routine.steps.cut.pad_make",
        ),
        (narrow, Reason::QuantityInvalid, "routine.steps.cut.side_mm"),
        (
            fast,
            Reason::QuantityInvalid,
            "routine.steps.cut.speed_per_min",
        ),
    ] {
        refused(&mut shop, routine(step), reason, field);
    }
}

#[test]
fn two_steps_of_one_name_and_two_notes_on_one_panel() {
    let mut shop = Shop::new();
    let step = step("cut", "coarse-foam-150", "coarse-compound-1l");
    let twice = Command::CreateRoutine {
        routine: routine("odd", vec![step.clone(), step]),
    };
    refused(&mut shop, twice, Reason::FieldInvalid, "routine.steps.cut");
    let was = shop.book.car(&id("medium-saloon-silver")).unwrap();
    let was = was.as_ref().clone();
    let roof = PanelNote {
        panel: Panel::Roof,
        area_mm2: None,
        left_out: true,
        split: None,
        film_um: None,
    };
    let mut car = was.clone();
    car.panels = vec![roof.clone(), roof];
    refused(
        &mut shop,
        Command::EditCar { was, car },
        Reason::FieldInvalid,
        "car.panels",
    );
}

#[test]
fn a_make_that_would_become_another_sort_of_thing() {
    let mut shop = Shop::new();
    let was = shop.book.make(&id("coarse-foam-150")).unwrap();
    let was = was.as_ref().clone();
    let edit = Command::EditMake {
        make: Make {
            figures: plate(125, None),
            ..was.clone()
        },
        was,
    };
    refused(&mut shop, edit, Reason::WrongSort, "make.figures");
}

#[test]
fn an_edit_of_what_somebody_else_changed() {
    let mut shop = Shop::new();
    let was = shop
        .book
        .make(&id("coarse-foam-150"))
        .unwrap()
        .as_ref()
        .clone();
    let first = Make {
        note: "first".into(),
        ..was.clone()
    };
    shop.say(Command::EditMake {
        was: was.clone(),
        make: first,
    });
    let second = Make {
        note: "second".into(),
        ..was.clone()
    };
    refused(
        &mut shop,
        Command::EditMake { was, make: second },
        Reason::ChangedMeanwhile,
        "make",
    );
}

#[test]
fn policies_are_changed_all_or_none() {
    let mut shop = Shop::new();
    let set = |changes: &[(PolicyKey, Option<i64>)]| Command::SetPolicies {
        changes: changes.to_vec(),
        note: String::new(),
    };
    let bad = set(&[
        (PolicyKey::SparePadsCount, Some(2)),
        (PolicyKey::DotUl, Some(9_000)),
    ]);
    refused(&mut shop, bad, Reason::QuantityInvalid, "changes.dot_ul");
    // Each change is held against those before it.
    shop.say(set(&[
        (PolicyKey::FilmOrdinaryUm, Some(130)),
        (PolicyKey::FilmCautionUm, Some(120)),
    ]));
    shop.say(set(&[(PolicyKey::DotUl, Some(300))]));
    assert_eq!(shop.book.policy().value(PolicyKey::DotUl), 300);
    shop.say(set(&[(PolicyKey::DotUl, None)]));
    assert_eq!(shop.book.policy().value(PolicyKey::DotUl), 250);
}

#[test]
fn a_sundry_keeps_the_unit_it_is_counted_in() {
    let mut shop = Shop::stocked();
    let was = shop
        .book
        .make(&id("nitrile-gloves"))
        .unwrap()
        .as_ref()
        .clone();
    let mut other = was.clone();
    let Figures::Sundry(sundry) = &mut other.figures else {
        panic!("a sundry")
    };
    sundry.unit = Unit::Piece;
    refused(
        &mut shop,
        Command::EditMake { was, make: other },
        Reason::WrongSort,
        "make.sundry.unit",
    );
}

/// Two names that look alike are alike, and a line ends where it seems to.
#[test]
fn marks_that_nobody_sees_are_named_by_their_code_point() {
    let mut shop = Shop::stocked();
    let moved = |note: &str| Command::Move {
        said: Said {
            note: note.to_owned(),
            ..Said::default()
        },
        tags: vec![tag("P-01")],
        place: "van-a".parse().unwrap(),
    };
    for (mark, told) in [
        ('\u{200b}', "U+200B"),
        ('\u{2028}', "U+2028"),
        ('\u{2029}', "U+2029"),
        ('\u{202e}', "U+202E"),
        ('\u{feff}', "U+FEFF"),
    ] {
        let note = format!("to{mark}day");
        let said = shop.try_say(moved(&note)).unwrap_err();
        assert!(
            said.what.contains(told) && !said.what.contains(mark),
            "{said}"
        );
        refused(&mut shop, moved(&note), Reason::FieldInvalid, "note");
        let named = Command::CreateMake {
            make: Make {
                name: note,
                ..make("x", foam(Grade::Coarse, 150))
            },
        };
        refused(&mut shop, named, Reason::FieldInvalid, "make.name");
    }
    shop.say(moved("na\u{ef}ve \u{26a0}\u{fe0f} 150 \u{b5}m"));
}
