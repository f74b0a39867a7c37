//! What is true of a shop and hidden from its book: lives of pads, real use, hard jobs.
//!
//! It serves the year. Everything comes from one seed, so that every way of working meets the same
//! jobs.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Gamma, LogNormal, Weibull};

/// Spread of how hard a job is on all its pads, as the model believes it.
const SEVERITY_LOG_SD: f64 = 0.3;
/// Working days of a year.
pub(crate) const DAYS: usize = 250;

/// What is true of one pad make.
#[derive(Clone, Copy)]
pub(crate) struct PadTruth {
    /// Shape of the lives.
    pub(crate) shape: f64,
    /// Scale of the lives, in damage: above 1 they outlast the rating.
    pub(crate) scale: f64,
}

/// What is true of one shop.
pub(crate) struct Truth {
    /// Coarse and fine pads.
    pub(crate) pads: [PadTruth; 2],
    /// Real use against plan of the coarse and the fine liquid.
    pub(crate) use_ratio: [f64; 2],
    /// The jobs of the year, one a working day.
    pub(crate) jobs: Vec<JobTruth>,
    rng: ChaCha8Rng,
}

/// What is true of one job.
#[derive(Clone, Copy)]
pub(crate) struct JobTruth {
    /// Which of the shop's cars.
    pub(crate) car: usize,
    /// How hard it is on pads.
    pub(crate) severity: f64,
    /// Use of each liquid against what is usual for the shop.
    pub(crate) pour: [f64; 2],
}

impl Truth {
    /// The shop of a seed.
    pub(crate) fn of(seed: u64, cars: usize) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let scale = LogNormal::new(0.0, 0.3).unwrap();
        let mut pad = |low: f64, high: f64| PadTruth {
            shape: rng.random_range(low..high),
            scale: scale.sample(&mut rng),
        };
        let pads = [pad(2.4, 3.8), pad(2.4, 3.8)];
        let ratio = LogNormal::new(0.0, 0.15).unwrap();
        let use_ratio = [ratio.sample(&mut rng), ratio.sample(&mut rng)];
        let severity = LogNormal::new(0.0, SEVERITY_LOG_SD).unwrap();
        // A job's use varies by about a quarter about what is usual.
        let pour = Gamma::new(16.0, 1.0 / 16.0).unwrap();
        let jobs = (0..DAYS)
            .map(|_| JobTruth {
                car: rng.random_range(0..cars),
                severity: severity.sample(&mut rng),
                pour: [pour.sample(&mut rng), pour.sample(&mut rng)],
            })
            .collect();
        Self {
            pads,
            use_ratio,
            jobs,
            rng,
        }
    }

    /// The true life of a new pad, in damage.
    pub(crate) fn new_life(&mut self, make: usize) -> f64 {
        let PadTruth { shape, scale } = self.pads[make];
        Weibull::new(scale, shape).unwrap().sample(&mut self.rng)
    }
}

/// A pad as it truly is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TruePad {
    /// Damage at which it fails.
    pub(crate) life: f64,
    /// True damage so far.
    pub(crate) spent: f64,
}

impl TruePad {
    /// Works a share of so much damage; gives the part of it that was done before it failed, 1 when
    /// it did not.
    pub(crate) fn work(&mut self, damage: f64) -> f64 {
        let left = (self.life - self.spent).max(0.0);
        self.spent += damage;
        if damage <= left { 1.0 } else { left / damage }
    }

    /// Whether it has failed.
    pub(crate) fn has_failed(&self) -> bool {
        self.spent >= self.life
    }
}
