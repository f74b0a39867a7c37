//! The reorder list on the wire.
//!
//! It serves `ListReorder`. The figures and the sentences are the model's.

use fettlebook_contract::v1;
use fettlebook_model::reorder::{Basket, ReorderLine, ReorderList};

use super::money::money;
use crate::edge::words;

pub(in crate::edge) fn list(list: ReorderList) -> v1::ListReorderResponse {
    v1::ListReorderResponse {
        baskets: list.baskets.into_iter().map(basket).collect(),
        assumptions: list.assumptions,
        job_count: list.job_count,
    }
}

fn basket(basket: Basket) -> v1::SupplierBasket {
    v1::SupplierBasket {
        supplier: basket.supplier.map(|id| id.to_string()).unwrap_or_default(),
        supplier_name: basket.supplier_name,
        lines: basket.lines.into_iter().map(line).collect(),
        goods: basket.goods.map(money),
        freight: basket.freight.map(money),
        total: basket.total.map(money),
        to_free_delivery: basket.to_free_delivery.map(money),
        to_min_order: basket.to_min_order.map(money),
        order_by_date: basket
            .order_by
            .map(|day| day.to_string())
            .unwrap_or_default(),
    }
}

fn line(line: ReorderLine) -> v1::ReorderLine {
    v1::ReorderLine {
        make: line.make.to_string(),
        make_name: line.make_name,
        cause: words::cause_word(line.cause),
        need_count: line.need_count,
        pack_count: line.pack_count,
        pieces_per_pack: line.pieces_per_pack,
        price: line.price.map(money),
        cost: line.cost.map(money),
        order_by_date: line.order_by.to_string(),
        late: line.is_late,
        need_date: line.need_on.to_string(),
        jobs: line.jobs.iter().map(ToString::to_string).collect(),
        reason: line.reason,
        if_skipped: line.if_skipped,
        instead: line.instead,
        economic_count: line.economic_count,
    }
}
