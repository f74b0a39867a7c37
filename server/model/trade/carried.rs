//! What a pad carries: which liquids have been on it since its last wash.
//!
//! A coarser liquid left in the foam cuts through a finish, so a pad goes to a finer one only once it
//! was washed (common practice, no source). It goes by when things were done, so that a late report of
//! an early use says nothing of a pad that has been washed since.

use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::trade::make::Grade;

/// When a pad last carried liquids that are coarser than fine, none of which was washed out, and when it
/// was last washed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Carried {
    /// Last use with a coarse liquid since the last wash.
    coarse_at: Option<Moment>,
    /// Last use with a medium liquid since the last wash.
    medium_at: Option<Moment>,
    /// Last wash.
    washed_at: Option<Moment>,
}

impl Carried {
    /// A liquid of this grade went on it.
    pub(crate) fn put_on(&mut self, grade: Grade, at: Moment) {
        let last = match grade {
            Grade::Coarse => &mut self.coarse_at,
            Grade::Medium => &mut self.medium_at,
            Grade::Fine => return,
        };
        if self.washed_at.is_none_or(|washed| at >= washed) {
            *last = (*last).max(Some(at));
        }
    }

    /// It was washed.
    pub(crate) fn wash(&mut self, at: Moment) {
        self.washed_at = self.washed_at.max(Some(at));
        for last in [&mut self.coarse_at, &mut self.medium_at] {
            *last = last.filter(|put_on| *put_on > at);
        }
    }

    /// The coarsest liquid that is on it; none where that is a fine one at most.
    pub(crate) fn coarsest(&self) -> Option<Grade> {
        let coarse = self.coarse_at.map(|_| Grade::Coarse);
        coarse.or(self.medium_at.map(|_| Grade::Medium))
    }
}

#[cfg(test)]
mod tests {
    use super::Carried;
    use crate::Moment;
    use crate::trade::make::Grade;

    fn hour(hour: i64) -> Moment {
        Moment::from_second(hour * 3_600).unwrap()
    }

    #[test]
    fn a_wash_takes_off_what_was_on_it_by_then_in_whatever_order_it_is_told() {
        let mut told_late = Carried::default();
        told_late.wash(hour(10));
        told_late.put_on(Grade::Coarse, hour(9));
        assert_eq!(told_late.coarsest(), None);
        let mut used_after = Carried::default();
        used_after.put_on(Grade::Coarse, hour(9));
        used_after.put_on(Grade::Medium, hour(11));
        assert_eq!(used_after.coarsest(), Some(Grade::Coarse));
        used_after.wash(hour(10));
        assert_eq!(used_after.coarsest(), Some(Grade::Medium));
        used_after.wash(hour(11));
        assert_eq!(used_after.coarsest(), None);
    }

    #[test]
    fn a_fine_liquid_is_coarser_than_none() {
        let mut pad = Carried::default();
        pad.put_on(Grade::Fine, hour(9));
        assert_eq!(pad.coarsest(), None);
    }
}
