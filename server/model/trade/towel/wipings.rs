//! What jobs wiped with a bundle, where a person said with how many of its towels.
//!
//! It holds areas, not what was planned for them, so that a change of rules changes nothing of what a
//! shop's own use teaches.

use fettlebook_quantity::Area;
use serde::{Deserialize, Serialize};

use crate::Moment;

/// Wipings kept apart; older ones are added up, so that a bundle's record stays small.
const WIPINGS_MAX: usize = 20;

/// An area wiped, and the towels it took.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wiping {
    /// When it was done.
    pub done_at: Moment,
    /// Area, all steps together.
    pub area_mm2: Area,
    /// Towels, without those that fell.
    pub towel_count: i64,
    /// Jobs behind it.
    pub job_count: i64,
}

/// The wipings of a bundle, in the order they were recorded.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Wipings(Vec<Wiping>);

impl Wipings {
    /// Takes one in; the two first are added up once there are too many.
    pub(crate) fn add(&mut self, wiping: Wiping) {
        self.0.push(wiping);
        if self.0.len() <= WIPINGS_MAX {
            return;
        }
        let oldest = self.0.remove(0);
        if let Some(next) = self.0.first_mut() {
            next.area_mm2 = next.area_mm2.saturating_add(oldest.area_mm2);
            next.towel_count = next.towel_count.saturating_add(oldest.towel_count);
            next.job_count = next.job_count.saturating_add(oldest.job_count);
        }
    }

    /// Each, as recorded.
    pub fn iter(&self) -> impl Iterator<Item = &Wiping> {
        self.0.iter()
    }

    /// Those before a moment.
    #[must_use]
    pub(crate) fn before(&self, moment: Moment) -> Self {
        let early = self.0.iter().filter(|wiping| wiping.done_at < moment);
        Self(early.copied().collect())
    }
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::Area;

    use super::{WIPINGS_MAX, Wiping, Wipings};
    use crate::Moment;

    fn wiping(second: i64) -> Wiping {
        Wiping {
            done_at: Moment::from_second(second).unwrap(),
            area_mm2: Area::from_mm2(24_000_000),
            towel_count: 7,
            job_count: 1,
        }
    }

    #[test]
    fn old_wipings_are_added_up_and_nothing_is_lost() {
        let mut wipings = Wipings::default();
        for second in 0..100 {
            wipings.add(wiping(second));
        }
        let sums = wipings.iter().fold((0, 0, 0), |sum, one| {
            let (area, towels, jobs) = sum;
            (
                area + one.area_mm2.mm2(),
                towels + one.towel_count,
                jobs + one.job_count,
            )
        });
        assert_eq!(sums, (2_400_000_000, 700, 100));
        assert_eq!(wipings.iter().count(), WIPINGS_MAX);
    }

    #[test]
    fn what_came_later_can_be_left_out() {
        let mut wipings = Wipings::default();
        wipings.add(wiping(10));
        wipings.add(wiping(20));
        let before = wipings.before(Moment::from_second(20).unwrap());
        assert_eq!(before.iter().collect::<Vec<_>>(), [&wiping(10)]);
    }
}
