//! Pads that work on both days of a job: those of its first day that are washed in the evening and work again.
//!
//! It serves the carry chance. A pad has one life: what the first day takes of it is gone on the second, and one
//! that gave out on the first day is not there. So steps that share pads are weighed together and never as if
//! the pads of each were others.

use super::makes::{WeighedOthers, weigh_others};
use super::mixture::{PadAhead, StepAhead, unit_wear, unit_wear_of};
use super::rule::{Node, Precision, rate_nodes};
use crate::ground::ids::Tag;
use crate::maths::life::{Belief, count_f64};

/// A pad that worked on the first day and works again on the second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PadAgain {
    /// Its tag, by which it is the same pad.
    pub(crate) tag: Tag,
    /// The pad as it goes to the first day.
    pub(crate) first: PadAhead,
    /// The damage that the wash between the days adds.
    pub(crate) washed: f64,
    /// The damage that the second day would add at ordinary severity.
    pub(crate) more: f64,
}

impl PadAgain {
    /// What both days and the wash add to its hazard at a rate of 1/b.
    pub(super) fn unit_wear(&self, belief: &Belief, severity: f64) -> f64 {
        let more = severity * (self.first.more + self.more) + self.washed;
        unit_wear_of(belief, self.first.age, more)
    }
}

/// Steps of a job, parted into those that share pads with others of it and those that share none.
pub(super) struct Parted<'a> {
    pub(super) alone: Vec<StepAhead<'a>>,
    pub(super) linked: Vec<LinkedSteps<'a>>,
}

/// Parts the steps of a job.
pub(super) fn parted<'a>(steps: &[StepAhead<'a>], precision: Precision) -> Parted<'a> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        let shares = |group: &Vec<usize>| {
            let mut earlier = group.iter().filter_map(|one| steps.get(*one));
            earlier.any(|earlier| step.again.iter().any(|pad| earlier.tags.contains(&pad.tag)))
        };
        let mut own: Vec<usize> = groups
            .extract_if(.., |group| shares(group))
            .flatten()
            .collect();
        own.push(at);
        groups.push(own);
    }
    let mut parted = Parted {
        alone: Vec::new(),
        linked: Vec::new(),
    };
    for group in groups {
        let of_group: Vec<StepAhead<'a>> = group
            .iter()
            .filter_map(|at| steps.get(*at))
            .copied()
            .collect();
        match of_group.as_slice() {
            [only] => parted.alone.push(*only),
            _ => parted.linked.extend(LinkedSteps::of(&of_group, precision)),
        }
    }
    parted
}

/// When a pad works, by the steps of its group, with what that adds to its hazard.
enum Works {
    /// In one step.
    Once(usize, f64),
    /// On the first day in one step, and again in another: by the end of each.
    Again([(usize, f64); 2]),
}

/// Steps of one make that share pads.
pub(super) struct LinkedSteps<'a> {
    belief: &'a Belief,
    steps: Vec<StepAhead<'a>>,
    rates: Vec<Node>,
    others: Vec<Vec<WeighedOthers<'a>>>,
    counts: Counts,
}

