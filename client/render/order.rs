//! Orders: what was ordered, what has come and what is still to come.
//!
//! It serves `order list` and `order show`. Sums are the service's.

use fettlebook_contract::v1::{Order, OrderLine, OrderState};

use crate::render::amount::money_or;
use crate::render::screen::{Screen, day, several};
use crate::render::table::{Column, sheet, table};
use crate::render::tint;

/// Orders, a line each.
pub(crate) fn list(screen: &Screen, orders: &[Order]) -> String {
    if orders.is_empty() {
        return "No orders here. 'fettle reorder' says what to order, 'fettle order add' writes one."
            .to_owned();
    }
    table(
        screen,
        &[
            ("Order", Column::Whole),
            ("Supplier", Column::Name),
            ("State", Column::Text),
            ("Due", Column::Whole),
            ("Packs", Column::Right),
            ("Total", Column::Right),
        ],
        orders.iter().map(|order| {
            vec![
                order.order.clone(),
                order.supplier.clone(),
                state(order.state()),
                day(&order.due_date),
                packs(&order.lines),
                money_or(order.total.as_ref(), ""),
            ]
        }),
    )
}

fn state(state: OrderState) -> String {
    match state {
        OrderState::Unspecified => String::new(),
        OrderState::Drafted => tint::warn("drafted"),
        OrderState::Placed => "placed".to_owned(),
        OrderState::PartReceived => tint::warn("part received"),
        OrderState::Closed => "closed".to_owned(),
    }
}

/// Packs ordered, and how many have come where some have.
fn packs(lines: &[OrderLine]) -> String {
    let sum = |of: fn(&OrderLine) -> i64| lines.iter().map(of).fold(0, i64::saturating_add);
    let ordered = sum(|line| line.pack_count);
    match sum(|line| line.received_pack_count) {
        0 => ordered.to_string(),
        came => format!("{came} of {ordered}"),
    }
}

/// One order with its lines, and what to do next.
pub(crate) fn show(screen: &Screen, order: &Order) -> String {
    let top = sheet(
        screen,
        [
            ("Order", tint::strong(&order.order)),
            ("Supplier", order.supplier.clone()),
            ("State", state(order.state())),
            ("Placed", screen.moment_or(order.placed_time.as_ref(), "")),
            ("Due", day(&order.due_date)),
            ("Freight", money_or(order.freight.as_ref(), "none")),
            ("Total", money_or(order.total.as_ref(), "not known")),
            ("Note", order.note.clone()),
        ],
    );
    let lines = table(
        screen,
        &[
            ("Make", Column::Name),
            ("Packs", Column::Right),
            ("Came", Column::Right),
            ("In a pack", Column::Right),
            ("Price of a pack", Column::Right),
        ],
        order.lines.iter().map(|line| {
            vec![
                line.make.clone(),
                line.pack_count.to_string(),
                line.received_pack_count.to_string(),
                several(line.pieces_per_pack, "piece", "pieces"),
                money_or(line.price.as_ref(), "not known"),
            ]
        }),
    );
    let next = next(order);
    [top, lines, next]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join("\n\n")
}

/// The command that is next for an order, as it stands.
fn next(order: &Order) -> String {
    let id = &order.order;
    let told = match order.state() {
        OrderState::Drafted => format!("When it is sent: fettle order place {id}"),
        OrderState::Placed | OrderState::PartReceived => {
            format!("When the parcel comes: fettle receive {id}")
        }
        OrderState::Closed | OrderState::Unspecified => return String::new(),
    };
    tint::faint(&told)
}
