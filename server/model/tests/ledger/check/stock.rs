//! Liquids, towels and sundries: enough of them, in date, in the right order.

use fettlebook_model::Command;
use fettlebook_model::check::{Line, LineKind, Verdict};
use fettlebook_model::command::{LiquidAmount, Said};
use fettlebook_model::job::Job;
use fettlebook_model::policy::PolicyKey;
use fettlebook_quantity::Volume;

use super::{asks, check, line, says, thursday_line};
use crate::shop::{Shop, at, saloon_job, tag, weighing};

fn compound(shop: &mut Shop) -> Line {
    thursday_line(shop, LineKind::Liquid, Some("cut"))
}

fn towels(shop: &mut Shop) -> Line {
    thursday_line(shop, LineKind::Towel, None)
}

fn gloves(shop: &mut Shop) -> Line {
    thursday_line(shop, LineKind::Sundry, None)
}

fn receive_compound(shop: &mut Shop, expiry: Option<&str>, ul: i64) {
    shop.receive_as("coarse-compound-1l", 1, |receipt| {
        receipt.expiry = expiry.map(|day| day.parse().unwrap());
        receipt.volume_ul = Some(Volume::from_ul(ul));
    });
}

fn picks(line: &Line) -> Vec<(fettlebook_model::Tag, i64)> {
    line.picks
        .iter()
        .map(|pick| (pick.tag, pick.quantity))
        .collect()
}

/// Basis: common practice, no source: the last 3 % of a bottle's litre are not planned with.
#[test]
fn a_liquid_that_runs_out_stops_the_job_and_says_by_how_much() {
    let mut shop = Shop::stocked();
    shop.count("B-01", 91_500);
    assert_eq!(compound(&mut shop).short, 0);
    shop.count("B-01", 70_000);
    let line = compound(&mut shop);
    assert_eq!(
        (line.need, line.have, line.short, line.verdict),
        (61_500, 40_000, 21_500, Verdict::Stop)
    );
    assert!(says(&line, "Short by 21.5 mL."), "{}", line.reason);
    assert!(asks(&line, "Buy coarse compound 1l before the start"));
    assert_eq!(picks(&line), [(tag("B-01"), 40_000)]);
}

/// Basis: common practice, no source: usable on the expiry day, not after.
#[test]
fn a_bottle_past_its_date_is_not_there() {
    let mut shop = Shop::stocked();
    shop.lose("B-01");
    receive_compound(&mut shop, Some("2026-03-04"), 400_000);
    let line = compound(&mut shop);
    assert_eq!((line.have, line.short), (0, 61_500));
    assert_eq!(line.verdict, Verdict::Stop);
    assert!(says(&line, "Past the date on the day: B-03."));
    assert!(asks(&line, "Bin B-03 by local rules."));
    receive_compound(&mut shop, Some("2026-03-05"), 400_000);
    assert_eq!(compound(&mut shop).short, 0);
}

#[test]
fn the_local_day_of_the_job_decides_what_is_past_its_date() {
    let mut shop = Shop::stocked();
    shop.lose("B-01");
    receive_compound(&mut shop, Some("2026-03-04"), 400_000);
    for (job, utc_offset_s, short) in [("at-utc", 0, 0), ("an-hour-east", 3_600, 61_500)] {
        shop.say(Command::BookJob {
            job: Job {
                starts_at: at("2026-03-04 23:30"),
                utc_offset_s,
                ..saloon_job(job, "2026-03-05 08:00")
            },
        });
        let checks = check(&shop, &[job]);
        assert_eq!(
            line(&checks[0], LineKind::Liquid, Some("cut")).short,
            short,
            "{job}"
        );
    }
}

/// Basis: from memory: a bottle is watched from 14 days before its date.
#[test]
fn a_bottle_that_expires_soon_is_watched() {
    for (expiry, verdict) in [("2026-03-19", Verdict::Watch), ("2026-03-20", Verdict::Go)] {
        let mut shop = Shop::stocked();
        receive_compound(&mut shop, Some(expiry), 400_000);
        let line = compound(&mut shop);
        assert_eq!(line.picks[0].tag, tag("B-03"));
        assert_eq!(line.verdict, verdict, "{expiry}: {}", line.reason);
        assert_eq!(
            says(&line, "Expires soon: B-03."),
            verdict == Verdict::Watch
        );
    }
}

