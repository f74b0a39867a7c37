//! How many towels a job will likely take, by area and by what the shop's own logs say.
//!
//! It learns from logs in which a person said how many towels were used: what a plan took as used
//! teaches nothing. Where the routine or the book counts sides a section, that stands.

use fettlebook_quantity::exact_f64;

use crate::Book;
use crate::ground::ids::Id;
use crate::maths::credibility::{Predicted, Span, use_belief};
use crate::ready::plan::{Plan, sides_per_section};
use crate::ready::real_use::{against_plan, credibility_settings};
use crate::trade::job::Routine;
use crate::trade::towel::{TowelGrade, whole_pieces};

/// Towels a job will likely take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TowelUse {
    /// By the rules.
    planned_count: i64,
    /// As the logs say, with the ratio of use to plan and the jobs behind it; `None` without any.
    learnt: Option<Learnt>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Learnt {
    predicted: Predicted,
    ratio: f64,
    job_count: i64,
}

impl TowelUse {
    /// What a job with this plan will likely take.
    #[must_use]
    pub fn of(book: &Book, routine: &Routine, plan: &Plan) -> Self {
        let by_area = sides_per_section(book.policy(), routine).is_none();
        let make = routine.towel_make.as_ref().filter(|_| by_area);
        Self {
            planned_count: plan.towel_count,
            learnt: make.and_then(|make| learnt(book, make, plan)),
        }
    }

    /// Towels to take: a typical job's.
    #[must_use]
    pub fn count(&self) -> i64 {
        self.learnt.map_or(self.planned_count, |learnt| {
            whole_pieces(learnt.predicted.mean)
        })
    }

    /// What nine in ten jobs take more than, and what nine in ten take less than.
    #[must_use]
    pub fn range(&self) -> (i64, i64) {
        self.learnt
            .map_or((self.planned_count, self.planned_count), |learnt| {
                let towels = |part| whole_pieces(learnt.predicted.quantile(part));
                (towels(0.1), towels(0.9))
            })
    }

    /// What it rests on, a sentence; empty where it goes by the plan.
    #[must_use]
    pub fn rests_on(&self) -> String {
        self.learnt.map_or_else(String::new, |learnt| {
            let jobs = match learnt.job_count {
                1 => "1 job".to_owned(),
                count => format!("{count} jobs"),
            };
            let told = against_plan(learnt.ratio);
            format!("You use {told}, from {jobs} whose towels were counted.")
        })
    }
}

/// The grade of towels that a make is bought for: final where a routine wipes down with it, else residue.
#[must_use]
pub(crate) fn grade_for(book: &Book, make: &Id) -> TowelGrade {
    let wipes_down = book.routines().any(|routine| {
        let steps = routine.steps.iter();
        steps
            .filter_map(|step| step.wipe_down_make.as_ref())
            .any(|id| id == make)
    });
    if wipes_down {
        TowelGrade::Final
    } else {
        TowelGrade::Residue
    }
}

/// What the logs of a make's bundles say of a job with this plan.
fn learnt(book: &Book, make: &Id, plan: &Plan) -> Option<Learnt> {
    let reach = book.policy().towel_reach(false);
    let bundles = book.all_of(make);
    let wipings = bundles
        .filter_map(|piece| piece.bundle())
        .flat_map(|bundle| bundle.wipings.iter());
    let (mut spans, mut job_count) = (Vec::new(), 0_i64);
    for wiping in wipings {
        spans.push(Span {
            planned: reach.exact(wiping.area_mm2),
            actual: exact_f64(wiping.towel_count),
        });
        job_count = job_count.saturating_add(wiping.job_count);
    }
    if spans.is_empty() {
        return None;
    }
    let typical = spans.iter().map(|span| span.planned).sum::<f64>() / exact_f64(job_count.max(1));
    let belief = use_belief(&spans, typical, credibility_settings(book.policy()));
    Some(Learnt {
        predicted: belief.predict(reach.exact(plan.wiped)),
        ratio: belief.ratio?,
        job_count,
    })
}
