//! Keep levels: what should be there for jobs that are not booked yet.
//!
//! Serves the reorder list. A make is brought up to what lasts until the delivery after the next look
//! but one; it has to be ordered by when it falls to what lasts until a delivery. So one order serves
//! several makes, and no order is placed for a roll of tape alone.

use std::collections::BTreeMap;

use fettlebook_quantity::{exact_f64, round_to_i64};
use jiff::ToSpan as _;
use jiff::civil::Date;

use super::Cause;
use super::fill::Want;
use super::source::{first_day, usual, usual_lead_days};
use super::wash_loop::{pads_kept, pads_there, towels_kept, towels_there, wearing_out};
use crate::answers::coming::{
    Coming, coming, has_begun, liquid_demand, sundry_demand, towel_demand,
};
use crate::ground::exact::ceil_div;
use crate::ground::ids::Id;
use crate::maths::supply::{Dated, line_target};
use crate::ready::stock_cost::quantity_of;
use crate::trade::make::{Figures, Make};
use crate::trade::policy::{PolicyKey, permille};
use crate::{Book, Moment};

const DAYS_A_WEEK: i64 = 7;
const DAYS_A_YEAR: f64 = 365.0;
const WEEKS_A_YEAR: f64 = 52.0;
/// Lead time where no supplier lists the make, days.
const LEAD_DAYS_UNKNOWN: i64 = 7;

/// What is kept, and what is used.
#[derive(Debug, Default)]
pub(super) struct Levels {
    /// What is missing to the kept levels in the book after the booked jobs, with the day from which less
    /// would be there than lasts until a delivery; nothing while the book is young.
    pub(super) wants: Vec<Want>,
    /// Pieces that a year takes at the pace of the last weeks, by make.
    pub(super) yearly_use: BTreeMap<Id, f64>,
}

/// The book on a day, after the jobs that are booked until then.
pub(super) type Stage = (Date, Book);

/// What is kept for jobs that are not booked, against what the booked ones leave day by day.
pub(super) fn look(book: &Book, stages: &[Stage], now: Moment, today: Date) -> Levels {
    let coming = coming(book, now);
    let makes = makes_of(book, &coming);
    let target = permille(book.policy(), PolicyKey::KitTargetPermille);
    let Ok(target) = line_target(target, makes.len()) else {
        return Levels::default();
    };
    let all: Vec<Coming<'_>> = coming.iter().map(Coming::all).collect();
    let yearly_use: BTreeMap<Id, f64> = makes
        .iter()
        .filter_map(|make| Some((make.id.clone(), yearly_use(book, &all, make)?)))
        .collect();
    if !has_begun(book, now).0 {
        return Levels {
            wants: Vec::new(),
            yearly_use,
        };
    }
    let look = Look {
        book,
        stages,
        coming: &coming,
        target,
        today,
    };
    let wants = makes.iter().filter_map(|make| {
        let used = yearly_use.get(&make.id).copied().unwrap_or(0.0);
        look.want(make, used / DAYS_A_YEAR)
    });
    Levels {
        wants: wants.collect(),
        yearly_use,
    }
}

/// Pieces that a year takes.
fn yearly_use(book: &Book, all: &[Coming<'_>], make: &Make) -> Option<f64> {
    let a_week = match &make.figures {
        Figures::Liquid(_) => liquid_demand(book, all, make, DAYS_A_WEEK)?.mean(),
        Figures::Pad(figures) => wearing_out(book, all, make, figures, DAYS_A_WEEK)?.mean(),
        Figures::Sundry(_) => sundry_demand(book, all, make, DAYS_A_WEEK)?.mean(),
        Figures::Towel(towel) => {
            let used = towel_demand(book, all, make, DAYS_A_WEEK)?.mean();
            used / exact_f64(towel.demote_wash_count.unwrap_or(1).max(1))
        }
        Figures::Machine(_) | Figures::Plate(_) | Figures::Tool(_) | Figures::Battery(_) => {
            return None;
        }
    };
    Some(a_week * WEEKS_A_YEAR / exact_f64(unit_of(make)))
}

/// Makes that such jobs use up or wear out, by id.
fn makes_of<'a>(book: &'a Book, coming: &[Coming<'_>]) -> Vec<&'a Make> {
    let uses = |make: &Make| {
        coming.iter().any(|one| {
            let mut makes = one.routine.makes();
            makes.any(|id| *id == make.id)
        })
    };
    book.makes()
        .map(AsRef::as_ref)
        .filter(|make| !make.figures.outlasts_jobs() && uses(make))
        .collect()
}

/// What a piece as bought holds of a make, in the unit it is counted in.
fn unit_of(make: &Make) -> i64 {
    match &make.figures {
        Figures::Liquid(liquid) => liquid.bottle_ul.ul().max(1),
        Figures::Sundry(sundry) => sundry.pack_quantity.max(1),
        Figures::Pad(_)
        | Figures::Towel(_)
        | Figures::Machine(_)
        | Figures::Plate(_)
        | Figures::Tool(_)
        | Figures::Battery(_) => 1,
    }
}

/// What there is of a make, in the unit it is counted in.
fn there(book: &Book, make: &Make) -> i64 {
    match &make.figures {
        Figures::Pad(_) => pads_there(book, make),
        Figures::Towel(_) => towels_there(book, make),
        _ => book.pieces_of(&make.id).fold(0, |sum, piece| {
            sum.saturating_add(quantity_of(&piece.state))
        }),
    }
}

/// One look at what to keep.
struct Look<'a> {
    book: &'a Book,
    stages: &'a [Stage],
    coming: &'a [Coming<'a>],
    target: f64,
    today: Date,
}

