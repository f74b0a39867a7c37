//! Random deeds that vans kept, with what those had seen.

use fettlebook_model::Seq;
use fettlebook_model::kept::{Kept, KeptMark, SeenLevel};
use fettlebook_model::kit::State;

use super::{Act, Sort};
use crate::shop::{Shop, tag};

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
                | Sort::Aside
                | Sort::Return
                | Sort::Bin
                | Sort::Demote
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
            levels: self.levels(shop),
            by: by.to_owned(),
        })
    }

    /// What the van had seen of the kit it names: what the book has, or a little else.
    fn levels(&self, shop: &Shop) -> Vec<SeenLevel> {
        let named = self.tags.iter().filter(|_| !self.astray);
        let held = named.filter_map(|word| shop.book.piece(tag(word)));
        let off = self.figure.rem_euclid(3);
        let mut levels: Vec<SeenLevel> = held
            .map(|piece| {
                let none = SeenLevel {
                    tag: piece.tag,
                    quantity: None,
                    clean_count: None,
                    soiled_count: None,
                    drying_count: None,
                };
                match &piece.state {
                    State::Bottle(bottle) => SeenLevel {
                        quantity: Some(bottle.left_ul.ul() + off * 1_000),
                        ..none
                    },
                    State::Sundry(sundry) => SeenLevel {
                        quantity: Some(sundry.left_quantity + off),
                        ..none
                    },
                    State::Bundle(bundle) => SeenLevel {
                        clean_count: Some(bundle.clean_count + off),
                        soiled_count: Some(bundle.soiled_count),
                        drying_count: (off > 0).then_some(bundle.drying_count),
                        ..none
                    },
                    State::Pad(_) | State::Plate(_) | State::Machine(_) | State::Tool(_) => none,
                }
            })
            .collect();
        levels.dedup_by_key(|level| level.tag);
        levels
    }
}
