//! Film readings over time: sets of spots, panel by panel, and which of them a check goes by.
//!
//! A gauge reads differently from spot to spot, and never the clear coat alone. So the lowest of the newest set
//! counts, a set that is thicker than paint can have become says nothing until a person says why, and what a cut
//! took is told by means of several spots.

use fettlebook_quantity::{Thickness, exact_f64};
use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::Id;
use crate::maths::life::count_f64;
use crate::trade::job::PanelNote;
use crate::trade::panel::Panel;
use crate::trade::since::When;

/// Spots of a panel from which on they have a mean, and may raise what a check goes by. Basis: common practice,
/// no source.
pub const SPOTS_MIN: usize = 3;
/// Most spots that are told of a panel at once. Basis: ours.
pub(crate) const SPOTS_MAX: usize = 20;
/// Sets of readings that are remembered of a car; its entries have all of them. Basis: ours.
const SETS_MAX: usize = 64;

/// Which job a film was read beside, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OfJob {
    /// Before it.
    Before(Id),
    /// After it.
    After(Id),
}

impl OfJob {
    /// The job.
    pub const fn job(&self) -> &Id {
        match self {
            Self::Before(job) | Self::After(job) => job,
        }
    }
}

/// What a gauge read on one panel, spot by spot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PanelSpots {
    /// Panel.
    pub panel: Panel,
    /// Readings, in the order in which they were taken; at least one.
    pub spots_um: Vec<Thickness>,
}

impl PanelSpots {
    /// The lowest of them.
    pub(crate) fn lowest(&self) -> Option<Thickness> {
        self.spots_um.iter().min().copied()
    }

    /// The highest of them.
    pub(crate) fn highest(&self) -> Option<Thickness> {
        self.spots_um.iter().max().copied()
    }

    /// Whether they are too few for a mean.
    pub const fn is_thin(&self) -> bool {
        self.spots_um.len() < SPOTS_MIN
    }

    /// Their mean, µm; nothing of too few.
    pub fn mean_um(&self) -> Option<f64> {
        if self.is_thin() {
            return None;
        }
        let sum: f64 = self.spots_um.iter().map(|one| exact_f64(one.um())).sum();
        Some(sum / count_f64(self.spots_um.len()))
    }
}

/// What a gauge read of a car at one time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FilmSet {
    /// When, among all that was read of the car.
    when: When,
    /// Beside which job; none where it was beside no job.
    pub of_job: Option<OfJob>,
    /// Panel by panel.
    pub panels: Vec<PanelSpots>,
}

impl FilmSet {
    /// When it was read.
    pub const fn read_at(&self) -> Moment {
        self.when.done_at
    }

    /// What it has of a panel.
    pub(crate) fn of(&self, panel: Panel) -> Option<&PanelSpots> {
        self.panels.iter().find(|spots| spots.panel == panel)
    }
}

/// All that was read of a car's film, and since when what was said of it stands. It follows from the car's
/// entries, and is not set with it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct FilmReadings {
    /// Panels whose lowest film was said, each with when.
    said: Vec<(Panel, When)>,
    /// Sets of readings, the earliest first.
    sets: Vec<FilmSet>,
}

impl FilmReadings {
    /// All sets, the earliest first.
    pub fn sets(&self) -> impl DoubleEndedIterator<Item = &FilmSet> {
        self.sets.iter()
    }

    /// Takes a set in, in its order; the earliest makes room.
    pub(crate) fn read(&mut self, when: When, of_job: Option<OfJob>, panels: Vec<PanelSpots>) {
        let at = self.sets.partition_point(|set| set.when <= when);
        let set = FilmSet {
            when,
            of_job,
            panels,
        };
        self.sets.insert(at, set);
        let too_many = self.sets.len().saturating_sub(SETS_MAX);
        self.sets.drain(..too_many);
    }

    /// Notes when each lowest film was said that differs from what was said before.
    pub(crate) fn say(&mut self, before: &[PanelNote], notes: &[PanelNote], when: &When) {
        let said = notes.iter().filter(|note| note.film_um.is_some());
        let said = said.map(|note| {
            let is_same = |was: &&PanelNote| was.panel == note.panel && was.film_um == note.film_um;
            let held = before
                .iter()
                .find(is_same)
                .and_then(|_| self.said_at(note.panel));
            (note.panel, held.unwrap_or(when).clone())
        });
        self.said = said.collect();
    }

    fn said_at(&self, panel: Panel) -> Option<&When> {
        let said = self.said.iter().find(|(said, _)| *said == panel);
        said.map(|(_, when)| when)
    }

    /// The reading of a panel that a check goes by: the lowest of the newest set since the lowest was last said,
    /// or what was said. A set that is thicker by more than the gauge's error, or thicker and of few spots,
    /// raises nothing: it may be of another panel, and paint does not grow.
    pub(crate) fn judged(&self, panel: Panel, said: Option<Thickness>) -> Option<Thickness> {
        let since = said.and_then(|_| self.said_at(panel));
        let sets = self
            .sets()
            .filter(|set| since.is_none_or(|since| set.when > *since));
        sets.fold(said, |held, set| {
            let Some((spots, lowest)) = set.of(panel).and_then(|one| Some((one, one.lowest()?)))
            else {
                return held;
            };
            match held {
                Some(held) if lowest > held && (spots.is_thin() || has_grown(held, lowest)) => {
                    Some(held)
                }
                _ => Some(lowest),
            }
        })
    }
}

