//! What to order, why and by when, and telling that it was ordered; the orders that are on their way.

use axum::http::StatusCode;
use fettlebook_contract::v1::{
    CreateOrderRequest, ListOrdersRequest, ListReorderRequest, Money, Order, OrderLine,
    ReorderLine, SupplierBasket,
};
use minijinja::{Value, context};

use super::{Answer, to_entry};
use crate::asker::{Asker, Here};
use crate::form::Form;
use crate::{changed, limits, refusal, request, templates, words};

/// What parts a line of an order in its field. Neither an id nor a number has it.
const PART: char = '~';

/// The view.
pub(crate) async fn show(asker: Asker) -> Answer {
    let here = asker.here().await?;
    let listed = asker.call(ListReorderRequest::default()).await?;
    let latest = ListOrdersRequest {
        page_size: limits::ORDER_ROWS,
        show_closed: true,
        ..ListOrdersRequest::default()
    };
    let orders = asker.call(latest).await?.orders;
    let told = context! {
        baskets => listed.baskets.iter().map(|one| basket(one, &here)).collect::<Value>(),
        assumptions => listed.assumptions,
        orders => orders.iter().map(order).collect::<Value>(),
        seen => here.head_seq,
    };
    Ok(templates::page(
        StatusCode::OK,
        "reorder.html",
        Some(&here),
        "Reorder",
        told,
    ))
}

fn basket(basket: &SupplierBasket, here: &Here) -> Value {
    let may_order = here.may_keep() && !basket.supplier.is_empty();
    context! {
        supplier => basket.supplier.as_str(),
        name => basket.supplier_name.as_str(),
        by => words::day(&basket.order_by_date),
        lines => basket.lines.iter().map(line).collect::<Value>(),
        goods => words::money(basket.goods.as_ref()),
        freight => words::money(basket.freight.as_ref()),
        total => words::money(basket.total.as_ref()),
        to_free_delivery => words::money(basket.to_free_delivery.as_ref()),
        to_min_order => words::money(basket.to_min_order.as_ref()),
        may_order,
        request_id => request::fresh(),
    }
}

fn line(line: &ReorderLine) -> Value {
    context! {
        value => packed(line),
        name => line.make_name.as_str(),
        packs => line.pack_count,
        in_pack => line.pieces_per_pack,
        need => line.need_count,
        cost => words::money(line.cost.as_ref()),
        by => words::day(&line.order_by_date),
        late => line.late,
        reason => line.reason.as_str(),
        if_skipped => line.if_skipped.as_str(),
        instead => line.instead.as_str(),
    }
}

fn order(order: &Order) -> Value {
    context! {
        order => order.order.as_str(),
        supplier => order.supplier.as_str(),
        state => words::order(order.state()),
        due => words::day(&order.due_date),
        total => words::money(order.total.as_ref()),
    }
}

/// A line as its field carries it, at the price that is shown.
fn packed(line: &ReorderLine) -> String {
    let price = line.price.clone().unwrap_or_default();
    let (packs, pieces) = (line.pack_count, line.pieces_per_pack);
    let (amount, currency) = (price.amount, price.currency_code);
    format!(
        "{}{PART}{packs}{PART}{pieces}{PART}{amount}{PART}{currency}",
        line.make
    )
}

fn unpacked(field: &str) -> Option<OrderLine> {
    let mut parts = field.split(PART);
    let make = parts.next()?.to_owned();
    let pack_count = parts.next()?.parse().ok()?;
    let pieces_per_pack = parts.next()?.parse().ok()?;
    let (amount, currency_code) = (parts.next()?.to_owned(), parts.next()?.to_owned());
    Some(OrderLine {
        make,
        pack_count,
        pieces_per_pack,
        price: (!amount.is_empty()).then_some(Money {
            amount,
            currency_code,
        }),
        received_pack_count: 0,
    })
}

/// Writes down what was ordered.
pub(crate) async fn record(asker: Asker, Form(sent): Form) -> Answer {
    let lines: Option<Vec<OrderLine>> = sent.all("line").map(unpacked).collect();
    let Some(lines) = lines.filter(|lines| !lines.is_empty()) else {
        let text = "Nothing is ticked, so nothing was recorded. Go back and tick what was ordered.";
        return Err(refusal::not_understood(text).into());
    };
    let here = asker.here().await?;
    let supplier = sent.first("supplier").to_owned();
    let with_it = ListOrdersRequest {
        show_closed: true,
        supplier: supplier.clone(),
        ..ListOrdersRequest::default()
    };
    // Whatever was ordered there or came from there since may have been what this is about.
    let orders = asker.call(with_it).await?.orders;
    let last = orders
        .into_iter()
        .map(|order| (order.order, order.last_seq))
        .collect();
    if let Some(asks) = changed::since_entries(&asker, &here, &sent, last, "/reorder").await? {
        return Ok(asks);
    }
    let ordered = CreateOrderRequest {
        request_id: sent.first("request_id").to_owned(),
        supplier,
        lines: joined(lines),
        placed: true,
        ..CreateOrderRequest::default()
    };
    Ok(to_entry(asker.call(ordered).await?.entry))
}

/// What is needed of a make and what is kept beside it, as one line.
fn joined(lines: Vec<OrderLine>) -> Vec<OrderLine> {
    let mut joined: Vec<OrderLine> = Vec::new();
    for line in lines {
        match joined.iter_mut().find(|other| other.make == line.make) {
            Some(other) => other.pack_count = other.pack_count.saturating_add(line.pack_count),
            None => joined.push(line),
        }
    }
    joined
}
