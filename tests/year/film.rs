//! What cuts truly take off the film, hidden from the book, and what the book tells of it from readings.
//!
//! Goal: the limits of what a cut took hold the true mean as often as they say. Method: each job of a year truly
//! takes so much of each panel; a gauge reads a few spots before and after, elsewhere on the panel, each with an
//! error of its own and in whole micrometres, and the readings go through `decide` and `apply`. All of it is
//! invented; the quantiles are those of a published table.

use fettlebook_model::Command;
use fettlebook_model::command::{FilmRead, Said};
use fettlebook_model::film::{OfJob, PanelSpots};
use fettlebook_model::film_cut::film_cut;
use fettlebook_model::panel::Panel;
use fettlebook_quantity::Thickness;
use jiff::SignedDuration;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Gamma, Normal};

use crate::ledger::{CAR_COUNT, Ledger, start_of};
use crate::truth::DAYS;

/// Shops whose years are lived.
const SHOPS: u64 = 8;
/// Spread of the film from spot to spot of a panel, µm.
const SPOT_SD_UM: f64 = 1.5;
/// What a gauge errs from reading to reading, µm.
const GAUGE_SD_UM: f64 = 1.0;
/// Panels that are read.
const PANELS: std::ops::RangeInclusive<usize> = 5..=12;
/// Student's t at 90 % and 95 %, by degrees of freedom from 4 on. Source: NIST/SEMATECH e-Handbook of Statistical
/// Methods, 1.3.6.7.2.
const T: [(f64, f64); 8] = [
    (1.533, 2.132),
    (1.476, 2.015),
    (1.440, 1.943),
    (1.415, 1.895),
    (1.397, 1.860),
    (1.383, 1.833),
    (1.372, 1.812),
    (1.363, 1.796),
];

/// How a cut varies from panel to panel of a car.
#[derive(Clone, Copy, Debug)]
enum Cut {
    /// By a fifth of its mean, as many small causes make it.
    Even,
    /// By half of its mean, a few panels far above it.
    Uneven,
}

impl Cut {
    /// What is truly taken off a panel, µm, of a cut with this mean.
    fn of_panel(self, mean_um: f64, rng: &mut ChaCha8Rng) -> f64 {
        match self {
            Self::Even => Normal::new(mean_um, mean_um / 5.0).unwrap().sample(rng),
            Self::Uneven => Gamma::new(4.0, mean_um / 4.0).unwrap().sample(rng),
        }
    }
}

/// How often limits held what was true.
#[derive(Clone, Copy, Debug, Default)]
struct Held {
    cuts: usize,
    by_90: usize,
    by_80: usize,
}

impl Held {
    fn shares(self) -> (f64, f64) {
        let all = self.cuts as f64;
        (self.by_90 as f64 / all, self.by_80 as f64 / all)
    }
}

/// What a gauge reads in some spots of each panel of this true film.
fn read(film: &[(Panel, f64)], rng: &mut ChaCha8Rng) -> Vec<PanelSpots> {
    let spot = Normal::new(0.0, SPOT_SD_UM).unwrap();
    let gauge = Normal::new(0.0, GAUGE_SD_UM).unwrap();
    let panels = film.iter().map(|(panel, um)| {
        let count = rng.random_range(3..=5);
        let spots = (0..count).map(|_| um + spot.sample(rng) + gauge.sample(rng));
        PanelSpots {
            panel: *panel,
            spots_um: spots
                .map(|um| Thickness::from_um(um.round() as i64))
                .collect(),
        }
    });
    panels.collect()
}

fn year(seed: u64, cut: Cut) -> Held {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut ledger = Ledger::set_up();
    let mut held = Held::default();
    for day in 0..DAYS {
        let start = start_of(day);
        ledger.now = start - SignedDuration::from_hours(12);
        let job = ledger.book_job(day, day % CAR_COUNT);
        let car = ledger.book.job(&job).unwrap().car.clone();
        let count = rng.random_range(PANELS);
        let mean_um = rng.random_range(1.0..6.0);
        // Paint that comes new to the book each time: what was taken before is not what is asked.
        let before: Vec<(Panel, f64)> = [Panel::Bonnet, Panel::Roof, Panel::Boot]
            .into_iter()
            .chain(Panel::ALL.iter().copied().filter(|panel| is_other(*panel)))
            .take(count)
            .map(|panel| (panel, rng.random_range(95.0..140.0)))
            .collect();
        let after: Vec<(Panel, f64)> = before
            .iter()
            .map(|(panel, um)| (*panel, um - cut.of_panel(mean_um, &mut rng)))
            .collect();
        for (of_job, film) in [
            (OfJob::Before(job.clone()), &before),
            (OfJob::After(job.clone()), &after),
        ] {
            let panels = read(film, &mut rng);
            let (said, of_job) = (Said::default(), Some(of_job));
            let car = car.clone();
            ledger.say(&Command::RecordFilm(Box::new(FilmRead {
                said,
                car,
                of_job,
                panels,
            })));
            ledger.now = start + SignedDuration::from_hours(8);
        }
        let told = film_cut(&ledger.book, ledger.book.car(&car).unwrap(), &job).unwrap();
        let removed = told.removed.unwrap();
        let (low, high) = removed.limits_um.unwrap();
        let (at_80, at_90) = T[count - PANELS.start()];
        let half = (high - low) / 2.0;
        let off = (removed.mean_um - mean_um).abs();
        held.cuts += 1;
        held.by_90 += usize::from(off <= half);
        held.by_80 += usize::from(off <= half * at_80 / at_90);
    }
    held
}

/// Panels that every car of the shop has, beside the three that are read first.
fn is_other(panel: Panel) -> bool {
    use Panel::{
        FrontBumper, FrontDoorLeft, FrontDoorRight, FrontWingLeft, FrontWingRight, RearBumper,
        RearQuarterLeft, RearQuarterRight, SillLeft,
    };
    [
        FrontDoorLeft,
        FrontDoorRight,
        FrontWingLeft,
        FrontWingRight,
        RearQuarterLeft,
        RearQuarterRight,
        FrontBumper,
        RearBumper,
        SillLeft,
    ]
    .contains(&panel)
}

#[test]
fn the_limits_of_what_a_cut_took_hold_what_was_true_as_often_as_they_say() {
    for cut in [Cut::Even, Cut::Uneven] {
        let years = (0..SHOPS).map(|seed| year(seed, cut));
        let held = years.fold(Held::default(), |all, one| Held {
            cuts: all.cuts + one.cuts,
            by_90: all.by_90 + one.by_90,
            by_80: all.by_80 + one.by_80,
        });
        let (by_90, by_80) = held.shares();
        println!(
            "film, {cut:?}: {} cuts, the 90 % limits held {by_90:.3}, those of 80 % {by_80:.3}",
            held.cuts
        );
        assert!((0.87..=0.93).contains(&by_90), "{cut:?}: {by_90:.3}");
        assert!((0.72..=0.88).contains(&by_80), "{cut:?}: {by_80:.3}");
    }
}
