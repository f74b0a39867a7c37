//! Which batteries go to a job: those that are full by its start, and those that can be put on the charger.

use std::sync::Arc;

use jiff::SignedDuration;

use super::Scene;
use crate::ground::exact::ceil_div;
use crate::ready::batteries::{ChargeUse, Drawn, charge_time, rated_of_make_ms, rated_run_ms};
use crate::trade::kit::{Piece, Readiness};

/// A battery, and how long a charge of it lasts.
#[derive(Debug, Clone)]
pub(crate) struct BatteryChoice {
    /// The battery.
    pub piece: Arc<Piece>,
    /// Time on paint that its charge gives, as this shop works, ms.
    pub run_ms: i64,
}

/// Batteries for the machines of a job, each list best first: at the place, taken for no other job, those
/// that last longest.
#[derive(Debug, Clone, Default)]
pub(crate) struct BatteryOffer {
    /// Full by the start.
    pub full: Vec<BatteryChoice>,
    /// Empty, and full by the start if the charger has them in time.
    pub in_time: Vec<BatteryChoice>,
    /// Not full by the start.
    pub late: Vec<BatteryChoice>,
    /// Batteries that are needed.
    pub need: i64,
}

impl BatteryOffer {
    /// Those that go: as many of the full ones as are needed.
    pub(crate) fn go(&self) -> &[BatteryChoice] {
        let need = usize::try_from(self.need).unwrap_or(usize::MAX);
        self.full
            .get(..need.min(self.full.len()))
            .unwrap_or_default()
    }
}

/// Batteries for the machines of a job.
///
/// Formula: as many as it takes for their charges to add up to the time on paint with what is kept in hand;
/// for n alike, n = ⌈time × 1.1 ÷ a charge⌉.
pub(crate) fn offer_batteries(scene: &Scene<'_>, drawn: &Drawn<'_>) -> BatteryOffer {
    let book = scene.book;
    let wanted_ms = drawn.wanted_ms(scene.policy());
    let uses: Vec<ChargeUse> = drawn
        .batteries
        .iter()
        .map(|make| ChargeUse::of(book, &make.id, 1.0))
        .collect();
    let free = scene.free(|piece| drawn.takes(piece));
    let mut offer = BatteryOffer::default();
    for (make, charge_use) in drawn.batteries.iter().zip(&uses) {
        for piece in book.pieces_of(&make.id) {
            let Some(battery) = piece.battery() else {
                continue;
            };
            let is_fit = matches!(piece.readiness, Readiness::Ready) && free.has(piece);
            let Some(rated_ms) = rated_run_ms(book, piece).filter(|_| is_fit) else {
                continue;
            };
            let choice = BatteryChoice {
                piece: Arc::clone(piece),
                run_ms: charge_use.run_ms(rated_ms),
            };
            let charged_at = scene
                .now
                .checked_add(SignedDuration::from_secs(charge_time(book, piece).s()));
            // Looking back, what has turned since was full at the start.
            let has_turned = (battery.turned_at).is_some_and(|turned| turned > scene.starts_at);
            let was_full = scene.looking_back && has_turned;
            let list = if battery.is_full_at(scene.starts_at) || was_full {
                &mut offer.full
            } else if charged_at.is_ok_and(|at| at <= scene.starts_at) {
                &mut offer.in_time
            } else {
                &mut offer.late
            };
            list.push(choice);
        }
    }
    for list in [&mut offer.full, &mut offer.in_time, &mut offer.late] {
        list.sort_by_key(|choice| {
            let (piece, run_ms) = (&choice.piece, choice.run_ms.saturating_neg());
            let second = free.is_second_choice(piece.tag);
            (scene.reach(piece), second, run_ms, piece.tag)
        });
    }
    let of_new = drawn.batteries.iter().zip(&uses).filter_map(|(make, one)| {
        rated_of_make_ms(book, make, 0).map(|rated_ms| one.run_ms(rated_ms))
    });
    offer.need = need(&offer, wanted_ms, of_new.max());
    offer
}

/// Batteries whose charges add up to a time; beyond those that there are, as a new one lasts.
fn need(offer: &BatteryOffer, wanted_ms: i64, new_ms: Option<i64>) -> i64 {
    let (mut left_ms, mut need) = (wanted_ms, 0_i64);
    let there = offer.full.iter().chain(&offer.in_time).chain(&offer.late);
    for choice in there {
        if left_ms <= 0 {
            return need;
        }
        left_ms = left_ms.saturating_sub(choice.run_ms);
        need = need.saturating_add(1);
    }
    let rest = new_ms.map_or(0, |new_ms| {
        ceil_div(left_ms.max(0).into(), new_ms.max(1).into())
    });
    need.saturating_add(rest)
}
