//! What the check says, and that it says why.

use fettlebook_model::Command;
use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::command::{Receipt, Said};
use fettlebook_model::job::PanelNote;
use fettlebook_model::plan::plan_job;
use fettlebook_model::wear::Work;
use fettlebook_quantity::Thickness;

use crate::shop::{Shop, id, make, plate, receipt, step, tag};

fn check(shop: &Shop, jobs: &[&str]) -> Vec<JobCheck> {
    let ids: Vec<_> = jobs.iter().map(|job| id(job)).collect();
    check_jobs(&shop.book, &ids, shop.now).unwrap()
}

fn line<'a>(check: &'a JobCheck, kind: LineKind, step: Option<&str>) -> &'a Line {
    let step = step.map(id);
    check
        .lines
        .iter()
        .find(|line| line.kind == kind && line.step == step)
        .unwrap()
}

/// Source: MODELS' medium saloon panels at 450 mm sections, worked by hand: bonnet and roof 8 each,
/// boot 6, doors 5+5+4+4, wings 3+3, quarters 5+5, bumpers 6+7, sills 2+2, pillars and mirrors 1
/// each: 77. 77/18 is 5 pads, 77/25 is 4; 5·6 + 72·3 = 246 dots of 250 µL, 4·6 + 73·3 = 243.
/// 154 cells of 8 a towel: 20 towels.
#[test]
fn a_two_step_on_a_medium_saloon_needs_what_the_geometry_says() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let plan = plan_job(&shop.book, shop.book.job(&id("thursday")).unwrap()).unwrap();
    let [cut, finish] = plan.steps.as_slice() else {
        panic!("two steps")
    };
    assert_eq!(
        (cut.section_count, cut.pad_count, cut.volume.ul()),
        (77, 5, 61_500)
    );
    assert_eq!(
        (finish.section_count, finish.pad_count, finish.volume.ul()),
        (77, 4, 60_750)
    );
    assert_eq!((cut.section_time_ms, cut.time_ms), (144_000, 77 * 144_000));
    assert_eq!((plan.towel_count, plan.area.mm2()), (20, 12_200_000));
}

#[test]
fn kit_that_is_all_there_goes_once_the_film_is_measured() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let film = line(&checks[0], LineKind::Film, None);
    assert_eq!(film.verdict, Verdict::Watch);
    assert!(film.reason.contains("not measured"), "{}", film.reason);
    let others = checks[0]
        .lines
        .iter()
        .filter(|line| line.kind != LineKind::Film);
    for line in others {
        assert!(line.short == 0 && line.verdict != Verdict::Stop, "{line:?}");
    }
    assert_eq!(checks[0].verdict, Verdict::Watch);
}

#[test]
fn soiled_towels_stop_the_job_and_the_line_says_wash_by_when() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-06 08:00");
    shop.say(Command::Count {
        said: Said::default(),
        tag: tag("T-01"),
        count: fettlebook_model::command::Counted {
            clean_count: Some(14),
            soiled_count: Some(10),
            quantity: None,
        },
    });
    let checks = check(&shop, &["thursday"]);
    let towels = line(&checks[0], LineKind::Towel, None);
    assert_eq!((towels.need, towels.have, towels.short), (20, 14, 6));
    assert_eq!(towels.verdict, Verdict::Stop);
    assert!(
        towels.todos[0].contains("Wash T-01 by Thu 5 Mar 2026 08:00"),
        "{:?}",
        towels.todos
    );
    shop.say(Command::Wash {
        said: Said::default(),
        tags: vec![tag("T-01")],
    });
    assert_eq!(
        line(&check(&shop, &["thursday"])[0], LineKind::Towel, None).short,
        0
    );
}

/// Basis: common practice, no source: thin foam dries 24 h.
#[test]
fn a_pad_washed_at_six_is_not_ready_at_eight_unless_marked_dry() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-04 18:00");
    let pads = ["P-01", "P-02"].map(tag).to_vec();
    shop.say(Command::Wash {
        said: Said::default(),
        tags: pads.clone(),
    });
    let checks = check(&shop, &["thursday"]);
    let cut = line(&checks[0], LineKind::Pad, Some("cut"));
    assert_eq!(
        (cut.need, cut.have, cut.short, cut.verdict),
        (6, 5, 1, Verdict::Stop)
    );
    assert!(
        cut.reason.contains("Drying: P-01 and P-02"),
        "{}",
        cut.reason
    );
    shop.say(Command::MarkDry {
        said: Said::default(),
        tags: pads,
    });
    assert_eq!(
        line(&check(&shop, &["thursday"])[0], LineKind::Pad, Some("cut")).have,
        7
    );
}

