//! Which pads a step gets: as worn as the target allows for cutting, the least worn for finishing.
//!
//! The two-step on the saloon cuts with five pads and a spare and finishes with four and a spare, each
//! working pad at most 16 of the 130 sections coarse foam is rated for, or 20 of fine foam's 110.

mod day;
mod said;
mod same;

use std::collections::BTreeSet;

use fettlebook_model::chance::{PadAhead, Precision, carry_chance};
use fettlebook_model::command::NotebookRow;
use fettlebook_model::job::{Job, Step};
use fettlebook_model::panel::Panel;
use fettlebook_model::pick::{PadBar, PadChoice, PadOffer, Scene, damage_of, offer_pads};
use fettlebook_model::plan::plan_job;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Tag};
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, prop_assert, prop_assert_eq, proptest};
use proptest::sample::select;

use crate::shop::{
    Shop, id, noted, pad_figures, pad_use, retired, routine, saloon_job, step, tags_of,
};

const COARSE: &str = "coarse-foam-150";
const FINE: &str = "fine-foam-150";
/// Further spares that may go along to reach a target.
const MORE_SPARES_MAX: usize = 3;

/// A ready pad that is so many thousandths through its rated work.
fn worn(pad: &str, make: &str, permille: i64) -> NotebookRow {
    let rated = if make == COARSE { 130_000 } else { 110_000 };
    noted(pad, make, permille * rated)
}

/// A shop with pads of a make so worn, from P-01 on, and so many others that tore at half their life.
fn shop_with(make: &str, damages: &[i64], torn: usize) -> Shop {
    let mut shop = Shop::new();
    let mut rows: Vec<NotebookRow> = damages
        .iter()
        .enumerate()
        .map(|(at, damage)| worn(&format!("P-{:02}", at + 1), make, *damage))
        .collect();
    let failed = |at| NotebookRow {
        readiness: retired("P-99", make, 0, "torn").readiness,
        ..worn(
            &format!("P-{}", 60 + at),
            make,
            500 + 13 * i64::try_from(at).unwrap(),
        )
    };
    rows.extend((0..torn).map(failed));
    if !rows.is_empty() {
        shop.import(rows);
    }
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop
}

/// What the step of the job that works with this make is offered.
fn offer_of(shop: &Shop, job: &str, make: &str, target: f64, looking_back: bool) -> PadOffer {
    let job = shop.book.job(&id(job)).unwrap();
    let routine = shop.book.routine(&job.routine).unwrap();
    let step: &Step = routine
        .steps
        .iter()
        .find(|step| step.pad_make == id(make))
        .unwrap();
    let plan = plan_job(&shop.book, job).unwrap();
    let planned = plan
        .steps
        .iter()
        .find(|planned| planned.name == step.name)
        .unwrap();
    let figures = pad_figures(shop.book.make(&id(make)).unwrap());
    let scene = if looking_back {
        Scene::looking_back(&shop.book, job)
    } else {
        Scene::of(&shop.book, job, shop.now)
    };
    offer_pads(&scene, step, planned, figures, &BTreeSet::new(), target)
}

fn offer(shop: &Shop, make: &str, target: f64) -> PadOffer {
    offer_of(shop, "thursday", make, target, false)
}

fn tags(pads: &[PadChoice]) -> Vec<Tag> {
    pads.iter().map(|pad| pad.piece.tag).collect()
}

fn damages<'a>(pads: impl IntoIterator<Item = &'a PadChoice>) -> Vec<f64> {
    pads.into_iter().map(|pad| pad.damage).collect()
}

/// Damage of every pad of a make in the kit.
fn kit_damages(shop: &Shop, make: &str) -> Vec<f64> {
    let make = id(make);
    let pieces = shop.book.pieces_of(&make);
    pieces
        .map(|piece| damage_of(&shop.book, piece).unwrap())
        .collect()
}

