//! The pads of a step: how many go and which, so that enough of them last.
//!
//! Serves the pick of pads. It weighs what the pads have behind them against what the make's lives
//! say; it must never send fresh pads where worn ones hold the target, nor more spares than help. A
//! spare is no need: it goes along while it raises the chance towards the target.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use super::Scene;
use super::asked::StepAsked;
use super::job_pads::JobPads;
use super::pads::{PadChance, PadChoice, work_damage};
use crate::ground::ids::{Id, Tag};
use crate::maths::chance::{
    OthersAhead, PadAgain, PadAhead, Precision, StepAhead, carry_chance_of_steps,
};
use crate::maths::life::Belief;
use crate::ready::lives::MakeLife;
use crate::ready::plan::StepPlan;
use crate::trade::make::{Figures, Grade, PadFigures};
use crate::trade::policy::{PolicyKey, permille};

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
    own: OwnAhead,
    others: Vec<OthersAhead>,
}

/// The pads of the step's own make.
#[derive(Debug, Clone, Default, PartialEq)]
struct OwnAhead {
    pads: Vec<PadAhead>,
    /// Tags of those, where they may work on a second day too.
    tags: Vec<Tag>,
    /// Those that worked on the first day of the job.
    again: Vec<PadAgain>,
}

impl PadsAhead {
    /// The step as the chance of a whole job takes it.
    pub(crate) fn step(&self) -> StepAhead<'_> {
        StepAhead {
            belief: &self.belief,
            need: self.need,
            pads: &self.own.pads,
            tags: &self.own.tags,
            again: &self.own.again,
            others: &self.others,
        }
    }
}

/// What a step asks of its pads.
pub(super) struct StepPads<'a> {
    scene: &'a Scene<'a>,
    asked: &'a StepAsked<'a>,
    life: Option<&'a MakeLife>,
    severity_log_sd: f64,
    /// Pads that work: as many as the step needs, or all there are.
    need: usize,
    /// Pads that go, spares by policy included.
    size: usize,
    /// Most spares beyond those, to reach the target.
    more_most: usize,
    /// Damage each that works takes.
    more: f64,
    /// Whether worn pads should be used up first.
    cutting: bool,
    target: f64,
}

