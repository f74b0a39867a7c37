//! What the book knows of the lives of pads, and what it believes of the next.
//!
//! Coarse foam is rated for 130 reference sections and 20 washes; its lives have shape 3 by policy.

use fettlebook_model::Command;
use fettlebook_model::command::NotebookRow;
use fettlebook_model::life::LifeError;
use fettlebook_model::lives::{LifeCounts, MakeLife, ShapeBasis, UsualJob, usual_job};
use fettlebook_model::make::{Figures, Grade, PadFigures, PadMaterial};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear_report::make_wear;

use crate::shop::{Shop, foam, id, make, noted, pad_figures, retired};

const FOAM: &str = "coarse-foam-150";
/// Work of one damage of coarse foam, millionths of a reference section.
const RATED: i64 = 130_000_000;

/// Work that is so many thousandths of the rated life of coarse foam.
const fn permille(damage: i64) -> i64 {
    damage * RATED / 1_000
}

fn close(left: f64, right: f64) -> bool {
    (left - right).abs() <= 1e-9 * right.abs().max(1.0)
}

fn caveats(shop: &Shop) -> Vec<String> {
    make_wear(&shop.book, &id(FOAM), shop.now).unwrap().caveats
}

/// Ten failures and ten still running of a published test, an hour as 1/500 damage.
fn published(failures: usize) -> Vec<NotebookRow> {
    let hours = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386];
    let work = |hours: i64| hours * RATED / 500;
    let failed = hours.iter().enumerate().map(|(at, hours)| {
        let pad = format!("P-{:02}", at + 1);
        if at < failures {
            retired(&pad, FOAM, work(*hours), "worn")
        } else {
            noted(&pad, FOAM, work(*hours))
        }
    });
    let running = (11..=20).map(|at| noted(&format!("P-{at}"), FOAM, work(500)));
    failed.chain(running).collect()
}

/// Source: MODELS' list of reasons, by hand: torn, worn and precaution end a life; what was lost,
/// sold, cross-loaded or spoilt, and what is in service however it stands, cut it off.
#[test]
fn a_life_ends_by_wear_and_is_cut_off_by_anything_else() {
    let mut shop = Shop::new();
    let reasons = [
        "torn",
        "peeling",
        "cupped",
        "glazed",
        "matted",
        "worn",
        "precaution",
        "lost",
        "cross-loaded",
        "sold",
        "accident",
    ];
    let mut rows: Vec<NotebookRow> = reasons
        .iter()
        .enumerate()
        .map(|(at, reason)| retired(&format!("P-{:02}", at + 1), FOAM, permille(500), reason))
        .collect();
    rows.extend((12..=14).map(|at| noted(&format!("P-{at}"), FOAM, permille(500))));
    // Another make's lives are its own.
    rows.push(retired("P-15", "fine-foam-150", 1, "worn"));
    shop.import(rows);
    shop.set_aside("P-13");
    shop.wash("P-14");
    let life = shop.life(FOAM);
    let expected = LifeCounts {
        failure_count: 7,
        precaution_count: 1,
        cut_off_count: 4,
        in_service_count: 3,
    };
    assert_eq!(life.counts, expected);
    assert_eq!((life.lives.failures(), life.lives.len()), (7, 14));
    assert!(caveats(&shop).iter().any(|said| said
        == "1 of them was a precaution and counts as worn out then, which errs towards caution."));
    shop.bin("P-12", "precaution");
    assert!(
        caveats(&shop)
            .iter()
            .any(|said| said.starts_with("2 of them were a precaution"))
    );
}

/// Source: Palmgren–Miner by hand: 65 of 130 sections and 4 of 20 washes are 0.5 + 0.2.
#[test]
fn the_damage_at_the_end_counts_washes_too() {
    let mut shop = Shop::new();
    let washed = NotebookRow {
        wash_count: 4,
        ..retired("P-01", FOAM, permille(500), "torn")
    };
    shop.import(vec![washed]);
    let ages: Vec<f64> = shop.life(FOAM).lives.iter().map(|life| life.age).collect();
    assert!(ages.len() == 1 && close(ages[0], 0.7), "{ages:?}");
}

