//! Canned wear of pad makes from the invented shop.
//!
//! It serves the tests of the wear screens and of the picture. The steps are Kaplan and Meier's
//! estimate of the lives named beside them, worked by hand; the rest only has to look like what the
//! service sends.

use fettlebook_contract::v1::{
    LifeBelief, LifeRange, LifeStep, MakeWear, PadLeft, Readiness, WearBand,
};

pub(in crate::render) const fn range(low: f64, typical: f64, high: f64) -> Option<LifeRange> {
    Some(LifeRange { low, typical, high })
}

/// Failures at 0.82, 0.95, 1.02, 1.10 (two) and 1.31; lost at 0.40, 0.55 and 0.72; in service at
/// 0.08, 0.35, 0.71, 0.88 and 1.04.
fn steps() -> Vec<LifeStep> {
    let step = |(damage, at_risk_count, failure_count, survival, standard_error)| LifeStep {
        damage,
        at_risk_count,
        failure_count,
        survival,
        standard_error,
    };
    [
        (0.82, 8, 1, 0.875, 0.1169),
        (0.95, 6, 1, 0.7292, 0.165),
        (1.02, 5, 1, 0.5833, 0.1856),
        (1.10, 3, 2, 0.1944, 0.1704),
        (1.31, 1, 1, 0.0, 0.0),
    ]
    .map(step)
    .to_vec()
}

/// A smooth curve that falls, half of it gone at `typical`.
fn believed(typical: f64) -> Vec<LifeBelief> {
    (0..=50)
        .map(|index| {
            let damage = f64::from(index) * 0.05;
            let survival = 0.5_f64.powf((damage / typical).powi(3));
            LifeBelief { damage, survival }
        })
        .collect()
}

fn pad(tag: &str, damage: f64, readiness: Readiness, jobs: [f64; 3]) -> PadLeft {
    let [low, typical, high] = jobs;
    PadLeft {
        tag: tag.to_owned(),
        damage,
        band: if damage < 0.6 {
            WearBand::Sound
        } else if damage < 1.0 {
            WearBand::Tired
        } else {
            WearBand::Spent
        }
        .into(),
        readiness: readiness.into(),
        damage_left: range(low * 0.1, typical * 0.1, high * 0.1),
        jobs_left: range(low, typical, high),
        rests_on: "Rests on 6 retirements here and the rating.".to_owned(),
        next_job_chance: None,
        carry_target: None,
    }
}

/// A make with a history.
pub(crate) fn coarse_foam() -> MakeWear {
    MakeWear {
        make: "coarse-foam-150".to_owned(),
        make_name: "coarse foam 150".to_owned(),
        failure_count: 6,
        precaution_count: 1,
        cut_off_count: 3,
        in_service_count: 5,
        curve: steps(),
        belief: believed(1.08),
        life: range(0.76, 1.08, 1.41),
        jobs: range(6.9, 9.8, 12.8),
        job_damage: 0.11,
        job_rests_on: "A usual job is the mean of 14 uses and a wash.".to_owned(),
        shape: 4.2,
        shape_fitted: true,
        shape_low: Some(2.1),
        shape_high: Some(7.4),
        summary: "Pads of this make last about 8 % longer here than the rating says, from 6 \
                  retirements."
            .to_owned(),
        caveats: vec![
            "6 retirements are few: a single pad moves these figures much.".to_owned(),
            "Retiring as a precaution shortens the life that is seen; 1 of 6 went so.".to_owned(),
        ],
        pads: vec![
            pad("P-05", 1.04, Readiness::Aside, [0.3, 1.6, 3.9]),
            pad("P-04", 0.88, Readiness::Ready, [0.8, 2.7, 5.1]),
            pad("P-02", 0.71, Readiness::Drying, [1.5, 3.9, 6.6]),
            pad("P-01", 0.35, Readiness::Soiled, [3.9, 6.8, 9.8]),
            pad("P-06", 0.08, Readiness::Ready, [6.2, 9.1, 12.1]),
        ],
        rests_on: "Rests on 6 retirements here and the rating.".to_owned(),
        cut_off_damages: vec![0.2, 0.31, 0.64],
        newer_last_shorter: false,
    }
}

/// A make of which none has left yet.
pub(crate) fn fine_foam() -> MakeWear {
    let mut pad = pad("P-11", 0.22, Readiness::Ready, [3.1, 8.2, 14.6]);
    pad.rests_on = "Rests on the rating only.".to_owned();
    MakeWear {
        make: "fine-foam-150".to_owned(),
        make_name: "fine foam 150".to_owned(),
        in_service_count: 1,
        belief: believed(1.0),
        life: range(0.5, 1.0, 1.64),
        jobs: range(5.2, 10.4, 17.1),
        job_damage: 0.096,
        job_rests_on: "A usual job is the make's load and a wash, as nothing was logged yet."
            .to_owned(),
        shape: 2.5,
        summary: "Nothing is known yet beyond the rating.".to_owned(),
        rests_on: pad.rests_on.clone(),
        pads: vec![pad],
        ..MakeWear::default()
    }
}