impl<'a> StepPads<'a> {
    pub(super) fn of(
        scene: &'a Scene<'a>,
        life: Option<&'a MakeLife>,
        asked: &'a StepAsked<'a>,
        eligible: &[PadChoice<'_>],
        target: f64,
    ) -> Self {
        let policy = scene.policy();
        // Of nothing at all one would be wanted.
        let need = asked.need().min(eligible.len()).max(1);
        let by_policy = usize::try_from(asked.plan.spare_count).unwrap_or_default();
        let spares_most = asked.spares_most(scene.book, eligible.len());
        let size = need.saturating_add(by_policy.min(spares_most));
        Self {
            scene,
            asked,
            life,
            severity_log_sd: permille(policy, PolicyKey::SeverityLogSdPermille),
            need,
            size,
            more_most: spares_most.saturating_sub(by_policy).min(MORE_SPARES_MAX),
            more: share_of(asked.plan, asked.figures, need),
            cutting: asked.figures.grade == Grade::Coarse,
            target,
        }
    }

    /// The chance of those picked, as it is told; none where the make's lives say nothing.
    pub(super) fn told(
        &self,
        picked: &[PadChoice<'_>],
        job_pads: &mut JobPads,
    ) -> Option<PadChance> {
        let ahead = self.ahead_of(picked)?;
        Some(PadChance {
            chance: job_pads.chance_of(&ahead, self.severity_log_sd),
            rests_on: self.rests_on(picked)?,
            ahead,
        })
    }

    fn weigh(&self, pads: &[PadChoice<'_>], precision: Precision) -> Option<f64> {
        let own = self.ahead(pads.iter());
        let step = StepAhead {
            belief: &self.life?.belief,
            need: self.need,
            pads: &own.pads,
            tags: &[],
            again: &own.again,
            others: &[],
        };
        Some(carry_chance_of_steps(
            &[step],
            self.severity_log_sd,
            precision,
        ))
    }

    /// The most worn work when cutting, the least worn when finishing. A spare is asked for what is
    /// left of another's share, which is half of it on average.
    fn ahead<'b>(&self, pads: impl Iterator<Item = &'b PadChoice<'b>>) -> OwnAhead {
        let mut pads: Vec<&PadChoice<'_>> = pads.collect();
        pads.sort_by(|a, b| a.damage.total_cmp(&b.damage));
        if self.cutting {
            pads.reverse();
        }
        let may_work_again = self.scene.job.second_day.is_some() && !self.asked.plan.second_day;
        let mut own = OwnAhead::default();
        for (at, pad) in pads.into_iter().enumerate() {
            let more = if at < self.need {
                self.more
            } else {
                self.more / 2.0
            };
            match pad.first_day {
                None => {
                    own.pads.push(PadAhead {
                        age: pad.damage,
                        more,
                    });
                    own.tags.extend(may_work_again.then_some(pad.piece.tag));
                }
                Some(worked) => own.again.push(PadAgain {
                    tag: pad.piece.tag,
                    first: PadAhead {
                        age: pad.damage - worked.damage(),
                        more: worked.more,
                    },
                    washed: worked.washed,
                    more,
                }),
            }
        }
        own
    }

    /// These pads as a step of the job they go to.
    fn ahead_of(&self, pads: &[PadChoice<'_>]) -> Option<PadsAhead> {
        let own = pads.iter().filter(|pad| !pad.of_other_make);
        let others = self.others(pads).map(|(life, figures, pads)| {
            let more = share_of(self.asked.plan, figures, self.need);
            let ages = pads.iter().map(|pad| pad.damage);
            OthersAhead {
                belief: life.belief,
                pads: ages.map(|age| PadAhead { age, more }).collect(),
            }
        });
        Some(PadsAhead {
            belief: self.life?.belief,
            need: self.need,
            own: self.ahead(own),
            others: others.collect(),
        })
    }

    /// The pads of other makes among these, make by make, with what is known of their lives. All of them
    /// work: they only make up the number.
    fn others<'b>(
        &'b self,
        pads: &'b [PadChoice<'_>],
    ) -> impl Iterator<Item = (MakeLife, &'b PadFigures, Vec<&'b PadChoice<'b>>)> {
        let makes: BTreeSet<&Id> = pads
            .iter()
            .filter(|pad| pad.of_other_make)
            .map(|pad| &pad.piece.make)
            .collect();
        makes.into_iter().filter_map(move |make| {
            let Figures::Pad(figures) = &self.scene.book.make(make)?.figures else {
                return None;
            };
            let life = MakeLife::of(self.scene.book, make, figures).ok()?;
            let of_make = pads.iter().filter(|pad| pad.piece.make == *make);
            Some((life, figures, of_make.collect()))
        })
    }

    /// What the chance rests on: a sentence, and one for each other make.
    fn rests_on(&self, pads: &[PadChoice<'_>]) -> Option<String> {
        let mut told = self.life?.rests_on();
        for (life, _, of_make) in self.others(pads) {
            let make = of_make.first().map(|pad| &pad.piece.make);
            let name = make.and_then(|make| self.scene.book.make(make));
            let name = name.map_or("", |make| make.name.as_str());
            told.push_str(&format!(" Of {name}: {}", life.rests_on()));
        }
        Some(told)
    }

    /// Whether there is nothing to choose: other makes make up the number, or fewer work than are needed.
    fn are_all_there_is(&self, pads: &[PadChoice<'_>]) -> bool {
        self.need < self.asked.need() || pads.iter().any(|pad| pad.of_other_make)
    }

    fn holds(&self, pads: &[PadChoice<'_>]) -> bool {
        let Some(coarse) = self.weigh(pads, Precision::Coarse) else {
            return true;
        };
        if (coarse - self.target).abs() > COARSE_ERROR_MOST {
            return coarse >= self.target;
        }
        self.weigh(pads, Precision::Fine)
            .is_none_or(|fine| fine >= self.target)
    }

    /// The pads that go, those that should work first: from the place alone where that holds the
    /// target, else from everywhere.
    pub(super) fn pick<'b>(&self, mut pads: Vec<PadChoice<'b>>) -> Vec<PadChoice<'b>> {
        sort_by_wear(&mut pads, self.cutting);
        if self.are_all_there_is(&pads) {
            return pads;
        }
        let here: Vec<PadChoice<'_>> = pads.iter().filter(|pad| pad.here).copied().collect();
        let are_all_here = here.len() == pads.len();
        let held = match self.that_holds(here) {
            None if !are_all_here => self.that_holds(pads.clone()),
            held => held,
        };
        held.unwrap_or_else(|| {
            let mut best = self.best(pads);
            sort_by_wear(&mut best, self.cutting);
            best
        })
    }

    /// A choice from a sorted list that holds the target: for finishing the least worn there is, for
    /// cutting the most worn that work with the freshest as spares, and no more spares than it takes.
    fn that_holds<'b>(&self, sorted: Vec<PadChoice<'b>>) -> Option<Vec<PadChoice<'b>>> {
        let last = sorted.len().checked_sub(self.need)?;
        let ranked = Ranked::of(sorted);
        let from = if self.cutting {
            self.first_that_holds(&ranked, last)?
        } else {
            0
        };
        (0..=self.more_most)
            .map(|more| self.choice(&ranked, from, more))
            .find(|choice| self.holds(choice))
    }