/// Source: the marked-speed rule of tool-safety standards (IEC 62841-2-4, ISO 11148-8): an
/// accessory's rated speed is at least the machine's marked speed.
#[test]
fn a_plate_rated_below_the_machine_is_refused() {
    let mut shop = Shop::stocked();
    shop.say(Command::Bin {
        said: Said::default(),
        tags: vec![tag("BP-01")],
        reason: "lost".parse().unwrap(),
        count: None,
    });
    shop.say(Command::CreateMake {
        make: make("plate-slow", plate(135, Some(4_000))),
    });
    shop.receive("plate-slow", 1);
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let line = line(&checks[0], LineKind::Plate, Some("cut"));
    assert_eq!((line.short, line.verdict), (1, Verdict::Stop));
    assert!(
        line.reason
            .contains("BP-02 is rated 4000/min, below the machine's 5000/min"),
        "{}",
        line.reason
    );
    assert!(line.picks.is_empty());
}

#[test]
fn a_plate_of_unknown_rating_is_watched() {
    let mut shop = Shop::new();
    shop.say(Command::Bin {
        said: Said::default(),
        tags: vec![tag("BP-01")],
        reason: "lost".parse().unwrap(),
        count: None,
    });
    shop.say(Command::CreateMake {
        make: make("plate-unmarked", plate(135, None)),
    });
    shop.receive("plate-unmarked", 1);
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    assert_eq!(
        line(&checks[0], LineKind::Plate, Some("cut")).verdict,
        Verdict::Watch
    );
}

/// Basis: common practice, no source: liquid and grade never go backwards, washed or not.
#[test]
fn a_pad_that_carried_compound_is_not_offered_for_polish() {
    let mut shop = Shop::stocked();
    shop.say(Command::CreateRoutine {
        routine: fettlebook_model::job::Routine {
            id: id("finish-on-coarse-foam"),
            name: "finish on coarse foam".into(),
            steps: vec![step("finish", "coarse-foam-150", "fine-polish-500ml")],
            towel_make: None,
            cells_per_section: None,
            sundries: Vec::new(),
        },
    });
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 14:00");
    shop.log("thursday");
    let used = ["P-01", "P-02", "P-03", "P-04", "P-05"].map(tag).to_vec();
    shop.say(Command::Wash {
        said: Said::default(),
        tags: used,
    });
    shop.say(Command::BookJob {
        job: fettlebook_model::job::Job {
            routine: id("finish-on-coarse-foam"),
            ..crate::shop::saloon_job("monday", "2026-03-09 08:00")
        },
    });
    let checks = check(&shop, &["monday"]);
    let pads = line(&checks[0], LineKind::Pad, Some("finish"));
    assert_eq!(pads.have, 2);
    assert!(
        pads.reason
            .contains("Carried a coarser liquid: P-01, P-02, P-03, P-04 and P-05"),
        "{}",
        pads.reason
    );
}

#[test]
fn cutting_takes_worn_pads_first_and_finishing_the_least_worn() {
    let mut shop = Shop::new();
    for (make, half) in [("coarse-foam-150", 65), ("fine-foam-150", 55)] {
        shop.receive(make, 3);
        shop.say(Command::Receive(Box::new(Receipt {
            work: Some(Work::from_micro_sections(half * 1_000_000)),
            ..receipt(make, 1)
        })));
    }
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let first = |step| line(&checks[0], LineKind::Pad, Some(step)).picks[0].tag;
    let last = |step| line(&checks[0], LineKind::Pad, Some(step)).picks[3].tag;
    assert_eq!(first("cut"), tag("P-04"));
    assert_eq!(last("finish"), tag("P-08"));
}

#[test]
fn the_second_job_of_a_day_meets_the_towels_and_pads_the_first_left() {
    let mut shop = Shop::stocked();
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    let checks = check(&shop, &["evening", "morning"]);
    assert_eq!(checks[0].job.id, id("morning"));
    assert_eq!(line(&checks[0], LineKind::Towel, None).short, 0);
    assert_eq!(line(&checks[1], LineKind::Towel, None).have, 4);
    assert_eq!(line(&checks[1], LineKind::Pad, Some("cut")).have, 2);
    assert_eq!(checks[1].verdict, Verdict::Stop);
    let alone = check(&shop, &["evening"]);
    assert_eq!(line(&alone[0], LineKind::Towel, None).short, 0);
}

