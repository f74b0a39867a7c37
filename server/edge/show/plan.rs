//! Plans on the wire.
//!
//! It serves `PlanJob` and the check.

use fettlebook_contract::v1;
use fettlebook_model::Book;
use fettlebook_model::make::Figures;
use fettlebook_model::plan::{Plan, StepPlan};

use crate::edge::words;

pub(in crate::edge) fn plan(book: &Book, plan: &Plan) -> v1::Plan {
    let sundries = plan
        .sundries
        .iter()
        .map(|(make, quantity)| v1::SundryQuantity {
            make: make.to_string(),
            quantity: *quantity,
            unit: match book.make(make).map(|make| &make.figures) {
                Some(Figures::Sundry(sundry)) => words::unit_word(sundry.unit),
                _ => 0,
            },
        });
    v1::Plan {
        steps: plan.steps.iter().map(step).collect(),
        towel_count: plan.towel_count,
        sundries: sundries.collect(),
        area_mm2: plan.area.mm2(),
        area_basis: words::area_basis_word(plan.area_basis),
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
        machine_time_s: super::seconds(step.time_ms),
        stroke_count: step.stroke_count,
        work_micro_sections: step.work().micro_sections(),
        section_time_ms: step.section_time_ms,
    }
}
