//! What the wear report says of a make and of each of its pads.
//!
//! Coarse foam is rated for 130 reference sections and 20 washes; its lives have shape 3 by policy, and
//! a usual job is a load of 18 sections and a wash until there are uses.

use fettlebook_model::Reason;
use fettlebook_model::command::{Behind, NotebookRow};
use fettlebook_model::kit::Readiness;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::Band;
use fettlebook_model::wear_report::{
    LifeRange, MakeWear, PadLeft, make_wear, pad_left, worn_makes,
};

use crate::shop::{Shop, id, noted, retired, tag, tags_of};

const FOAM: &str = "coarse-foam-150";

/// Work that is so many thousandths of the rated life of coarse foam.
const fn permille(damage: i64) -> i64 {
    damage * 130_000
}

fn wear(shop: &Shop) -> MakeWear {
    make_wear(&shop.book, &id(FOAM), shop.now).unwrap()
}

fn close(left: f64, right: f64) -> bool {
    (left - right).abs() <= 1e-9 * right.abs().max(1.0)
}

fn is_ordered(range: LifeRange) -> bool {
    let all = [0.0, range.low, range.typical, range.high];
    all.is_sorted() && all.iter().all(|figure| figure.is_finite())
}

/// Source: the gamma posterior by hand, a = b = 1: a new pad lasts (1/p − 1)^(1/3), so 0.4807, 1 and
/// 2.0801; a usual job is 18/130 + 1/20 = 0.18846, so 1 is 5.3 jobs.
#[test]
fn without_a_retirement_it_says_how_long_by_the_rating() {
    let shop = Shop::stocked();
    let wear = wear(&shop);
    let expected = "No coarse foam 150 has worn out here yet: by its rating, about 5 jobs a pad.";
    assert_eq!(wear.summary, expected);
    let life = [wear.life.low, wear.life.typical, wear.life.high];
    for (is, should) in life.iter().zip([1.0_f64 / 9.0, 1.0, 9.0]) {
        assert!(close(*is, should.cbrt()), "{life:?}");
    }
    assert!(close(wear.jobs.typical, 1.0 / (18.0 / 130.0 + 0.05)));
    assert_eq!((wear.shape, wear.shape_limits), (3.0, None));
    assert!(wear.curve.is_empty());
    assert_eq!(wear.name, "coarse foam 150");
}

/// Source: the gamma posterior by hand: a failure at 0.5 makes a = 2 and b = 1.125; half of new pads
/// last (1.125 (√2 − 1))^(1/3) = 0.775. The notebook's 65 sections are four loads begun, so a
/// usual job is 16.25/130 + 1/20 = 0.175 and 0.775 is 4.4 jobs.
#[test]
fn from_the_first_retirement_it_says_what_share_of_the_rating_pads_last() {
    let mut shop = Shop::new();
    shop.import(vec![retired("P-01", FOAM, permille(500), "torn")]);
    let one = wear(&shop);
    let expected =
        "coarse foam 150 lasts 0.8 of its rating here: about 4 jobs a pad, from 1 retirement.";
    assert_eq!(one.summary, expected);
    let typical = (1.125 * (2.0_f64.sqrt() - 1.0)).cbrt();
    assert!(close(one.life.typical, typical));
    assert!(close(one.jobs.typical, typical / 0.175));
    let thin = "1 retirement is little to go by; the range is wide for that reason.";
    assert_eq!(one.caveats[0], thin);
    let rows = (2..=5).map(|at| retired(&format!("P-0{at}"), FOAM, permille(500), "torn"));
    shop.import(rows.take(3).collect());
    let four = wear(&shop);
    assert!(
        four.summary.ends_with("from 4 retirements."),
        "{}",
        four.summary
    );
    let thin = "4 retirements are little to go by; the range is wide for that reason.";
    assert_eq!(four.caveats[0], thin);
    shop.import(vec![retired("P-05", FOAM, permille(500), "torn")]);
    assert!(
        !wear(&shop)
            .caveats
            .iter()
            .any(|said| said.contains("little"))
    );
}

#[test]
fn with_lives_that_the_user_gave_it_says_that_it_goes_by_those() {
    let mut shop = Shop::new();
    shop.edit_pad(FOAM, |figures| {
        figures.typical_life_sections = Some(65);
        figures.least_life_sections = Some(30);
    });
    let summary = wear(&shop).summary;
    let expected = "No coarse foam 150 has worn out here yet: by the lives you gave, about ";
    assert!(summary.starts_with(expected), "{summary}");
}