/// Source: WHO good distribution practices, annex 5: the earliest expiry goes first, whenever received;
/// common practice, no source: usable on the expiry day.
#[test]
fn the_bottle_that_expires_first_is_poured_first_and_not_after_its_day() {
    let mut shop = Shop::stocked();
    for day in ["2026-03-05", "2026-03-04", "2027-01-01"] {
        receive_compound(&mut shop, Some(day), 70_000);
    }
    let line = compound(&mut shop);
    assert_eq!(picks(&line), [(tag("B-03"), 40_000), (tag("B-05"), 21_500)]);
    assert!(says(&line, "Past the date on the day: B-04"));
}

/// Basis: common practice, no source: opened before sealed, emptier before fuller.
#[test]
fn opened_bottles_are_poured_before_sealed_ones_and_the_emptier_first() {
    let mut shop = Shop::stocked();
    receive_compound(&mut shop, None, 60_000);
    receive_compound(&mut shop, None, 50_000);
    assert_eq!(
        picks(&compound(&mut shop)),
        [
            (tag("B-04"), 20_000),
            (tag("B-03"), 30_000),
            (tag("B-01"), 11_500)
        ]
    );
}

/// Basis: common practice, no source: 30 mL of a litre are the heel.
#[test]
fn a_bottle_with_its_heel_alone_is_not_planned_with() {
    let mut shop = Shop::stocked();
    shop.count("B-01", 30_000);
    let line = compound(&mut shop);
    assert_eq!((line.have, line.verdict), (0, Verdict::Stop));
    let why = "Only the heel is left, which is not planned with: B-01.";
    assert!(says(&line, why), "{}", line.reason);
    shop.receive("coarse-compound-1l", 1);
    assert_eq!(picks(&compound(&mut shop)), [(tag("B-03"), 61_500)]);
    shop.set_policy(PolicyKey::HeelPermille, 0);
    assert_eq!(compound(&mut shop).picks[0].tag, tag("B-01"));
}

/// Basis: from memory: without a date a sealed bottle keeps 730 days, an opened one 540.
#[test]
fn a_bottle_without_a_date_is_watched_once_it_is_old() {
    let sealed = "Without a date, and here for more than 730 days: B-01.";
    let opened = "Without a date, and opened more than 540 days ago: B-01.";
    // Received on 2026-03-04: 730 days later is 2028-03-03, 540 days later 2027-08-26.
    for (is_opened, start, why) in [
        (false, "2028-03-03 08:00", None),
        (false, "2028-03-04 08:00", Some(sealed)),
        (true, "2027-08-26 08:00", None),
        (true, "2027-08-27 08:00", Some(opened)),
    ] {
        let mut shop = Shop::stocked();
        if is_opened {
            shop.log_loose(|loose| {
                let poured = LiquidAmount::Volume(Volume::from_ul(1_000));
                loose.bottles = vec![(tag("B-01"), poured)];
            })
            .unwrap();
        }
        shop.book_saloon("thursday", start);
        let line = compound(&mut shop);
        let verdict = if why.is_some() {
            Verdict::Watch
        } else {
            Verdict::Go
        };
        assert_eq!(line.verdict, verdict, "{start}: {}", line.reason);
        let is_told = why.is_none_or(|why| says(&line, why) && asks(&line, "Shake B-01"));
        assert!(is_told, "{start}: {} {:?}", line.reason, line.todos);
        // One that bears a date goes by that.
        receive_compound(&mut shop, Some("2029-01-01"), 900_000);
        shop.lose("B-01");
        assert_eq!(compound(&mut shop).verdict, Verdict::Go);
    }
}

#[test]
fn a_sealed_bottle_here_is_poured_before_an_opened_one_elsewhere() {
    let mut shop = Shop::stocked();
    receive_compound(&mut shop, None, 400_000);
    assert_eq!(picks(&compound(&mut shop)), [(tag("B-03"), 61_500)]);
    let mut shop = Shop::stocked();
    receive_compound(&mut shop, None, 400_000);
    shop.move_to("B-03", "van-a");
    assert_eq!(picks(&compound(&mut shop)), [(tag("B-01"), 61_500)]);
}

