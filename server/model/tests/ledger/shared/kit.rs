//! The kit for a step that three machines share: each plate, pad, liquid, film and minute is looked at for each.

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::job::{PanelNote, Step};
use fettlebook_model::make::Figures;
use fettlebook_model::panel::Panel;
use fettlebook_model::plan::Plan;
use fettlebook_model::reach::Reach;
use fettlebook_model::{Command, Deed, Id};
use fettlebook_quantity::Thickness;
use fettlebook_shed::step;

use super::{book_all, cut, part, plan, share, shop_of};
use crate::shop::{Shop, id, pad_use, plate, tag};

fn checked(shop: &Shop) -> JobCheck {
    let mut checks = check_jobs(&shop.book, &[id("shared")], shop.now).unwrap();
    checks.remove(0)
}

fn lines(check: &JobCheck, kind: LineKind) -> Vec<&Line> {
    let lines = check.lines.iter();
    lines.filter(|line| line.kind == kind).collect()
}

/// The names of the steps that a sort of line is about.
fn steps_of(check: &JobCheck, kind: LineKind) -> Vec<&str> {
    let lines = lines(check, kind).into_iter();
    lines
        .filter_map(|line| line.step.as_ref().map(Id::as_str))
        .collect()
}

#[test]
fn machines_plates_and_pads_are_looked_for_by_share_and_picked_once() {
    let shop = shop_of(cut());
    let check = checked(&shop);
    let all = ["cut", "cut-spot", "cut-pencil"];
    for kind in [LineKind::Machine, LineKind::Plate, LineKind::Pad] {
        assert_eq!(steps_of(&check, kind), all, "{kind:?}");
    }
    // One liquid for all: a line, with 41.25, 8.5 and 1.25 mL.
    let [liquid] = lines(&check, LineKind::Liquid)[..] else {
        panic!("one liquid")
    };
    assert_eq!(liquid.need, 51_000);
    let pads = lines(&check, LineKind::Pad).into_iter();
    let tags: Vec<_> = pads
        .flat_map(|line| line.picks.iter().map(|pick| pick.tag))
        .collect();
    let mut once = tags.clone();
    once.sort();
    once.dedup();
    assert_eq!(once.len(), tags.len());
    // What nobody knows of the saloon's film is watched; nothing stops.
    assert_eq!(check.verdict, Verdict::Watch);
}

/// The pencil pads of the cut work with the polish of the finish, which takes most of it.
#[test]
fn a_liquid_is_told_of_the_step_whose_own_machine_works_with_it() {
    let mut polished = cut();
    polished.shares[1] = share("cut", Reach::Pencil, "pencil-foam-30", "fine-polish-500ml");
    let mut shop = shop_of(polished.clone());
    let liquids = |shop: &Shop, job: &str| -> Vec<(String, String)> {
        let check = check_jobs(&shop.book, &[id(job)], shop.now)
            .unwrap()
            .remove(0);
        let lines = lines(&check, LineKind::Liquid).into_iter();
        let of = |line: &Line| {
            let (step, make) = (line.step.as_ref().unwrap(), line.make.as_ref().unwrap());
            (step.to_string(), make.to_string())
        };
        lines.map(of).collect()
    };
    let told = |told: &[(&str, &str)]| -> Vec<(String, String)> {
        let owned = told
            .iter()
            .map(|(step, make)| ((*step).to_owned(), (*make).to_owned()));
        owned.collect()
    };
    // Where no own machine works with it, it is told of the step that is shared.
    let alone = [("cut", "coarse-compound-1l"), ("cut", "fine-polish-500ml")];
    assert_eq!(liquids(&shop, "shared"), told(&alone));
    let finish = step("finish", "fine-foam-150", "fine-polish-500ml");
    book_all(&mut shop, "both", vec![polished, finish]);
    let both = [
        ("cut", "coarse-compound-1l"),
        ("finish", "fine-polish-500ml"),
    ];
    assert_eq!(liquids(&shop, "both"), told(&both));
}

