//! What to order, on paper: a list a supplier, to ring up with and to tick off.

use fettlebook_contract::v1::{ListReorderResponse, ReorderLine, SupplierBasket};
use minijinja::{Value, context};

use super::{Ground, cleaned};
use crate::fault::Fault;
use crate::render::amount::money;
use crate::render::reorder;
use crate::render::tint::clean;

const TEMPLATE: (&str, &str) = ("reorder.html", include_str!("reorder.html"));

/// The list; `asked` says what was looked at, where that was not all.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn html(
    ground: &Ground<'_>,
    answer: &ListReorderResponse,
    asked: &str,
) -> Result<String, Fault> {
    let baskets = answer.baskets.iter();
    let baskets = baskets.filter(|basket| !basket.lines.is_empty());
    let told = context! {
        nothing => clean(&reorder::nothing(answer, asked)),
        baskets => baskets.map(basket).collect::<Value>(),
        assumptions => cleaned(&answer.assumptions),
    };
    ground.sheet(TEMPLATE, &clean(&format!("To order{asked}")), told)
}

fn basket(basket: &SupplierBasket) -> Value {
    let offered = !basket.supplier.is_empty();
    let name = if offered {
        format!("{} ({})", basket.supplier_name, basket.supplier)
    } else {
        reorder::UNOFFERED.to_owned()
    };
    let sums = [
        ("Goods", &basket.goods),
        ("Freight", &basket.freight),
        ("Total", &basket.total),
    ];
    let sums = sums.into_iter().filter_map(|(name, sum)| {
        let sum = sum.as_ref()?;
        Some(context! { name, sum => clean(&money(sum)) })
    });
    context! {
        offered,
        name => clean(&name),
        when => clean(&if offered { reorder::when(basket) } else { String::new() }),
        lines => basket.lines.iter().map(|one| line(one, offered)).collect::<Value>(),
        sums => sums.collect::<Value>(),
        gaps => cleaned(&reorder::gaps(basket)),
    }
}

fn line(line: &ReorderLine, offered: bool) -> Value {
    context! {
        what => clean(&format!("{} ({})", line.make_name, line.make)),
        packs => clean(&if offered { reorder::packs(line) } else { String::new() }),
        cost => clean(&reorder::cost(line)),
        needed => clean(&reorder::needed(line)),
        reason => clean(&line.reason),
        by_when => clean(&reorder::by_when(line)),
        late => line.late,
    }
}