/// Source: the gamma posterior by hand: a = 1, b = 1, so that a new pad lasts damage 1 with
/// probability ½; one pad in service at 1 makes b = 2 and (2 / (2 + 1)) = 2/3.
#[test]
fn without_a_retirement_the_rating_answers_and_survivors_speak_for_it() {
    let mut shop = Shop::new();
    let life = shop.life(FOAM);
    assert_eq!(life.shape_basis, ShapeBasis::Policy);
    assert!(close(life.belief.shape(), 3.0));
    assert!(close(life.belief.survival_new(1.0), 0.5));
    assert_eq!(life.rests_on(), "Rests on the rating only.");
    shop.import(vec![noted("P-01", FOAM, permille(1_000))]);
    let life = shop.life(FOAM);
    assert!(close(life.belief.survival_new(1.0), 2.0 / 3.0));
    assert_eq!(life.rests_on(), "Rests on the rating only.");
}

/// Source: the gamma posterior by hand: two failures at 0.5 and one pad in service at 1 make a = 3
/// and b = 1 + 0.125 + 0.125 + 1 = 2.25; a new pad lasts 1 with (2.25 / 3.25)³.
#[test]
fn every_pad_of_the_make_speaks_once() {
    let mut shop = Shop::new();
    shop.import(vec![
        retired("P-01", FOAM, permille(500), "torn"),
        retired("P-02", FOAM, permille(500), "worn"),
        noted("P-03", FOAM, permille(1_000)),
    ]);
    let life = shop.life(FOAM);
    assert!(close(life.belief.a(), 3.0));
    assert!(close(life.belief.ln_b(), f64::ln(2.25)));
    assert!(close(
        life.belief.survival_new(1.0),
        (2.25_f64 / 3.25).powi(3)
    ));
    assert_eq!(
        life.rests_on(),
        "Rests on 2 retirements here and the rating."
    );
    shop.reverse(shop.book.head()).unwrap();
    shop.import(vec![retired("P-04", FOAM, permille(500), "torn")]);
    let rests_on = shop.life(FOAM).rests_on();
    assert_eq!(rests_on, "Rests on 1 retirement here and the rating.");
}

/// Source: policy by material, from memory: 3 for foam, 2 for microfibre and wool.
#[test]
fn the_shape_of_few_lives_is_the_policy_of_the_material() {
    let mut shop = Shop::new();
    let materials = [
        (
            "thick",
            PadMaterial::ThickFoam,
            3.0,
            PolicyKey::ShapeFoamPermille,
        ),
        (
            "fibre",
            PadMaterial::Microfibre,
            2.0,
            PolicyKey::ShapeMicrofibrePermille,
        ),
        ("wool", PadMaterial::Wool, 2.0, PolicyKey::ShapeWoolPermille),
    ];
    for (key, material, shape, policy) in materials {
        let Figures::Pad(figures) = foam(Grade::Coarse, 150) else {
            panic!()
        };
        let figures = PadFigures {
            material,
            ..figures
        };
        shop.say(Command::CreateMake {
            make: make(key, Figures::Pad(figures)),
        });
        assert!(close(shop.life(key).belief.shape(), shape), "{key}");
        shop.set_policy(policy, 2_500);
        assert!(close(shop.life(key).belief.shape(), 2.5), "{key}");
    }
}

/// Source: NIST/SEMATECH e-Handbook 8.4.1.2: the maximum likelihood shape of these 20 units, ten of
/// them failed, is 1.7208; a scale on the ages leaves it as it is.
#[test]
fn the_shape_is_fitted_from_the_tenth_failure_on() {
    let mut shop = Shop::new();
    shop.import(published(9));
    let life = shop.life(FOAM);
    assert_eq!(
        (life.counts.failure_count, life.counts.in_service_count),
        (9, 11)
    );
    assert_eq!(life.shape_basis, ShapeBasis::Policy);
    assert!(close(life.belief.shape(), 3.0));
    assert!(
        caveats(&shop).contains(
            &"The shape of the curve is a policy until 10 have worn out here.".to_owned()
        )
    );
    shop.bin("P-10", "worn");
    let life = shop.life(FOAM);
    let ShapeBasis::Fitted(fit) = &life.shape_basis else {
        panic!("{:?}", life.shape_basis)
    };
    assert!((fit.shape - 1.7208).abs() < 5e-5, "{}", fit.shape);
    // Without its bias: (10 − 2) / (10 − 0.68).
    assert!(close(life.belief.shape(), fit.shape * 8.0 / 9.32));
    assert!(close(life.belief.a(), 11.0));
    assert!(!caveats(&shop).iter().any(|said| said.contains("policy")));
    let wear = make_wear(&shop.book, &id(FOAM), shop.now).unwrap();
    let limits = wear.shape_limits.unwrap();
    assert!(limits.lower < 1.7208 && 1.7208 < limits.upper, "{limits:?}");
    shop.set_policy(PolicyKey::ShapeFromFailures, 11);
    assert_eq!(shop.life(FOAM).shape_basis, ShapeBasis::Policy);
}