/// The chance that enough of these last, those that work first: a working pad takes an even share of
/// the work, a spare half of one.
fn chance(shop: &Shop, make: &str, need: usize, ages: &[f64]) -> f64 {
    let share = if make == COARSE {
        16.0 / 130.0
    } else {
        20.0 / 110.0
    };
    let ahead: Vec<PadAhead> = ages
        .iter()
        .enumerate()
        .map(|(at, age)| PadAhead {
            age: *age,
            more: if at < need { share } else { share / 2.0 },
        })
        .collect();
    let log_sd = shop.book.policy().value(PolicyKey::SeverityLogSdPermille) as f64 / 1000.0;
    carry_chance(
        &shop.life(make).belief,
        log_sd,
        need,
        &ahead,
        Precision::Fine,
    )
}

/// The squad for cutting that works with the most worn from this one on, with as many of the freshest
/// left as spares.
fn squad(sorted: &[f64], from: usize, spares: usize) -> Option<Vec<f64>> {
    let mut squad = sorted.get(from..from + 5)?.to_vec();
    let left = sorted.get(from + 5..)?;
    squad.extend(left.iter().rev().take(spares));
    Some(squad)
}

/// A shop in which the bonnet alone is cut on Thursday: eight sections, so one pad and a spare.
fn bonnet(rows: Vec<NotebookRow>) -> Shop {
    let mut shop = Shop::new();
    shop.import(rows);
    let cut = Step {
        panels: vec![Panel::Bonnet],
        ..step("cut", COARSE, "coarse-compound-1l")
    };
    shop.say(Command::CreateRoutine {
        routine: routine("cut-bonnet", vec![cut]),
    });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("cut-bonnet"),
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
    shop
}

/// Source: by hand, every job being ordinary: E exp(−λx) = (b / (b + x))^a, so at least one of two last
/// with f(x₁) + f(x₂) − f(x₁ + x₂); a failure at 0.5 and pads at 0.9 and 0.1 make a = 2 and
/// b = 1 + 0.125 + 0.729 + 0.001; the pad that works takes 8/130, its spare half of that.
#[test]
fn a_spare_is_asked_for_half_a_share() {
    let rows = vec![
        worn("P-01", COARSE, 900),
        worn("P-02", COARSE, 100),
        retired("P-03", COARSE, 65_000_000, "torn"),
    ];
    let mut shop = bonnet(rows);
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    let offer = offer(&shop, COARSE, 0.5);
    assert_eq!(
        (tags(&offer.working), tags(&offer.spares)),
        (tags_of("P-01"), tags_of("P-02"))
    );
    let (share, b) = (8.0 / 130.0, 1.855_f64);
    let wears = |age: f64, more: f64| (age + more).powi(3) - age.powi(3);
    let lasts = |x: f64| (b / (b + x)).powi(2);
    let (first, second) = (wears(0.9, share), wears(0.1, share / 2.0));
    let expected = lasts(first) + lasts(second) - lasts(first + second);
    let is = offer.chance.unwrap();
    assert!(
        (is.chance - expected).abs() < 1e-6,
        "{} {expected}",
        is.chance
    );
    assert_eq!(is.rests_on, "Rests on 1 retirement here and the rating.");
}

/// How hard a job is hits all its pads at once: it makes good chances worse.
#[test]
fn a_job_of_unknown_severity_is_less_sure() {
    let mut shop = shop_with(COARSE, &[100; 6], 3);
    let chance = |shop: &Shop| offer(shop, COARSE, 0.5).chance.unwrap().chance;
    let spread = chance(&shop);
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    let ordinary = chance(&shop);
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 600);
    let wide = chance(&shop);
    assert!(
        wide < spread && spread < ordinary,
        "{wide} {spread} {ordinary}"
    );
}

#[test]
fn a_higher_target_takes_fresher_pads_or_more_spares() {
    let shop = shop_with(
        COARSE,
        &[1_100, 1_000, 900, 800, 700, 600, 500, 400, 300, 200, 100, 0],
        2,
    );
    let worst = |target| {
        let offer = offer(&shop, COARSE, target);
        assert!(offer.chance.unwrap().chance >= target, "{target}");
        (offer.working[0].damage, offer.spares.len())
    };
    let (low, some, high) = (worst(0.5), worst(0.9), worst(0.99));
    assert_eq!(low, (1.1, 1));
    assert!(some.0 < low.0 || some.1 > low.1, "{some:?}");
    assert!(
        high.0 < some.0 || (high.0 <= some.0 && high.1 > some.1),
        "{high:?} {some:?}"
    );
}

