//! What to buy for a job: as few pieces as bring it its chance.
//!
//! They are found on the kit ahead, where what is soiled is washed and what is on its way has come, so that
//! nothing is bought that will be there. The pieces are one at a time what helps most for its price; then
//! each is tried left out again, so that none of what is told could be.

use std::collections::BTreeMap;

use super::chance::together;
use super::{likely_sundries, pads, stock, towels};
use crate::Moment;
use crate::answers::ahead::Ahead;
use crate::ground::exact::ceil_div;
use crate::ground::ids::Id;
use crate::ground::refusal::Refusal;
use crate::ready::pick::{Scene, offer_bottles};
use crate::ready::piece_price::PackPrice;
use crate::ready::plan::{Plan, plan_to_come, routine_of};
use crate::ready::real_use::{LikelyUse, RealUse};
use crate::ready::stock_cost::book_currency;
use crate::trade::job::{Job, Routine};
use crate::trade::policy::{PolicyKey, permille};

/// Most times that what is short is made up for before chances are looked at.
const FILLS_MAX: usize = 4;
/// Most pieces of one make that are tried together where one alone does not help.
const TOGETHER_MAX: i64 = 3;
/// Most pieces added one at a time.
const ADDED_MAX: usize = 400;
/// Chance that must be gained for a piece to help at all.
const GAIN_LEAST: f64 = 1e-6;
/// Chance that a piece must be worth where the target is beyond reach.
const WORTH_LEAST: f64 = 0.01;
/// The least price that is divided by.
const PRICE_LEAST: f64 = 1e-6;

/// Pieces of a make to buy for a job.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bought {
    /// Make.
    pub(crate) make: Id,
    /// Pieces: pads, bottles, towels by the towel, packs of a sundry.
    pub(crate) count: i64,
    /// Whether a line would be short without them, and not only its chance too small.
    pub(crate) is_short: bool,
}

/// What to buy for a job that the kit ahead has come to the start of.
///
/// # Errors
/// When the job cannot be planned.
pub(crate) fn for_job(ahead: &Ahead, job: &Job, now: Moment) -> Result<Vec<Bought>, Refusal> {
    let plan = plan_to_come(ahead.book(), job)?;
    let routine = routine_of(ahead.book(), job)?;
    let scene = Scene::of(ahead.book(), job, now);
    let mut bought = Finding::of(ahead, &scene, (job, routine, &plan))?.find()?;
    let mut counted = towels::towel_lines(&scene, routine, &plan);
    let sundries = likely_sundries(ahead.book(), &plan);
    counted.extend(stock::sundry_lines(&scene, &sundries));
    for line in counted.iter().filter(|line| line.buy > 0) {
        if let Some(make) = &line.make {
            bought.push(Bought {
                make: make.clone(),
                count: line.buy,
                is_short: true,
            });
        }
    }
    Ok(bought)
}

/// How a kit would carry the job.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Outcome {
    chance: f64,
    /// Lines that are short.
    short: usize,
}

impl Outcome {
    fn carries(self, target: f64) -> bool {
        self.short == 0 && self.chance >= target
    }
}

/// A liquid of the job.
struct Liquid {
    likely: LikelyUse,
    /// What is there, µL.
    have: i64,
    /// What a new bottle adds, µL.
    of_bottle: i64,
}

/// Something that can be bought.
struct Ware {
    make: Id,
    /// Price of a piece; 1 for all where not every one is known.
    price: f64,
    /// `None` for a make of pads.
    liquid: Option<Liquid>,
}

/// The pads of all steps with some bought.
#[derive(Clone)]
struct PadsThen {
    outcome: Outcome,
    /// Pads that each make is short of, by place among the wares.
    short: Vec<i64>,
}

/// The search for what to buy.
struct Finding<'a> {
    ahead: &'a Ahead,
    job: &'a Job,
    routine: &'a Routine,
    plan: &'a Plan,
    now: Moment,
    /// Chance that the job should have, and each of its lines.
    target: f64,
    share: f64,
    severity_log_sd: f64,
    /// Pads first.
    wares: Vec<Ware>,
    /// What was found of so many pads of each make.
    tried: BTreeMap<Vec<i64>, PadsThen>,
}

