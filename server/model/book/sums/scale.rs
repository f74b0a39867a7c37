//! What weights without a tare come to, once the tare is worked out: for the sums of a bottle.

use fettlebook_quantity::Mass;

use super::level::Level;
use crate::trade::dose::volume_left;
use crate::trade::kit::Piece;
use crate::trade::since::When;

/// The scale a bottle stands on: its tare, and a weight that waits for it.
pub(super) struct Scale {
    tare: Option<Mass>,
    waiting: Option<Weight>,
}

struct Weight {
    gross: Mass,
    density: i64,
    when: When,
}

impl Scale {
    /// With the tare that a bottle came with.
    pub(super) fn of(piece: &Piece) -> Self {
        let tare = piece.bottle().and_then(|bottle| bottle.tare_mg);
        let waiting = None;
        Self { tare, waiting }
    }

    /// A weight: a reading where what is left follows from it, else it waits unless something later is known.
    pub(super) fn weigh(&mut self, gross: Mass, density: i64, when: &When, level: &mut Level) {
        if let Some(tare) = self.tare {
            if let Some(left) = volume_left(gross, tare, density) {
                self.read(left.ul(), when, level);
            }
            return;
        }
        let waits_later = self.waiting.as_ref().is_some_and(|held| held.when > *when);
        if !waits_later && level.is_newest(when) {
            let when = when.clone();
            self.waiting = Some(Weight {
                gross,
                density,
                when,
            });
        }
    }

    /// What is left was read in another way, which says more than a weight before it.
    pub(super) fn read(&mut self, left: i64, when: &When, level: &mut Level) {
        if level.read(when, left) {
            self.waiting.take_if(|weight| weight.when <= *when);
        }
    }

    /// The tare; what waited for it is a reading then.
    pub(super) fn find(&mut self, tare: Mass, level: &mut Level) {
        self.tare = Some(tare);
        let Some(weight) = self.waiting.take() else {
            return;
        };
        if let Some(left) = volume_left(weight.gross, tare, weight.density) {
            level.read(&weight.when, left.ul());
        }
    }
}
