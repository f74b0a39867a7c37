//! What a shop really uses of a liquid, against what is planned.
//!
//! Serves the plan, the check and the log. It goes by weighed stretches of the make's bottles alone:
//! what a person says was used, or what a plan took as used, teaches nothing. A stretch is held against
//! what today's rules plan for its jobs, so that a change of rules changes no job that was weighed.

mod today;

use std::collections::BTreeMap;

use fettlebook_quantity::{Volume, exact_f64, round_to_i64};

pub(crate) use today::PLAN_RULES;

use self::today::PlannedToday;
use crate::Book;
use crate::ground::ids::Id;
use crate::maths::credibility::{CredibilitySettings, Predicted, Span, UseBelief, use_belief};
use crate::trade::policy::{Policy, PolicyKey, permille};
use crate::trade::tally::{Stretch, Tally};

/// What is believed of the use of one liquid make.
#[derive(Debug, Clone, PartialEq)]
pub struct RealUse {
    belief: UseBelief,
    /// Jobs behind it.
    job_count: i64,
    /// Those of them that share a weighing with others.
    shared_count: i64,
}

/// Liquid a job will likely use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LikelyUse {
    /// By dots and sections.
    pub planned: Volume,
    /// On average, to the nearest microlitre.
    pub expected: Volume,
    /// What nine in ten use more than.
    pub low: Volume,
    /// What nine in ten use less than.
    pub high: Volume,
    predicted: Predicted,
}

impl RealUse {
    /// What the weigh-ins of a make's bottles say; `planned` is a job's plan, for a make without any.
    pub fn of(book: &Book, make: &Id, planned: Volume) -> Self {
        let mut together = Together::default();
        let (mut job_count, mut shared_count) = (0_i64, 0_i64);
        let bottles = book
            .pieces()
            .filter(|piece| piece.make == *make)
            .filter_map(|piece| piece.bottle());
        let tallies: Vec<&Tally> = bottles.map(|bottle| &bottle.tally).collect();
        let today = PlannedToday::of(book, make, &tallies);
        for stretch in tallies.iter().flat_map(|tally| &tally.stretches) {
            together.add(stretch, today.planned_ul(stretch));
            job_count = job_count.saturating_add(stretch.job_count);
            if stretch.job_count > 1 {
                shared_count = shared_count.saturating_add(stretch.job_count);
            }
        }
        let spans = together.spans;
        let typical = if job_count > 0 {
            spans.iter().map(|span| span.planned).sum::<f64>() / exact_f64(job_count)
        } else {
            exact_f64(planned.ul())
        };
        Self {
            belief: use_belief(&spans, typical, credibility_settings(book.policy())),
            job_count,
            shared_count,
        }
    }

    /// What a job with this plan will likely use.
    pub fn of_job(&self, planned: Volume) -> LikelyUse {
        let predicted = self.belief.predict(exact_f64(planned.ul()));
        let volume = |value: f64| Volume::from_ul(round_to_i64(value));
        LikelyUse {
            planned,
            expected: volume(predicted.mean),
            low: volume(predicted.quantile(0.1)),
            high: volume(predicted.quantile(0.9)),
            predicted,
        }
    }

    /// What it rests on, a sentence.
    pub fn rests_on(&self) -> String {
        let Some(ratio) = self.belief.ratio else {
            return "Rests on the plan only: no bottle was weighed between jobs.".to_owned();
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
            count if count == self.job_count => ", weighed together".to_owned(),
            count => format!(", {count} of them weighed together"),
        };
        if told == reckoned {
            return format!("You use {told}, from {jobs}{shared}.");
        }
        format!(
            "You use {told}, from {jobs}{shared}; {reckoned} is reckoned with until more are weighed."
        )
    }
}

/// Weighed stretches, those of one job together: a job that empties a bottle and opens the next is one use,
/// and how it was shared out between the two says nothing of how much it was.
#[derive(Default)]
struct Together<'a> {
    spans: Vec<Span>,
    /// Which of them a job is in.
    of_job: BTreeMap<&'a Id, usize>,
}

impl<'a> Together<'a> {
    fn add(&mut self, stretch: &'a Stretch, planned: f64) {
        let mut jobs = stretch.uses.iter().filter_map(|one| one.job.as_ref());
        let known = jobs.find_map(|job| self.of_job.get(job)).copied();
        let at = known.unwrap_or(self.spans.len());
        let actual = exact_f64(stretch.actual_ul.ul());
        match self.spans.get_mut(at) {
            Some(span) => {
                span.planned += planned;
                span.actual += actual;
            }
            None => self.spans.push(Span { planned, actual }),
        }
        for one in &stretch.uses {
            if let Some(job) = &one.job {
                self.of_job.entry(job).or_insert(at);
            }
        }
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
    /// Mean and variance of what a job uses, µL and µL².
    pub(crate) const fn moments(&self) -> (f64, f64) {
        (self.predicted.mean, self.predicted.variance)
    }

    /// Probability that a job uses no more than this.
    pub fn at_most(&self, held: Volume) -> f64 {
        self.predicted.at_most(exact_f64(held.ul().max(0)))
    }
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::Volume;

    use super::{PLAN_RULES, Together};
    use crate::trade::tally::{PlannedUse, Stretch};

    fn stretch(jobs: &[&str], planned: i64, actual: i64) -> Stretch {
        let planned_ul = Volume::from_ul(planned);
        let uses = jobs.iter().map(|job| PlannedUse {
            job: Some(job.parse().unwrap()),
            planned_ul,
            rules: PLAN_RULES,
        });
        Stretch {
            from: None,
            until: crate::Moment::UNIX_EPOCH,
            planned_ul,
            actual_ul: Volume::from_ul(actual),
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
        for (one, planned) in [(&emptied, 5.0), (&other, 50.0), (&opened, 45.0)] {
            together.add(one, planned);
        }
        let spans = together.spans.iter();
        let spans: Vec<_> = spans.map(|span| (span.planned, span.actual)).collect();
        assert_eq!(spans, [(50.0, 50.0), (50.0, 60.0)]);
    }
}
