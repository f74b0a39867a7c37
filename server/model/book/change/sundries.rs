//! What is done to a pack of a sundry: it is counted, or something is used of it.

use super::Stamp;
use crate::book::deed::Deed;
use crate::trade::kit::{Piece, State};
use crate::trade::tally::{FIRST_RULES, PlannedUse, Taken, UNTOLD};

impl Piece {
    /// Takes a count of a pack, or a use of it.
    pub(super) fn count_or_use(&mut self, deed: &Deed, stamp: Stamp<'_>) {
        let State::Sundry(sundry) = &mut self.state else {
            return;
        };
        match deed {
            // What a device had seen says nothing: a count is what was there.
            Deed::SundryCounted { left_quantity, .. } => {
                let is_newest = sundry.count(*left_quantity, &stamp.when());
                self.needs_count &= !is_newest;
            }
            Deed::SundryUsed {
                within,
                quantity,
                planned_quantity,
                ..
            } => {
                // The plan of a sundry is made again in any case; earlier programs did not say it.
                let rules = planned_quantity.map_or(UNTOLD, |_| FIRST_RULES);
                let planned = within.job.as_ref().map(|job| PlannedUse {
                    job: Some(job.clone()),
                    planned_quantity: planned_quantity.unwrap_or_default(),
                    rules,
                });
                let taken = Taken {
                    quantity: *quantity,
                    planned,
                    done_at: stamp.done_at,
                };
                sundry.use_up(taken, stamp.when());
            }
            _ => {}
        }
    }
}
