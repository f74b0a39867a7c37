//! Plans on the wire.
//!
//! It serves `PlanJob` and the check.

use fettlebook_contract::v1;
use fettlebook_model::make::Figures;
use fettlebook_model::plan::{Plan, StepPlan};
use fettlebook_model::real_use::LikelyUse;
use fettlebook_model::times::LikelyTime;
use fettlebook_model::{Book, Id};

use crate::edge::words;

/// A plan, and what it will likely take of liquids, of sundries and of the machines' time.
pub(in crate::edge) fn plan(
    book: &Book,
    plan: &Plan,
    liquids: &[(Id, LikelyUse, String)],
    sundries: &[(Id, LikelyUse, String)],
    times: &[LikelyTime],
) -> v1::Plan {
    let sundries = sundries.iter().map(|one| sundry(book, one));
    v1::Plan {
        steps: plan.steps.iter().map(step).collect(),
        towel_count: plan.towel_count,
        sundries: sundries.collect(),
        area_mm2: plan.area.mm2(),
        area_basis: words::area_basis_word(plan.area_basis),
        liquids: liquids.iter().map(liquid).collect(),
        times: times.iter().map(time).collect(),
    }
}

fn liquid((make, likely, rests_on): &(Id, LikelyUse, String)) -> v1::LiquidNeed {
    v1::LiquidNeed {
        make: make.to_string(),
        planned_ul: likely.planned,
        expected_ul: likely.expected,
        low_ul: likely.low,
        high_ul: likely.high,
        rests_on: rests_on.clone(),
    }
}

fn sundry(book: &Book, (make, likely, rests_on): &(Id, LikelyUse, String)) -> v1::SundryQuantity {
    v1::SundryQuantity {
        make: make.to_string(),
        quantity: likely.planned,
        unit: match book.make(make).map(|make| &make.figures) {
            Some(Figures::Sundry(sundry)) => words::unit_word(sundry.unit),
            _ => 0,
        },
        expected_quantity: likely.expected,
        low_quantity: likely.low,
        high_quantity: likely.high,
        rests_on: rests_on.clone(),
    }
}

fn time(time: &LikelyTime) -> v1::TimeNeed {
    v1::TimeNeed {
        make: time.machine.to_string(),
        planned_s: super::seconds(time.planned_ms),
        expected_s: super::seconds(time.expected_ms),
        low_s: super::seconds(time.low_ms),
        high_s: super::seconds(time.high_ms),
        rests_on: time.rests_on.clone(),
    }
}

fn step(step: &StepPlan) -> v1::StepPlan {
    v1::StepPlan {
        step: step.name.to_string(),
        section_count: step.section_count,
        area_mm2: step.area.mm2(),
        pad_count: step.pad_count,
        spare_count: step.spare_count,
        prime_dot_count: step.prime_dot_count,
        refresh_dot_count: step.refresh_dot_count,
        volume_ul: step.volume.ul(),
        machine_time_s: super::seconds(step.machine_ms()),
        hand_time_s: super::seconds(step.time_ms.saturating_sub(step.machine_ms())),
        stroke_count: step.stroke_count,
        work_micro_sections: step.work().micro_sections(),
        section_time_ms: step.section_time_ms,
        pad_cleaning: words::cleaning_word(step.cleaning),
        of_step: step.of.to_string(),
        machine_make: step
            .step
            .machine_make
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        set_count: step.set_count,
        second_day: step.second_day,
    }
}