impl<'a> Finding<'a> {
    fn of(
        ahead: &'a Ahead,
        scene: &Scene<'_>,
        (job, routine, plan): (&'a Job, &'a Routine, &'a Plan),
    ) -> Result<Self, Refusal> {
        let policy = ahead.book().policy();
        let mut finding = Self {
            ahead,
            job,
            routine,
            plan,
            now: scene.now,
            target: permille(policy, PolicyKey::CarryTargetPermille),
            share: plan.line_target(policy),
            severity_log_sd: permille(policy, PolicyKey::SeverityLogSdPermille),
            wares: Vec::new(),
            tried: BTreeMap::new(),
        };
        for planned in &plan.steps {
            finding.add_ware(&planned.step.pad_make, None);
        }
        for (make, _, need) in plan.liquid_needs() {
            let likely = RealUse::of(ahead.book(), make, need.ul()).of_job(need.ul());
            let have = held(scene, make);
            let with_one = finding.with_one_more(make);
            let liquid = Liquid {
                likely,
                have,
                of_bottle: with_one.saturating_sub(have).max(1),
            };
            finding.add_ware(make, Some(liquid));
        }
        finding.price();
        Ok(finding)
    }

    fn add_ware(&mut self, make: &Id, liquid: Option<Liquid>) {
        if self.wares.iter().all(|ware| ware.make != *make) {
            self.wares.push(Ware {
                make: make.clone(),
                price: 1.0,
                liquid,
            });
        }
    }

    /// What is held of a liquid with one bottle more, µL.
    fn with_one_more(&self, make: &Id) -> i64 {
        let mut kit = self.ahead.clone();
        kit.bring_pieces(make, 1, self.job);
        held(&Scene::of(kit.book(), self.job, self.now), make)
    }

    /// Gives each ware its price, where each has one and all are in one currency.
    fn price(&mut self) {
        let book = self.ahead.book();
        if book_currency(book).is_err() {
            return;
        }
        let price = |ware: &Ware| {
            let piece = PackPrice::of(book, &ware.make)?.of_piece()?;
            Some(f64::try_from(piece).ok()?.max(PRICE_LEAST))
        };
        let prices: Option<Vec<f64>> = self.wares.iter().map(price).collect();
        for (ware, price) in self.wares.iter_mut().zip(prices.into_iter().flatten()) {
            ware.price = price;
        }
    }

    fn find(mut self) -> Result<Vec<Bought>, Refusal> {
        let mut counts = vec![0; self.wares.len()];
        if self.outcome(&counts)?.carries(self.target) {
            return Ok(Vec::new());
        }
        let short = self.short(&counts)?;
        self.fill(&mut counts)?;
        self.add(&mut counts)?;
        self.leave_out(&mut counts)?;
        let wares = self.wares.into_iter().zip(counts).zip(short);
        let bought = wares.filter(|((_, count), _)| *count > 0);
        Ok(bought
            .map(|((ware, count), short)| Bought {
                make: ware.make,
                count,
                is_short: short > 0,
            })
            .collect())
    }

    /// Makes up for what is short by count: until it is, no single piece may raise the chance.
    fn fill(&mut self, counts: &mut [i64]) -> Result<(), Refusal> {
        for _ in 0..FILLS_MAX {
            let short = self.short(counts)?;
            if short.iter().all(|short| *short == 0) {
                break;
            }
            for (count, short) in counts.iter_mut().zip(short) {
                *count = count.saturating_add(short);
            }
        }
        Ok(())
    }

    /// Adds what raises the chance most for its price, one piece at a time or as few together as help,
    /// until the job has its target or nothing helps.
    fn add(&mut self, counts: &mut [i64]) -> Result<(), Refusal> {
        for _ in 0..ADDED_MAX {
            let before = self.outcome(counts)?;
            if before.carries(self.target) {
                break;
            }
            let Some((at, count)) = self.best(counts, before.chance)? else {
                break;
            };
            add_to(counts, at, count);
        }
        Ok(())
    }

    /// The ware that helps most for its price and how many of it.
    fn best(&mut self, counts: &[i64], before: f64) -> Result<Option<(usize, i64)>, Refusal> {
        for together in 1..=TOGETHER_MAX {
            let mut best: Option<(f64, usize)> = None;
            for at in 0..self.wares.len() {
                let mut with = counts.to_vec();
                add_to(&mut with, at, together);
                let gain = self.outcome(&with)?.chance - before;
                let price = self.wares.get(at).map_or(1.0, |ware| ware.price);
                let worth = gain / price;
                if gain > GAIN_LEAST && best.is_none_or(|(most, _)| worth > most) {
                    best = Some((worth, at));
                }
            }
            if let Some((_, at)) = best {
                return Ok(Some((at, together)));
            }
        }
        Ok(None)
    }

    /// Leaves out again what is not needed for the target, the dearest first; where the target is beyond
    /// reach, what is not worth its trouble.
    fn leave_out(&mut self, counts: &mut [i64]) -> Result<(), Refusal> {
        let all = self.outcome(counts)?;
        let target = self.target;
        let does = |outcome: Outcome| {
            if all.carries(target) {
                outcome.carries(target)
            } else {
                outcome.chance >= all.chance - WORTH_LEAST && outcome.short <= all.short
            }
        };
        let mut dearest_first: Vec<(usize, f64)> = self
            .wares
            .iter()
            .map(|ware| ware.price)
            .enumerate()
            .collect();
        dearest_first.sort_by(|a, b| b.1.total_cmp(&a.1));
        loop {
            let mut is_less = false;
            for (at, _) in &dearest_first {
                while counts.get(*at).is_some_and(|count| *count > 0) {
                    add_to(counts, *at, -1);
                    if !does(self.outcome(counts)?) {
                        add_to(counts, *at, 1);
                        break;
                    }
                    is_less = true;
                }
            }
            if !is_less {
                return Ok(());
            }
        }
    }

    /// How the kit ahead with so many of each ware would carry the job.
    fn outcome(&mut self, counts: &[i64]) -> Result<Outcome, Refusal> {
        let mut all = self.pads(counts)?.outcome;
        for (ware, count) in self.wares.iter().zip(counts) {
            let Some(liquid) = &ware.liquid else { continue };
            let have = liquid.with(*count);
            all.chance *= liquid.likely.at_most(have);
            let is_short = have < liquid.likely.expected;
            all.short = all.short.saturating_add(usize::from(is_short));
        }
        Ok(all)
    }

    /// Pieces that each ware is short of.
    fn short(&mut self, counts: &[i64]) -> Result<Vec<i64>, Refusal> {
        let mut short = self.pads(counts)?.short;
        for ((ware, count), short) in self.wares.iter().zip(counts).zip(&mut short) {
            if let Some(liquid) = &ware.liquid {
                let missing = liquid.likely.expected.saturating_sub(liquid.with(*count));
                *short = ceil_div(missing.max(0).into(), liquid.of_bottle.into());
            }
        }
        Ok(short)
    }

    /// The pads of all steps with so many more.
    fn pads(&mut self, counts: &[i64]) -> Result<PadsThen, Refusal> {
        let wares = self.wares.iter().zip(counts);
        let pads = wares.filter(|(ware, _)| ware.liquid.is_none());
        let pads: Vec<i64> = pads.map(|(_, count)| *count).collect();
        if let Some(then) = self.tried.get(&pads) {
            return Ok(then.clone());
        }
        let then = self.try_pads(&pads)?;
        self.tried.insert(pads, then.clone());
        Ok(then)
    }

    fn try_pads(&self, counts: &[i64]) -> Result<PadsThen, Refusal> {
        let mut kit = self.ahead.clone();
        for (ware, count) in self.wares.iter().zip(counts) {
            kit.bring_pieces(&ware.make, *count, self.job);
        }
        let scene = Scene::of(kit.book(), self.job, self.now);
        let lines = pads::pad_lines(&scene, self.routine, self.plan, self.share)?;
        let of = |make: &Id| {
            let lines = lines.iter().filter(|line| line.make.as_ref() == Some(make));
            lines.fold(0_i64, |sum, line| sum.saturating_add(line.short))
        };
        Ok(PadsThen {
            outcome: Outcome {
                chance: together(&mut lines.iter(), self.severity_log_sd).unwrap_or(1.0),
                short: lines.iter().filter(|line| line.short > 0).count(),
            },
            short: self.wares.iter().map(|ware| of(&ware.make)).collect(),
        })
    }
}

impl Liquid {
    /// What is there with so many bottles more, µL.
    const fn with(&self, bottles: i64) -> i64 {
        self.have
            .saturating_add(bottles.saturating_mul(self.of_bottle))
    }
}

/// What the bottles of a make hold for a job, µL.
fn held(scene: &Scene<'_>, make: &Id) -> i64 {
    let usable = offer_bottles(scene, make).usable;
    usable
        .iter()
        .fold(0, |sum, held| sum.saturating_add(held.quantity.max(0)))
}

fn add_to(counts: &mut [i64], at: usize, more: i64) {
    if let Some(count) = counts.get_mut(at) {
        *count = count.saturating_add(more);
    }
}
