//! The check and the log take the same pads, and no pad twice in a day, whatever the kit.

use std::collections::{BTreeMap, BTreeSet};

use fettlebook_model::check::{JobCheck, Line, LineKind, check_jobs};
use fettlebook_model::command::NotebookRow;
use fettlebook_model::deed::Deed;
use fettlebook_model::job::Job;
use fettlebook_model::kit::Readiness;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Entry, Id, Tag};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::{ProptestConfig, Strategy, any, prop_assert, prop_assert_eq, proptest};
use proptest::sample::select;

use super::{COARSE, FINE, worn};
use crate::shop::{Shop, id, pad_use, routine, saloon_job, step};

/// How a pad of a random kit stands.
const READINESSES: &[&str] = &[
    "ready", "ready", "ready", "ready", "soiled", "aside", "torn", "lost",
];

/// A pad of a random kit: make, damage, how it stands, whether it lies in the van and whether it
/// carried compound.
#[derive(Debug, Clone)]
struct Kit {
    make: &'static str,
    permille: i64,
    stands: &'static str,
    in_van: bool,
    coarse_past: bool,
}

fn kit() -> impl Strategy<Value = Vec<Kit>> {
    let pad = (
        select(&[COARSE, FINE][..]),
        0_i64..1_400,
        select(READINESSES),
        any::<bool>(),
        proptest::bool::weighted(0.15),
    );
    let pad = pad.prop_map(|(make, permille, stands, in_van, coarse_past)| Kit {
        make,
        permille,
        stands,
        in_van,
        coarse_past,
    });
    vec(pad, 10..40)
}

fn row(at: usize, pad: &Kit) -> NotebookRow {
    let readiness = match pad.stands {
        "ready" => Readiness::Ready,
        "soiled" => Readiness::Soiled,
        "aside" => Readiness::Aside("inspect".parse().unwrap()),
        reason => Readiness::Binned(reason.parse().unwrap()),
    };
    NotebookRow {
        readiness,
        place: id(if pad.in_van { "van-a" } else { "bench" }),
        ..worn(&format!("P-{:02}", at + 1), pad.make, pad.permille)
    }
}

fn shop(kit: &[Kit], target: Option<i64>) -> Shop {
    let mut shop = Shop::new();
    shop.receive("coarse-compound-1l", 1);
    shop.receive("fine-polish-500ml", 1);
    shop.receive_towels(60, 0);
    shop.receive("nitrile-gloves", 1);
    shop.import(
        kit.iter()
            .enumerate()
            .map(|(at, pad)| row(at, pad))
            .collect(),
    );
    for (at, pad) in kit.iter().enumerate().filter(|(_, pad)| pad.coarse_past) {
        let tag = format!("P-{:02}", at + 1);
        shop.log_loose(|loose| {
            loose.step = Some(step("touch-up", pad.make, "coarse-compound-1l"));
            loose.section_count = 1;
            loose.pads = vec![pad_use(&tag)];
        })
        .unwrap();
        if pad.stands == "ready" {
            shop.mark_dry(&tag);
        }
    }
    if let Some(target) = target {
        shop.set_policy(PolicyKey::CarryTargetPermille, target);
    }
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    shop
}

/// Pads by step: whether each went along as a spare.
type Pads = BTreeMap<Id, BTreeSet<(Tag, bool)>>;

fn pad_lines(check: &JobCheck) -> impl Iterator<Item = &Line> {
    check.lines.iter().filter(|line| line.kind == LineKind::Pad)
}

fn checked(check: &JobCheck) -> Pads {
    let by_step = |line: &Line| {
        let picks = line.picks.iter().map(|pick| (pick.tag, pick.spare));
        (line.step.clone().unwrap(), picks.collect())
    };
    pad_lines(check).map(by_step).collect()
}

fn logged(entry: &Entry) -> Pads {
    let mut pads = Pads::from([
        (id("cut"), BTreeSet::new()),
        (id("finish"), BTreeSet::new()),
    ]);
    for deed in &entry.deeds {
        let (tag, within, spare) = match deed {
            Deed::PadUsed { tag, within, .. } => (*tag, within, false),
            Deed::TakenAlong { tag, within, .. } => (*tag, within, true),
            _ => continue,
        };
        let step = within.step.clone().unwrap();
        pads.entry(step).or_default().insert((tag, spare));
    }
    pads
}

/// Whether every step has as many pads as work in it.
fn suffices(check: &JobCheck) -> bool {
    pad_lines(check).all(|line| line.have >= line.need)
}

/// Two steps with one make of pad: the spare of the first is not the second's to take.
#[test]
fn two_steps_of_a_job_share_no_pad_in_check_and_log() {
    let mut shop = Shop::new();
    shop.receive(COARSE, 12);
    shop.receive("coarse-compound-1l", 1);
    let cut = |name| step(name, COARSE, "coarse-compound-1l");
    shop.say(Command::CreateRoutine {
        routine: routine("cut-twice", vec![cut("cut"), cut("finish")]),
    });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("cut-twice"),
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
    let checks = check_jobs(&shop.book, &[id("thursday")], shop.now).unwrap();
    shop.go_to("2026-03-05 15:00");
    let picked = checked(&checks[0]);
    assert_eq!(logged(shop.log("thursday")), picked);
    let [first, second] = ["cut", "finish"].map(|step| {
        let pads = picked[&id(step)].iter().map(|(tag, _)| *tag);
        pads.collect::<BTreeSet<Tag>>()
    });
    assert!(first.is_disjoint(&second) && first.len() >= 5 && second.len() >= 5);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    /// Whatever the kit, what the check picks is what the log takes, spares as spares; for the second
    /// job of a day too, as long as it does not have to fall back on the spares of the first.
    #[test]
    fn the_log_takes_what_the_check_picked(kit in kit(), target in option::of(500_i64..=999)) {
        let mut shop = shop(&kit, target);
        let checks = check_jobs(&shop.book, &[id("morning"), id("evening")], shop.now).unwrap();
        shop.go_to("2026-03-05 22:00");
        let Ok(morning) = shop.log_as("morning", |_| {}) else {
            prop_assert!(pad_lines(&checks[0]).any(|line| line.have == 0));
            return Ok(());
        };
        prop_assert_eq!(logged(morning), checked(&checks[0]));
        if let Ok(evening) = shop.log_as("evening", |_| {})
            && suffices(&checks[1])
        {
            prop_assert_eq!(logged(evening), checked(&checks[1]));
        }
    }

    /// No pad goes to two steps of a job, nor to two jobs of a day, and each that goes is fit to.
    #[test]
    fn no_pad_goes_twice_in_a_day(kit in kit(), target in option::of(500_i64..=999)) {
        let shop = shop(&kit, target);
        let checks = check_jobs(&shop.book, &[id("morning"), id("evening")], shop.now).unwrap();
        let picked: Vec<Tag> = checks
            .iter()
            .flat_map(pad_lines)
            .flat_map(|line| &line.picks)
            .map(|pick| pick.tag)
            .collect();
        let once: BTreeSet<Tag> = picked.iter().copied().collect();
        prop_assert_eq!(once.len(), picked.len());
        for tag in picked {
            let pad = &kit[usize::try_from(tag.number()).unwrap() - 1];
            prop_assert_eq!(pad.stands, "ready");
            prop_assert!(pad.make == COARSE || !pad.coarse_past, "{:?}", pad);
        }
    }
}