/// Source: tool-safety standards (IEC 62841-2-3, -2-4, ISO 11148-8): a plate rated below the machine's highest
/// marked speed is refused. The spot machine's 5500/min asks more of its plate than the big one's.
#[test]
fn a_plate_that_is_too_slow_for_one_of_the_machines_stops_the_job() {
    let mut shop = shop_of(cut());
    for (key, rated) in [("plate-75-m8", 5_499), ("plate-75-m8", 5_500)] {
        let was = shop.book.make(&id(key)).unwrap().as_ref().clone();
        let mut make = was.clone();
        make.figures = plate(70, Some(rated));
        shop.say(Command::EditMake { was, make });
        let check = checked(&shop);
        let plates = lines(&check, LineKind::Plate);
        assert_eq!(plates[1].what, "plate M8, for an 80 mm pad");
        let verdicts: Vec<_> = plates.iter().map(|line| line.verdict).collect();
        let spot = if rated < 5_500 {
            Verdict::Stop
        } else {
            Verdict::Go
        };
        assert_eq!(verdicts[1], spot, "{rated}");
        assert_ne!(verdicts[0], Verdict::Stop);
    }
}

fn read(panel: Panel, um: i64) -> PanelNote {
    PanelNote {
        panel,
        area_mm2: None,
        left_out: false,
        split: None,
        film_um: Some(Thickness::from_um(um)),
    }
}

/// A mirror of 75 µm allows the finest liquid by hand alone, whichever machine reaches it.
#[test]
fn thin_film_stops_whoever_works_the_panel_with_a_machine() {
    let film = |cut: Step| {
        let mut shop = shop_of(cut);
        shop.edit_saloon(|car| car.panels = vec![read(Panel::MirrorLeft, 75)]);
        lines(&checked(&shop), LineKind::Film)[0].verdict
    };
    assert_eq!(film(cut()), Verdict::Stop);
    let mut by_hand = cut();
    by_hand.shares[1] = share("cut", Reach::Hand, "hand-applicator", "fine-polish-500ml");
    assert_eq!(film(by_hand.clone()), Verdict::Watch);
    // A coarse liquid on the same hand is none of that.
    by_hand.shares[1].worked.liquid_make = id("coarse-compound-1l");
    assert_eq!(film(by_hand), Verdict::Stop);
}

/// Source: Directive 2002/44/EC: A(8) = √(Σ a²T / 8 h); points 2a²·h as of the HSE. By hand: 2.0 m/s² for 7488 s,
/// 2.6 for 2848 s and 0.9 for 567 s are 4·7488 + 6.76·2848 + 0.81·567 = 49 663.75 m²/s³, over 28 800 s 1.3132 m/s² and
/// 27.59 points.
#[test]
fn the_day_of_a_hand_has_all_of_its_machines() {
    let exposure = checked(&shop_of(cut())).exposure;
    assert_eq!(exposure.machine_time_s, 10_903);
    assert!((exposure.a8_m_per_s2 - 1.3132).abs() < 5e-4, "{exposure:?}");
    assert!((exposure.points - 27.59).abs() < 5e-3, "{exposure:?}");
}

#[test]
fn a_reach_that_no_machine_of_the_step_has_is_watched_and_named() {
    let mut without_pencil = cut();
    without_pencil.shares.truncate(1);
    let shop = shop_of(without_pencil);
    let check = checked(&shop);
    let machines = lines(&check, LineKind::Machine);
    assert_eq!(
        (machines[0].verdict, machines[1].verdict),
        (Verdict::Go, Verdict::Watch)
    );
    assert!(
        machines[1].reason.contains("mirror-left"),
        "{}",
        machines[1].reason
    );
    assert!(machines[1].todos.iter().any(|todo| todo.contains("pencil")));
    // With all three nothing is said.
    let check = checked(&shop_of(cut()));
    let said = lines(&check, LineKind::Machine);
    assert!(said.iter().all(|line| line.verdict == Verdict::Go));
}

