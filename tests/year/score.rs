//! The score of a year: what was promised against what came.
//!
//! It serves the assertions and the printed report, and judges by counts alone.

use std::fmt;
use std::iter::Sum;
use std::ops::AddAssign;

/// Bands of the carry chance, lower end and upper end.
const BANDS: [(f64, f64); 6] = [
    (0.0, 0.5),
    (0.5, 0.8),
    (0.8, 0.9),
    (0.9, 0.95),
    (0.95, 0.98),
    (0.98, 1.01),
];
/// The first uses of a shop, whose ranges are looked at by themselves.
pub(crate) const FIRST_USES: usize = 10;
/// The first job of week nine: from then on a shop's kit goes round.
pub(crate) const SETTLED_FROM: usize = 40;
/// Jobs from which a band is judged.
const JUDGED_FROM: usize = 200;

/// Checks in one band.
#[derive(Clone, Copy, Default, Debug)]
struct Band {
    jobs: usize,
    promised: f64,
    carried: usize,
}

/// Ranges that held what came, out of all.
#[derive(Clone, Copy, Default, Debug)]
pub(crate) struct Coverage {
    held: usize,
    all: usize,
}

impl Coverage {
    pub(crate) fn add(&mut self, low: f64, came: f64, high: f64) {
        self.all += 1;
        if low <= came && came <= high {
            self.held += 1;
        }
    }

    /// Ranges that held, as a share.
    pub(crate) fn share(self) -> f64 {
        self.held as f64 / self.all as f64
    }
}

impl AddAssign for Coverage {
    fn add_assign(&mut self, more: Self) {
        self.held += more.held;
        self.all += more.all;
    }
}

impl fmt::Display for Coverage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} of {} held ({:.3})",
            self.held,
            self.all,
            self.share()
        )
    }
}

/// An 80 % range that holds so often is as wide as it says.
pub(crate) fn assert_holds(what: &str, coverage: Coverage, all: &impl fmt::Display) {
    let share = coverage.share();
    assert!(
        (0.72..=0.88).contains(&share),
        "the 80 % ranges of {what} held {share:.3}\n{all}"
    );
}

/// The score of some years.
#[derive(Clone, Default, Debug)]
pub(crate) struct Score {
    pub(crate) jobs: usize,
    pub(crate) short_of_pads: usize,
    pub(crate) short_of_liquid: usize,
    /// Jobs short of pads from week nine on.
    pub(crate) short_settled: usize,
    pub(crate) pads_bought: usize,
    /// Pads bought before week nine.
    pub(crate) pads_bought_settling: usize,
    pub(crate) pads_failed: usize,
    bands: [Band; BANDS.len()],
    pub(crate) life: Coverage,
    /// Ranges of pads that are well used.
    pub(crate) life_past: Coverage,
    pub(crate) pour: Coverage,
    /// Ranges of a shop's first uses.
    pub(crate) pour_first: Coverage,
}

impl Score {
    /// What ranges were told of.
    const fn ranges(&self) -> [(&'static str, Coverage); 4] {
        [
            ("life", self.life),
            ("life of a pad past 0.4", self.life_past),
            ("use", self.pour),
            ("the first ten uses", self.pour_first),
        ]
    }

    /// A job whose chance was told.
    pub(crate) fn promise(&mut self, chance: f64, carried: bool) {
        let band = BANDS
            .iter()
            .position(|(low, high)| (*low..*high).contains(&chance))
            .unwrap();
        let band = &mut self.bands[band];
        band.jobs += 1;
        band.promised += chance;
        band.carried += usize::from(carried);
    }

    /// Pads bought from week nine on.
    pub(crate) const fn pads_bought_settled(&self) -> usize {
        self.pads_bought - self.pads_bought_settling
    }

    /// Jobs that came up short of pads or liquid midway, as a share.
    pub(crate) fn shortage_rate(&self) -> f64 {
        self.short_of_pads as f64 / self.jobs as f64
    }

    /// Every band with enough jobs carried as often as was promised, within 5 points.
    pub(crate) fn assert_calibrated(&self) {
        let judged: Vec<_> = self
            .bands
            .iter()
            .zip(BANDS)
            .filter(|(band, _)| band.jobs >= JUDGED_FROM)
            .collect();
        assert!(judged.len() >= 3, "too few bands to judge:\n{self}");
        for (band, (low, high)) in judged {
            let carried = band.carried as f64 / band.jobs as f64;
            let promised = band.promised / band.jobs as f64;
            assert!(
                (carried - promised).abs() <= 0.05,
                "band {low}–{high}: promised {promised:.3}, carried {carried:.3}\n{self}"
            );
        }
    }

    /// The 80 % ranges of life and of use held between 72 and 88 %, those of the first uses and of well
    /// used pads too.
    pub(crate) fn assert_ranges_hold(&self) {
        for (what, coverage) in self.ranges() {
            assert_holds(what, coverage, self);
        }
    }
}

impl Sum for Score {
    fn sum<I: Iterator<Item = Self>>(scores: I) -> Self {
        scores.fold(Self::default(), |mut all, one| {
            all.jobs += one.jobs;
            all.short_of_pads += one.short_of_pads;
            all.short_of_liquid += one.short_of_liquid;
            all.short_settled += one.short_settled;
            all.pads_bought += one.pads_bought;
            all.pads_bought_settling += one.pads_bought_settling;
            all.pads_failed += one.pads_failed;
            for (band, more) in all.bands.iter_mut().zip(one.bands) {
                band.jobs += more.jobs;
                band.promised += more.promised;
                band.carried += more.carried;
            }
            for (all, one) in [
                (&mut all.life, one.life),
                (&mut all.life_past, one.life_past),
                (&mut all.pour, one.pour),
                (&mut all.pour_first, one.pour_first),
            ] {
                *all += one;
            }
            all
        })
    }
}

impl fmt::Display for Score {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "  {} jobs, short of pads {} ({:.2} %), short of liquid {}, pads bought {}, failed {}",
            self.jobs,
            self.short_of_pads,
            100.0 * self.shortage_rate(),
            self.short_of_liquid,
            self.pads_bought,
            self.pads_failed
        )?;
        for (band, (low, high)) in self.bands.iter().zip(BANDS) {
            if band.jobs > 0 {
                writeln!(
                    f,
                    "  chance {low:.2}–{high:.2}: {} jobs, promised {:.3}, carried {:.3}",
                    band.jobs,
                    band.promised / band.jobs as f64,
                    band.carried as f64 / band.jobs as f64
                )?;
            }
        }
        for (what, coverage) in self.ranges() {
            if coverage.all > 0 {
                writeln!(f, "  80 % ranges of {what}: {coverage}")?;
            }
        }
        Ok(())
    }
}
