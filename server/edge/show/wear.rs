//! Wear on the wire: what makes last, what is left of pads, the life of a piece.
//!
//! It serves `ListMakeWear` and `GetPieceLife`. The figures and the sentences are the model's.

use fettlebook_contract::v1;
use fettlebook_model::life::CurvePoint;
use fettlebook_model::lives::UsualJob;
use fettlebook_model::wear_report::{LifeRange, MakeWear, PadLeft};

use super::count;
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
