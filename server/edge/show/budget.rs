//! The budget of the kit on the wire.
//!
//! It serves `GetKitBudget`. The figures and the sentences are the model's; whoever sees no prices gets the
//! pieces without what they cost.

use fettlebook_contract::v1;
use fettlebook_model::kit_budget::{BudgetLine, BudgetTotal, CostSpread, KitBudget};
use fettlebook_model::money::Money;

use super::money::money;
use crate::edge::prices::Prices;

/// The budget.
pub(in crate::edge) fn budget(budget: KitBudget, prices: Prices) -> v1::GetKitBudgetResponse {
    let totals = budget.totals;
    let lines = budget.lines.into_iter();
    v1::GetKitBudgetResponse {
        totals: totals.iter().map(|one| total(one, prices)).collect(),
        lines: lines.map(|one| line(one, prices)).collect(),
        rests_on: budget.rests_on,
        caveats: budget.caveats,
    }
}

fn total(total: &BudgetTotal, prices: Prices) -> v1::BudgetTotal {
    let sum = |of: fn(CostSpread) -> Money| prices.of(total.cost.map(of)).map(money);
    v1::BudgetTotal {
        week_count: total.weeks,
        until_date: total.until.to_string(),
        booked_job_count: total.booked_job_count,
        usual_job_count: total.usual_job_count,
        piece_count: total.count.mean,
        piece_count_low: total.count.low,
        piece_count_high: total.count.high,
        cost: sum(|cost| cost.mean),
        cost_low: sum(|cost| cost.low),
        cost_high: sum(|cost| cost.high),
        unpriced_makes: total.unpriced.iter().map(ToString::to_string).collect(),
    }
}

fn line(line: BudgetLine, prices: Prices) -> v1::BudgetLine {
    let sum = |of: fn(CostSpread) -> Money| prices.of(line.cost.map(of)).map(money);
    v1::BudgetLine {
        week_count: line.weeks,
        make: line.make.to_string(),
        make_name: line.make_name,
        piece_count: line.count.mean,
        piece_count_low: line.count.low,
        piece_count_high: line.count.high,
        cost: sum(|cost| cost.mean),
        cost_low: sum(|cost| cost.low),
        cost_high: sum(|cost| cost.high),
        price_missing: line.cost.is_none(),
    }
}
