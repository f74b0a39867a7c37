//! A delivery: packs of an order become pieces of kit at their landed cost.
//!
//! Serves whoever unpacks. Freight is shared by value over what came with it, to the last coin; no
//! piece comes in that was not ordered.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use super::{find, wrong_state};
use crate::book::change::Stamp;
use crate::book::command::{Delivery, DeliveryLine, Receipt};
use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::landed::Arrivals;
use crate::decide::receive::{PIECES_MAX, receive as receive_kit};
use crate::ground::money::Money;
use crate::ground::refusal::{Reason, Refusal};
use crate::maths::cost::allocate;
use crate::ready::stock_cost::{book_currency, quantity_of};
use crate::trade::make::Figures;
use crate::trade::order::{Order, OrderLine, OrderState};
use crate::{Book, Moment};

pub(in crate::decide) fn receive(
    book: &Book,
    delivery: &Delivery,
    now: Moment,
) -> Result<Decision, Refusal> {
    let mut decision = Decision::of(&delivery.said, now)?;
    let order = find(book, &delivery.order)?;
    match order.state() {
        OrderState::Drafted => return Err(wrong_state(order, "Place it first.")),
        OrderState::Closed => {
            return Err(wrong_state(order, "Take other pieces in without an order."));
        }
        OrderState::Placed | OrderState::PartReceived => {}
    }
    let lines = lines_that_came(order, delivery)?;
    one_currency(book, order)?;
    let landed = landed(order, delivery, &lines)?;
    // Each line meets the kit as the ones before it leave it, so that tags and averages go on.
    let mut scratch = book.clone();
    for ((came, line), cost) in lines.iter().zip(landed) {
        let deeds = line_deeds(&scratch, delivery, came, line, cost, now)?;
        for deed in deeds {
            let stamp = Stamp::unreported(book.head().next(), decision.done_at);
            scratch.take(&deed, stamp);
            decision.deeds.push(deed);
        }
    }
    decision.deeds.push(Deed::Delivered {
        order: order.id.clone(),
        packs: lines
            .iter()
            .map(|(came, line)| (line.make.clone(), came.pack_count))
            .collect(),
    });
    Ok(decision)
}

/// What came, line by line, with the line of the order it is of.
fn lines_that_came<'a>(
    order: &'a Order,
    delivery: &Delivery,
) -> Result<Vec<(DeliveryLine, &'a OrderLine)>, Refusal> {
    if delivery.lines.is_empty() {
        let open = order.lines.iter().filter(|line| line.open_pack_count() > 0);
        return Ok(open
            .map(|line| (DeliveryLine::all(&line.make, line.open_pack_count()), line))
            .collect());
    }
    let mut makes = BTreeSet::new();
    delivery
        .lines
        .iter()
        .map(|came| {
            let make = &came.make;
            if !makes.insert(make) {
                return Err(Refusal::invalid(
                    "lines.make",
                    format!("{make} is in the delivery twice."),
                    "Put it in one line, or book two deliveries in.",
                ));
            }
            let line = order.lines.iter().find(|line| line.make == *make);
            let line = line.ok_or_else(|| {
                Refusal::new(
                    Reason::OrderState,
                    "lines.make",
                    format!("{make} is not in {}.", order.id),
                    "Take it in without an order.",
                )
            })?;
            if came.pack_count > line.open_pack_count() {
                return Err(Refusal::new(
                    Reason::OrderState,
                    "lines.pack_count",
                    match line.open_pack_count() {
                        1 => format!("1 pack of {make} is to come of {}, ", order.id),
                        open => format!("{open} packs of {make} are to come of {}, ", order.id),
                    } + &format!("fewer than {}.", came.pack_count),
                    "Count again; what came beyond the order is taken in without it.",
                ));
            }
            Ok((came.clone(), line))
        })
        .collect()
}

/// Refuses what would be costed in another currency than the rest of the book, which may have got its
/// own after the order was written.
fn one_currency(book: &Book, order: &Order) -> Result<(), Refusal> {
    let known = book_currency(book)?;
    let asked = order.lines.first().map(|line| line.price.currency);
    match (known, asked) {
        (Some(known), Some(asked)) if known != asked => Err(Refusal::new(
            Reason::CurrencyMismatch,
            "order",
            format!("{} is in {asked}; the book keeps to {known}.", order.id),
            "Close it, and take the pieces in without it.",
        )),
        _ => Ok(()),
    }
}

