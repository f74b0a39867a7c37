//! What a shop really uses of a liquid or a sundry, against what is planned.
//!
//! Serves the plan, the check and the log. It goes by measured stretches of the make's pieces alone, a
//! bottle's by weight and a sundry's by count: what a person says was used, or what a plan took as used,
//! teaches nothing. A stretch is held against what today's rules plan for its jobs, so that a change of rules
//! changes no job that was measured. Quantities are in the make's unit: µL of a liquid, a sundry's own.

mod today;

use std::collections::{BTreeMap, BTreeSet};

use fettlebook_quantity::{exact_f64, round_to_i64};

pub(crate) use today::PLAN_RULES;

use self::today::PlannedToday;
use crate::Book;
use crate::ground::ids::Id;
use crate::maths::credibility::{CredibilitySettings, Predicted, Span, UseBelief, use_belief};
use crate::trade::make::{Figures, Unit};
use crate::trade::policy::{Policy, PolicyKey, permille};
use crate::trade::tally::{Stretch, Tally};
use crate::trade::towel::whole_pieces;

/// What is believed of the use of one make.
#[derive(Debug, Clone, PartialEq)]
pub struct RealUse {
    belief: UseBelief,
    /// Jobs behind it.
    job_count: i64,
    /// Those of them that share a measuring with others.
    shared_count: i64,
    measured: Measured,
}

/// How it is known what is left of a make's pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Measured {
    /// Its bottles are weighed.
    Weighed,
    /// It is counted, in lengths or volumes.
    Counted,
    /// It is counted in whole pieces.
    InPieces,
}

/// What a job will likely use of a make.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LikelyUse {
    /// By the rules alone.
    pub planned: i64,
    /// On average, to the nearest of the make's unit.
    pub expected: i64,
    /// What nine in ten use more than.
    pub low: i64,
    /// What nine in ten use less than.
    pub high: i64,
    predicted: Predicted,
}

impl RealUse {
    /// What the measurings of a make's pieces say; `planned` is a job's plan, for a make without any.
    pub fn of(book: &Book, make: &Id, planned: i64) -> Self {
        let mut together = Together::default();
        let (mut job_count, mut shared_count) = (0_i64, 0_i64);
        let pieces = book.all_of(make);
        let tallies: Vec<&Tally> = pieces.filter_map(|piece| piece.tally()).collect();
        let today = PlannedToday::of(book, make, &tallies);
        for stretch in tallies.iter().flat_map(|tally| &tally.stretches) {
            let counted = together.add(stretch, today.planned(stretch));
            let jobs = stretch.job_count.saturating_sub(counted).max(0);
            job_count = job_count.saturating_add(jobs);
            if stretch.job_count > 1 {
                shared_count = shared_count.saturating_add(jobs);
            }
        }
        let spans = together.spans;
        let typical = if job_count > 0 {
            spans.iter().map(|span| span.planned).sum::<f64>() / exact_f64(job_count)
        } else {
            exact_f64(planned)
        };
        Self {
            belief: use_belief(&spans, typical, credibility_settings(book.policy())),
            job_count,
            shared_count,
            measured: Measured::of(book, make),
        }
    }

    /// What a job with this plan will likely use. Of a sundry that nobody counts it is the plan, and no range
    /// is told.
    pub fn of_job(&self, planned: i64) -> LikelyUse {
        let predicted = self.predict(exact_f64(planned));
        let whole = |value: f64| match self.measured {
            Measured::Weighed | Measured::Counted => round_to_i64(value),
            Measured::InPieces => whole_pieces(value),
        };
        LikelyUse {
            planned,
            expected: whole(predicted.mean),
            low: whole(predicted.quantile(0.1)),
            high: whole(predicted.quantile(0.9)),
            predicted,
        }
    }

    /// The same of any plan, such as that of several jobs.
    pub(crate) fn predict(&self, planned: f64) -> Predicted {
        let mut predicted = self.belief.predict(planned);
        if self.belief.ratio.is_none() && self.measured != Measured::Weighed {
            predicted.variance = 0.0;
        }
        predicted
    }

    /// What it rests on, a sentence; nothing of a sundry that nobody counts.
    pub fn rests_on(&self) -> String {
        let (measured, nothing) = match self.measured {
            Measured::Weighed => (
                "weighed",
                "Rests on the plan only: no bottle was weighed between jobs.",
            ),
            Measured::Counted | Measured::InPieces => ("counted", ""),
        };
        let Some(ratio) = self.belief.ratio else {
            return nothing.to_owned();
        };
        let told = against_plan(ratio);
        let reckoned = against_plan(self.belief.factor);
        let jobs = if self.job_count == 1 {
            "1 job".to_owned()
        } else {
            format!("{} jobs", self.job_count)
        };
        let shared = match self.shared_count {
            0 => String::new(),
            count if count == self.job_count => format!(", {measured} together"),
            count => format!(", {count} of them {measured} together"),
        };
        if told == reckoned {
            return format!("You use {told}, from {jobs}{shared}.");
        }
        format!(
            "You use {told}, from {jobs}{shared}; {reckoned} is reckoned with until more are {measured}."
        )
    }
}

