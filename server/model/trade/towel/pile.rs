//! The towels of a bundle as they lie, and what is done to them in the order of time.

use serde::{Deserialize, Serialize};

use crate::Moment;

/// Towels that are clean, soiled and drying.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Pile {
    pub(crate) clean_count: i64,
    pub(crate) soiled_count: i64,
    pub(crate) drying_count: i64,
    /// When what dries is dry.
    pub(crate) dry_at: Option<Moment>,
}

/// What is done to towels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Handled {
    /// So many were used.
    Used(i64),
    /// All that was soiled was washed; it is dry at this moment.
    Washed(Moment),
    /// What was drying was found dry.
    Dried,
    /// So many left the kit.
    DroppedOut(i64),
}

impl Pile {
    /// Counted towels, clean and soiled.
    pub(crate) const fn counted(clean_count: i64, soiled_count: i64) -> Self {
        Self {
            clean_count,
            soiled_count,
            drying_count: 0,
            dry_at: None,
        }
    }

    /// Takes in what was done at a moment, by which some may have dried.
    pub(crate) fn take(&mut self, handled: Handled, at: Moment) {
        self.settle(at);
        match handled {
            Handled::Used(count) => self.soil(count),
            Handled::Washed(dry_at) => {
                let soiled = self.soiled_count.max(0);
                self.drying_count = self.drying_count.saturating_add(soiled);
                self.soiled_count = self.soiled_count.saturating_sub(soiled);
                self.dry_at = Some(dry_at);
            }
            Handled::Dried => self.dry(),
            Handled::DroppedOut(count) => self.drop_out(count),
        }
    }

    /// Counts towels that have dried by this moment as clean.
    pub(crate) fn settle(&mut self, moment: Moment) {
        if self.dry_at.is_some_and(|dry_at| dry_at <= moment) {
            self.dry();
        }
    }

    /// Counts towels that were drying as clean.
    const fn dry(&mut self) {
        self.clean_count = self.clean_count.saturating_add(self.drying_count);
        self.drying_count = 0;
        self.dry_at = None;
    }

    /// Soils clean towels, no more than there are: what is used makes no towels, and a count says how many
    /// there are.
    fn soil(&mut self, used_count: i64) {
        let soiled = used_count.min(self.clean_count.max(0));
        self.clean_count = self.clean_count.saturating_sub(soiled);
        self.soiled_count = self.soiled_count.saturating_add(soiled);
    }

    /// Takes towels out: soiled ones first, then drying, then clean.
    fn drop_out(&mut self, count: i64) {
        let mut open = count;
        for held in [
            &mut self.soiled_count,
            &mut self.drying_count,
            &mut self.clean_count,
        ] {
            let taken = open.clamp(0, (*held).max(0));
            *held = held.saturating_sub(taken);
            open = open.saturating_sub(taken);
        }
    }
}
