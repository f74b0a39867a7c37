//! Shops, a line each: what of each wants somebody, and how old that is.

use std::cmp::Reverse;

use fettlebook_contract::v1::{ListShopsResponse, Shop};
use jiff::SignedDuration;
use prost_types::Timestamp;

use crate::render::amount::money;
use crate::render::screen::{Screen, several};
use crate::render::shop::span;
use crate::render::table::{Column, table};
use crate::render::tint;

/// A service that has a book works its line out anew every quarter of an hour. Source: the contract.
const OLD_AFTER: SignedDuration = SignedDuration::from_mins(20);

/// Digits of a book's id by which a shop goes that has no name: the last ones, for the first are a time.
const ID_DIGITS: usize = 8;

/// Where a shop stands among others: the one first that wants somebody most.
pub(crate) fn place(shop: &Shop) -> (Reverse<[i64; 6]>, String, String) {
    let wants = [
        shop.stop_job_count,
        shop.late_order_count.unwrap_or(0),
        shop.watch_job_count,
        shop.spent_piece_count,
        shop.needs_count_piece_count,
        shop.tired_piece_count,
    ];
    (Reverse(wants), shop.name.clone(), shop.book_id.clone())
}

/// The shops in the order given, a line each.
pub(crate) fn shops(screen: &Screen, shops: &[Shop], now: Option<&Timestamp>) -> String {
    if shops.is_empty() {
        return "There is no shop.".to_owned();
    }
    let done = shops.iter().any(|shop| shop.done_cost.is_some());
    let booked = shops.iter().any(|shop| shop.booked_cost.is_some());
    let columns = [
        ("Shop", Column::Name, true),
        ("Wants somebody", Column::Text, true),
        ("Jobs", Column::Right, true),
        ("Done, 35 d", Column::Right, done),
        ("Next 14 d", Column::Right, booked),
        ("Age", Column::Right, true),
    ];
    let shown = |at: usize| columns.get(at).is_some_and(|(_, _, shown)| *shown);
    let headings: Vec<(&str, Column)> = columns
        .iter()
        .filter(|(_, _, shown)| *shown)
        .map(|(name, column, _)| (*name, *column))
        .collect();
    table(
        screen,
        &headings,
        shops.iter().map(|shop| {
            let cells = cells(screen, shop, now).into_iter().enumerate();
            let cells = cells.filter(|(at, _)| shown(*at));
            cells.map(|(_, cell)| cell).collect()
        }),
    )
}

fn cells(screen: &Screen, shop: &Shop, now: Option<&Timestamp>) -> [String; 6] {
    let mut cells = <[String; 6]>::default();
    cells[0] = name(shop);
    let Some(age) = age(shop, now) else {
        cells[1] = tint::warn("nothing was told yet");
        return cells;
    };
    cells[1] = wants(screen, shop);
    cells[2] = shop.booked_job_count.to_string();
    cells[3] = shop.done_cost.as_ref().map_or_else(String::new, money);
    cells[4] = shop.booked_cost.as_ref().map_or_else(String::new, money);
    cells[5] = if age > OLD_AFTER {
        tint::warn(&span(age))
    } else {
        span(age.max(SignedDuration::ZERO))
    };
    cells
}

/// What people call a shop; without that the end of its book's id.
fn name(shop: &Shop) -> String {
    if !shop.name.is_empty() {
        return shop.name.clone();
    }
    let digits = shop.book_id.chars().filter(char::is_ascii_hexdigit);
    let digits: Vec<char> = digits.collect();
    let from = digits.len().saturating_sub(ID_DIGITS);
    format!("book {}", digits.iter().skip(from).collect::<String>())
}

/// What of a shop wants somebody, the worst first.
fn wants(screen: &Screen, shop: &Shop) -> String {
    let mut told = Vec::new();
    let mut tell = |count: i64, what: &str, tinted: fn(&str) -> String| {
        if count > 0 {
            told.push(tinted(&format!("{count} {what}")));
        }
    };
    tell(shop.stop_job_count, "stop", tint::bad);
    tell(shop.watch_job_count, "watch", tint::warn);
    let late = shop.late_order_count.unwrap_or(0);
    tell(
        late,
        if late == 1 {
            "order late"
        } else {
            "orders late"
        },
        tint::warn,
    );
    tell(shop.spent_piece_count, "spent", tint::warn);
    tell(shop.needs_count_piece_count, "to count", str::to_owned);
    tell(shop.tired_piece_count, "tired", str::to_owned);
    if let Some(first) = &shop.first_at_risk_time {
        told.push(format!("first at risk {}", screen.near_moment(first)));
    }
    if told.is_empty() {
        "-".to_owned()
    } else {
        told.join(", ")
    }
}

/// How old a line is; none where nothing was told yet.
fn age(shop: &Shop, now: Option<&Timestamp>) -> Option<SignedDuration> {
    let (as_of, now) = shop.as_of_time.as_ref().zip(now)?;
    Some(SignedDuration::from_secs(
        now.seconds.saturating_sub(as_of.seconds),
    ))
}

/// What is not well about the lines themselves, a sentence each.
pub(crate) fn trouble(answer: &ListShopsResponse) -> Vec<String> {
    let now = answer.service_time.as_ref();
    let old = named(answer, |shop| {
        age(shop, now).is_some_and(|age| age > OLD_AFTER)
    });
    let never = named(answer, |shop| shop.as_of_time.is_none());
    let mut told = Vec::new();
    if !old.is_empty() {
        told.push(format!(
            "No service has kept up the line of {old}: what came to be at risk since is not in it."
        ));
    }
    if !never.is_empty() {
        told.push(format!(
            "Of {never} nothing was told yet: a line comes once a device of that shop calls."
        ));
    }
    told
}

/// What explains the lines, a sentence each.
pub(crate) fn remarks(answer: &ListShopsResponse) -> Vec<String> {
    let unpriced = named(answer, |shop| shop.unpriced_job_count > 0);
    let mut told = Vec::new();
    if !unpriced.is_empty() {
        told.push(format!(
            "Some of what jobs take has no price in {unpriced}, so that the sums are too low there."
        ));
    }
    if !answer.all {
        told.push(
            "This is the shop of this book alone. Where an engine keeps the books of several, a device that was \
             paired with 'fettled pair --office' sees all of them."
                .to_owned(),
        );
    }
    told
}

/// The names of some, as many as can be read at a glance.
fn named(answer: &ListShopsResponse, wanted: impl Fn(&Shop) -> bool) -> String {
    const NAMED_MAX: usize = 5;
    let names: Vec<String> = answer
        .shops
        .iter()
        .filter(|shop| wanted(shop))
        .map(name)
        .collect();
    let more = names.len().saturating_sub(NAMED_MAX);
    let mut told = names
        .into_iter()
        .take(NAMED_MAX)
        .collect::<Vec<_>>()
        .join(", ");
    if more > 0 {
        let more = i64::try_from(more).unwrap_or(i64::MAX);
        told.push_str(&format!(" and {}", several(more, "other", "others")));
    }
    told
}
