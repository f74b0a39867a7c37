//! What is true of a shop and hidden from its book: lives of pads, real use, hard jobs.
//!
//! It serves the year. Everything comes from one seed, so that every way of working meets the same
//! jobs.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Gamma, LogNormal, Weibull};

/// Spread of how hard a job is on all its pads, as the model believes it.
const SEVERITY_LOG_SD: f64 = 0.3;
/// Spread of the lives of one make about another's, in the logarithm.
const RATINGS_LOG_SD: f64 = 0.3;
/// Lives of one make vary by so much of their mean, as those of a Weibull distribution of shape 3 do.
const LIVES_VARY_BY: f64 = 0.363;
/// Their mean as a part of their scale: Γ(4/3).
const MEAN_OF_SCALE: f64 = 0.892_979_511_569_249;
/// The share of pads that die early, where some do.
const EARLY_DEATHS: f64 = 0.15;
/// The longest of the early lives, of the scale.
const EARLY_MOST: f64 = 0.4;
/// What is left of a life when the supplier sends worse pads.
const WORSE_BY: f64 = 0.55;
/// Working days of a year.
pub(crate) const DAYS: usize = 250;

/// What kind of truth it is: as the model takes it, or otherwise in one thing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum World {
    /// Weibull lives and severities as the model takes them.
    AsAssumed,
    /// Lives are log-normal, of the same mean and spread.
    LogNormalLives,
    /// Lives are gamma, of the same mean and spread.
    GammaLives,
    /// One pad in seven dies early.
    EarlyDeaths,
    /// Jobs differ more in how hard they are.
    UnevenJobs,
    /// Ratings are further off.
    RatingsOff,
    /// From a day on the supplier sends pads that last little more than half as long.
    WorseSupplier,
}

impl World {
    pub(crate) const ALL: [Self; 7] = [
        Self::AsAssumed,
        Self::LogNormalLives,
        Self::GammaLives,
        Self::EarlyDeaths,
        Self::UnevenJobs,
        Self::RatingsOff,
        Self::WorseSupplier,
    ];

    pub(crate) const fn severity_log_sd(self) -> f64 {
        match self {
            Self::UnevenJobs => 0.55,
            _ => SEVERITY_LOG_SD,
        }
    }

    const fn ratings_log_sd(self) -> f64 {
        match self {
            Self::RatingsOff => 0.6,
            _ => RATINGS_LOG_SD,
        }
    }
}

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
    /// Whether pads bought now last less than those before them.
    pub(crate) is_worse: bool,
    world: World,
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
    pub(crate) fn of(seed: u64, cars: usize, world: World) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let scale = LogNormal::new(0.0, world.ratings_log_sd()).unwrap();
        let mut pad = |low: f64, high: f64| PadTruth {
            shape: rng.random_range(low..high),
            scale: scale.sample(&mut rng),
        };
        let pads = [pad(2.4, 3.8), pad(2.4, 3.8)];
        let ratio = LogNormal::new(0.0, 0.15).unwrap();
        let use_ratio = [ratio.sample(&mut rng), ratio.sample(&mut rng)];
        let severity = LogNormal::new(0.0, world.severity_log_sd()).unwrap();
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
            is_worse: false,
            world,
            rng,
        }
    }

    /// The true life of a new pad, in damage.
    pub(crate) fn new_life(&mut self, make: usize) -> f64 {
        let PadTruth { shape, scale } = self.pads[make];
        let weibull = Weibull::new(scale, shape).unwrap();
        let rng = &mut self.rng;
        let mean = scale * MEAN_OF_SCALE;
        let variance = LIVES_VARY_BY * LIVES_VARY_BY;
        match self.world {
            World::LogNormalLives => {
                let log_variance = variance.ln_1p();
                let median = mean.ln() - log_variance / 2.0;
                LogNormal::new(median, log_variance.sqrt())
                    .unwrap()
                    .sample(rng)
            }
            World::GammaLives => Gamma::new(1.0 / variance, mean * variance)
                .unwrap()
                .sample(rng),
            World::EarlyDeaths if rng.random_bool(EARLY_DEATHS) => {
                scale * rng.random_range(0.0..EARLY_MOST)
            }
            World::WorseSupplier if self.is_worse => WORSE_BY * weibull.sample(rng),
            World::AsAssumed
            | World::EarlyDeaths
            | World::UnevenJobs
            | World::RatingsOff
            | World::WorseSupplier => weibull.sample(rng),
        }
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
