//! What is done to a battery: it is put on the charger, or a job runs on it.

use super::later;
use crate::Moment;
use crate::book::deed::Deed;
use crate::trade::kit::{Piece, State};

impl Piece {
    /// Takes what was done to a battery at a moment.
    pub(super) fn charge_or_empty(&mut self, deed: &Deed, done_at: Moment) {
        let State::Battery(battery) = &mut self.state else {
            return;
        };
        match deed {
            Deed::Charged { charge_s, .. } => battery.charge(done_at, later(done_at, *charge_s)),
            Deed::BatteryUsed { .. } => battery.empty(done_at),
            _ => {}
        }
    }
}
