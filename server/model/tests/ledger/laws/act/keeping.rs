//! Random deeds that vans kept.

use fettlebook_model::Seq;
use fettlebook_model::kept::{Kept, KeptMark};

use super::{Act, Sort};
use crate::shop::Shop;

pub(super) const VANS: &[&str] = &["van-a", "van-b", "van-c"];

impl Act {
    /// How it was kept, where that can be.
    pub(super) fn kept(&self, shop: &Shop) -> Option<Kept> {
        let can_be = matches!(
            self.sort,
            Sort::Move
                | Sort::Wash
                | Sort::Dry
                | Sort::Weigh
                | Sort::Count
                | Sort::Fill
                | Sort::Aside
                | Sort::Return
                | Sort::Bin
                | Sort::Demote
                | Sort::Charge
                | Sort::Film
                | Sort::Take
                | Sort::Log
                | Sort::Loose
        );
        let (by, unseen) = self.van.filter(|_| can_be)?;
        Some(Kept {
            mark: KeptMark {
                number: 1,
                seen: Seq(shop.book.head().0.saturating_sub(unseen)),
                kept_at: shop.now,
            },
            by: by.to_owned(),
            tag_letter: None,
        })
    }
}
