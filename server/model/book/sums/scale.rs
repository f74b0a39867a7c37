//! What weights without a tare come to, once the tare is worked out: for the sums of a bottle.

use fettlebook_quantity::Mass;

use crate::Moment;
use crate::trade::dose::volume_left;
use crate::trade::kit::Piece;

/// The scale a bottle stands on: its tare, and a weight that waits for it.
pub(super) struct Scale {
    tare: Option<Mass>,
    waiting: Option<Weight>,
}

struct Weight {
    gross: Mass,
    density: i64,
    at: Moment,
    taken_ul: i64,
}

impl Scale {
    /// With the tare that a bottle came with.
    pub(super) fn of(piece: &Piece) -> Self {
        let tare = piece.bottle().and_then(|bottle| bottle.tare_mg);
        let waiting = None;
        Self { tare, waiting }
    }

    /// Liquid was taken.
    pub(super) fn take(&mut self, ul: i64, at: Moment, stands_beside: bool) {
        if let Some(weight) = &mut self.waiting
            && (stands_beside || at >= weight.at)
        {
            weight.taken_ul = weight.taken_ul.saturating_add(ul);
        }
    }

    /// A weight; what is left, µL, where that follows and nothing later is known.
    pub(super) fn weigh(
        &mut self,
        gross: Mass,
        density: i64,
        at: Moment,
        newest: bool,
    ) -> Option<i64> {
        if let Some(tare) = self.tare {
            let left = volume_left(gross, tare, density).filter(|_| newest)?;
            return Some(left.ul());
        }
        if newest && self.waiting.as_ref().is_none_or(|weight| at >= weight.at) {
            self.waiting = Some(Weight {
                gross,
                density,
                at,
                taken_ul: 0,
            });
        }
        None
    }

    /// The tare; what is left, µL, and when it was weighed, where a weight waited for it.
    pub(super) fn find(&mut self, tare: Mass) -> Option<(i64, Moment)> {
        self.tare = Some(tare);
        let weight = self.waiting.take()?;
        let left = volume_left(weight.gross, tare, weight.density)?;
        Some((left.ul().saturating_sub(weight.taken_ul), weight.at))
    }

    /// What was measured at a moment says more than a weight before it.
    pub(super) fn forget_before(&mut self, at: Moment) {
        self.waiting.take_if(|weight| weight.at <= at);
    }
}