/// Source: by hand: ten failures at one age have a likelihood that grows with the shape for ever, so
/// the policy's shape stands: a = 11, b = 1 + 10·0.9³ = 8.29.
#[test]
fn lives_that_are_all_alike_leave_the_shape_to_the_policy_and_say_so() {
    let mut shop = Shop::new();
    let rows = (1..=10).map(|at| retired(&format!("P-{at:02}"), FOAM, permille(900), "worn"));
    shop.import(rows.collect());
    let life = shop.life(FOAM);
    let refused = ShapeBasis::Refused(LifeError::NoFailureBelowLargest);
    assert_eq!(life.shape_basis, refused);
    assert!(close(life.belief.shape(), 3.0));
    assert!(close(life.belief.ln_b(), f64::ln(8.29)));
    let said = caveats(&shop);
    let why = "The shape of the curve is a policy, for none can be fitted: no failure lies below";
    assert!(said.iter().any(|said| said.starts_with(why)), "{said:?}");
}

/// Lives that fit a shape beyond what is believed of a handful are held at 12 and at 0.5.
#[test]
fn a_fitted_shape_is_held_within_what_can_be_believed() {
    let lives = |damages: [i64; 10]| {
        let mut shop = Shop::new();
        let rows = damages.iter().enumerate();
        let rows = rows.map(|(at, damage)| {
            retired(&format!("P-{:02}", at + 1), FOAM, permille(*damage), "worn")
        });
        shop.import(rows.collect());
        shop.life(FOAM)
    };
    let alike = lives([900, 901, 902, 903, 904, 905, 906, 907, 908, 909]);
    assert!(close(alike.belief.shape(), 12.0), "{:?}", alike.shape_basis);
    let wild = lives([1, 1, 1, 1, 1, 2, 10, 500, 9_000, 90_000]);
    assert!(close(wild.belief.shape(), 0.5), "{:?}", wild.shape_basis);
}

fn with_own_lives(shop: &mut Shop, typical: i64, least: i64) {
    shop.edit_pad(FOAM, |figures| {
        figures.typical_life_sections = Some(typical);
        figures.least_life_sections = Some(least);
    });
}

/// Source: the definition: half the makes are believed to have a scale below the typical life, one in
/// twenty below the least; 78 and 39 of 130 sections are damage 0.6 and 0.3.
#[test]
fn two_lives_that_the_user_gives_stand_in_the_place_of_the_rating() {
    let mut shop = Shop::new();
    with_own_lives(&mut shop, 78, 39);
    let life = shop.life(FOAM);
    assert!(life.is_prior_own);
    // The scale lies below an age where the rate lies above that age to the power −β.
    let below = |age: f64| {
        let rate = life.belief.ln_b().exp() / age.powf(life.belief.shape());
        statrs::function::gamma::gamma_ur(life.belief.a(), rate)
    };
    assert!(close(below(0.6), 0.5) && close(below(0.3), 0.05));
    assert_eq!(life.rests_on(), "Rests on the lives you gave only.");
    let before = life.belief.a();
    shop.import(vec![retired("P-01", FOAM, permille(500), "torn")]);
    let life = shop.life(FOAM);
    assert!(close(life.belief.a(), before + 1.0));
    let rests_on = "Rests on 1 retirement here and the lives you gave.";
    assert_eq!(life.rests_on(), rests_on);
}

