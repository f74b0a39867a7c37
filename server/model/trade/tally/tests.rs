//! Stretches between measurings: what they are blamed on, and which jobs they know.

use super::{FIRST_RULES, PlannedUse, STRETCHES_MAX, Taken, Tally};
use crate::Moment;

fn at(second: i64) -> Moment {
    Moment::from_second(second).unwrap()
}

fn ml(count: i64) -> i64 {
    count * 1_000
}

fn job(planned: i64, second: i64) -> Taken {
    Taken {
        quantity: ml(planned),
        planned: planned_for(second, planned),
        done_at: at(second),
    }
}

/// The plan of a job of its own for each second.
fn planned_for(second: i64, planned: i64) -> Option<PlannedUse> {
    Some(PlannedUse {
        job: Some(format!("job-{second}").parse().unwrap()),
        planned_quantity: ml(planned),
        rules: FIRST_RULES,
    })
}

fn weighed(tally: &Tally) -> Vec<(i64, i64, i64)> {
    let of = |quantity: i64| quantity / 1_000;
    tally
        .stretches
        .iter()
        .map(|one| {
            (
                of(one.planned_quantity),
                of(one.actual_quantity),
                one.job_count,
            )
        })
        .collect()
}

#[test]
fn jobs_between_two_weighings_share_what_was_gone() {
    let mut tally = Tally::default();
    tally.take(job(40, 10), ml(500), None);
    tally.take(job(60, 20), ml(460), None);
    tally.weigh(ml(380), None, at(30), &[]);
    tally.take(job(50, 40), ml(380), Some(at(30)));
    tally.weigh(ml(320), Some(at(30)), at(50), &[]);
    assert_eq!(weighed(&tally), [(100, 120, 2), (50, 60, 1)]);
}

#[test]
fn what_was_taken_outside_any_job_is_not_blamed_on_the_jobs() {
    let mut tally = Tally::default();
    let loose = Taken {
        quantity: ml(15),
        planned: None,
        done_at: at(15),
    };
    tally.take(job(40, 10), ml(500), None);
    tally.take(loose, ml(460), None);
    tally.weigh(ml(440), None, at(30), &[]);
    assert_eq!(weighed(&tally), [(40, 45, 1)]);
}

#[test]
fn a_use_reported_late_joins_the_stretch_of_its_time() {
    let mut tally = Tally::default();
    tally.take(job(40, 10), ml(500), None);
    tally.weigh(ml(400), None, at(30), &[]);
    tally.weigh(ml(400), Some(at(30)), at(60), &[]);
    tally.take(job(50, 20), ml(400), Some(at(60)));
    assert_eq!(weighed(&tally), [(90, 100, 2)]);
}

#[test]
fn a_use_reported_late_joins_no_stretch_of_another_time() {
    let mut tally = Tally::default();
    tally.weigh(ml(460), None, at(30), &[]);
    tally.take(job(50, 40), ml(460), Some(at(30)));
    tally.weigh(ml(400), Some(at(30)), at(50), &[]);
    tally.read_off(ml(390), &[]);
    tally.weigh(ml(380), Some(at(55)), at(70), &[]);
    tally.take(job(30, 80), ml(380), Some(at(70)));
    tally.weigh(ml(340), Some(at(70)), at(90), &[]);
    assert_eq!(weighed(&tally), [(50, 60, 1), (30, 40, 1)]);
    tally.take(job(40, 20), ml(340), Some(at(90)));
    tally.take(job(40, 60), ml(340), Some(at(90)));
    assert_eq!(weighed(&tally), [(50, 60, 1), (30, 40, 1)]);
    tally.take(job(10, 30), ml(340), Some(at(90)));
    assert_eq!(weighed(&tally), [(60, 60, 2), (30, 40, 1)]);
}

#[test]
fn what_a_job_took_without_a_plan_is_not_blamed_on_the_plan() {
    let mut tally = Tally::default();
    let unplanned = Taken {
        planned: planned_for(12, 0),
        ..job(20, 12)
    };
    tally.take(job(40, 10), ml(500), None);
    tally.take(unplanned, ml(460), None);
    tally.weigh(ml(435), None, at(30), &[]);
    assert_eq!(weighed(&tally), [(40, 45, 1)]);
    let late = Taken {
        planned: planned_for(20, 0),
        ..job(5, 20)
    };
    tally.take(late, ml(435), Some(at(30)));
    assert_eq!(weighed(&tally), [(40, 40, 1)]);
}

#[test]
fn a_level_read_off_or_a_refill_ends_a_stretch_without_a_figure() {
    let mut tally = Tally::default();
    tally.take(job(40, 10), ml(500), None);
    tally.read_off(ml(450), &[]);
    tally.take(job(40, 20), ml(450), Some(at(15)));
    tally.weigh(ml(400), Some(at(15)), at(30), &[]);
    tally.take(job(40, 40), ml(400), Some(at(30)));
    tally.weigh(ml(480), Some(at(30)), at(50), &[]);
    assert_eq!(weighed(&tally), []);
    tally.take(job(40, 60), ml(480), Some(at(50)));
    tally.weigh(ml(440), Some(at(50)), at(70), &[]);
    assert_eq!(weighed(&tally), [(40, 40, 1)]);
}

#[test]
fn old_stretches_are_added_up_and_nothing_is_lost() {
    let mut tally = Tally::default();
    let mut left = 10_000;
    for turn in 0..100 {
        tally.take(job(10, 2 * turn), ml(left), Some(at(2 * turn - 1)));
        left -= 12;
        tally.weigh(ml(left), Some(at(2 * turn - 1)), at(2 * turn + 1), &[]);
    }
    assert_eq!(tally.stretches.len(), STRETCHES_MAX);
    let sums = weighed(&tally).iter().fold((0, 0, 0), |sum, one| {
        (sum.0 + one.0, sum.1 + one.1, sum.2 + one.2)
    });
    assert_eq!(sums, (1_000, 1_200, 100));
    // A use reported late joins what its stretch was added to.
    let oldest = weighed(&tally)[0];
    tally.take(job(10, 2), ml(left), Some(at(200)));
    assert_eq!(weighed(&tally)[0], (oldest.0 + 10, oldest.1, oldest.2 + 1));
    for stretch in &tally.stretches {
        let of = |uses: &[PlannedUse]| uses.iter().map(|one| one.planned_quantity).sum::<i64>();
        assert_eq!(of(&stretch.uses), stretch.planned_quantity);
    }
    let [sum] = tally.stretches[0].uses.as_slice() else {
        panic!("{:?}", tally.stretches[0]);
    };
    assert_eq!(sum.job, None);
}
