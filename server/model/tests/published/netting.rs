//! Netting by date, and lots by expiry.

use crate::Moment;
use crate::maths::supply::{
    Dated, Lot, OrderCalendar, Stock, net_by_date, pick_first_expiring, take_in_order,
};
use jiff::ToSpan;
use jiff::civil::{Date, Weekday, date};
use jiff::tz::Offset;
use serde_json::{Value, json};

use super::case::Figures;

const WEEK: [Weekday; 7] = [
    Weekday::Monday,
    Weekday::Tuesday,
    Weekday::Wednesday,
    Weekday::Thursday,
    Weekday::Friday,
    Weekday::Saturday,
    Weekday::Sunday,
];

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "mrp" => record(inputs),
        "fefo" => first_expiring(inputs),
        _ => return None,
    };
    Some(figures)
}

fn whole(inputs: &Value, name: &str) -> i64 {
    inputs[name].as_i64().unwrap_or_else(|| panic!("{name}"))
}

/// Period 1 is the first day of a year in which orders are taken on every day.
fn day(period: i64) -> Date {
    date(2026, 1, 1).checked_add((period - 1).days()).unwrap()
}

fn period(day_of: Date) -> i64 {
    (1..).find(|period| day(*period) == day_of).unwrap()
}

fn cells(inputs: &Value, name: &str) -> Vec<Dated> {
    let cells = inputs[name].as_array().unwrap().iter();
    let dated = (1..).zip(cells).map(|(period, cell)| Dated {
        date: day(period),
        quantity: cell.as_i64().unwrap(),
    });
    dated.collect()
}

/// Of the record the orders are asked for; the stock by period and the order point are not.
fn record(inputs: &Value) -> Figures {
    let (gross, scheduled) = (cells(inputs, "gross"), cells(inputs, "scheduled"));
    let stock = Stock {
        on_hand: whole(inputs, "on_hand"),
        due: &scheduled,
        safety: inputs["safety"].as_i64().unwrap_or(0),
    };
    let calendar = OrderCalendar {
        lead_days: whole(inputs, "lead"),
        handling_days: 0,
        order_days: WEEK.to_vec(),
    };
    // A lot of one is lot for lot.
    let lot = inputs["lot"].as_i64().unwrap_or(1);
    let orders = net_by_date(&gross, stock, lot, &calendar).unwrap();
    let (mut receipts, mut releases) = (vec![0; gross.len()], vec![0; gross.len()]);
    for order in &orders {
        receipts[usize::try_from(period(order.need_on)).unwrap() - 1] = order.quantity;
        releases[usize::try_from(period(order.order_by)).unwrap() - 1] = order.quantity;
    }
    Figures::default()
        .told("planned_receipts", json!(receipts))
        .told("planned_releases", json!(releases))
        .told("latest_first_order", json!(period(orders[0].order_by)))
        .without([
            "past_due_releases",
            "projected_without_orders",
            "net_requirements",
            "projected_with_orders",
            "order_point",
        ])
}

fn first_expiring(inputs: &Value) -> Figures {
    let date = |value: &Value| value.as_str().map(|text| text.parse::<Date>().unwrap());
    let midnight = |day: Date| -> Moment {
        Offset::UTC
            .to_timestamp(day.to_datetime(jiff::civil::Time::midnight()))
            .unwrap()
    };
    let lots = inputs["lots"].as_array().unwrap().iter().map(|lot| Lot {
        tag: lot["lot"].as_str().unwrap(),
        quantity: whole(lot, "qty"),
        expires: date(&lot["expires"]),
        is_opened: false,
        is_at_hand: true,
        received: midnight(date(&lot["received"]).unwrap()),
    });
    assert_eq!(whole(inputs, "min_days_left"), 0);
    let usable = pick_first_expiring(lots, date(&inputs["use_date"]).unwrap());
    let lots = usable.iter().map(|lot| (lot.tag, lot.quantity));
    let (picks, short) = take_in_order(lots, whole(inputs, "need"));
    Figures::default()
        .told("picks", json!(picks))
        .told("short", json!(short))
}
