//! Many shops of each kind of truth, and what their checks told held against what came.
//!
//! It serves the bars that the figures have to meet. A shop's jobs are alike and those of two shops are
//! not, so whatever is said of all jobs has limits by shops: each counts as one observation.

use std::fmt;

use crate::score::Score;
use crate::truth::World;
use crate::year::{Advice, WORSE_FROM, shop_of_advice};

/// Jobs of a shop in a trial.
pub(crate) const JOBS: usize = 100;
/// Bands of the chance told that have to come true, lower end and upper end.
const BANDS: [(f64, f64); 4] = [(0.80, 0.90), (0.90, 0.95), (0.95, 0.98), (0.98, 1.01)];
/// The band that is looked at once a supplier sends worse pads.
const WATCHED_BAND: (f64, f64) = (0.95, 0.98);
/// Jobs after which a change has to show in what is told.
const LEARNT_AFTER: usize = 30;
/// A shop's first jobs, of which more is forgiven.
const FIRST_JOBS: usize = 20;
/// Normal deviate of a central 95 % interval.
const DEVIATE_95: f64 = 1.96;
/// Jobs of a band from which on limits by shops say anything.
const JUDGED_FROM: usize = 30;

/// One job: what was told of it, and whether the kit carried it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ToldJob {
    pub(crate) at: usize,
    pub(crate) told: f64,
    pub(crate) carried: bool,
}

impl ToldJob {
    fn happened(self) -> f64 {
        f64::from(u8::from(self.carried))
    }
}

/// What a shop was told and warned of.
#[derive(Clone, Debug, Default)]
pub(crate) struct ShopRecord {
    pub(crate) jobs: Vec<ToldJob>,
    /// Jobs after which it was told that newer pads last shorter.
    pub(crate) warned: Vec<usize>,
}

impl ShopRecord {
    /// Mean square of what was told against what came.
    fn brier(&self) -> f64 {
        let squares = self
            .jobs
            .iter()
            .map(|job| (job.told - job.happened()).powi(2));
        squares.sum::<f64>() / self.jobs.len() as f64
    }
}

/// How often something came true, with what was told of it and the limits by shops.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Calibration {
    pub(crate) jobs: usize,
    pub(crate) told: f64,
    pub(crate) happened: f64,
    /// Half the width of the 95 % interval of told less happened.
    pub(crate) within: f64,
}

/// A mean over jobs and half its 95 % interval by shops, of sums and counts a shop.
///
/// Formula: m = Σ sᵢ / Σ nᵢ, s.e. = √(k/(k − 1) Σ (sᵢ − m nᵢ)²) / Σ nᵢ for k shops. Source: the ratio
/// estimator of cluster samples, W. G. Cochran, *Sampling Techniques* (1977), ch. 9A; from memory.
fn clustered(shops: &[(f64, usize)]) -> (f64, f64) {
    let jobs: usize = shops.iter().map(|(_, jobs)| jobs).sum();
    let mean = shops.iter().map(|(sum, _)| sum).sum::<f64>() / jobs as f64;
    let squares = shops
        .iter()
        .map(|(sum, jobs)| (sum - mean * *jobs as f64).powi(2));
    let count = shops.iter().filter(|(_, jobs)| *jobs > 0).count() as f64;
    let spread = (count / (count - 1.0).max(1.0) * squares.sum::<f64>()).sqrt();
    (mean, DEVIATE_95 * spread / jobs as f64)
}

/// Half the 95 % interval of a share among so many jobs that come true by chance, each by itself: a few shops
/// that happen to agree are no surer than that.
fn scatter(told: f64, jobs: usize) -> f64 {
    DEVIATE_95 * (told * (1.0 - told) / jobs as f64).sqrt()
}

/// The shops of one kind of truth.
pub(crate) struct Trial {
    world: World,
    records: Vec<ShopRecord>,
    pub(crate) score: Score,
}

impl Trial {
    /// So many shops; every second one buys only what it is short of, so that lower chances are told too.
    pub(crate) fn of(world: World, shops: u64, lives_halve_pads: Option<i64>) -> Self {
        let (records, scores): (Vec<_>, Vec<_>) = (0..shops)
            .map(|seed| {
                let advice = if seed % 2 == 0 {
                    Advice::Followed
                } else {
                    Advice::OnlyWhatIsShort
                };
                shop_of_advice(seed, advice, world, lives_halve_pads, JOBS)
            })
            .unzip();
        Self {
            world,
            records,
            score: scores.into_iter().sum(),
        }
    }

