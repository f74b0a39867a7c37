//! The two habits people have now, on the same jobs with the same truths.
//!
//! It serves the comparison. Neither habit keeps a book: pads go by a count of cars, or until they
//! fail with two spares beside them.

use crate::ledger::{CAR_COUNT, Ledger, PADS};
use crate::score::{SETTLED_FROM, Score};
use crate::truth::{TruePad, Truth, World};
use fettlebook_model::plan::Plan;
use fettlebook_model::wear::damage;

/// Cars after which people bin coarse and fine pads, and after which their ratings are used up. Source:
/// common practice, no source.
pub(crate) const CARS_AS_PEOPLE_DO: [usize; 2] = [8, 20];
/// Spares of those who always take two.
const SPARES_ALWAYS: usize = 2;
/// Rated sections and washes of the two pads, as the book fills them in.
const RATED: [(i64, i64); 2] = [(185, 28), (185, 50)];

/// How somebody without a book works.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Habit {
    /// Takes what the job needs, and bins a coarse and a fine pad after so many cars.
    BinAfterCars([usize; 2]),
    /// Takes two spares, and bins a pad when it fails.
    TwoSparesAlways,
}

/// The year of a shop with a habit.
pub(crate) fn year_of_habit(seed: u64, habit: Habit, days: usize) -> Score {
    let mut shop = Shop {
        truth: Truth::of(seed, CAR_COUNT, World::AsAssumed),
        plans: Ledger::set_up().plans(),
        sets: Default::default(),
        habit,
        score: Score::default(),
    };
    for day in 0..days {
        shop.live(day);
        if day + 1 == SETTLED_FROM {
            shop.score.pads_bought_settling = shop.score.pads_bought;
        }
    }
    shop.score
}

/// A pad and the cars it has done.
struct Held {
    pad: TruePad,
    cars: usize,
}

struct Shop {
    truth: Truth,
    plans: Vec<Plan>,
    /// By make two sets, used on alternate days since a pad dries for one.
    sets: [[Vec<Held>; 2]; PADS.len()],
    habit: Habit,
    score: Score,
}

impl Shop {
    fn live(&mut self, day: usize) {
        let job = self.truth.jobs[day];
        let mut short = false;
        for at in 0..PADS.len() {
            short |= self.work_step(at, day, job.car, job.severity);
        }
        self.score.jobs += 1;
        self.score.short_of_pads += usize::from(short);
        self.score.short_settled += usize::from(short && day >= SETTLED_FROM);
    }

    fn work_step(&mut self, at: usize, day: usize, car: usize, severity: f64) -> bool {
        let plan = &self.plans[car].steps[at];
        let need = usize::try_from(plan.pad_count).unwrap();
        let share = (plan.section_count + plan.pad_count - 1) / plan.pad_count;
        let (rated, washes) = RATED[at];
        let each = severity * damage(plan.share(share).work(), rated, 0, 0);
        let spares = match self.habit {
            Habit::BinAfterCars(_) => 0,
            Habit::TwoSparesAlways => SPARES_ALWAYS,
        };
        while self.sets[at][day % 2].len() < need + spares {
            let life = self.truth.new_life(at);
            let pad = TruePad { life, spent: 0.0 };
            self.sets[at][day % 2].push(Held { pad, cars: 0 });
            self.score.pads_bought += 1;
        }
        let set = &mut self.sets[at][day % 2];
        // The most used work, the least used are the spares.
        set.sort_by_key(|held| std::cmp::Reverse(held.cars));
        let (mut open, mut next) = (Vec::new(), need);
        for held in set.iter_mut().take(need) {
            let done = held.pad.work(each);
            if held.pad.has_failed() {
                open.push((1.0 - done) * each);
            }
            held.cars += 1;
        }
        let mut short = false;
        while let Some(rest) = open.pop() {
            if next >= need + spares {
                // Short: somebody drives for a new pad, which ends the step and stays in the set.
                short = true;
                let life = self.truth.new_life(at);
                let pad = TruePad { life, spent: 0.0 };
                set.insert(next, Held { pad, cars: 0 });
                self.score.pads_bought += 1;
            }
            let Some(spare) = set.get_mut(next) else {
                continue;
            };
            next += 1;
            let done = spare.pad.work(rest);
            spare.cars += 1;
            if spare.pad.has_failed() {
                open.push((1.0 - done) * rest);
            }
        }
        let used = next.max(need);
        for held in set.iter_mut().take(used) {
            if !held.pad.has_failed() {
                held.pad.spent += 1.0 / washes as f64;
            }
        }
        let before = set.len();
        set.retain(|held| !held.pad.has_failed());
        self.score.pads_failed += before - set.len();
        if let Habit::BinAfterCars(cars) = self.habit {
            set.retain(|held| held.cars < cars[at]);
        }
        short
    }
}