/// What a log says that machines ran, ms by tag.
fn ran(shop: &mut Shop) -> Vec<(String, i64)> {
    let entry = shop.log("shared").clone();
    let ran = entry.deeds.iter().filter_map(|deed| match deed {
        Deed::MachineUsed { tag, time_ms, .. } => Some((tag.to_string(), *time_ms)),
        _ => None,
    });
    ran.collect()
}

/// Sections that the log gave to the pads of a make.
fn sections_of(shop: &Shop, make: &str) -> i64 {
    let entry = shop.entries.last().unwrap();
    let sections = entry.deeds.iter().filter_map(|deed| match deed {
        Deed::PadUsed { tag, work, .. } if shop.book.piece(*tag)?.make == id(make) => {
            Some(work.section_count)
        }
        _ => None,
    });
    sections.sum()
}

fn hours_of(plan: &Plan) -> Vec<i64> {
    ["cut", "cut-spot", "cut-pencil"]
        .map(|name| part(plan, name).time_ms)
        .to_vec()
}

#[test]
fn the_log_gives_each_machine_its_minutes_and_each_pad_its_sections() {
    let mut shop = shop_of(cut());
    let planned = hours_of(&plan(&shop, "shared"));
    shop.go_to("2026-03-05 15:00");
    let ran = ran(&mut shop);
    let minutes: Vec<i64> = ran.iter().map(|(_, ms)| *ms).collect();
    assert_eq!(minutes, planned);
    assert_eq!(ran.len(), 3);
    for (make, sections) in [
        ("coarse-foam-150", 52),
        ("coarse-foam-80", 32),
        ("pencil-foam-30", 5),
    ] {
        assert_eq!(sections_of(&shop, make), sections, "{make}");
    }
    assert_eq!(shop.left_ul("B-01"), 1_000_000 - 51_000);
}

/// A real time of all machines together is shared out as it was planned.
#[test]
fn minutes_that_were_read_fall_to_the_machines_as_planned() {
    let mut shop = shop_of(cut());
    let planned = hours_of(&plan(&shop, "shared"));
    shop.go_to("2026-03-05 15:00");
    let real_s = 2 * 10_903;
    shop.log_as("shared", |log| log.machine_time_s = Some(real_s))
        .unwrap();
    let entry = shop.entries.last().unwrap();
    let ran: Vec<i64> = entry
        .deeds
        .iter()
        .filter_map(|deed| match deed {
            Deed::MachineUsed { time_ms, .. } => Some(*time_ms),
            _ => None,
        })
        .collect();
    for (ran, planned) in ran.iter().zip(planned) {
        assert!((ran - 2 * planned).abs() < 700, "{ran} {planned}");
    }
}

/// A pad of a share is named like any other: it finds the share whose make it is of.
#[test]
fn a_torn_pad_of_a_share_is_logged_by_its_tag() {
    let mut shop = shop_of(cut());
    let picked = lines(&checked(&shop), LineKind::Pad)[1].picks[0].tag;
    shop.go_to("2026-03-05 15:00");
    let torn = |log: &mut fettlebook_model::command::JobLog| {
        let mut pad = pad_use(&picked.to_string());
        pad.found = Some("torn".parse().unwrap());
        log.pads = vec![pad];
    };
    shop.log_as("shared", torn).unwrap();
    let is_pad_80 = matches!(
        &shop.book.make(&shop.book.piece(picked).unwrap().make).unwrap().figures,
        Figures::Pad(pad) if pad.face_mm.mm() == 80
    );
    assert!(is_pad_80);
    let deeds = &shop.entries.last().unwrap().deeds;
    let binned = deeds
        .iter()
        .any(|deed| matches!(deed, Deed::Binned { tag, .. } if *tag == picked));
    assert!(binned);
    assert_ne!(picked, tag("P-01"));
}