#[test]
fn a_bottle_that_is_aside_is_not_poured() {
    let mut shop = Shop::stocked();
    shop.set_aside("B-01");
    assert_eq!(compound(&mut shop).have, 0);
}

#[test]
fn of_two_alike_the_one_at_the_place_is_taken() {
    let mut shop = Shop::stocked();
    shop.receive("coarse-compound-1l", 1);
    shop.receive_towels(24, 0);
    shop.receive("nitrile-gloves", 1);
    shop.move_to("B-01 T-01 S-01", "van-a");
    assert_eq!(compound(&mut shop).picks[0].tag, tag("B-03"));
    assert_eq!(towels(&mut shop).picks[0].tag, tag("T-02"));
    assert_eq!(gloves(&mut shop).picks[0].tag, tag("S-02"));
}

#[test]
fn towels_of_a_lower_grade_take_no_residue() {
    let mut shop = Shop::stocked();
    shop.say(Command::Demote {
        said: Said::default(),
        tag: tag("T-01"),
        grade: "wheels".parse().unwrap(),
    });
    assert_eq!(towels(&mut shop).have, 0);
}

#[test]
fn a_level_in_doubt_is_watched_until_it_is_weighed() {
    let mut shop = Shop::stocked();
    shop.say(Command::Weigh {
        said: Said::default(),
        weighings: vec![weighing("B-01", 1_400)],
    });
    let line = compound(&mut shop);
    assert_eq!((line.short, line.verdict), (0, Verdict::Watch));
    assert!(says(&line, "The level of B-01 is in doubt."));
    assert!(asks(&line, "Weigh B-01."));
    shop.say(Command::Weigh {
        said: Said::default(),
        weighings: vec![weighing("B-01", 1_000)],
    });
    assert_eq!(compound(&mut shop).verdict, Verdict::Go);
}

#[test]
fn a_bundle_in_doubt_is_watched_until_it_is_counted() {
    let mut shop = Shop::stocked();
    shop.log_loose(|loose| loose.bundles = vec![(tag("T-01"), 30)])
        .unwrap();
    shop.wash("T-01");
    shop.mark_dry("T-01");
    let line = towels(&mut shop);
    assert_eq!((line.have, line.verdict), (24, Verdict::Watch));
    assert!(says(&line, "The level of T-01 is in doubt."));
    assert!(asks(&line, "Count T-01."));
    shop.count_towels("T-01", 24, 0);
    assert_eq!(towels(&mut shop).verdict, Verdict::Go);
}

#[test]
fn a_sundry_that_runs_out_is_watched() {
    let mut shop = Shop::stocked();
    shop.count("S-01", 1);
    let line = gloves(&mut shop);
    assert_eq!((line.need, line.have, line.short), (2, 1, 1));
    assert_eq!(line.verdict, Verdict::Watch);
    assert!(says(&line, "Short by 1 pair."), "{}", line.reason);
    assert!(asks(&line, "Buy nitrile gloves before the start"));
}

#[test]
fn a_box_below_nothing_takes_nothing_from_the_others() {
    let mut shop = Shop::stocked();
    shop.log_loose(|loose| loose.sundries = vec![(tag("S-01"), 60)])
        .unwrap();
    shop.receive_as("nitrile-gloves", 1, |receipt| receipt.quantity = Some(5));
    let line = gloves(&mut shop);
    assert_eq!((line.have, line.short), (5, 0));
    assert_eq!(picks(&line), [(tag("S-02"), 2)]);
}

#[test]
fn the_opened_box_is_used_up_first() {
    let mut shop = Shop::stocked();
    shop.receive_as("nitrile-gloves", 1, |receipt| receipt.quantity = Some(1));
    assert_eq!(
        picks(&gloves(&mut shop)),
        [(tag("S-02"), 1), (tag("S-01"), 1)]
    );
}

