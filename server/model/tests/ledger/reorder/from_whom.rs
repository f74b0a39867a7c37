//! From whom, by when, and what that costs: of two jobs' needs.

use fettlebook_model::Reason;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::reorder::reorder_list;
use fettlebook_model::supplier::{OrderDay, Supplier};

use super::{basket, by, line, list, supplied, told, two_jobs};
use crate::shop::{Shop, eur, id, offer, supplier, tern_quay};

/// Source: the calendar: the 14th of March 2026 is a Saturday, the 12th a Thursday.
#[test]
fn the_day_to_order_by_is_one_on_which_orders_are_taken() {
    let mut shop = two_jobs();
    use OrderDay::{Friday, Monday, Thursday, Tuesday, Wednesday};
    shop.supply(Supplier {
        order_days: vec![Monday, Tuesday, Wednesday, Thursday, Friday],
        ..tern_quay()
    });
    let by_day =
        |shop: &Shop| -> Vec<String> { told(&list(shop)).into_iter().map(|line| line.3).collect() };
    assert_eq!(by_day(&shop), [by("12"), by("13"), by("13")]);
    shop.edit_supplier("tern-quay", |supplier| supplier.order_days = vec![Tuesday])
        .unwrap();
    assert_eq!(by_day(&shop), [by("10"), by("10"), by("10")]);
    shop.set_policy(PolicyKey::HandlingDays, 6);
    assert_eq!(by_day(&shop)[0], "2026-03-03");
}

#[test]
fn a_day_that_has_passed_is_said_to_be_late_and_its_line_comes_first() {
    let mut shop = supplied();
    shop.go_to("2026-03-12 23:00");
    let late = |shop: &Shop| -> Vec<(String, bool)> {
        let list = list(shop);
        let lines = list.baskets.iter().flat_map(|basket| &basket.lines);
        lines
            .map(|line| (line.make.to_string(), line.is_late))
            .collect()
    };
    let of = |pads, others| {
        vec![
            ("coarse-foam-150".to_owned(), pads),
            ("coarse-compound-1l".to_owned(), others),
            ("nitrile-gloves".to_owned(), others),
        ]
    };
    assert_eq!(late(&shop), of(false, false));
    shop.go_to("2026-03-13 00:00");
    assert_eq!(late(&shop), of(true, false));
    shop.go_to("2026-03-15 00:00");
    assert_eq!(late(&shop), of(true, true));
}

/// Source: by hand: two pads are one pack of 18.90 at the one, two of 12.00 at the other, which takes a
/// day: the cheaper one until the 12th, the other until the 14th, and then the quicker of the two.
#[test]
fn the_cheapest_that_comes_in_time_is_taken_and_the_quickest_when_none_does() {
    let mut shop = supplied();
    let dear = vec![offer("coarse-foam-150", 1, &[(1, "12.00")])];
    shop.supply(supplier("millrace", 1, dear));
    for (day, from, is_late) in [
        ("04", "tern-quay", false),
        ("12", "tern-quay", false),
        ("13", "millrace", false),
        ("14", "millrace", false),
        ("15", "millrace", true),
    ] {
        shop.go_to(&format!("2026-03-{day} 12:00"));
        let list = list(&shop);
        let pads = line(&list, "coarse-foam-150").unwrap();
        let supplier = &basket(&list, "coarse-foam-150").supplier;
        assert_eq!(
            (supplier, pads.is_late),
            (&Some(id(from)), is_late),
            "{day}"
        );
    }
    // By the piece the other is dearer, but not for what is needed.
    shop.go_to("2026-03-04 12:00");
    shop.edit_supplier("millrace", |supplier| {
        supplier.offers = vec![offer("coarse-foam-150", 1, &[(1, "12.00"), (2, "9.44")])];
    })
    .unwrap();
    let list = list(&shop);
    assert_eq!(
        basket(&list, "coarse-foam-150").supplier,
        Some(id("millrace"))
    );
}

/// Source: by hand: gloves by the 9th and compound by the 17th; the pads are needed on the 16th.
#[test]
fn baskets_come_by_the_day_to_order_and_what_nobody_offers_last() {
    let mut shop = two_jobs();
    shop.set_policy(PolicyKey::HandlingDays, 0);
    let one = |make, price| vec![offer(make, 1, &[(1, price)])];
    shop.supply(supplier("by-sea", 9, one("nitrile-gloves", "5.00")));
    shop.supply(supplier("millrace", 1, one("coarse-compound-1l", "24.00")));
    let list = list(&shop);
    let from: Vec<(Option<&str>, String)> = list
        .baskets
        .iter()
        .map(|basket| {
            let from = basket.supplier.as_ref().map(|id| id.as_str());
            (from, basket.order_by.unwrap().to_string())
        })
        .collect();
    assert_eq!(
        from,
        [
            (Some("by-sea"), by("09")),
            (Some("millrace"), by("17")),
            (None, by("16"))
        ]
    );
    let nobody = &list.baskets[2];
    assert_eq!(
        (nobody.goods, nobody.total, nobody.freight),
        (None, None, None)
    );
    let pads = &nobody.lines[0];
    assert_eq!(pads.make, id("coarse-foam-150"));
    assert_eq!((pads.pack_count, pads.price, pads.cost), (2, None, None));
    assert_eq!(pads.order_by, pads.need_on);
}

#[test]
fn one_supplier_alone_is_asked_for_what_it_offers() {
    let mut shop = supplied();
    shop.supply(supplier(
        "millrace",
        1,
        vec![offer("coarse-foam-150", 1, &[(1, "12.00")])],
    ));
    let only = id("millrace");
    let list = reorder_list(&shop.book, None, Some(&only), shop.now).unwrap();
    assert_eq!(told(&list), [("coarse-foam-150", 2, 2, by("14"))]);
    let nobody = id("gannet");
    let refusal = reorder_list(&shop.book, None, Some(&nobody), shop.now).unwrap_err();
    assert_eq!(refusal.reason, Reason::SupplierUnknown);
    assert_eq!(refusal.field, "supplier");
}

/// Source: by hand: ordered on Friday the 13th it is there on Monday the 16th and ready on Tuesday.
#[test]
fn what_cannot_come_in_time_says_what_can_be_done_in_its_place() {
    let mut shop = supplied();
    let instead = |shop: &Shop| {
        line(&list(shop), "coarse-foam-150")
            .unwrap()
            .instead
            .clone()
    };
    shop.go_to("2026-03-12 23:00");
    assert_eq!(instead(&shop), "");
    shop.go_to("2026-03-13 09:00");
    assert_eq!(
        instead(&shop),
        "It cannot come before monday. Move monday to Tue 17 Mar 2026 or later, take it from another place, \
         or buy it nearer."
    );
}

#[test]
fn what_lacks_to_the_least_order_is_said() {
    let mut shop = two_jobs();
    shop.supply(Supplier {
        min_order: Some(eur("60.00")),
        ..tern_quay()
    });
    assert_eq!(list(&shop).baskets[0].to_min_order, Some(eur("7.60")));
}