/// Source: by hand: five failures at 0.02 make a = 6 and b nearly 1, so half of new pads last
/// (2^(1/6) − 1)^(1/3) = 0.497; a hundred make it (2^(1/101) − 1)^(1/3) = 0.19, and at a usual job of
/// 0.5 damage that is less than one.
#[test]
fn short_lives_are_told_as_one_job_or_less() {
    let mut shop = Shop::new();
    let torn = |from: i64, to: i64| {
        let rows = (from..=to).map(|at| NotebookRow {
            behind: Behind::Jobs(1),
            ..retired(&format!("P-{at:02}"), FOAM, 0, "torn")
        });
        rows.collect::<Vec<_>>()
    };
    shop.edit_pad(FOAM, |figures| {
        figures.load_sections = Some(2);
        figures.rated_work_sections = Some(100);
        figures.rated_wash_count = Some(2);
    });
    shop.import(torn(1, 5));
    let one = wear(&shop).summary;
    assert!(
        one.contains("lasts 0.5 of its rating here: about 1 job a pad"),
        "{one}"
    );
    shop.import(torn(6, 99));
    let less = wear(&shop).summary;
    assert!(
        less.contains("lasts 0.2 of its rating here: less than a job a pad, from 99"),
        "{less}"
    );
}

/// Source: the gamma posterior by hand: a failure at 0.5 and pads in service at 0.5 and 0.1 make a = 2
/// and b = 1.251; what half exceed from 0.5 on is (0.125 + 1.251 (√2 − 1))^(1/3) − 0.5.
#[test]
fn what_is_left_of_a_pad_goes_by_what_is_behind_it() {
    let mut shop = Shop::new();
    shop.import(vec![
        retired("P-01", FOAM, permille(500), "torn"),
        noted("P-02", FOAM, permille(100)),
        noted("P-03", FOAM, permille(500)),
    ]);
    let report = wear(&shop);
    let pads: Vec<_> = report.pads.iter().map(|pad| pad.tag).collect();
    assert_eq!(pads, tags_of("P-03 P-02"));
    let worn = &report.pads[0];
    let expected = (0.125 + 1.251 * (2.0_f64.sqrt() - 1.0)).cbrt() - 0.5;
    assert!(close(worn.damage_left.typical, expected), "{worn:?}");
    assert!(close(
        worn.jobs_left.typical,
        expected / report.usual.damage
    ));
    assert!(worn.damage_left.typical < report.pads[1].damage_left.typical);
    assert_eq!(worn.rests_on, "Rests on 1 retirement here and the rating.");
    assert_eq!(
        pad_left(&shop.book, tag("P-03"), shop.now),
        Some(worn.clone())
    );
}

#[test]
fn only_a_pad_in_service_has_something_left() {
    let mut shop = Shop::stocked();
    let left = |shop: &Shop, piece| pad_left(&shop.book, tag(piece), shop.now);
    assert!(left(&shop, "P-01").is_some());
    shop.lose("P-01");
    for piece in ["P-01", "B-01", "T-01", "BP-01", "P-99"] {
        assert_eq!(left(&shop, piece), None, "{piece}");
    }
    assert_eq!(wear(&shop).pads.len(), 6);
}

/// Basis: policy: tired from 0.6, spent from 1.
#[test]
fn pads_are_told_most_used_first_with_band_and_readiness() {
    let mut shop = Shop::new();
    let work = [("P-01", 0), ("P-02", 700), ("P-03", 1_200), ("P-04", 700)];
    let rows = work.map(|(pad, damage)| noted(pad, FOAM, permille(damage)));
    shop.import(rows.into());
    shop.go_to("2026-03-05 08:00");
    shop.wash("P-02");
    let told = |shop: &Shop| -> Vec<(String, Band, &str)> {
        let pads = wear(shop).pads;
        let told = |pad: PadLeft| (pad.tag.to_string(), pad.band, pad.readiness.word());
        pads.into_iter().map(told).collect()
    };
    let expected = [
        ("P-03".to_owned(), Band::Spent, "ready"),
        ("P-02".to_owned(), Band::Tired, "drying"),
        ("P-04".to_owned(), Band::Tired, "ready"),
        ("P-01".to_owned(), Band::Sound, "ready"),
    ];
    assert_eq!(told(&shop), expected);
    shop.go_to("2026-03-06 08:00");
    assert_eq!(told(&shop)[1].2, "ready");
}

/// Source: Kaplan and Meier's estimate by hand: of four pads one fails at 0.5 and one at 0.75 after
/// another was lost at 0.6: 3/4, then 3/4 · 1/2. The gamma posterior by hand: a = 3, b = 1 + ΣD³, and
/// a new pad lasts x with (b / (b + x³))³.
#[test]
fn the_curve_tells_what_happened_and_the_belief_never_rises() {
    let mut shop = Shop::new();
    shop.import(vec![
        retired("P-01", FOAM, permille(500), "torn"),
        retired("P-02", FOAM, permille(600), "lost"),
        retired("P-03", FOAM, permille(750), "worn"),
        noted("P-04", FOAM, permille(900)),
    ]);
    let wear = wear(&shop);
    let curve: Vec<_> = wear
        .curve
        .iter()
        .map(|step| (step.at_risk, step.failures))
        .collect();
    assert_eq!(curve, [(4, 1), (2, 1)]);
    assert!(close(wear.curve[1].survival, 0.375));
    assert_eq!(wear.belief.first(), Some(&(0.0, 1.0)));
    let b = 1.0 + 0.5_f64.powi(3) + 0.6_f64.powi(3) + 0.75_f64.powi(3) + 0.9_f64.powi(3);
    for (damage, survival) in &wear.belief {
        assert!(
            close(*survival, (b / (b + damage.powi(3))).powi(3)),
            "{damage}"
        );
    }
    assert!(wear.belief.is_sorted_by(|a, b| a.0 < b.0 && a.1 >= b.1));
    assert!(wear.belief.last().is_some_and(|(damage, _)| *damage >= 1.2));
}

