//! What the log of a job says of its machines: kept with the job, for the shop's own use teaches the next plan.

use serde::{Deserialize, Serialize};

use crate::ground::ids::Id;

/// What a log said of the machines of a job.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Logged {
    /// Charges that it took, by the make of the batteries, where a person said which ran.
    #[serde(default)]
    pub charges: Vec<ChargesTaken>,
    /// Time that machines ran, by their make, where a person said how long.
    #[serde(default)]
    pub ran: Vec<Ran>,
}

impl Logged {
    /// Whether it says nothing.
    pub(crate) const fn is_empty(&self) -> bool {
        self.charges.is_empty() && self.ran.is_empty()
    }

    /// What the logs of both days say together.
    pub(crate) fn and(mut self, other: &Self) -> Self {
        for more in &other.charges {
            match self.charges.iter_mut().find(|one| one.make == more.make) {
                Some(one) => {
                    one.planned_micro = one.planned_micro.saturating_add(more.planned_micro);
                    one.taken_micro = one.taken_micro.saturating_add(more.taken_micro);
                }
                None => self.charges.push(more.clone()),
            }
        }
        for more in &other.ran {
            match self.ran.iter_mut().find(|one| one.machine == more.machine) {
                Some(one) => {
                    one.planned_ms = one.planned_ms.saturating_add(more.planned_ms);
                    one.time_ms = one.time_ms.saturating_add(more.time_ms);
                }
                None => self.ran.push(more.clone()),
            }
        }
        self
    }
}

/// Time that the machines of one make ran, beside what was planned, ms.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ran {
    /// Make of the machines.
    pub machine: Id,
    /// By the plan of that day.
    pub planned_ms: i64,
    /// As the log tells it.
    pub time_ms: i64,
}

/// Charges of one make of batteries, millionths.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChargesTaken {
    /// Make of the batteries.
    pub make: Id,
    /// By the rating of the batteries that ran, for the time the machines ran.
    pub planned_micro: i64,
    /// As the log tells it: what was left in a battery is not taken.
    pub taken_micro: i64,
}