/// Two lives that are nearly one, or a thousandfold apart at a steep shape, fit no belief; a make with
/// such lives was taken, so the rating must answer for it, and the report must say so.
#[test]
fn two_lives_that_fit_no_belief_leave_the_rating_and_say_so() {
    let mut shop = Shop::new();
    with_own_lives(&mut shop, 1_000, 999);
    let life = shop.life(FOAM);
    assert!(!life.is_prior_own);
    assert!(close(life.belief.survival_new(1.0), 0.5));
    assert_eq!(life.rests_on(), "Rests on the rating only.");
    let said = caveats(&shop);
    let why = "The lives you gave are left out, and the rating stands:";
    assert!(said.iter().any(|said| said.starts_with(why)), "{said:?}");
    with_own_lives(&mut shop, 78, 39);
    assert!(!caveats(&shop).iter().any(|said| said.starts_with(why)));
}

/// Source: Palmgren–Miner by hand: 65 sections are 0.5 of 130 and 1 of 65; 4 washes are 0.2.
#[test]
fn a_rating_that_is_edited_changes_every_past_life() {
    let mut shop = Shop::new();
    let washed = NotebookRow {
        wash_count: 4,
        ..retired("P-01", FOAM, permille(500), "torn")
    };
    shop.import(vec![washed, noted("P-02", FOAM, permille(250))]);
    let ages = |life: &MakeLife| -> Vec<f64> { life.lives.iter().map(|life| life.age).collect() };
    let before = ages(&shop.life(FOAM));
    shop.edit_pad(FOAM, |figures| figures.rated_work_sections = Some(65));
    let after = ages(&shop.life(FOAM));
    assert!(
        close(before[0], 0.7) && close(before[1], 0.25),
        "{before:?}"
    );
    assert!(close(after[0], 1.2) && close(after[1], 0.5), "{after:?}");
}

#[test]
fn a_bin_that_is_reversed_was_no_retirement() {
    let mut shop = Shop::new();
    shop.import(vec![noted("P-01", FOAM, permille(800))]);
    let before = shop.life(FOAM);
    let seq = shop.bin("P-01", "torn").seq;
    assert_eq!(shop.life(FOAM).counts.failure_count, 1);
    assert_ne!(shop.life(FOAM), before);
    shop.reverse(seq).unwrap();
    assert_eq!(shop.life(FOAM), before);
}

fn usual(shop: &Shop) -> UsualJob {
    let make = shop.book.make(&id(FOAM)).unwrap();
    usual_job(&shop.book, make, pad_figures(make))
}

/// Source: by hand: a load of 18 of 130 sections and one of 20 washes; then the two-step's 77 sections
/// on five pads, a mean of 15.4.
#[test]
fn a_usual_job_is_the_mean_use_and_a_wash_or_else_one_load_and_a_wash() {
    let mut shop = Shop::worked();
    let before = usual(&shop);
    assert_eq!(before.use_count, 0);
    assert!(close(before.damage, 18.0 / 130.0 + 1.0 / 20.0));
    shop.log("thursday");
    let after = usual(&shop);
    assert_eq!(after.use_count, 5);
    assert!(close(after.damage, 15.4 / 130.0 + 1.0 / 20.0));
    // A pad that is binned has worked all the same.
    shop.bin("P-01", "torn");
    assert_eq!(usual(&shop), after);
}

/// Washes are left out where the make has no rating for them, and no job is without damage.
#[test]
fn a_usual_job_always_wears() {
    let mut shop = Shop::new();
    shop.edit_pad(FOAM, |figures| {
        figures.rated_work_sections = Some(100_000);
        figures.load_sections = Some(1);
    });
    assert!(usual(&shop).damage > 0.0);
    shop.import(vec![noted("P-01", FOAM, 0)]);
    assert!(usual(&shop).damage > 0.0 && usual(&shop).use_count == 0);
}

/// A pad put to work on a day of that month, with so many thousandths of damage, worn out by now.
fn put_to_work(pad: i8, day: i8, damage: i64) -> NotebookRow {
    NotebookRow {
        date: Some(jiff::civil::date(2026, 1, day)),
        ..retired(&format!("P-{pad:02}"), FOAM, permille(damage), "worn")
    }
}

