//! Goal: what a shop begins with is one entry, comes to the same as command by command, and is taken back
//! as one.
//!
//! Method: starter kits on an empty book and on one in use; the outside measure is the commands that were
//! there before, said one by one, and the arithmetic of what a bottle weighs.

use fettlebook_model::check::{Verdict, check_jobs};
use fettlebook_model::command::{NotebookRow, OfRow, Start, StartPiece, StartPrice, Weighing};
use fettlebook_model::film::FilmReadings;
use fettlebook_model::job::{Car, Job};
use fettlebook_model::kit::Readiness;
use fettlebook_model::make::Make;
use fettlebook_model::starter::StarterKit;
use fettlebook_model::{Command, Reason, Record, Subject};
use fettlebook_quantity::{Mass, Volume};

use crate::shop::{Shop, at, eur, flags, id, receipt, records, saloon_job, tag};

/// A row of pieces with nothing more said of them.
fn piece(make: &str, count: i64) -> OfRow<StartPiece> {
    OfRow {
        row: 0,
        what: StartPiece {
            receipt: receipt(make, count),
            job_count: None,
            full_permille: None,
            gross_mg: None,
        },
    }
}

fn with(mut row: OfRow<StartPiece>, more: impl FnOnce(&mut StartPiece)) -> OfRow<StartPiece> {
    more(&mut row.what);
    row
}

fn saloon() -> Car {
    Car {
        id: id("medium-saloon-silver"),
        class: "medium-saloon".parse().unwrap(),
        note: "silver".to_owned(),
        dimensions: None,
        panels: Vec::new(),
        film: FilmReadings::default(),
    }
}

fn job() -> Job {
    saloon_job("thursday", "2026-03-05 08:00")
}

/// Three machines with plates; 5, 6, 4 and 4 pads of which two are used; three liquids at three quarters,
/// full and 431 g; 24 towels; gloves, tape, wipe and a brush; a saloon tomorrow at eight.
fn three_machines() -> Start {
    let mut pieces: Vec<_> = ["orbital-150", "orbital-75", "spindle-30"]
        .into_iter()
        .chain(["plate-125-m8", "plate-75-m8", "plate-20-m6"])
        .chain([
            "nitrile-gloves-50",
            "masking-tape-50",
            "panel-wipe-1l",
            "pad-brush",
        ])
        .map(|make| piece(make, 1))
        .collect();
    pieces.extend([
        piece("coarse-foam-150", 3),
        with(piece("coarse-foam-150", 2), |two| two.job_count = Some(8)),
        piece("fine-foam-150", 6),
        piece("medium-foam-80", 4),
        piece("pencil-foam-30", 4),
        with(piece("coarse-compound-1l", 1), |bottle| {
            bottle.full_permille = Some(750)
        }),
        piece("medium-polish-500ml", 1),
        with(piece("fine-polish-500ml", 1), |bottle| {
            bottle.gross_mg = Some(Mass::from_mg(431_000));
        }),
        with(piece("edgeless-towel-400g", 1), |bundle| {
            bundle.receipt.towel_count = 24
        }),
    ]);
    Start {
        kit: Some(StarterKit::BigSmallPencil),
        pieces,
        car: Some(saloon()),
        job: Some(job()),
        ..Start::default()
    }
}

fn start(shop: &mut Shop, start: Start) -> Result<Vec<String>, (Reason, String, String)> {
    match shop.try_say(Command::Start(Box::new(start))) {
        Ok(entry) => Ok(flags(entry).into_iter().map(str::to_owned).collect()),
        Err(refusal) => Err((refusal.reason, refusal.field, refusal.what)),
    }
}

/// Records of what stands, without the numbers of the entries that touched them.
fn standing(shop: &Shop) -> Vec<(Subject, String)> {
    let records = records(&shop.book).into_iter();
    let stands = records.filter(|(_, record)| *record != Record::TakenBack);
    stands
        .map(|(subject, record)| (subject, unnumbered(record)))
        .collect()
}

fn unnumbered(record: Record) -> String {
    match record {
        Record::Piece(piece) => {
            let mut piece = piece.as_ref().clone();
            piece.last_seq = Default::default();
            piece.counted = None;
            // A reading knows its entry, to tell it from others of the same moment.
            let told = format!("{piece:?}");
            let parts = told.split("AtOnce(Seq(").enumerate();
            let without = parts.map(|(at, part)| match at {
                0 => part,
                _ => part.trim_start_matches(|c: char| c.is_ascii_digit()),
            });
            without.collect::<Vec<_>>().join("AtOnce(Seq(")
        }
        Record::Job(job) => {
            let mut job = job.as_ref().clone();
            job.last_seq = Default::default();
            format!("{job:?}")
        }
        other => format!("{other:?}"),
    }
}

