//! The pads of a step: how many go and which, so that enough of them last.
//!
//! Serves the pick of pads. It weighs what the pads have behind them against what the make's lives
//! say; it must never send fresh pads where worn ones hold the target, nor more spares than help.

use super::pads::{PadChoice, work_damage};
use crate::maths::chance::{PadAhead, Precision, StepAhead, carry_chance};
use crate::maths::life::Belief;
use crate::ready::lives::MakeLife;
use crate::ready::plan::StepPlan;
use crate::trade::make::{Grade, PadFigures};
use crate::trade::policy::{Policy, PolicyKey, permille};

/// Most spares taken beyond the policy's to reach the target.
const MORE_SPARES_MAX: usize = 3;
/// Chance that a further spare must add to be worth carrying.
const SPARE_GAIN_LEAST: f64 = 0.01;
/// Nearer to the target than this a chance in coarse steps does not decide.
const COARSE_ERROR_MOST: f64 = 3e-3;

/// The pads of a step, for weighing all steps of a job together.
#[derive(Debug, Clone, PartialEq)]
pub struct PadsAhead {
    belief: Belief,
    need: usize,
    pads: Vec<PadAhead>,
}

impl PadsAhead {
    /// The step as the chance of a whole job takes it.
    pub(crate) fn step(&self) -> StepAhead<'_> {
        StepAhead {
            belief: &self.belief,
            need: self.need,
            pads: &self.pads,
        }
    }
}

/// What a step asks of its pads.
pub(super) struct StepPads<'a> {
    life: Option<&'a MakeLife>,
    severity_log_sd: f64,
    /// Pads that work.
    need: usize,
    /// Pads that go, spares by policy included.
    size: usize,
    /// Damage each that works takes.
    more: f64,
    /// Whether worn pads should be used up first.
    cutting: bool,
    target: f64,
}

impl<'a> StepPads<'a> {
    pub(super) fn of(
        policy: &Policy,
        life: Option<&'a MakeLife>,
        plan: &StepPlan,
        figures: &PadFigures,
        target: f64,
    ) -> Self {
        let count = |count: i64| usize::try_from(count).unwrap_or_default();
        Self {
            life,
            severity_log_sd: permille(policy, PolicyKey::SeverityLogSdPermille),
            need: count(plan.pad_count),
            size: count(plan.pad_count.saturating_add(plan.spare_count)),
            more: work_damage(plan, figures),
            cutting: figures.grade == Grade::Coarse,
            target,
        }
    }

    /// Probability that at least as many of these as work last the step.
    pub(super) fn chance(&self, pads: &[PadChoice]) -> Option<f64> {
        self.weigh(pads, Precision::Fine)
    }

    fn weigh(&self, pads: &[PadChoice], precision: Precision) -> Option<f64> {
        self.weigh_ages(pads.iter().map(|pad| pad.damage), precision)
    }

    /// The most worn work when cutting, the least worn when finishing. A spare is asked for what is
    /// left of another's share, which is half of it on average.
    fn weigh_ages(&self, ages: impl Iterator<Item = f64>, precision: Precision) -> Option<f64> {
        let belief = &self.life?.belief;
        Some(carry_chance(
            belief,
            self.severity_log_sd,
            self.need,
            &self.ahead(ages),
            precision,
        ))
    }

    fn ahead(&self, ages: impl Iterator<Item = f64>) -> Vec<PadAhead> {
        let mut ages: Vec<f64> = ages.collect();
        ages.sort_by(f64::total_cmp);
        if self.cutting {
            ages.reverse();
        }
        ages.into_iter()
            .enumerate()
            .map(|(at, age)| PadAhead {
                age,
                more: if at < self.need {
                    self.more
                } else {
                    self.more / 2.0
                },
            })
            .collect()
    }

    /// These pads as a step of the job they go to.
    pub(super) fn ahead_of(&self, pads: &[PadChoice]) -> Option<PadsAhead> {
        Some(PadsAhead {
            belief: self.life?.belief,
            need: self.need,
            pads: self.ahead(pads.iter().map(|pad| pad.damage)),
        })
    }

    /// How many new pads in the place of the most worn would hold the target; `None` when these hold
    /// it already, or none would.
    pub(super) fn fresh_needed(&self, pads: &[PadChoice]) -> Option<usize> {
        if self.holds(pads) {
            return None;
        }
        let mut ages: Vec<f64> = pads.iter().map(|pad| pad.damage).collect();
        ages.sort_by(f64::total_cmp);
        ages.resize(ages.len().max(self.size), 0.0);
        (1..=self.size.saturating_add(MORE_SPARES_MAX)).find(|fresh| {
            let kept = ages.len().saturating_sub(*fresh);
            let with_fresh = ages.iter().take(kept).copied();
            let with_fresh = with_fresh.chain(std::iter::repeat_n(0.0, *fresh));
            self.ages_hold(with_fresh)
        })
    }

