//! Checks on the wire.
//!
//! It serves `CheckJobs`. The sentences are the model's.

use fettlebook_contract::v1;
use fettlebook_model::check::{ASSUMPTION, Exposure, JobCaution, JobCheck, Line, Pick};
use fettlebook_model::{Book, Moment};

use super::{moment, plan, take};
use crate::edge::words;

/// Checks in order of start, and the worst of their verdicts; none where there is no check.
pub(in crate::edge) fn checks(
    book: &Book,
    checks: Vec<JobCheck>,
    now: Moment,
) -> v1::CheckJobsResponse {
    let worst = checks.iter().map(|check| check.verdict).max();
    let verdict = worst.map_or(v1::Verdict::Unspecified.into(), words::verdict_word);
    let is_several = checks.len() > 1;
    v1::CheckJobsResponse {
        verdict,
        assumption: if is_several {
            ASSUMPTION.to_owned()
        } else {
            String::new()
        },
        checks: checks
            .into_iter()
            .map(|check| job_check(book, check, now))
            .collect(),
        next_elsewhere: None,
        or_check: None,
    }
}

/// The check of one job.
pub(in crate::edge) fn job_check(book: &Book, check: JobCheck, now: Moment) -> v1::JobCheck {
    v1::JobCheck {
        taken: take::taken(&check.job, now),
        job: check.job.id.to_string(),
        verdict: words::verdict_word(check.verdict),
        lines: check.lines.into_iter().map(line).collect(),
        plan: Some(plan::plan(
            book,
            &check.plan,
            &check.liquids,
            &check.sundries,
            &check.times,
        )),
        exposure: Some(exposure(check.exposure)),
        second_exposure: check.second_exposure.map(exposure),
        second_start_time: check
            .job
            .second_day
            .as_ref()
            .map(|second| moment(second.starts_at)),
        routine: check.job.routine.to_string(),
        cautions: texts(&check.cautions),
        hazards: check.cautions.into_iter().map(caution).collect(),
        start_time: Some(moment(check.job.starts_at)),
        place: check.job.place.to_string(),
        carry_chance: check.carry_chance,
        carry_target: check.carry_target,
    }
}

fn texts(cautions: &[JobCaution]) -> Vec<String> {
    let texts = cautions.iter().map(|caution| &caution.text);
    texts.cloned().collect()
}

fn caution(caution: JobCaution) -> v1::Caution {
    v1::Caution {
        what: caution.what,
        make: caution
            .make
            .map(|make| make.to_string())
            .unwrap_or_default(),
        hazard: caution.hazard.to_owned(),
        text: caution.text,
    }
}

fn line(line: Line) -> v1::CheckLine {
    v1::CheckLine {
        kind: words::line_kind_word(line.kind),
        step: line.step.map(|step| step.to_string()).unwrap_or_default(),
        what: line.what,
        make: line.make.map(|make| make.to_string()).unwrap_or_default(),
        need_quantity: line.need,
        have_quantity: line.have,
        short_quantity: line.short,
        unit: line.unit.map_or(0, words::unit_word),
        verdict: words::verdict_word(line.verdict),
        reason: line.reason,
        reasons: line.reasons,
        todos: line.todos,
        picks: line.picks.iter().map(pick).collect(),
        carry_chance: line.chance,
        rests_on: line.rests_on,
        planned_quantity: line.planned,
        buy_count: line.buy,
    }
}

fn pick(pick: &Pick) -> v1::Pick {
    v1::Pick {
        tag: pick.tag.to_string(),
        quantity: pick.quantity,
        spare: pick.spare,
        damage: pick.damage,
    }
}

fn exposure(exposure: Exposure) -> v1::Exposure {
    v1::Exposure {
        machine_time_s: exposure.machine_time_s,
        vibration_a8_m_per_s2: exposure.a8_m_per_s2,
        vibration_points: exposure.points,
        noise_lex_db: exposure.noise_lex_db,
        vibration_declared: exposure.is_declared,
        vibration_unknown: exposure.is_unknown,
    }
}