#[test]
fn an_empty_book_has_all_of_it_after_one_entry_and_its_job_can_be_checked() {
    let mut shop = Shop::empty();
    let said = start(&mut shop, three_machines()).unwrap();
    assert_eq!(shop.entries.len(), 1);
    assert_eq!(
        shop.book.pieces().count(),
        3 + 3 + 5 + 6 + 4 + 4 + 3 + 1 + 4
    );
    assert_eq!(shop.book.routines().count(), 2);
    // 750 of 1000 mL, and 431 g less 55 g of bottle at 1.05 g/mL: 358.095 mL.
    assert_eq!(shop.left_ul("B-01"), 750_000);
    assert_eq!(shop.left_ul("B-03"), 358_095);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].contains("B-03") && said[0].contains("from memory"),
        "{said:?}"
    );
    let checks = check_jobs(&shop.book, &[id("thursday")], shop.now).unwrap();
    let check = &checks[0];
    // Nobody read the plates' ratings, nor measured the paint: that is watched, and nothing is short.
    assert_eq!(check.verdict, Verdict::Watch, "{check:#?}");
}

/// Twice the same: once as one start, once command by command.
#[test]
fn it_comes_to_the_same_as_command_by_command() {
    let mut started = Shop::empty();
    start(&mut started, three_machines()).unwrap();
    let mut by_hand = Shop::empty();
    let kit = StarterKit::BigSmallPencil;
    for one in kit.makes() {
        by_hand.say(Command::CreateMake { make: one.make });
    }
    for routine in kit.routines() {
        by_hand.say(Command::CreateRoutine { routine });
    }
    for make in [
        "orbital-150",
        "orbital-75",
        "spindle-30",
        "plate-125-m8",
        "plate-75-m8",
    ] {
        by_hand.receive(make, 1);
    }
    for make in [
        "plate-20-m6",
        "nitrile-gloves-50",
        "masking-tape-50",
        "panel-wipe-1l",
        "pad-brush",
    ] {
        by_hand.receive(make, 1);
    }
    by_hand.receive("coarse-foam-150", 3);
    let used = |pad: &str| NotebookRow {
        line: 1,
        tag: tag(pad),
        make: id("coarse-foam-150"),
        place: id("bench"),
        behind: fettlebook_model::command::Behind::Jobs(8),
        wash_count: 8,
        readiness: Readiness::Ready,
        date: None,
        landed: None,
    };
    by_hand.say(Command::ImportPads {
        note: String::new(),
        rows: vec![used("P-04"), used("P-05")],
    });
    by_hand.receive("fine-foam-150", 6);
    by_hand.receive("medium-foam-80", 4);
    by_hand.receive("pencil-foam-30", 4);
    let left = |ul| {
        move |receipt: &mut fettlebook_model::command::Receipt| {
            receipt.volume_ul = Some(Volume::from_ul(ul));
        }
    };
    by_hand.receive_as("coarse-compound-1l", 1, left(750_000));
    by_hand.receive("medium-polish-500ml", 1);
    by_hand.receive_as("fine-polish-500ml", 1, left(358_095));
    by_hand.say(Command::Weigh {
        said: Default::default(),
        weighings: vec![Weighing {
            tag: tag("B-03"),
            gross_mg: Mass::from_mg(431_000),
        }],
    });
    by_hand.receive_as("edgeless-towel-400g", 1, |bundle| bundle.towel_count = 24);
    by_hand.say(Command::CreateCar { car: saloon() });
    by_hand.say(Command::BookJob { job: job() });
    assert_eq!(standing(&started), standing(&by_hand));
}

#[test]
fn one_reversal_takes_all_of_it_back_and_it_can_be_started_again() {
    let mut shop = Shop::empty();
    start(&mut shop, three_machines()).unwrap();
    let seq = shop.book.head();
    shop.reverse(seq).unwrap();
    assert_eq!(shop.book.makes().count() + shop.book.routines().count(), 0);
    assert_eq!(shop.book.pieces().count() + shop.book.cars().count(), 0);
    assert_eq!(shop.book.booked_job_count(), 0);
    // Tags may be on things already, and the job may be on a device: those are given once.
    let again = Start {
        job: None,
        ..three_machines()
    };
    start(&mut shop, again).unwrap();
    assert!(shop.book.make(&id("coarse-foam-150")).is_some());
    assert!(shop.book.piece(tag("P-01")).is_none());
    assert!(shop.book.piece(tag("P-20")).is_some());
    let replayed = crate::shop::replayed(&shop.entries);
    assert_eq!(crate::shop::restored(&shop.book), replayed);
}

#[test]
fn what_was_used_since_is_not_taken_back() {
    let mut shop = Shop::empty();
    start(&mut shop, three_machines()).unwrap();
    let seq = shop.book.head();
    shop.move_to("P-01", "van-a");
    let refused = shop.reverse(seq).unwrap_err();
    assert_eq!(refused.reason, Reason::NotReversible);
    assert!(refused.what.contains("P-01"), "{}", refused.what);
}