/// The error of a gauge at a reading, µm: ±(2 µm + 3 % of the reading). Basis: from memory; the gauge's own data
/// sheet says what it is for that gauge.
pub(crate) fn gauge_error_um(reading_um: f64) -> f64 {
    const OF_ITS_OWN_UM: f64 = 2.0;
    const OF_THE_READING: f64 = 0.03;
    OF_ITS_OWN_UM + OF_THE_READING * reading_um.abs()
}

/// Whether a reading is thicker than an earlier one by more than the gauge's error.
pub(crate) fn has_grown(earlier: Thickness, later: Thickness) -> bool {
    let more = exact_f64(later.um().saturating_sub(earlier.um()));
    more > gauge_error_um(exact_f64(later.um()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::ids::Seq;

    fn at(second: i64) -> When {
        When::at_once(Moment::from_second(second).unwrap(), Seq(1))
    }

    fn spots(um: &[i64]) -> PanelSpots {
        PanelSpots {
            panel: Panel::Bonnet,
            spots_um: um.iter().copied().map(Thickness::from_um).collect(),
        }
    }

    fn note(um: i64) -> PanelNote {
        PanelNote {
            panel: Panel::Bonnet,
            area_mm2: None,
            left_out: false,
            film_um: Some(Thickness::from_um(um)),
            split: None,
        }
    }

    /// The film that a check goes by, after these sets in this order, in µm.
    fn judged(said: Option<i64>, sets: &[&[i64]]) -> Option<i64> {
        let mut readings = FilmReadings::default();
        if let Some(um) = said {
            readings.say(&[], &[note(um)], &at(0));
        }
        for (second, um) in (1..).zip(sets) {
            readings.read(at(second), None, vec![spots(um)]);
        }
        let judged = readings.judged(Panel::Bonnet, said.map(Thickness::from_um));
        judged.map(|film| film.um())
    }

    #[test]
    fn the_lowest_of_the_newest_set_counts() {
        assert_eq!(judged(None, &[]), None);
        assert_eq!(judged(Some(112), &[]), Some(112));
        assert_eq!(judged(None, &[&[112, 109, 118]]), Some(109));
        assert_eq!(judged(Some(112), &[&[115, 108, 118]]), Some(108));
        assert_eq!(
            judged(None, &[&[112, 109, 118], &[110, 106, 115]]),
            Some(106)
        );
        // Within the error of the gauge, 2 + 3 % of 111: 5.33 µm.
        assert_eq!(
            judged(None, &[&[108, 106, 112], &[111, 113, 118]]),
            Some(111)
        );
    }

    #[test]
    fn a_spot_or_two_lower_what_counts_and_never_raise_it() {
        assert_eq!(judged(Some(100), &[&[96]]), Some(96));
        assert_eq!(judged(Some(100), &[&[101]]), Some(100));
        assert_eq!(judged(None, &[&[96, 97, 98], &[99, 99]]), Some(96));
        assert_eq!(judged(None, &[&[90]]), Some(90));
    }

    #[test]
    fn paint_that_grew_counts_as_thick_as_it_was_until_its_lowest_is_said_anew() {
        assert_eq!(judged(Some(95), &[&[180, 182, 185]]), Some(95));
        assert_eq!(judged(None, &[&[95, 96, 99], &[180, 182, 185]]), Some(95));
        let mut readings = FilmReadings::default();
        readings.say(&[], &[note(95)], &at(0));
        readings.read(at(1), None, vec![spots(&[93, 96, 99])]);
        readings.read(at(1), None, vec![spots(&[180, 182, 185])]);
        readings.say(&[note(95)], &[note(95)], &at(2));
        let of = |readings: &FilmReadings, um| {
            let judged = readings.judged(Panel::Bonnet, Some(Thickness::from_um(um)));
            judged.map(|film| film.um())
        };
        assert_eq!(of(&readings, 95), Some(93), "said again, it is no news");
        readings.say(&[note(95)], &[note(180)], &at(3));
        assert_eq!(of(&readings, 180), Some(180));
        readings.read(at(4), None, vec![spots(&[176, 178, 181])]);
        assert_eq!(of(&readings, 180), Some(176));
    }

    #[test]
    fn what_is_told_late_stands_where_it_was_read() {
        let mut readings = FilmReadings::default();
        readings.read(at(9), None, vec![spots(&[104, 105, 106])]);
        readings.read(at(5), None, vec![spots(&[108, 109, 110])]);
        let judged = readings.judged(Panel::Bonnet, None).unwrap();
        assert_eq!(judged.um(), 104);
        for second in 10..100 {
            readings.read(at(second), None, vec![spots(&[104])]);
        }
        assert_eq!(readings.sets().count(), SETS_MAX);
        assert_eq!(readings.sets().next().unwrap().read_at().as_second(), 36);
    }

    /// Source: by hand; the mean of 112, 115 and 118 is 115.
    #[test]
    fn three_spots_have_a_mean_and_fewer_have_none() {
        assert_eq!(spots(&[112, 115, 118]).mean_um(), Some(115.0));
        assert_eq!(spots(&[112, 115]).mean_um(), None);
        assert_eq!(spots(&[112]).mean_um(), None);
    }

    /// Source: by hand, from ±(2 µm + 3 %) (from memory): 5.3 µm at 110 µm.
    #[test]
    fn a_gauge_errs_by_two_micrometres_and_three_hundredths() {
        assert!((gauge_error_um(110.0) - 5.3).abs() < 1e-12);
        let um = Thickness::from_um;
        // 2 + 3 % of 116 is 5.48.
        assert!(!has_grown(um(111), um(116)));
        assert!(has_grown(um(110), um(116)));
    }
}