/// What each line cost when it came: its goods and its share of the freight, by value.
fn landed(
    order: &Order,
    delivery: &Delivery,
    lines: &[(DeliveryLine, &OrderLine)],
) -> Result<Vec<Money>, Refusal> {
    let goods = lines
        .iter()
        .map(|(came, line)| line.price.amount.checked_mul(came.pack_count.into()))
        .collect::<Option<Vec<Decimal>>>()
        .ok_or_else(too_much)?;
    let freight = delivery
        .freight
        .or(order.freight.filter(|_| order.delivered_at.is_none()));
    let currency = lines.first().map(|(_, line)| line.price.currency);
    let (Some(freight), Some(currency)) = (freight, currency) else {
        return Ok(lines
            .iter()
            .zip(goods)
            .map(|((_, line), amount)| Money {
                amount,
                currency: line.price.currency,
            })
            .collect());
    };
    if freight.currency != currency {
        return Err(Refusal::new(
            Reason::CurrencyMismatch,
            "freight",
            format!("Freight in {} meets goods in {currency}.", freight.currency),
            format!("Give it in {currency}."),
        ));
    }
    let shares = share_out(freight, &goods, "freight")?;
    goods
        .into_iter()
        .zip(shares)
        .map(|(goods, share)| {
            let amount = goods.checked_add(share).ok_or_else(too_much)?;
            Ok(Money { amount, currency })
        })
        .collect()
}

/// A sum shared out in whole coins, or finer where it has parts of one: price lists do, and what has
/// come is taken in.
fn share_out(sum: Money, weights: &[Decimal], field: &str) -> Result<Vec<Decimal>, Refusal> {
    let coin = sum.currency.places();
    let places = coin.max(sum.amount.normalize().scale());
    allocate(sum.amount, weights, places)
        .map_err(|error| Refusal::quantity(field, error.to_string(), ""))
}

/// The pieces of a line, each at its share of what the line cost.
fn line_deeds(
    book: &Book,
    delivery: &Delivery,
    came: &DeliveryLine,
    line: &OrderLine,
    cost: Money,
    now: Moment,
) -> Result<Vec<Deed>, Refusal> {
    let is_towel = matches!(
        book.make(&line.make).map(|make| &make.figures),
        Some(Figures::Towel(_))
    );
    // A pack of towels is one bundle.
    let (piece_count, towel_count) = if is_towel {
        (came.pack_count, line.pieces_per_pack)
    } else {
        (came.pack_count.saturating_mul(line.pieces_per_pack), 0)
    };
    if piece_count > PIECES_MAX {
        return Err(Refusal::quantity(
            "lines.pack_count",
            format!(
                "{} packs of {} are {piece_count} pieces; at most {PIECES_MAX} come in at once.",
                came.pack_count, line.make
            ),
            "Book the delivery in by parts: name the packs of each.",
        ));
    }
    let receipt = Receipt {
        said: delivery.said.clone(),
        make: line.make.clone(),
        place: delivery.place.clone(),
        piece_count,
        tags: came.tags.clone(),
        towel_count,
        lot: came.lot.clone(),
        expiry: came.expiry,
        volume_ul: None,
        tare_mg: None,
        check_due: None,
        quantity: None,
        towel_grade: None,
        work: None,
        wash_count: None,
        run_time: None,
        change_count: None,
        charge_count: None,
        landed: None,
        landed_quantity: None,
    };
    let mut deeds = receive_kit(book, &receipt, now)?.deeds;
    let shares = share_out(cost, &vec![Decimal::ONE; deeds.len()], "lines")?;
    let mut arrivals = Arrivals::of(book, &line.make);
    for (deed, share) in deeds.iter_mut().zip(shares) {
        if let Deed::Received {
            state, cost: held, ..
        } = deed
        {
            let landed = Money {
                amount: share,
                currency: cost.currency,
            };
            let cost = arrivals.next(quantity_of(state), landed);
            *held = Some(cost.map_err(|_| too_much())?);
        }
    }
    Ok(deeds)
}

fn too_much() -> Refusal {
    Refusal::quantity(
        "lines",
        "The delivery costs more than can be reckoned with.",
        "Look at its prices.",
    )
}