impl Measured {
    fn of(book: &Book, make: &Id) -> Self {
        match book.make(make).map(|make| &make.figures) {
            Some(Figures::Sundry(sundry)) => match sundry.unit {
                Unit::Piece | Unit::Pair => Self::InPieces,
                Unit::Microlitre | Unit::Millimetre => Self::Counted,
            },
            _ => Self::Weighed,
        }
    }
}

/// Measured stretches, those of one job together: a job that empties a bottle and opens the next is one use,
/// and how it was shared out between the two says nothing of how much it was.
#[derive(Default)]
struct Together<'a> {
    spans: Vec<Span>,
    /// Which of them a job is in.
    of_job: BTreeMap<&'a Id, usize>,
}

impl<'a> Together<'a> {
    /// Takes a stretch in; gives how many of its jobs are in others already.
    fn add(&mut self, stretch: &'a Stretch, planned: f64) -> i64 {
        let mut jobs = stretch.uses.iter().filter_map(|one| one.job.as_ref());
        let known = jobs.find_map(|job| self.of_job.get(job)).copied();
        let at = known.unwrap_or(self.spans.len());
        let actual = exact_f64(stretch.actual_quantity);
        match self.spans.get_mut(at) {
            Some(span) => {
                span.planned += planned;
                span.actual += actual;
            }
            None => self.spans.push(Span { planned, actual }),
        }
        let jobs: BTreeSet<&Id> = stretch
            .uses
            .iter()
            .filter_map(|one| one.job.as_ref())
            .collect();
        let mut counted = 0_i64;
        for job in jobs {
            if self.of_job.insert(job, at).is_some() {
                counted = counted.saturating_add(1);
            }
        }
        counted
    }
}

/// How far the book trusts its own use against the plan.
pub(crate) fn credibility_settings(policy: &Policy) -> CredibilitySettings {
    CredibilitySettings {
        ratio_sd: permille(policy, PolicyKey::UseRatioSdPermille),
        prior_jobs: exact_f64(policy.value(PolicyKey::UseBeliefJobs)),
        data_jobs_from: usize::try_from(policy.value(PolicyKey::UseDataJobs)).unwrap_or(usize::MAX),
    }
}

/// A ratio of use to plan in words.
pub(crate) fn against_plan(ratio: f64) -> String {
    match round_to_i64((ratio - 1.0) * 100.0) {
        0 => "as planned".to_owned(),
        percent if percent > 0 => format!("{percent} % more than planned"),
        percent => format!("{} % less than planned", percent.saturating_abs()),
    }
}

impl LikelyUse {
    /// Mean and variance of what a job uses, in the make's unit and its square.
    pub(crate) const fn moments(&self) -> (f64, f64) {
        (self.predicted.mean, self.predicted.variance)
    }

    /// Probability that a job uses no more than this.
    pub fn at_most(&self, held: i64) -> f64 {
        self.predicted.at_most(exact_f64(held.max(0)))
    }
}

#[cfg(test)]
mod tests {
    use super::{PLAN_RULES, Together};
    use crate::trade::tally::{PlannedUse, Stretch};

    fn stretch(jobs: &[&str], planned_quantity: i64, actual_quantity: i64) -> Stretch {
        let uses = jobs.iter().map(|job| PlannedUse {
            job: Some(job.parse().unwrap()),
            planned_quantity,
            rules: PLAN_RULES,
        });
        Stretch {
            from: None,
            until: crate::Moment::UNIX_EPOCH,
            planned_quantity,
            actual_quantity,
            job_count: 1,
            uses: uses.collect(),
        }
    }

    /// Source: by hand: 5 of 50 planned from the first bottle and 25 poured, 45 and 25 from the next.
    #[test]
    fn a_job_that_empties_one_bottle_and_opens_the_next_is_one_use() {
        let emptied = stretch(&["saloon"], 5, 25);
        let opened = stretch(&["saloon"], 45, 25);
        let other = stretch(&["estate"], 50, 60);
        let mut together = Together::default();
        let counted = [(&emptied, 5.0), (&other, 50.0), (&opened, 45.0)]
            .map(|(one, planned)| together.add(one, planned));
        assert_eq!(counted, [0, 0, 1]);
        let spans = together.spans.iter();
        let spans: Vec<_> = spans.map(|span| (span.planned, span.actual)).collect();
        assert_eq!(spans, [(50.0, 50.0), (50.0, 60.0)]);
    }
}