#[test]
fn on_a_book_in_use_only_what_is_missing_is_added() {
    let mut shop = Shop::stocked();
    let held = shop.book.make(&id("coarse-foam-150")).unwrap().clone();
    let routine = shop.book.routine(&id("two-step")).unwrap().clone();
    let more = Start {
        kit: Some(StarterKit::BigSmall),
        pieces: vec![piece("medium-foam-80", 4)],
        ..Start::default()
    };
    start(&mut shop, more).unwrap();
    assert_eq!(shop.book.make(&id("coarse-foam-150")), Some(&held));
    assert_eq!(shop.book.routine(&id("two-step")), Some(&routine));
    assert!(shop.book.routine(&id("one-step")).is_some());
    assert_eq!(shop.book.pieces_of(&id("medium-foam-80")).count(), 4);
    let nothing = Start {
        kit: Some(StarterKit::BigSmall),
        ..Start::default()
    };
    let (reason, _, what) = start(&mut shop, nothing).unwrap_err();
    assert_eq!(reason, Reason::FieldInvalid);
    assert!(what.contains("nothing to add"), "{what}");
}

#[test]
fn all_that_is_wrong_is_found_by_its_row_and_nothing_is_set_up() {
    let mut shop = Shop::empty();
    let row = |row, mut piece: OfRow<StartPiece>| {
        piece.row = row;
        piece
    };
    let mut wrong = three_machines();
    wrong.pieces.extend([
        row(3, piece("velvet-150", 1)),
        row(
            4,
            with(piece("fine-foam-150", 1), |pad| {
                pad.full_permille = Some(500)
            }),
        ),
        row(
            5,
            with(piece("fine-polish-500ml", 1), |bottle| {
                bottle.full_permille = Some(500);
                bottle.gross_mg = Some(Mass::from_mg(300_000));
            }),
        ),
        row(6, piece("edgeless-towel-400g", 1)),
        row(
            7,
            with(piece("fine-polish-500ml", 1), |bottle| {
                bottle.receipt.volume_ul = Some(Volume::from_ul(600_000));
            }),
        ),
    ]);
    let found = fettlebook_model::decide::start_problems(&shop.book, &wrong, shop.now);
    let found: Vec<_> = found
        .iter()
        .map(|problem| (problem.line, problem.refusal.field.as_str()))
        .collect();
    assert_eq!(
        found,
        [
            (3, "make"),
            (4, "full_permille"),
            (5, "gross_mg"),
            (6, "towel_count"),
            (7, "volume_ul"),
        ]
    );
    let (reason, field, what) = start(&mut shop, wrong).unwrap_err();
    assert_eq!((reason, field.as_str()), (Reason::MakeUnknown, "make"));
    assert!(
        what.starts_with("Row 3: ") && what.ends_with("There are 4 more problems."),
        "{what}"
    );
    assert_eq!(shop.entries.len(), 0);
}

#[test]
fn a_price_goes_to_a_make_that_has_none_and_what_the_policy_gave_stays_the_policys() {
    let mut shop = Shop::empty();
    let price = |amount| OfRow {
        row: 1,
        what: StartPrice {
            make: id("coarse-foam-150"),
            price: eur(amount),
            pack_count: Some(2),
        },
    };
    let mut first = three_machines();
    first.prices = vec![price("18.90")];
    start(&mut shop, first).unwrap();
    let held = |shop: &Shop| Make::clone(shop.book.make(&id("coarse-foam-150")).unwrap());
    assert_eq!(
        (held(&shop).price, held(&shop).pack_count),
        (Some(eur("18.90")), 2)
    );
    let later = Start {
        prices: vec![
            price("21.00"),
            OfRow {
                row: 2,
                what: StartPrice {
                    make: id("fine-foam-150"),
                    price: eur("17.90"),
                    pack_count: None,
                },
            },
        ],
        ..Start::default()
    };
    start(&mut shop, later).unwrap();
    assert_eq!(held(&shop).price, Some(eur("18.90")));
    let fine = shop.book.make(&id("fine-foam-150")).unwrap();
    assert_eq!(fine.price, Some(eur("17.90")));
    assert_eq!(fine.filled, held(&shop).filled);
    assert!(!fine.filled.as_ref().unwrap().is_empty());
}

/// 555 g are 500 mL at 1.05 g/mL and 30 g of bottle, so that 431 g hold 381.905 mL.
#[test]
fn a_full_bottle_on_the_scale_says_what_the_first_weight_meant() {
    let mut shop = Shop::empty();
    start(&mut shop, three_machines()).unwrap();
    shop.receive("fine-polish-500ml", 1);
    shop.now = at("2026-03-04 17:00");
    shop.say(Command::Weigh {
        said: Default::default(),
        weighings: vec![Weighing {
            tag: tag("B-04"),
            gross_mg: Mass::from_mg(555_000),
        }],
    });
    assert_eq!(shop.left_ul("B-03"), 381_905);
}