/// A pad that carried a coarser liquid is no choice for finishing, however fresh, for check and log.
#[test]
fn a_pad_of_a_coarser_past_is_never_picked() {
    let mut shop = shop_with(FINE, &[0, 100, 200, 300, 400, 500], 0);
    shop.receive(COARSE, 6);
    shop.receive("coarse-compound-1l", 1);
    shop.receive("fine-polish-500ml", 1);
    let compound = step("touch-up", FINE, "coarse-compound-1l");
    shop.log_loose(|loose| {
        loose.step = Some(compound);
        loose.section_count = 1;
        loose.pads = vec![pad_use("P-01")];
    })
    .unwrap();
    shop.mark_dry("P-01");
    for looking_back in [false, true] {
        let offer = offer_of(&shop, "thursday", FINE, 0.95, looking_back);
        assert!(
            offer
                .barred
                .contains(&(tags_of("P-01")[0], PadBar::Coarser))
        );
        let picked: Vec<Tag> = offer.picked().map(|pad| pad.piece.tag).collect();
        assert_eq!(picked, tags_of("P-02 P-03 P-04 P-05 P-06"));
    }
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    assert_eq!(shop.piece("P-01").pad().unwrap().use_count, 1);
}

/// Pads at the place go where they hold the target, and those of the van join them where not.
#[test]
fn the_van_stays_shut_where_the_bench_holds_the_target() {
    for make in [COARSE, FINE] {
        let mut shop = shop_with(
            make,
            &[300, 300, 300, 300, 300, 300, 0, 0, 0, 900, 900, 900],
            0,
        );
        shop.move_to("P-07 P-08 P-09 P-10 P-11 P-12", "van-a");
        if make == FINE {
            shop.move_to("P-06", "van-a");
        }
        let picked = |shop: &Shop, target| {
            let offer = offer(shop, make, target);
            let held = offer.chance.as_ref().unwrap().chance >= target;
            let away = offer.picked().filter(|pad| !pad.here).count();
            (held, away > 0)
        };
        assert_eq!(picked(&shop, 0.6), (true, false), "{make}");
        let reach = offer(&shop, make, 0.6).chance.unwrap().chance;
        let more = reach + 0.7 * (1.0 - reach);
        assert_eq!(picked(&shop, more), (true, true), "{make} {more}");
        // Too few at the place are no squad.
        shop.move_to("P-01 P-02 P-03", "van-a");
        assert_eq!(picked(&shop, 0.6), (true, true), "{make}");
    }
}

