//! Wear on the wire: what makes last, what is left of pads, the life of a piece.
//!
//! It serves `ListMakeWear`, `ListPieceWear` and `GetPieceLife`. The figures and the sentences are the model's.

use fettlebook_contract::v1;
use fettlebook_model::Moment;
use fettlebook_model::kit_wear::{Clock, PieceWear};
use fettlebook_model::life::CurvePoint;
use fettlebook_model::lives::UsualJob;
use fettlebook_model::supply_life::{Given, GivenBasis, SupplyLife};
use fettlebook_model::wear_report::{LifeRange, MakeWear, PadLeft};

use super::{count, moment};
use crate::edge::words;

/// The wear of a make.
pub(in crate::edge) fn make_wear(wear: MakeWear) -> v1::MakeWear {
    v1::MakeWear {
        make: wear.make.to_string(),
        make_name: wear.name,
        failure_count: wear.counts.failure_count,
        precaution_count: wear.counts.precaution_count,
        cut_off_count: wear.counts.cut_off_count,
        in_service_count: wear.counts.in_service_count,
        curve: wear.curve.iter().map(step).collect(),
        belief: wear
            .belief
            .iter()
            .map(|&(damage, survival)| v1::LifeBelief { damage, survival })
            .collect(),
        life: Some(range(wear.life)),
        jobs: Some(range(wear.jobs)),
        job_damage: wear.usual.damage,
        job_rests_on: job_rests_on(wear.usual),
        shape: wear.shape,
        shape_fitted: wear.is_shape_fitted,
        shape_low: wear.shape_limits.map(|limits| limits.lower),
        shape_high: wear.shape_limits.map(|limits| limits.upper),
        summary: wear.summary,
        caveats: wear.caveats,
        pads: wear.pads.into_iter().map(pad_left).collect(),
        rests_on: wear.rests_on,
        cut_off_damages: wear.cut_off_damages,
        newer_last_shorter: wear.newer_last_shorter,
    }
}

fn step(point: &CurvePoint) -> v1::LifeStep {
    v1::LifeStep {
        damage: point.age,
        at_risk_count: count(point.at_risk),
        failure_count: count(point.failures),
        survival: point.survival,
        standard_error: point.standard_error.unwrap_or_default(),
    }
}

const fn range(range: LifeRange) -> v1::LifeRange {
    v1::LifeRange {
        low: range.low,
        typical: range.typical,
        high: range.high,
    }
}

fn job_rests_on(usual: UsualJob) -> String {
    match usual.use_count {
        0 => "A usual job is one load of reference sections and a wash.".to_owned(),
        1 => "A usual job is the 1 use so far and a wash.".to_owned(),
        count => format!("A usual job is the mean of {count} uses and a wash."),
    }
}

/// What is left of a pad.
pub(in crate::edge) fn pad_left(left: PadLeft) -> v1::PadLeft {
    v1::PadLeft {
        tag: left.tag.to_string(),
        damage: left.damage,
        band: words::band_word(left.band),
        readiness: words::readiness_word(left.readiness),
        damage_left: Some(range(left.damage_left)),
        jobs_left: Some(range(left.jobs_left)),
        rests_on: left.rests_on,
        next_job_chance: Some(left.next_job_chance),
        carry_target: Some(left.carry_target),
    }
}

/// How worn a piece is by its own clocks, at a moment.
pub(in crate::edge) fn piece_wear(wear: PieceWear<'_>, now: Moment) -> v1::PieceWear {
    let run = |clock: Option<Clock>| clock.map(|clock| clock.count);
    let rated = |clock: Option<Clock>| clock.and_then(|clock| clock.rated);
    v1::PieceWear {
        tag: wear.piece.tag.to_string(),
        make: wear.make.id.to_string(),
        make_name: wear.make.name.clone(),
        sort: words::make_sort(&wear.make.figures).into(),
        place: wear.piece.place.to_string(),
        readiness: words::readiness_word(wear.piece.readiness.at(now)),
        work_micro_sections: run(wear.work_micro_sections),
        rated_work_micro_sections: rated(wear.work_micro_sections),
        run_time_s: run(wear.run_time_s),
        rated_run_time_s: rated(wear.run_time_s),
        wash_count: run(wear.wash_count),
        rated_wash_count: rated(wear.wash_count),
        change_count: run(wear.change_count),
        rated_change_count: rated(wear.change_count),
        charge_count: run(wear.charge_count),
        rated_charge_count: rated(wear.charge_count),
        charge_run_time_s: run(wear.charge_run_s),
        new_charge_run_time_s: rated(wear.charge_run_s),
        damage: wear.damage,
        band: wear.band.map_or(0, words::band_word),
        jobs_left: wear.jobs_left.map(range),
        rests_on: wear.rests_on,
    }
}

/// The life of what is used up.
pub(in crate::edge) fn supply_life(life: SupplyLife) -> v1::SupplyLife {
    let last = life.last_job;
    v1::SupplyLife {
        reading_count: life.reading_count,
        given: life.given.into_iter().map(given).collect(),
        jobs_left: life.jobs_left.map(range),
        booked_job_count: life.booked_job_count,
        last_job_time: last.as_ref().map(|last| moment(last.starts_at)),
        last_job: last.map(|last| last.job.to_string()).unwrap_or_default(),
        rests_on: life.rests_on,
    }
}

fn given(given: Given) -> v1::GivenToJob {
    v1::GivenToJob {
        job: given.job.map(|job| job.to_string()).unwrap_or_default(),
        done_time: Some(moment(given.done_at)),
        planned_quantity: given.planned,
        quantity: given.quantity,
        basis: match given.basis {
            GivenBasis::Weighed => v1::GivenBasis::Weighed,
            GivenBasis::Counted => v1::GivenBasis::Counted,
            GivenBasis::Said => v1::GivenBasis::Said,
            GivenBasis::Planned => v1::GivenBasis::Planned,
        }
        .into(),
    }
}