/// Source: the gamma posterior by hand: a life counts 0.5^(n / h), n pads put to work later and h pads
/// that halve it. With h = 1 three failures on three days at 0.5, 0.8 and 1 weigh ¼, ½ and 1: a = 2.75,
/// b = 1 + 0.125/4 + 0.512/2 + 1 = 2.28725.
#[test]
fn a_life_counts_less_for_every_pad_put_to_work_after_it() {
    let mut shop = Shop::new();
    shop.set_policy(PolicyKey::LivesHalvePads, 1);
    shop.import(vec![
        put_to_work(1, 5, 500),
        put_to_work(2, 6, 800),
        put_to_work(3, 7, 1_000),
    ]);
    let life = shop.life(FOAM);
    assert!(close(life.belief.a(), 2.75), "{}", life.belief.a());
    assert!(close(life.belief.ln_b(), f64::ln(2.287_25)));
    assert_eq!(life.counts.failure_count, 3);
    assert_eq!(
        life.rests_on(),
        "Rests on 3 retirements here, older ones counting less, and the rating."
    );
    let wear = make_wear(&shop.book, &id(FOAM), shop.now).unwrap();
    // The curve counts all alike: two of three outlive the first.
    assert!(close(wear.curve[0].survival, 2.0 / 3.0));
    assert!(
        wear.caveats
            .iter()
            .any(|said| said.starts_with("What is believed lets older lives count less"))
    );
    shop.set_policy(PolicyKey::LivesHalvePads, 15);
    let weights: Vec<f64> = shop
        .life(FOAM)
        .lives
        .iter()
        .map(|life| life.weight)
        .collect();
    assert!(close(weights[0], 0.5_f64.powf(2.0 / 15.0)), "{weights:?}");
    assert!(close(weights[2], 1.0), "{weights:?}");
}

/// Pads that came together were put to work together, as far as a notebook tells, and fade nothing; nor
/// do pads that are bought and not put to work.
#[test]
fn buying_alone_fades_nothing() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    let before = shop.life(FOAM);
    assert!(!before.lives.is_faded());
    shop.receive(FOAM, 6);
    let bought = shop.life(FOAM);
    assert!(!bought.lives.is_faded());
    assert_eq!(
        (bought.belief.a(), bought.belief.ln_b()),
        (before.belief.a(), before.belief.ln_b())
    );
}

/// Failures count by weight for ten or more as well: of ten on ten days the oldest count too little.
#[test]
fn the_shape_is_fitted_from_ten_failures_by_weight() {
    let mut shop = Shop::new();
    shop.import(
        (1..=10)
            .map(|at| put_to_work(at, at, 500 + 50 * i64::from(at)))
            .collect(),
    );
    assert_eq!(shop.life(FOAM).counts.failure_count, 10);
    assert_eq!(shop.life(FOAM).shape_basis, ShapeBasis::Policy);
    shop.set_policy(PolicyKey::LivesHalvePads, 10_000);
    shop.set_policy(PolicyKey::ShapeFromFailures, 9);
    let life = shop.life(FOAM);
    assert!(matches!(life.shape_basis, ShapeBasis::Fitted(_)));
    // Faded lives give the shape no limits of its own.
    assert_eq!(life.shape_limits(), None);
}

/// Limits are those of the shape that is shown, the one without its bias.
#[test]
fn the_limits_of_the_shape_lie_about_the_shape_shown() {
    let mut shop = Shop::new();
    shop.import(published(10));
    let wear = make_wear(&shop.book, &id(FOAM), shop.now).unwrap();
    let limits = wear.shape_limits.unwrap();
    assert!(
        close(limits.lower * limits.upper, wear.shape * wear.shape),
        "{limits:?}"
    );
}

#[test]
fn newer_pads_that_last_shorter_are_told_once_and_in_words() {
    let mut shop = Shop::new();
    let mut rows: Vec<NotebookRow> = (1..=25)
        .map(|at| put_to_work(at, 1, 800 + 20 * i64::from(at)))
        .collect();
    rows.extend((26..=40).map(|at| put_to_work(at, 20, 400 + 10 * i64::from(at - 25))));
    shop.import(rows);
    let wear = make_wear(&shop.book, &id(FOAM), shop.now).unwrap();
    assert!(wear.newer_last_shorter);
    assert!(
        wear.summary.contains(" Newer pads last shorter: "),
        "{}",
        wear.summary
    );
    // Without the fifteen there is nothing to hold against the others.
    shop.reverse(shop.book.head()).unwrap();
    shop.import((41..=65).map(|at| put_to_work(at, 1, 800)).collect());
    let wear = make_wear(&shop.book, &id(FOAM), shop.now).unwrap();
    assert!(
        !wear.newer_last_shorter && !wear.summary.contains("Newer"),
        "{}",
        wear.summary
    );
}