impl Look<'_> {
    /// What is missing of one make that so many pieces a day are used of, and from when on.
    fn want(&self, make: &Make, used_a_day: f64) -> Option<Want> {
        let policy = self.book.policy();
        let lead_days = usual_lead_days(self.book, &make.id)
            .unwrap_or(LEAD_DAYS_UNKNOWN)
            .saturating_add(policy.value(PolicyKey::HandlingDays));
        let days = lead_days.saturating_add(policy.value(PolicyKey::ReviewDays));
        let left = there(self.stage_at(None)?, make);
        let stage = self.stage_at(Some(days))?;
        let level = self.level(make, days, stage)?;
        let (level, left_pieces) = in_pieces(make, level, left);
        let on = self.falls_short_on(make, lead_days, used_a_day)?;
        let supplier = usual(self.book, &make.id);
        let first = supplier.map_or(self.today, |from| first_day(self.book, from, self.today));
        let on = on.max(first);
        Some(Want {
            make: make.id.clone(),
            needs: vec![Dated {
                date: on,
                quantity: level.saturating_sub(left_pieces).max(0),
            }],
            on,
            jobs: Vec::new(),
            cause: Cause::KeepLevel,
            reason: format!(
                "{level} are kept for jobs that are not booked yet; {left_pieces} would be left."
            ),
        })
    }

    /// The smallest stock that lasts so many days with the probability aimed at, in the make's unit,
    /// `stage` being the book after the jobs that are booked in them.
    fn level(&self, make: &Make, days: i64, stage: &Book) -> Option<i64> {
        let (book, coming) = (self.book, self.coming);
        match &make.figures {
            Figures::Liquid(_) => {
                let demand = liquid_demand(book, coming, make, days)?;
                Some(round_to_i64(demand.level(self.target).ok()?))
            }
            Figures::Sundry(_) => {
                let demand = sundry_demand(book, coming, make, days)?;
                Some(round_to_i64(demand.level(self.target).ok()?))
            }
            Figures::Pad(_) => pads_kept(book, stage, coming, make, self.target, days),
            Figures::Towel(towel) => towels_kept(book, coming, make, towel, self.target, days),
            Figures::Machine(_) | Figures::Plate(_) | Figures::Tool(_) | Figures::Battery(_) => {
                None
            }
        }
    }

    /// The first day after which less is there than lasts until a delivery.
    fn falls_short_on(&self, make: &Make, lead_days: i64, used_a_day: f64) -> Option<Date> {
        let soon = self.stage_at(Some(lead_days))?;
        let point = self.level(make, lead_days, soon)?;
        let below = |stage: &&Stage| there(&stage.1, make) < point;
        // What is kept of pads goes by what the jobs until then wear out of them.
        let (day, book) = match (self.stages.iter().find(below), &make.figures) {
            (Some((day, _)), _) => return Some(*day),
            (None, Figures::Pad(_)) => (self.today.checked_add(lead_days.days()).ok()?, soon),
            (None, _) => self.stages.last().map(|(day, book)| (*day, book))?,
        };
        let spare = exact_f64(there(book, make).saturating_sub(point));
        let spare_days = spare / (used_a_day * exact_f64(unit_of(make)));
        let days = round_to_i64(spare_days.min(DAYS_A_YEAR).floor());
        day.checked_add(days.days()).ok()
    }

    /// The book after the jobs of so many days, of all when open.
    fn stage_at(&self, days: Option<i64>) -> Option<&Book> {
        let until = days.map(|days| self.today.saturating_add(days.days()));
        let within = |stage: &&Stage| until.is_none_or(|until| stage.0 <= until);
        let stage = self.stages.iter().rev().find(within);
        stage.or(self.stages.first()).map(|(_, book)| book)
    }
}

/// Level and what is left, in pieces as bought.
fn in_pieces(make: &Make, level: i64, left: i64) -> (i64, i64) {
    let unit = i128::from(unit_of(make));
    let pieces = ceil_div(left.into(), unit);
    if matches!(make.figures, Figures::Liquid(_)) {
        // Whole bottles, and a sealed one behind the one in use.
        return (ceil_div(level.into(), unit).saturating_add(1), pieces);
    }
    // What is left of an opened pack counts as what it holds, not as a pack.
    let missing = ceil_div(level.saturating_sub(left).max(0).into(), unit);
    (pieces.saturating_add(missing), pieces)
}
