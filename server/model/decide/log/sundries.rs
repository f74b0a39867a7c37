//! What a job used of sundries: as stated, or as its plan and the shop's own counts have it.
//!
//! What was planned stands beside it, so that the next count says how much jobs really use.

use super::writer::{Writer, Written, for_the_whole_job};
use crate::book::deed::Deed;
use crate::decide::shares::in_proportion;
use crate::ground::ids::{Id, Tag};
use crate::ready::pick::offer_sundries;
use crate::ready::real_use::RealUse;

impl Writer<'_> {
    /// Sundries as stated, and as they are likely used of the makes of which nothing was.
    pub(super) fn sundries(&self, written: &mut Written) {
        let mut stated = self.log.sundries.clone();
        for (make, need) in &self.plan.sundries {
            let is_of_make = |tag: Tag| self.make_of(tag) == Some(make);
            let mut used: Vec<(Tag, i64)> =
                stated.extract_if(.., |(tag, _)| is_of_make(*tag)).collect();
            let is_stated = !used.is_empty();
            if !is_stated {
                used = self.packs(make, *need);
                written.picked.extend(for_the_whole_job(&used));
            }
            let parts: Vec<i64> = used.iter().map(|(_, quantity)| *quantity).collect();
            for (one, planned) in used.into_iter().zip(in_proportion(*need, &parts)) {
                written.deeds.push(self.used_of(one, planned, is_stated));
            }
        }
        // What no plan was for is no measure of one.
        let others = stated.into_iter().map(|one| self.used_of(one, 0, true));
        written.deeds.extend(others);
    }

    /// How much of which packs a job uses of a make.
    fn packs(&self, make: &Id, need: i64) -> Vec<(Tag, i64)> {
        let book = self.scene.book;
        if let Some(start) = self.start.amounts(book, make) {
            return start;
        }
        let likely = RealUse::of(book, make, need).of_job(need);
        let held = offer_sundries(&self.scene, make);
        self.drawn(&held, likely.expected, make)
    }

    fn used_of(&self, (tag, quantity): (Tag, i64), planned: i64, stated: bool) -> Deed {
        Deed::SundryUsed {
            tag,
            within: self.within(None),
            quantity,
            planned_quantity: Some(planned),
            stated,
        }
    }
}