    /// The jobs told a chance of a band, of those that are asked for; `None` where there are none.
    fn calibration(
        &self,
        band: (f64, f64),
        asked: impl Fn(&ToldJob) -> bool,
    ) -> Option<Calibration> {
        let (mut told, mut happened, mut gaps) = (0.0, 0.0, Vec::new());
        for record in &self.records {
            let jobs = record.jobs.iter().filter(|job| asked(job));
            let jobs = jobs.filter(|job| (band.0..band.1).contains(&job.told));
            let (mut gap, mut count) = (0.0, 0);
            for job in jobs {
                told += job.told;
                happened += job.happened();
                gap += job.told - job.happened();
                count += 1;
            }
            gaps.push((gap, count));
        }
        let jobs: usize = gaps.iter().map(|(_, jobs)| jobs).sum();
        (jobs > 0).then(|| Calibration {
            jobs,
            told: told / jobs as f64,
            happened: happened / jobs as f64,
            within: clustered(&gaps).1.max(scatter(told / jobs as f64, jobs)),
        })
    }

    /// Chances that were told came true: not more than 3 points less often than told beyond the limits by
    /// shops, in a shop's first 20 jobs 6 points.
    pub(crate) fn assert_comes_true(&self) {
        for band in BANDS {
            for (first, points) in [(true, 0.06), (false, 0.03)] {
                let asked = |job: &ToldJob| (job.at < FIRST_JOBS) == first;
                let found = self.calibration(band, asked);
                if let Some(found) = found.filter(|found| found.jobs >= JUDGED_FROM) {
                    assert!(
                        found.told - found.happened - found.within <= points,
                        "{:?}, first jobs {first}, {band:?}: {found:?}\n{self}",
                        self.world
                    );
                }
            }
        }
    }

    /// From the 31st job after pads became worse, what is told 0.95 to 0.98 happens 0.90 at least.
    pub(crate) fn assert_learnt(&self) {
        let asked = |job: &ToldJob| job.at >= WORSE_FROM + LEARNT_AFTER;
        let found = self.calibration(WATCHED_BAND, asked).unwrap();
        assert!(found.happened >= 0.90, "{found:?}\n{self}");
    }

    /// The share of shops that were warned by so many jobs after the change, and of those warned at all.
    pub(crate) fn warned(&self) -> (f64, f64) {
        let share = |is_so: &dyn Fn(usize) -> bool| {
            let shops = self.records.iter();
            let warned = shops.filter(|shop| shop.warned.iter().any(|at| is_so(*at)));
            warned.count() as f64 / self.records.len() as f64
        };
        let in_time = WORSE_FROM..WORSE_FROM + LEARNT_AFTER;
        (share(&|at| in_time.contains(&at)), share(&|_| true))
    }

    /// The Brier score of each shop less that of the same shop in another trial: the mean and half its
    /// 95 % interval.
    pub(crate) fn brier_less(&self, other: &Self) -> (f64, f64) {
        let pairs = self.records.iter().zip(&other.records);
        let gaps: Vec<(f64, usize)> = pairs
            .map(|(ours, theirs)| (ours.brier() - theirs.brier(), 1))
            .collect();
        clustered(&gaps)
    }
}

impl fmt::Display for Trial {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (in_time, ever) = self.warned();
        writeln!(
            f,
            "{:?}: {} shops, warned within {LEARNT_AFTER} jobs after job {WORSE_FROM} {in_time:.3}, at all {ever:.3}",
            self.world,
            self.records.len()
        )?;
        for (what, from, until) in [
            ("first 20 jobs", 0, FIRST_JOBS),
            ("later", FIRST_JOBS, JOBS),
            (
                "from the 31st after the change",
                WORSE_FROM + LEARNT_AFTER,
                JOBS,
            ),
        ] {
            for band in BANDS {
                let asked = |job: &ToldJob| (from..until).contains(&job.at);
                let found = self.calibration(band, asked);
                if let Some(found) = found.filter(|found| found.jobs >= JUDGED_FROM) {
                    writeln!(
                        f,
                        "  {what}, {:.2}–{:.2}: {} jobs, told {:.3}, happened {:.3} (± {:.3})",
                        band.0, band.1, found.jobs, found.told, found.happened, found.within
                    )?;
                }
            }
        }
        write!(f, "{}", self.score)
    }
}

#[cfg(test)]
mod tests {
    use super::clustered;

    /// Source: by hand: sums 2 of 4 and 3 of 4 have mean 5/8 and residuals ∓½, so that the standard error
    /// is √(2 · ½) / 8.
    #[test]
    fn limits_go_by_shops_and_not_by_jobs() {
        let (mean, within) = clustered(&[(2.0, 4), (3.0, 4), (0.0, 0)]);
        assert!((mean - 0.625).abs() < 1e-12);
        assert!((within - 1.96 / 8.0).abs() < 1e-12, "{within}");
    }
}