#[test]
fn only_the_lives_of_pads_are_told() {
    let shop = Shop::stocked();
    let refused = |key: &str| make_wear(&shop.book, &id(key), shop.now).unwrap_err();
    let (unknown, bottle) = (refused("unheard-of"), refused("fine-polish-500ml"));
    assert_eq!(
        (unknown.reason, unknown.field.as_str()),
        (Reason::MakeUnknown, "make")
    );
    assert_eq!(
        (bottle.reason, bottle.field.as_str()),
        (Reason::WrongSort, "make")
    );
    let what = "The make fine-polish-500ml is a bottle; only the lives of pads are told.";
    assert_eq!(bottle.what, what);
}

#[test]
fn makes_are_told_once_they_have_had_pads() {
    let mut shop = Shop::new();
    assert!(worn_makes(&shop.book).is_empty());
    shop.receive(FOAM, 1);
    shop.lose("P-01");
    assert_eq!(worn_makes(&shop.book), [&id(FOAM)]);
    shop.receive("fine-foam-150", 1);
    assert_eq!(worn_makes(&shop.book), [&id(FOAM), &id("fine-foam-150")]);
}

/// A notebook may hold hundreds of pads that tore before they worked, or worked beyond all reason.
#[test]
fn whatever_a_notebook_holds_the_figures_stay_finite_and_in_order() {
    let torn = |from: i64, to: i64, micro| {
        let rows = (from..=to).map(move |at| retired(&format!("P-{at:03}"), FOAM, micro, "torn"));
        rows.collect::<Vec<_>>()
    };
    let mut shop = Shop::new();
    shop.import(torn(1, 500, 0));
    shop.import(torn(501, 990, 0));
    let mut huge = Shop::new();
    huge.import(torn(1, 500, 1_000_000_000_000));
    let mut both = Shop::new();
    both.import(torn(1, 300, 0));
    both.import(torn(301, 600, 1_000_000_000_000));
    for shop in [&mut shop, &mut huge, &mut both] {
        let fresh = noted("P-991", FOAM, 0);
        let spent = noted("P-992", FOAM, 1_000_000_000_000);
        shop.import(vec![fresh, spent]);
        for shape in [500, 3_000, 12_000] {
            shop.set_policy(PolicyKey::ShapeFoamPermille, shape);
            let wear = wear(shop);
            let ranges = [wear.life, wear.jobs].into_iter();
            let left = wear
                .pads
                .iter()
                .flat_map(|pad| [pad.damage_left, pad.jobs_left]);
            let ranges: Vec<LifeRange> = ranges.chain(left).collect();
            assert!(
                ranges.iter().all(|range| is_ordered(*range)),
                "{shape} {ranges:?}"
            );
            let drawn = wear
                .belief
                .iter()
                .all(|(damage, survival)| damage.is_finite() && (0.0..=1.0).contains(survival));
            assert!(drawn, "{shape} {:?}", wear.belief);
            let stepped = wear.curve.iter().all(|step| {
                (0.0..=1.0).contains(&step.survival)
                    && step.standard_error.is_none_or(f64::is_finite)
            });
            assert!(stepped, "{shape} {:?}", wear.curve);
            assert!(wear.summary.ends_with(" retirements."), "{}", wear.summary);
        }
    }
}

/// A failure at damage zero has no logarithm, so the shape cannot be fitted and the policy stands.
#[test]
fn pads_that_tore_before_any_work_leave_the_shape_to_the_policy() {
    let mut shop = Shop::new();
    let rows = (1..=10).map(|at| retired(&format!("P-{at:02}"), FOAM, 0, "torn"));
    shop.import(rows.collect());
    let wear = wear(&shop);
    assert_eq!((wear.shape, wear.shape_limits), (3.0, None));
    let why =
        "The shape of the curve is a policy, for none can be fitted: life 1 failed at age zero";
    assert!(
        wear.caveats.iter().any(|said| said.starts_with(why)),
        "{:?}",
        wear.caveats
    );
    let soiled = NotebookRow {
        readiness: Readiness::Soiled,
        ..noted("P-11", FOAM, 0)
    };
    shop.import(vec![soiled]);
    assert_eq!(self::wear(&shop).pads[0].readiness, Readiness::Soiled);
}