/// Source: ISO 5349-1, A(8) = a·sqrt(T/8 h), by hand: 2·77·144 s = 22176 s at 2 m/s²
/// is 2·sqrt(22176/28800) = 1.755; two such jobs a day 2.482.
#[test]
fn vibration_adds_up_over_the_day() {
    let mut shop = Shop::stocked();
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    let checks = check(&shop, &["morning", "evening"]);
    assert!((checks[0].exposure.a8_m_per_s2 - 1.755).abs() < 5e-4);
    assert!((checks[1].exposure.a8_m_per_s2 - 2.482).abs() < 5e-4);
}

/// Basis: common practice, no source: 80 to 90 µm fine only; below 70 µm nothing abrasive.
#[test]
fn thin_paint_stops_the_cut_and_names_the_panel() {
    let mut shop = Shop::stocked();
    let was = shop
        .book
        .car(&id("medium-saloon-silver"))
        .unwrap()
        .as_ref()
        .clone();
    let mut car = was.clone();
    car.panels.push(PanelNote {
        panel: "roof".parse().unwrap(),
        area_mm2: None,
        left_out: false,
        film_um: Some(Thickness::from_um(84)),
    });
    shop.say(Command::EditCar { was, car });
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let film = line(&checks[0], LineKind::Film, None);
    assert_eq!(film.verdict, Verdict::Stop);
    assert!(film.reason.contains("roof 84 µm"), "{}", film.reason);
    assert!(
        film.todos
            .iter()
            .any(|todo| todo.contains("Leave roof out")),
        "{:?}",
        film.todos
    );
}

/// Source: stock.json, fefo-newer-receipt-first and the rule *usable on the expiry day*.
#[test]
fn the_bottle_that_expires_first_is_poured_first_and_not_after_its_day() {
    let mut shop = Shop::stocked();
    for day in ["2026-03-05", "2026-03-04", "2027-01-01"] {
        shop.say(Command::Receive(Box::new(Receipt {
            expiry: Some(day.parse().unwrap()),
            volume_ul: Some(fettlebook_quantity::Volume::from_ul(40_000)),
            ..receipt("coarse-compound-1l", 1)
        })));
    }
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let compound = line(&checks[0], LineKind::Liquid, Some("cut"));
    let picks: Vec<_> = compound
        .picks
        .iter()
        .map(|pick| (pick.tag, pick.quantity))
        .collect();
    assert_eq!(picks, [(tag("B-03"), 40_000), (tag("B-05"), 21_500)]);
    assert!(
        compound.reason.contains("Past the date on the day: B-04"),
        "{}",
        compound.reason
    );
}

#[test]
fn kit_in_the_van_counts_and_must_be_moved() {
    let mut shop = Shop::stocked();
    shop.say(Command::Move {
        said: Said::default(),
        tags: vec![tag("T-01")],
        place: id("van-a"),
    });
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let towels = line(&checks[0], LineKind::Towel, None);
    assert_eq!((towels.short, towels.verdict), (0, Verdict::Watch));
    assert_eq!(towels.todos, ["Move T-01 from van-a to bench."]);
}

#[test]
fn a_pad_set_aside_or_spent_is_not_counted() {
    let mut shop = Shop::stocked();
    shop.say(Command::SetAside {
        said: Said::default(),
        tags: vec![tag("P-01")],
        reason: "dropped".parse().unwrap(),
    });
    shop.say(Command::Receive(Box::new(Receipt {
        work: Some(Work::from_micro_sections(130_000_000)),
        ..receipt("coarse-foam-150", 1)
    })));
    shop.say(Command::SetAside {
        said: Said::default(),
        tags: vec![tag("P-02")],
        reason: "inspect".parse().unwrap(),
    });
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let cut = line(&checks[0], LineKind::Pad, Some("cut"));
    assert_eq!(cut.have, 5);
    assert!(
        cut.reason.contains("Set aside: P-01 and P-02"),
        "{}",
        cut.reason
    );
    assert!(cut.reason.contains("Spent: P-13"), "{}", cut.reason);
}

#[test]
fn a_check_reads_the_book_and_leaves_it_as_it_was() {
    let mut shop = Shop::stocked();
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    let before = shop.book.clone();
    check(&shop, &["morning", "evening"]);
    assert_eq!(shop.book, before);
}

#[test]
fn the_log_takes_what_the_check_picked() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let picked: Vec<_> = checks[0]
        .lines
        .iter()
        .filter(|line| line.kind == LineKind::Pad)
        .flat_map(|line| &line.picks)
        .filter(|pick| !pick.spare)
        .map(|pick| pick.tag)
        .collect();
    shop.go_to("2026-03-05 15:00");
    let used: Vec<_> = shop
        .log("thursday")
        .deeds
        .iter()
        .filter_map(|deed| match deed {
            fettlebook_model::Deed::PadUsed { tag, .. } => Some(*tag),
            _ => None,
        })
        .collect();
    assert_eq!(used, picked);
}
