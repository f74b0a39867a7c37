//! Batteries of cordless machines: how long a charge runs, how that fades, and when one is full.
//!
//! A battery that worked is empty, whatever was left in it, until it was charged again.

use fettlebook_quantity::{Seconds, exact_f64, round_to_i64};
use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::Id;

/// Milliseconds of a second.
const MS_PER_S: f64 = 1_000.0;

/// Figures of a battery.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BatteryFigures {
    /// Machine makes that it fits.
    pub machines: Vec<Id>,
    /// Time on paint that a charge is rated for when it is new.
    pub run_time_s: Seconds,
    /// Time that the charger takes to fill it.
    pub charge_time_s: Option<Seconds>,
    /// Charges until it holds the part of a new one that the policy names.
    pub rated_charge_count: Option<i64>,
}

impl BatteryFigures {
    /// Whether it fits a machine make.
    pub fn fits(&self, machine: &Id) -> bool {
        self.machines.contains(machine)
    }

    /// Time on paint that a charge gives after so many, by the rating alone, ms.
    ///
    /// Formula: rated time × keeps^(charges ÷ rated charges), `keeps` being what is left of a new one's charge
    /// after the rated charges. Basis: from memory, 0.8 after 500.
    pub(crate) fn rated_run_ms(&self, charge_count: i64, keeps: f64) -> i64 {
        let rated = exact_f64(self.run_time_s.s()) * MS_PER_S;
        let lives = match self.rated_charge_count {
            Some(rated) if rated > 0 => exact_f64(charge_count.max(0)) / exact_f64(rated),
            _ => 0.0,
        };
        round_to_i64(rated * keeps.powf(lives)).max(1)
    }
}

/// How a battery stands.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct BatteryState {
    /// Charges so far.
    pub charge_count: i64,
    /// From when on it is full; none while it is empty.
    #[serde(default)]
    pub full_at: Option<Moment>,
    /// When what decided that was done.
    #[serde(default)]
    pub turned_at: Option<Moment>,
}

impl BatteryState {
    /// Whether it is full at a moment.
    pub fn is_full_at(&self, moment: Moment) -> bool {
        self.full_at.is_some_and(|full| full <= moment)
    }

    /// Was put on the charger, which counts whatever was in it.
    pub(crate) fn charge(&mut self, done_at: Moment, full_at: Moment) {
        self.charge_count = self.charge_count.saturating_add(1);
        self.turn(Some(full_at), done_at);
    }

    /// Worked, and is empty.
    pub(crate) fn empty(&mut self, done_at: Moment) {
        self.turn(None, done_at);
    }

    /// Turns, unless something done later has turned it already.
    fn turn(&mut self, full_at: Option<Moment>, done_at: Moment) {
        if self.turned_at.is_none_or(|turned| turned <= done_at) {
            self.full_at = full_at;
            self.turned_at = Some(done_at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(rated_charge_count: Option<i64>) -> BatteryFigures {
        BatteryFigures {
            machines: vec!["orbital-75".parse().unwrap()],
            run_time_s: Seconds::from_s(1_500),
            charge_time_s: None,
            rated_charge_count,
        }
    }

    /// Basis: from memory, 0.8 of a new one's charge after 500; between them by hand: 25 min × 0.8^½ is 22 min
    /// 21.6 s, and after 1,000 charges 0.64 of it are 16 min.
    #[test]
    fn a_charge_fades_by_a_fifth_in_five_hundred() {
        let run = |charges| figures(Some(500)).rated_run_ms(charges, 0.8);
        assert_eq!(run(0), 1_500_000);
        assert_eq!(run(250), 1_341_641);
        assert_eq!(run(500), 1_200_000);
        assert_eq!(run(1_000), 960_000);
    }

    #[test]
    fn without_a_rating_of_charges_nothing_fades() {
        assert_eq!(figures(None).rated_run_ms(900, 0.8), 1_500_000);
    }

    #[test]
    fn what_is_told_late_of_before_does_not_turn_it() {
        let at = |second| Moment::from_second(second).unwrap();
        let mut battery = BatteryState::default();
        assert!(!battery.is_full_at(at(1_000)));
        battery.charge(at(100), at(160));
        battery.empty(at(50));
        assert!(!battery.is_full_at(at(159)) && battery.is_full_at(at(160)));
        battery.empty(at(200));
        battery.charge(at(150), at(210));
        assert!(!battery.is_full_at(at(1_000)));
        assert_eq!(battery.charge_count, 2);
    }
}