impl<'a> LinkedSteps<'a> {
    fn of(steps: &[StepAhead<'a>], precision: Precision) -> Option<Self> {
        let belief = steps.first()?.belief;
        let others = steps
            .iter()
            .map(|step| weigh_others(step.others, precision));
        let mut linked = Self {
            belief,
            steps: steps.to_vec(),
            rates: Vec::new(),
            others: others.collect(),
            counts: Counts::of(steps.iter().map(|step| step.need)),
        };
        linked.rates = rate_nodes(belief.a(), linked.pad_count(), precision);
        Some(linked)
    }

    /// How many pads of the make go, as often as they work.
    pub(super) fn pad_count(&self) -> f64 {
        let own = self.steps.iter().map(|step| step.own_count());
        count_f64(own.fold(0, usize::saturating_add))
    }

    /// When each pad works in a job of this severity.
    fn works(&self, severity: f64) -> Vec<Works> {
        let again = self.steps.iter().enumerate();
        let mut again: Vec<(usize, &PadAgain)> = again
            .flat_map(|(at, step)| step.again.iter().map(move |pad| (at, pad)))
            .collect();
        let mut works = Vec::new();
        for (at, step) in self.steps.iter().enumerate() {
            for (place, pad) in step.pads.iter().enumerate() {
                let wear = unit_wear(self.belief, *pad, severity);
                let tag = step.tags.get(place);
                let later = again.iter().position(|(_, later)| Some(&later.tag) == tag);
                works.push(match later.map(|later| again.swap_remove(later)) {
                    Some((then, pad)) => {
                        Works::Again([(at, wear), (then, pad.unit_wear(self.belief, severity))])
                    }
                    None => Works::Once(at, wear),
                });
            }
        }
        // Of a pad whose first day is not among these steps only both days together are known.
        let rest = again.into_iter();
        works.extend(rest.map(|(at, pad)| Works::Once(at, pad.unit_wear(self.belief, severity))));
        works
    }

    /// The chance that each of the steps has enough in a job of this severity.
    ///
    /// Formula: ∫ P(N₁ ≥ n₁, N₂ ≥ n₂ | λ) dG(λ), the counts of both days kept together: a pad lasts the first
    /// with p = exp(−λx), both with q = exp(−λy), y from what both days and the wash add, and so the first
    /// alone with p − q.
    pub(super) fn at_severity(&mut self, severity: f64) -> f64 {
        let works = self.works(severity);
        let mut mixed = vec![0.0; self.counts.cells.len()];
        let mut weights = 0.0;
        for rate in &self.rates {
            self.counts.begin();
            for pad in &works {
                let lasts = |wear: f64| (-rate.at * wear).exp();
                match *pad {
                    Works::Once(at, wear) => self.counts.add(&[(at, lasts(wear))], None),
                    Works::Again([(first, x), (then, y)]) => {
                        let (p, q) = (lasts(x), lasts(y));
                        self.counts
                            .add(&[(first, (p - q).max(0.0))], Some(([first, then], q)));
                    }
                }
            }
            for (sum, chance) in mixed.iter_mut().zip(&self.counts.cells) {
                *sum += rate.weight * chance;
            }
            weights += rate.weight;
        }
        let cells = mixed.into_iter().map(|sum| sum / weights);
        self.counts.cells = cells.collect();
        for (at, others) in self.others.iter().enumerate() {
            for other in others {
                self.counts.add_many(at, &other.at(severity));
            }
        }
        self.counts.all_enough()
    }
}

/// Chances of how many pads last in each of several steps at once; more than a step needs count as what it needs.
struct Counts {
    /// What each step needs, and how far apart in `cells` one more of it stands.
    needs: Vec<(usize, usize)>,
    cells: Vec<f64>,
    next: Vec<f64>,
}

impl Counts {
    fn of(needs: impl Iterator<Item = usize>) -> Self {
        let mut apart = 1_usize;
        let mut all = Vec::new();
        for need in needs {
            all.push((need, apart));
            apart = apart.saturating_mul(need.saturating_add(1));
        }
        Self {
            needs: all,
            cells: vec![0.0; apart],
            next: vec![0.0; apart],
        }
    }

    /// None has worked.
    fn begin(&mut self) {
        self.cells.fill(0.0);
        if let Some(none) = self.cells.first_mut() {
            *none = 1.0;
        }
    }

    /// The cell with one more for a step, or the same where that has enough.
    fn one_more(&self, cell: usize, step: usize) -> usize {
        let Some((need, apart)) = self.needs.get(step) else {
            return cell;
        };
        let has = cell.checked_div(*apart).unwrap_or_default();
        let has = has.checked_rem(need.saturating_add(1)).unwrap_or_default();
        if has < *need {
            cell.saturating_add(*apart)
        } else {
            cell
        }
    }

    /// Adds a pad that lasts one of some steps with the chance of each, or two of them, or else none.
    fn add(&mut self, one: &[(usize, f64)], two: Option<([usize; 2], f64)>) {
        let alone: f64 = one.iter().map(|(_, chance)| chance).sum();
        let none = (1.0 - alone - two.map_or(0.0, |(_, chance)| chance)).max(0.0);
        let mut next = std::mem::take(&mut self.next);
        next.fill(0.0);
        let mut put = |cell: usize, chance: f64| {
            if let Some(sum) = next.get_mut(cell) {
                *sum += chance;
            }
        };
        for (cell, chance) in self
            .cells
            .iter()
            .enumerate()
            .filter(|(_, held)| **held > 0.0)
        {
            put(cell, chance * none);
            for (step, lasts) in one {
                put(self.one_more(cell, *step), chance * lasts);
            }
            if let Some(([first, then], lasts)) = two {
                put(
                    self.one_more(self.one_more(cell, first), then),
                    chance * lasts,
                );
            }
        }
        self.next = std::mem::replace(&mut self.cells, next);
    }

    /// Adds pads of another make for a step: the chances that none, one, … of them last.
    fn add_many(&mut self, step: usize, lasting: &[f64]) {
        let mut next = vec![0.0; self.cells.len()];
        for (cell, held) in self.cells.iter().enumerate() {
            let mut to = cell;
            for chance in lasting {
                if let Some(sum) = next.get_mut(to) {
                    *sum += held * chance;
                }
                to = self.one_more(to, step);
            }
        }
        self.cells = next;
    }

    /// The chance that every step has what it needs.
    fn all_enough(&self) -> f64 {
        self.cells.last().copied().unwrap_or(1.0).clamp(0.0, 1.0)
    }
}