#[test]
fn soiled_towels_stop_the_job_and_the_line_says_wash_by_when() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-06 08:00");
    shop.count_towels("T-01", 4, 20);
    let short = towels(&mut shop);
    assert_eq!((short.need, short.have, short.short), (6, 4, 2));
    assert_eq!(short.verdict, Verdict::Stop);
    let todo = "Wash T-01 by Thu 5 Mar 2026 08:00 to be dry in time: 20 towels.";
    assert!(asks(&short, todo), "{:?}", short.todos);
    // A wash brings back what is short, so that nothing has to be bought.
    assert!(short.buy == 0 && !asks(&short, "Buy"), "{:?}", short.todos);
    let mut late = shop.clone();
    late.go_to("2026-03-05 09:00");
    assert!(asks(
        &towels(&mut late),
        "Buy 2 more of edgeless towel 400g"
    ));
    shop.wash("T-01");
    assert_eq!(towels(&mut shop).short, 0);
}

#[test]
fn times_are_told_in_the_local_time_of_the_job() {
    let mut shop = Shop::stocked();
    shop.say(Command::BookJob {
        job: Job {
            utc_offset_s: 3_600,
            ..saloon_job("thursday", "2026-03-06 08:00")
        },
    });
    shop.count_towels("T-01", 4, 20);
    let line = towels(&mut shop);
    assert!(
        asks(&line, "Wash T-01 by Thu 5 Mar 2026 09:00"),
        "{:?}",
        line.todos
    );
}

#[test]
fn towels_still_wet_at_the_start_are_not_counted() {
    let mut shop = Shop::stocked();
    shop.count_towels("T-01", 4, 20);
    shop.wash("T-01");
    let line = towels(&mut shop);
    assert_eq!((line.have, line.short), (4, 2));
    let todo = "20 in T-01 should be dry on Thu 5 Mar 2026 16:00";
    assert!(asks(&line, todo), "{:?}", line.todos);
    shop.mark_dry("T-01");
    assert_eq!(towels(&mut shop).short, 0);
}

/// Basis: common practice, no source: towels are inspected from 25 washes.
#[test]
fn towels_are_due_for_a_look_from_twenty_five_washes() {
    for (washes, verdict) in [(24, Verdict::Go), (25, Verdict::Watch)] {
        let mut shop = Shop::stocked();
        shop.lose("T-01");
        shop.receive_towels(24, washes);
        let line = towels(&mut shop);
        assert_eq!(
            (line.short, line.verdict),
            (0, verdict),
            "{washes}: {}",
            line.reason
        );
        let due = verdict == Verdict::Watch;
        assert_eq!(says(&line, "25 washes or more: T-02."), due);
        assert_eq!(asks(&line, "Inspect T-02"), due);
    }
}

/// Basis: common practice, no source: towels go down a grade at 50 washes.
#[test]
fn towels_washed_fifty_times_take_no_more_residue() {
    let mut shop = Shop::stocked();
    shop.lose("T-01");
    shop.receive_towels(24, 49);
    assert_eq!(towels(&mut shop).short, 0);
    shop.wash("T-02");
    shop.mark_dry("T-02");
    let line = towels(&mut shop);
    assert_eq!((line.have, line.short), (0, 6));
    assert!(says(&line, "Washed too often for residue: T-02."));
    assert!(asks(&line, "Take T-02 down a grade."));
    shop.say(Command::Demote {
        said: Said::default(),
        tag: tag("T-02"),
        grade: "wheels".parse().unwrap(),
    });
    let line = towels(&mut shop);
    assert_eq!((line.have, asks(&line, "T-02")), (0, false));
}

/// Basis: common practice, no source: the most washed first, so that the newest keep their nap.
#[test]
fn the_most_washed_towels_are_taken_first() {
    let mut shop = Shop::stocked();
    shop.receive_towels(4, 12);
    assert_eq!(
        picks(&towels(&mut shop)),
        [(tag("T-02"), 4), (tag("T-01"), 2)]
    );
}

#[test]
fn kit_in_the_van_is_not_here_and_is_to_be_moved_in_time() {
    let mut shop = Shop::stocked();
    shop.move_to("T-01", "van-a");
    let line = towels(&mut shop);
    assert_eq!(
        (line.have, line.short, line.verdict),
        (0, 0, Verdict::Watch)
    );
    assert!(says(&line, "T-01 at van-a."), "{}", line.reason);
    assert_eq!(
        line.todos,
        ["Move T-01 from van-a to bench by Thu 5 Mar 2026 07:30."]
    );
}
