//! Which pads a step gets: as worn as the target allows for cutting, the least worn for finishing.
//!
//! The two-step on the saloon cuts with five pads and finishes with four, each working pad at most 16 of the 130 sections coarse foam is rated for, or 20 of fine foam's 110.

mod day;
mod kits;
mod said;
mod same;

use fettlebook_model::chance::{PadAhead, Precision, carry_chance};
use fettlebook_model::command::NotebookRow;
use fettlebook_model::job::{Job, Step};
use fettlebook_model::panel::Panel;
use fettlebook_model::pick::{JobPads, PadBar, PadChoice, PadOffer, Scene, StepAsked, offer_pads};
use fettlebook_model::plan::plan_job;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Tag};

use crate::shop::{
    Shop, id, noted, pad_figures, pad_use, retired, routine, saloon_job, step, tags_of,
};

const COARSE: &str = "coarse-foam-150";
const FINE: &str = "fine-foam-150";

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
fn offer_of<'a>(
    shop: &'a Shop,
    job: &str,
    make: &str,
    target: f64,
    looking_back: bool,
) -> PadOffer<'a> {
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
    let asked = StepAsked {
        routine,
        whole: &plan,
        plan: planned,
        figures: pad_figures(shop.book.make(&id(make)).unwrap()),
    };
    let scene = if looking_back {
        Scene::looking_back(&shop.book, job)
    } else {
        Scene::of(&shop.book, job, shop.now)
    };
    offer_pads(&scene, &asked, &mut JobPads::default(), target)
}

fn offer<'a>(shop: &'a Shop, make: &str, target: f64) -> PadOffer<'a> {
    offer_of(shop, "thursday", make, target, false)
}

fn tags(pads: &[PadChoice<'_>]) -> Vec<Tag> {
    pads.iter().map(|pad| pad.piece.tag).collect()
}

fn damages<'a>(pads: impl IntoIterator<Item = &'a PadChoice<'a>>) -> Vec<f64> {
    pads.into_iter().map(|pad| pad.damage).collect()
}

fn damages_of(offer: &PadOffer<'_>) -> Vec<f64> {
    damages(offer.picked())
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
/// b = 1 + 0.125 + 0.729 + 0.001; the pad that works takes the bonnet's 9 sections of 130, its spare half of that.
#[test]
fn a_spare_is_asked_for_half_a_share() {
    let rows = vec![
        worn("P-01", COARSE, 900),
        worn("P-02", COARSE, 100),
        retired("P-03", COARSE, 65_000_000, "torn"),
    ];
    let mut shop = bonnet(rows);
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    shop.set_policy(PolicyKey::SparePadsCount, 1);
    let offer = offer(&shop, COARSE, 0.5);
    assert_eq!(
        (tags(&offer.working), tags(&offer.spares)),
        (tags_of("P-01"), tags_of("P-02"))
    );
    let (share, b) = (9.0 / 130.0, 1.855_f64);
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
    assert_eq!(low.0, 1.1);
    assert!(some.0 < low.0 || some.1 > low.1, "{some:?}");
    assert!(
        high.0 < some.0 || (high.0 <= some.0 && high.1 > some.1),
        "{high:?} {some:?}"
    );
}

/// A spare is worth carrying while it adds a hundredth to the chance.
#[test]
fn a_spare_that_hardly_helps_stays_at_home() {
    let shop = shop_with(COARSE, &[0; 12], 0);
    let with = |pads: usize| chance(&shop, COARSE, 5, &vec![0.0; pads]);
    let helps = |pads: &usize| with(pads + 1) - with(*pads) >= 0.01;
    let carried = (5..8).find(|pads| !helps(pads)).unwrap();
    let target = (1.0 + with(12)) / 2.0;
    let offer = offer(&shop, COARSE, target);
    assert_eq!(damages_of(&offer).len(), carried);
}

/// Source: by hand: where pads fail young, shape below one, the longer one has lasted the longer it
/// will, so that the most worn hold what fresh ones would not.
#[test]
fn where_pads_fail_young_the_most_worn_are_the_best() {
    let mut shop = shop_with(
        COARSE,
        &[
            1_400, 1_300, 1_200, 1_100, 1_000, 900, 30, 20, 10, 0, 0, 0, 0,
        ],
        0,
    );
    shop.set_policy(PolicyKey::ShapeFoamPermille, 500);
    shop.set_policy(PolicyKey::SparePadsCount, 1);
    let worn = chance(&shop, COARSE, 5, &[1.4, 1.3, 1.2, 1.1, 1.0, 0.9]);
    let later = chance(
        &shop,
        COARSE,
        5,
        &[1.2, 1.1, 1.0, 0.9, 0.03, 0.0, 0.0, 0.0, 0.0],
    );
    let first = chance(
        &shop,
        COARSE,
        5,
        &[1.4, 1.3, 1.2, 1.1, 1.0, 0.0, 0.0, 0.0, 0.0],
    );
    assert!(worn < 1.0 && later < first, "{worn} {later} {first}");
    let offer = offer(&shop, COARSE, (later + first) / 2.0);
    assert_eq!(tags(&offer.working), tags_of("P-01 P-02 P-03 P-04 P-05"));
}

/// Spares run out towards the freshest pads, which must not hide the one place from which all of them
/// hold the target.
#[test]
fn the_last_place_with_all_spares_is_found() {
    let mut damages = vec![1_400; 15];
    damages.extend([0; 9]);
    let mut shop = shop_with(COARSE, &damages, 0);
    shop.set_policy(PolicyKey::SparePadsCount, 1);
    let (fewer, all) = (
        chance(&shop, COARSE, 5, &[0.0; 8]),
        chance(&shop, COARSE, 5, &[0.0; 9]),
    );
    let before = chance(
        &shop,
        COARSE,
        5,
        &[1.4, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    );
    let least = fewer.max(before);
    assert!(least < all, "{least} {all}");
    let offer = offer(&shop, COARSE, (least + all) / 2.0);
    assert_eq!(damages_of(&offer), [0.0; 9]);
}

/// A pad that carried a coarser liquid is no choice for finishing, however fresh, for check and log.
#[test]
fn a_pad_of_a_coarser_past_is_not_picked_unwashed() {
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
                .contains(&(tags_of("P-01")[0], PadBar::Coarser(None)))
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
        shop.set_policy(PolicyKey::SparePadsCount, 1);
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
        // Too few at the place are no choice.
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