    fn holds(&self, pads: &[PadChoice]) -> bool {
        self.ages_hold(pads.iter().map(|pad| pad.damage))
    }

    fn ages_hold(&self, ages: impl Iterator<Item = f64> + Clone) -> bool {
        let Some(coarse) = self.weigh_ages(ages.clone(), Precision::Coarse) else {
            return true;
        };
        if (coarse - self.target).abs() > COARSE_ERROR_MOST {
            return coarse >= self.target;
        }
        self.weigh_ages(ages, Precision::Fine)
            .is_none_or(|fine| fine >= self.target)
    }

    /// The pads that go, those that should work first: from the place alone where that holds the
    /// target, else from everywhere.
    pub(super) fn pick(&self, mut pads: Vec<PadChoice>) -> Vec<PadChoice> {
        sort_by_wear(&mut pads, self.cutting);
        let here: Vec<PadChoice> = pads.iter().filter(|pad| pad.here).cloned().collect();
        let held = self.that_holds(&here).or_else(|| self.that_holds(&pads));
        held.unwrap_or_else(|| {
            let mut best = self.best(pads);
            sort_by_wear(&mut best, self.cutting);
            best
        })
    }

    /// A choice from a sorted list that holds the target: for finishing the least worn there is, for
    /// cutting the most worn that work with the freshest as spares, and no more spares than it takes.
    fn that_holds(&self, sorted: &[PadChoice]) -> Option<Vec<PadChoice>> {
        let last = sorted.len().checked_sub(self.size)?;
        let from = if self.cutting {
            self.first_that_holds(sorted, last)?
        } else {
            0
        };
        (0..=MORE_SPARES_MAX)
            .map(|more| self.choice(sorted, from, more))
            .find(|choice| self.holds(choice))
    }

    /// The first place from which a choice with all spares holds the target, most worn first.
    fn first_that_holds(&self, sorted: &[PadChoice], last: usize) -> Option<usize> {
        let holds = |from: usize| self.holds(&self.choice(sorted, from, MORE_SPARES_MAX));
        if holds(0) {
            return Some(0);
        }
        // A later choice is fresher and lasts better, unless pads fail young here, where the first does
        // best; nearer to the end spares run out, and it lasts worse again.
        let starts: Vec<usize> = (0..=last.saturating_sub(MORE_SPARES_MAX)).collect();
        let first = starts.partition_point(|from| !holds(*from));
        starts.get(first).copied()
    }

    /// Of a sorted list those that work from this place on, and as spares the freshest that are left,
    /// this many more than by policy.
    fn choice(&self, sorted: &[PadChoice], from: usize, more: usize) -> Vec<PadChoice> {
        let end = from.saturating_add(self.need);
        let spares = self.size.saturating_sub(self.need).saturating_add(more);
        let mut choice = sorted.get(from..end).unwrap_or_default().to_vec();
        let mut left = sorted.get(end..).unwrap_or_default().to_vec();
        sort_by_wear(&mut left, false);
        choice.extend(left.into_iter().take(spares));
        choice
    }

    /// The freshest there are, with further spares as far as they help.
    fn best(&self, mut pads: Vec<PadChoice>) -> Vec<PadChoice> {
        sort_by_wear(&mut pads, false);
        let rest = pads.split_off(self.size.min(pads.len()));
        let mut chance = self.weigh(&pads, Precision::Coarse).unwrap_or(1.0);
        for spare in rest.into_iter().take(MORE_SPARES_MAX) {
            if chance >= self.target {
                break;
            }
            pads.push(spare);
            let with_it = self.weigh(&pads, Precision::Coarse).unwrap_or(1.0);
            if with_it - chance < SPARE_GAIN_LEAST {
                pads.pop();
                break;
            }
            chance = with_it;
        }
        pads
    }
}

/// Most worn first for cutting, least worn first for finishing; at the place first among equals.
fn sort_by_wear(pads: &mut [PadChoice], cutting: bool) {
    pads.sort_by(|a, b| {
        let wear = if cutting {
            b.damage.total_cmp(&a.damage)
        } else {
            a.damage.total_cmp(&b.damage)
        };
        wear.then(b.here.cmp(&a.here))
            .then(a.piece.tag.cmp(&b.piece.tag))
    });
}