/// Looking ahead a pad that is soiled, drying, aside or another step's is barred with its reason.
#[test]
fn a_pad_that_cannot_go_is_named_with_why() {
    let mut shop = shop_with(COARSE, &[0; 12], 0);
    shop.set_aside("P-01");
    shop.wash("P-02");
    shop.lose("P-03");
    let offer = offer(&shop, COARSE, 0.95);
    assert_eq!(offer.eligible_count, 9);
    let until = "2026-03-05 16:00";
    let expected = [
        (tags_of("P-01")[0], PadBar::Aside),
        (tags_of("P-02")[0], PadBar::Drying(crate::shop::at(until))),
    ];
    assert_eq!(offer.barred, expected);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Whatever the kit: cutting takes the most worn that hold the target, with the freshest as spares
    /// and no more of them than it takes; where none hold it, the freshest.
    #[test]
    fn cutting_uses_up_what_the_target_allows(
        permilles in vec(0_i64..1_500, 1..24),
        torn in 0_usize..9,
        target in 0.5_f64..0.999,
        shape in select(&[500, 3_000, 6_000][..]),
    ) {
        let mut shop = shop_with(COARSE, &permilles, torn);
        shop.set_policy(PolicyKey::ShapeFoamPermille, shape);
        let offer = offer(&shop, COARSE, target);
        let is = offer.chance.as_ref().unwrap();
        let mut sorted = kit_damages(&shop, COARSE);
        sorted.sort_by(|a, b| b.total_cmp(a));
        let picked = damages(offer.picked());
        prop_assert!((is.chance - chance(&shop, COARSE, 5, &picked)).abs() < 1e-9);
        let holding = (0..sorted.len())
            .filter_map(|from| squad(&sorted, from, 1 + MORE_SPARES_MAX))
            .filter(|squad| squad.len() >= 6)
            .find(|squad| chance(&shop, COARSE, 5, squad) >= target);
        match holding {
            Some(most_worn) => {
                prop_assert!(is.chance >= target, "{} {:?} {:?}", is.chance, picked, most_worn);
                prop_assert_eq!(is.fresh_count, None);
                // The first that works says from where on: none more worn would do.
                prop_assert!((picked[0] - most_worn[0]).abs() < 1e-9, "{:?} {:?}", picked, most_worn);
                let fewer = picked[..picked.len() - 1].to_vec();
                prop_assert!(fewer.len() < 6 || chance(&shop, COARSE, 5, &fewer) < target);
            }
            None => {
                prop_assert!(sorted.len() < 6 || is.chance < target);
                let freshest: Vec<f64> = sorted.iter().rev().take(picked.len()).copied().collect();
                let mut same = picked.clone();
                same.sort_by(f64::total_cmp);
                prop_assert_eq!(same, freshest);
            }
        }
    }

    /// Finishing takes the least worn there are, with more spares only where the target asks for them.
    #[test]
    fn finishing_takes_the_least_worn(
        permilles in vec(0_i64..1_500, 1..14),
        torn in 0_usize..12,
        target in 0.5_f64..0.999,
    ) {
        let shop = shop_with(FINE, &permilles, torn);
        let offer = offer(&shop, FINE, target);
        let is = offer.chance.as_ref().unwrap();
        let mut sorted: Vec<f64> = kit_damages(&shop, FINE);
        sorted.sort_by(f64::total_cmp);
        let picked = damages(offer.picked());
        prop_assert_eq!(&picked, &sorted[..picked.len()]);
        prop_assert!((is.chance - chance(&shop, FINE, 4, &picked)).abs() < 1e-9);
        prop_assert!(picked.len() >= sorted.len().min(5) && picked.len() <= 5 + MORE_SPARES_MAX);
        let at = |len: usize| chance(&shop, FINE, 4, &sorted[..len]);
        if picked.len() > 5 {
            prop_assert!(at(picked.len() - 1) < target);
        }
        let most = sorted.len().min(5 + MORE_SPARES_MAX);
        prop_assert!(most < 5 || at(most) < target || is.chance >= target, "{} {}", is.chance, target);
    }

    /// Where a squad does not hold the target, it says how many new pads in the place of its most worn
    /// would, and with so many more in the kit the target is held.
    #[test]
    fn as_many_new_pads_as_are_said_bring_it_to_the_target(
        permilles in vec(200_i64..1_500, 6..12),
        torn in 0_usize..12,
        target in 0.8_f64..0.99,
    ) {
        for (make, need) in [(COARSE, 5), (FINE, 4)] {
            let mut shop = shop_with(make, &permilles, torn);
            let before = offer(&shop, make, target);
            let is = before.chance.as_ref().unwrap();
            if is.chance >= target {
                prop_assert_eq!(is.fresh_count, None);
                continue;
            }
            let mut picked = damages(before.picked());
            picked.sort_by(f64::total_cmp);
            let renewed = |count: usize| {
                let kept = picked.len().saturating_sub(count);
                let mut ages = vec![0.0; count];
                ages.extend(&picked[..kept]);
                if make == COARSE {
                    ages.reverse();
                }
                chance(&shop, make, need, &ages)
            };
            let expected = (1..=need + 1 + MORE_SPARES_MAX).find(|count| renewed(*count) >= target);
            prop_assert_eq!(is.fresh_count, expected);
            if let Some(count) = expected {
                shop.receive(make, i64::try_from(count).unwrap());
                let after = offer(&shop, make, target).chance.unwrap().chance;
                prop_assert!(after >= target, "{} {} {}", after, target, count);
            }
        }
    }
}