    /// The first place from which a choice with all spares holds the target, most worn first.
    fn first_that_holds(&self, ranked: &Ranked<'_>, last: usize) -> Option<usize> {
        let holds = |from: usize| self.holds(&self.choice(ranked, from, self.more_most));
        if holds(0) {
            return Some(0);
        }
        // A later choice is fresher and lasts better, unless pads fail young here, where the first does
        // best; nearer to the end spares run out, and it lasts worse again.
        let spares = self
            .size
            .saturating_sub(self.need)
            .saturating_add(self.more_most);
        let starts: Vec<usize> = (0..=last.saturating_sub(spares)).collect();
        let first = starts.partition_point(|from| !holds(*from));
        starts.get(first).copied()
    }

    /// Those that work from this place on, and as spares the freshest that are left after them, this many
    /// more than by policy.
    fn choice<'b>(&self, ranked: &Ranked<'b>, from: usize, more: usize) -> Vec<PadChoice<'b>> {
        let end = from.saturating_add(self.need);
        let spares = self.size.saturating_sub(self.need).saturating_add(more);
        let mut choice = ranked.sorted.get(from..end).unwrap_or_default().to_vec();
        choice.extend(ranked.freshest_after(end).take(spares));
        choice
    }

    /// The freshest there are, with further spares as far as they help.
    fn best<'b>(&self, mut pads: Vec<PadChoice<'b>>) -> Vec<PadChoice<'b>> {
        sort_by_wear(&mut pads, false);
        let rest = pads.split_off(self.size.min(pads.len()));
        let mut chance = self.weigh(&pads, Precision::Coarse).unwrap_or(1.0);
        for spare in rest.into_iter().take(self.more_most) {
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

/// Damage each of so many pads takes when they share the work of a step.
fn share_of(plan: &StepPlan, figures: &PadFigures, pad_count: usize) -> f64 {
    let pad_count = i64::try_from(pad_count).unwrap_or(i64::MAX);
    work_damage(plan, figures, pad_count)
}

/// Pads in the order in which they should work, and by how fresh they are.
struct Ranked<'a> {
    sorted: Vec<PadChoice<'a>>,
    /// The same, the freshest first, each with its place among those sorted.
    freshest: Vec<(usize, PadChoice<'a>)>,
}

impl<'a> Ranked<'a> {
    fn of(sorted: Vec<PadChoice<'a>>) -> Self {
        let mut freshest: Vec<_> = sorted.iter().copied().enumerate().collect();
        freshest.sort_by(|(_, a), (_, b)| by_wear(a, b, false));
        Self { sorted, freshest }
    }

    /// Those from this place on, the freshest first.
    fn freshest_after(&self, place: usize) -> impl Iterator<Item = PadChoice<'a>> {
        let after = self.freshest.iter().filter(move |(at, _)| *at >= place);
        after.map(|(_, pad)| *pad)
    }
}

/// Most worn first for cutting, least worn first for finishing; at the place first among equals.
fn sort_by_wear(pads: &mut [PadChoice<'_>], cutting: bool) {
    pads.sort_by(|a, b| by_wear(a, b, cutting));
}

fn by_wear(a: &PadChoice<'_>, b: &PadChoice<'_>, cutting: bool) -> Ordering {
    let wear = if cutting {
        b.damage.total_cmp(&a.damage)
    } else {
        a.damage.total_cmp(&b.damage)
    };
    wear.then(b.here.cmp(&a.here))
        .then(a.piece.tag.cmp(&b.piece.tag))
}
