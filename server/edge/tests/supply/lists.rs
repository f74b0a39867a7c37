//! Lists of suppliers, orders and their entries: every row once, in order, page by page.

use fettlebook_contract::v1;

use super::super::{World, assert_told, fresh};
use super::{close, line, of, place, tern_quay};
use crate::edge::tests::Answered as _;

async fn orders(world: &World, page_size: i32, show_closed: bool) -> Vec<String> {
    let (mut all, mut page_token) = (Vec::new(), String::new());
    loop {
        let request = v1::ListOrdersRequest {
            page_size,
            page_token,
            show_closed,
            ..v1::ListOrdersRequest::default()
        };
        let page = world.supply().list_orders(request).await.unwrap();
        let page = page.into_inner();
        all.extend(page.orders.into_iter().map(|order| order.order));
        page_token = page.next_page_token;
        if page_token.is_empty() {
            return all;
        }
    }
}

#[tokio::test]
async fn orders_are_listed_latest_first_by_their_number_and_closed_ones_when_asked_for() {
    let world = World::supplied().await;
    for _ in 0..12 {
        world.order(of(vec![line("nitrile-gloves", 1)])).await;
    }
    let mut supply = world.supply();
    supply.place_order(place("order-11")).await.unwrap();
    supply.close_order(close("order-2")).await.unwrap();
    let all: Vec<String> = (1..=12).rev().map(|n| format!("order-{n}")).collect();
    assert_eq!(orders(&world, 5, true).await, all);
    assert_eq!(orders(&world, 0, true).await, all);
    let open: Vec<String> = all.into_iter().filter(|id| id != "order-2").collect();
    assert_eq!(orders(&world, 4, false).await, open);
}

#[tokio::test]
async fn suppliers_are_listed_by_id_in_pages() {
    let world = World::supplied().await;
    for id in ["millrace", "upper-lock"] {
        let request = v1::CreateSupplierRequest {
            request_id: fresh(),
            supplier: Some(v1::Supplier {
                supplier: id.to_owned(),
                ..tern_quay()
            }),
        };
        world.supply().create_supplier(request).await.unwrap();
    }
    let (mut all, mut page_token) = (Vec::new(), String::new());
    loop {
        let request = v1::ListSuppliersRequest {
            page_size: 2,
            page_token,
        };
        let page = world.supply().list_suppliers(request).await.unwrap();
        let page = page.into_inner();
        all.extend(page.suppliers);
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    let ids: Vec<&str> = all.iter().map(|one| one.supplier.as_str()).collect();
    assert_eq!(ids, ["millrace", "tern-quay", "upper-lock"]);
    assert_eq!(all[1], world.supplier().await);
}

#[tokio::test]
async fn a_page_that_cannot_be_is_refused() {
    let world = World::supplied().await;
    let mut supply = world.supply();
    for _ in 0..2 {
        world.order(of(vec![line("nitrile-gloves", 1)])).await;
    }
    let one = v1::ListOrdersRequest {
        page_size: 1,
        ..Default::default()
    };
    let page = supply.list_orders(one.clone()).answer().await;
    let page_token = page.next_page_token;
    assert!(!page_token.is_empty());
    let refiltered = v1::ListOrdersRequest {
        page_token: page_token.clone(),
        show_closed: true,
        ..one
    };
    let status = supply.list_orders(refiltered).await.unwrap_err();
    assert_told(&status, "PAGE_TOKEN_INVALID", "page_token");
    let other_list = v1::ListSuppliersRequest {
        page_token,
        ..Default::default()
    };
    let status = supply.list_suppliers(other_list).await.unwrap_err();
    assert_told(&status, "PAGE_TOKEN_INVALID", "page_token");
    let negative = v1::ListSuppliersRequest {
        page_size: -1,
        ..Default::default()
    };
    let status = supply.list_suppliers(negative).await.unwrap_err();
    assert_told(&status, "FIELD_INVALID", "page_size");
    let negative = v1::ListOrdersRequest {
        page_size: i32::MIN,
        ..Default::default()
    };
    let status = supply.list_orders(negative).await.unwrap_err();
    assert_told(&status, "FIELD_INVALID", "page_size");
}

#[tokio::test]
async fn the_entries_of_a_supplier_and_of_an_order_are_found_by_their_ids() {
    let world = World::supplied().await;
    let id = world.order(of(vec![line("nitrile-gloves", 1)])).await;
    world.supply().place_order(place(&id)).await.unwrap();
    for (subject, expected) in [("tern-quay", vec![16]), ("order-1", vec![17, 18])] {
        let request = v1::ListEntriesRequest {
            subject: subject.to_owned(),
            ..Default::default()
        };
        let read = world.book().list_entries(request).await.unwrap();
        let entries = read.into_inner().entries;
        let seqs: Vec<i64> = entries.iter().map(|entry| entry.seq).collect();
        assert_eq!(seqs, expected, "{subject}");
        assert!(
            entries
                .iter()
                .all(|entry| entry.deeds[0].subject == subject)
        );
    }
    let request = v1::ListEntriesRequest {
        subject: "order-2".to_owned(),
        ..Default::default()
    };
    let status = world.book().list_entries(request).await.unwrap_err();
    assert_told(&status, "SUBJECT_UNKNOWN", "subject");
}
