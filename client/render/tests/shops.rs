//! Shops, a line each, on pages of several widths.

use fettlebook_contract::v1::{ListShopsResponse, Money, Shop};

use crate::render::scenario::{at, plain, screen};
use crate::render::shops;

fn euros(amount: &str) -> Option<Money> {
    Some(Money {
        amount: amount.to_owned(),
        currency_code: "EUR".to_owned(),
    })
}

/// Four shops of an invented chain; one of them nobody serves, and of one nothing is known.
fn chain() -> ListShopsResponse {
    let shops = vec![
        Shop {
            book_id: "019af2b4-7d2e-7c11-9a52-0c4be11f8a01".to_owned(),
            name: "quay".to_owned(),
            as_of_time: at(0),
            booked_job_count: 9,
            late_order_count: Some(0),
            done_cost: euros("412.80"),
            booked_cost: euros("98.10"),
            ..Shop::default()
        },
        Shop {
            book_id: "019af2b4-7d2e-7c11-9a52-0c4be11f8a02".to_owned(),
            name: "old-ropewalk".to_owned(),
            as_of_time: at(0),
            booked_job_count: 12,
            stop_job_count: 1,
            watch_job_count: 3,
            first_at_risk_time: at(24),
            late_order_count: Some(2),
            tired_piece_count: 4,
            spent_piece_count: 1,
            needs_count_piece_count: 2,
            done_cost: euros("1204.55"),
            booked_cost: euros("310.00"),
            unpriced_job_count: 2,
            ..Shop::default()
        },
        Shop {
            book_id: "019af2b4-7d2e-7c11-9a52-0c4b9f3c21ab".to_owned(),
            as_of_time: at(-30),
            booked_job_count: 3,
            watch_job_count: 1,
            first_at_risk_time: at(-6),
            late_order_count: Some(0),
            ..Shop::default()
        },
        Shop {
            book_id: "019af2b4-7d2e-7c11-9a52-0c4be11f8a04".to_owned(),
            name: "new-dock".to_owned(),
            ..Shop::default()
        },
    ];
    let mut answer = ListShopsResponse {
        shops,
        all: true,
        service_time: at(0),
        ..ListShopsResponse::default()
    };
    answer.shops.sort_by_cached_key(shops::place);
    answer
}

fn page(width: usize, answer: &ListShopsResponse) -> String {
    let page = screen(width);
    let table = shops::shops(&page, &answer.shops, answer.service_time.as_ref());
    let talk = [shops::trouble(answer), shops::remarks(answer)].concat();
    let talk = talk.iter().map(|line| page.hung("", "", line));
    let all: Vec<String> = std::iter::once(table).chain(talk).collect();
    plain(&all.join("\n"))
}

#[test]
fn shops_at_120_columns() {
    insta::assert_snapshot!("shops-120", page(120, &chain()));
}

#[test]
fn shops_at_80_columns() {
    insta::assert_snapshot!("shops-80", page(80, &chain()));
}

#[test]
fn shops_at_45_columns() {
    insta::assert_snapshot!("shops-45", page(45, &chain()));
}

/// Who sees no prices sees no orders, and a device that is not of the office its own shop alone.
#[test]
fn a_line_without_prices_has_no_columns_for_them() {
    let mut answer = chain();
    answer.all = false;
    answer.shops.truncate(1);
    for shop in &mut answer.shops {
        shop.late_order_count = None;
        shop.done_cost = None;
        shop.booked_cost = None;
        shop.unpriced_job_count = 0;
    }
    insta::assert_snapshot!("shops-without-prices", page(80, &answer));
}
