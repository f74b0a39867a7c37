//! What of the kit will have to be replaced in the weeks ahead, and what that costs.
//!
//! It serves `wear`: three lines for the whole kit, and with `--budget` a line a make. Counts and sums are the
//! service's; a price that is not known is said to be missing.

use fettlebook_contract::v1::{BudgetLine, BudgetTotal, GetKitBudgetResponse, Money};

use crate::render::amount::money;
use crate::render::grid::Grid;
use crate::render::screen::{Screen, day};
use crate::render::table::Column;
use crate::render::tint;

/// What is said where nothing will have to be replaced.
pub(crate) const NOTHING: &str = "Nothing of the kit is likely to have to be replaced.";
/// What eight times in ten holds.
const RANGE: &str = "80 % range";

/// The budget of the whole kit, and what it rests on.
pub(crate) fn totals(screen: &Screen, budget: &GetKitBudgetResponse) -> String {
    let mut text = whole_kit(budget).on(screen);
    for said in foundations(budget) {
        text.push('\n');
        text.push_str(&screen.hung("", "  ", said));
    }
    text
}

/// The budget by make, over each of the stretches of weeks, and then of the whole kit.
pub(crate) fn show(screen: &Screen, budget: &GetKitBudgetResponse) -> String {
    let whole = totals(screen, budget);
    if budget.totals.is_empty() {
        return whole;
    }
    let makes = by_make(budget).map_or_else(|| NOTHING.to_owned(), |grid| grid.on(screen));
    format!("{makes}\n\n{whole}")
}

/// What the budget rests on, and what is to be kept in mind of it.
pub(crate) fn foundations(budget: &GetKitBudgetResponse) -> impl Iterator<Item = &str> {
    let said = std::iter::once(&budget.rests_on).chain(&budget.caveats);
    said.map(String::as_str)
}

/// What the whole kit costs, a line for each stretch of weeks.
pub(crate) fn whole_kit(budget: &GetKitBudgetResponse) -> Grid {
    let priced = budget.totals.iter().any(|total| total.cost.is_some());
    let mut headings = vec![
        ("To replace in", Column::Name),
        ("Booked + usual", Column::Right),
        ("Pieces", Column::Right),
    ];
    if priced {
        headings.push(("Cost", Column::Right));
        headings.push((RANGE, Column::Right));
    }
    let rows = budget.totals.iter().map(|total| {
        let mut cells = vec![
            until(total),
            format!(
                "{} + {}",
                total.booked_job_count,
                number(total.usual_job_count)
            ),
            spread(
                total.piece_count,
                total.piece_count_low,
                total.piece_count_high,
            ),
        ];
        if priced {
            cells.push(total.cost.as_ref().map_or_else(String::new, money));
            cells.push(between(total.cost_low.as_ref(), total.cost_high.as_ref()));
        }
        cells
    });
    Grid::of(&headings, rows.collect())
}

/// What each make costs; nothing where nothing is likely to have to be replaced.
pub(crate) fn by_make(budget: &GetKitBudgetResponse) -> Option<Grid> {
    let last = budget.totals.last()?;
    let of_last = |line: &&BudgetLine| line.week_count == last.week_count;
    let makes: Vec<&BudgetLine> = budget.lines.iter().filter(of_last).collect();
    if makes.is_empty() {
        return None;
    }
    let weeks: Vec<(i64, String)> = budget
        .totals
        .iter()
        .map(|total| (total.week_count, format!("{} weeks", total.week_count)))
        .collect();
    let priced = makes.iter().any(|line| line.cost.is_some());
    let mut headings = vec![("Make", Column::Name)];
    headings.extend(weeks.iter().map(|(_, name)| (name.as_str(), Column::Right)));
    let cost = format!("Cost in {}", last.week_count);
    if priced {
        headings.push((&cost, Column::Right));
        headings.push((RANGE, Column::Right));
    }
    let rows = makes.iter().map(|make| {
        let mut cells = vec![make.make.clone()];
        for (count, _) in &weeks {
            let same = |line: &&BudgetLine| line.make == make.make && line.week_count == *count;
            let line = budget.lines.iter().find(same);
            cells.push(line.map_or_else(
                || "0".to_owned(),
                |line| {
                    spread(
                        line.piece_count,
                        line.piece_count_low,
                        line.piece_count_high,
                    )
                },
            ));
        }
        if priced {
            let none = || tint::warn("no price");
            cells.push(make.cost.as_ref().map_or_else(none, money));
            cells.push(between(make.cost_low.as_ref(), make.cost_high.as_ref()));
        }
        cells
    });
    Some(Grid::of(&headings, rows.collect()))
}

/// The weeks and their last day, without its year: `4 weeks, Sun 27 Dec`.
fn until(total: &BudgetTotal) -> String {
    let day = day(&total.until_date);
    let day = day.rsplit_once(' ').map_or(day.as_str(), |(day, _)| day);
    format!("{} weeks, {day}", total.week_count)
}

/// A mean with its range, whole where it is large: `4.1 (2–7)`.
fn spread(mean: f64, low: f64, high: f64) -> String {
    format!("{} ({low:.0}–{high:.0})", number(mean))
}

fn number(count: f64) -> String {
    if count >= 9.95 {
        format!("{count:.0}")
    } else {
        format!("{count:.1}")
    }
}

/// A range of money in whole units, its currency said once: the digits of the coin would promise too much.
fn between(low: Option<&Money>, high: Option<&Money>) -> String {
    let both = low.zip(high);
    both.map_or_else(String::new, |(low, high)| {
        format!("{}–{} {}", whole(low), whole(high), high.currency_code)
    })
}

fn whole(sum: &Money) -> String {
    let amount: Option<f64> = sum.amount.parse().ok();
    amount.map_or_else(|| sum.amount.clone(), |amount| format!("{amount:.0}"))
}
