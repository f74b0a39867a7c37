//! What both days leave of a pad, and its life, which counts once.

use fettlebook_model::check::LineKind;
use fettlebook_model::policy::PolicyKey;

use super::{PADS, checked, log_first, pads, saturday};
use crate::shop::id;

/// The check and the book agree on what the first day leaves of a pad: its work, and the wash.
///
/// Source: Palmgren–Miner by hand: 77 sections over five pads are 16 each, of a rating of 130 and 20 washes.
#[test]
fn what_it_did_on_the_first_day_counts() {
    let mut shop = saturday();
    let foretold = pads(&shop, "again").picks[0].damage.unwrap();
    assert!(
        (foretold - (16.0 / 130.0 + 1.0 / 20.0)).abs() < 1e-9,
        "{foretold}"
    );
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    shop.go_to("2026-03-05 18:00");
    shop.wash(&PADS.join(" "));
    let found = pads(&shop, "again");
    assert!(
        (found.picks[0].damage.unwrap() - foretold).abs() < 1e-9,
        "{found:?}"
    );
    assert!(!found.reason.contains("both days"), "{found:?}");
}

/// Source: by hand, every job being ordinary and nothing known but the rating, which is a rate of gamma(1, 1): all of
/// five pads last so much damage x with 1 / (1 + 5 x³), and x is that of both days and the wash between.
#[test]
fn its_life_is_counted_once() {
    let mut shop = saturday();
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    let check = checked(&shop, &["saloon"]).remove(0);
    let x: f64 = 2.0 * 16.0 / 130.0 + 1.0 / 20.0;
    let both = 1.0 / (1.0 + 5.0 * x.powi(3));
    let of = |kind| {
        let lines = check.lines.iter().filter(move |line| line.kind == kind);
        lines.filter_map(|line| line.chance)
    };
    let again = of(LineKind::Pad).next_back().unwrap();
    assert!((again - both).abs() < 1e-6, "{again} {both}");
    let liquid: f64 = of(LineKind::Liquid).product();
    let whole = check.carry_chance.unwrap();
    assert!(
        (whole - both * liquid).abs() < 1e-6,
        "{whole} {both} {liquid}"
    );
}

/// A job after both days has the pads as two uses and the wash between leave them, washed again.
#[test]
fn later_jobs_have_what_both_days_leave() {
    let mut shop = saturday();
    shop.book_saloon("later", "2026-03-09 08:00");
    shop.receive("fine-foam-150", 5);
    let checks = checked(&shop, &["saloon", "later"]);
    let mut lines = checks[1].lines.iter();
    let cut = lines.find(|line| line.step == Some(id("cut")) && line.kind == LineKind::Pad);
    let found = cut.unwrap().picks[0].damage.unwrap();
    assert!(
        (found - (32.0 / 130.0 + 2.0 / 20.0)).abs() < 1e-9,
        "{found}"
    );
}
