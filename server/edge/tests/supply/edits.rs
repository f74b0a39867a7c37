//! Edits of suppliers: what the mask names changes, the price list goes as a whole.

use fettlebook_contract::v1;
use prost_types::FieldMask;

use super::super::{World, assert_told, fresh};
use super::{eur, line, of, offer, tern_quay};

fn edit(supplier: v1::Supplier, paths: &[&str]) -> v1::UpdateSupplierRequest {
    let paths: Vec<String> = paths.iter().map(|path| (*path).to_owned()).collect();
    v1::UpdateSupplierRequest {
        request_id: fresh(),
        supplier: Some(supplier),
        update_mask: (!paths.is_empty()).then_some(FieldMask { paths }),
    }
}

fn named() -> v1::Supplier {
    v1::Supplier {
        supplier: "tern-quay".to_owned(),
        ..Default::default()
    }
}

#[tokio::test]
async fn a_supplier_is_read_back_as_it_was_set_up_with_the_digits_of_its_coins() {
    let world = World::supplied().await;
    let mut expected = tern_quay();
    expected.planned_lead_days = 3;
    expected.free_delivery_from = eur("80.00");
    expected.freight = eur("6.90");
    expected.offers[0].breaks[1].price = eur("21.50");
    let read = world.supplier().await;
    assert!(read.lead_sd_days >= 0.0);
    expected.lead_sd_days = read.lead_sd_days;
    expected.etag.clone_from(&read.etag);
    assert_eq!(read, expected);
}

#[tokio::test]
async fn only_what_the_mask_names_is_edited_and_what_is_absent_is_cleared() {
    let world = World::supplied().await;
    let before = world.supplier().await;
    let sent = v1::Supplier {
        lead_days: 5,
        name: "other".to_owned(),
        order_days: vec![v1::Weekday::Monday.into(), v1::Weekday::Thursday.into()],
        ..named()
    };
    let request = edit(sent, &["lead_days", "order_days", "note"]);
    let edited = world.supply().update_supplier(request).await.unwrap();
    let entry = edited.into_inner().entry.unwrap();
    assert_eq!(
        (entry.deeds[0].kind(), entry.deeds[0].text.as_str()),
        (
            v1::DeedKind::SupplierSet,
            "tern-quay: set up as Tern Quay Supplies, delivery in 5 days, 4 makes on its price list."
        )
    );
    let after = world.supplier().await;
    let expected = v1::Supplier {
        lead_days: 5,
        order_days: vec![1, 4],
        note: String::new(),
        planned_lead_days: 5,
        lead_sd_days: after.lead_sd_days,
        etag: after.etag.clone(),
        ..before
    };
    assert_eq!(after, expected);
}

#[tokio::test]
async fn a_price_list_is_replaced_whole_and_what_is_ordered_keeps_its_price() {
    let world = World::supplied().await;
    let id = world.order(of(vec![line("coarse-foam-150", 1)])).await;
    let ordered = world.order_now(&id).await;
    let sent = v1::Supplier {
        offers: vec![offer("coarse-foam-150", 1, &[(1, "13.00")])],
        ..named()
    };
    let edit = edit(sent.clone(), &[]);
    world.supply().update_supplier(edit).await.unwrap();
    let after = world.supplier().await;
    assert_eq!(after.offers, sent.offers);
    assert_eq!((after.lead_days, after.freight), (3, eur("6.90")));
    assert_eq!(world.order_now(&id).await, ordered);
}

#[tokio::test]
async fn an_edit_that_makes_no_sense_is_refused_whole() {
    let world = World::supplied().await;
    let (before, mut supply) = (world.journal(), world.supply());
    let dear = v1::Supplier {
        offers: vec![offer("coarse-foam-150", 2, &[(1, "23.80"), (6, "24.00")])],
        lead_days: 4,
        ..named()
    };
    let unknown = v1::Supplier {
        supplier: "millrace".to_owned(),
        lead_days: 1,
        ..Default::default()
    };
    let dollars = v1::Supplier {
        freight: Some(v1::Money {
            amount: "6.90".to_owned(),
            currency_code: "USD".to_owned(),
        }),
        ..named()
    };
    let gone = v1::Supplier {
        offers: vec![offer("velvet-150", 1, &[(1, "1.00")])],
        ..named()
    };
    refused! {
        supply.update_supplier(edit(dear, &[])) => "FIELD_INVALID" "supplier.offers.breaks";
        supply.update_supplier(edit(unknown, &[])) => "SUPPLIER_UNKNOWN" "supplier.supplier";
        supply.update_supplier(edit(dollars, &[])) => "CURRENCY_MISMATCH" "supplier.offers.breaks.price";
        supply.update_supplier(edit(gone, &[])) => "MAKE_UNKNOWN" "supplier.offers.make";
        supply.update_supplier(edit(named(), &["name"])) => "FIELD_MISSING" "supplier.name";
        supply.update_supplier(edit(named(), &["freight"])) => "FIELD_MISSING" "supplier.freight";
        supply.update_supplier(edit(named(), &["lead_days"])) => "QUANTITY_INVALID" "supplier.lead_days";
        supply.update_supplier(edit(v1::Supplier::default(), &["name"])) => "FIELD_MISSING" "supplier.supplier";
    }
    for path in [
        "supplier",
        "offers.make",
        "delivery_count",
        "planned_lead_days",
        "lead_sd_days",
    ] {
        let status = supply.update_supplier(edit(named(), &[path])).await;
        assert_told(&status.unwrap_err(), "FIELD_MASK_INVALID", "update_mask");
    }
    let without = v1::UpdateSupplierRequest {
        supplier: None,
        ..edit(named(), &[])
    };
    let status = supply.update_supplier(without).await.unwrap_err();
    assert_told(&status, "FIELD_MISSING", "supplier");
    assert_eq!(world.journal(), before);
}

/// Edits that start from the same supplier: one is taken, and what another changed meanwhile is
/// never written over.
#[tokio::test]
async fn an_edit_of_what_was_changed_meanwhile_is_refused() {
    let world = World::supplied().await;
    for round in 0..50 {
        let edits = (1..=8).map(|day| {
            let mut supply = world.supply();
            let sent = v1::Supplier {
                lead_days: 10 * round % 300 + day,
                ..named()
            };
            tokio::spawn(async move { supply.update_supplier(edit(sent, &["lead_days"])).await })
        });
        let mut refused = 0;
        for edit in edits.collect::<Vec<_>>() {
            if let Err(status) = edit.await.unwrap() {
                assert_told(&status, "CHANGED_MEANWHILE", "supplier");
                refused += 1;
            }
        }
        if refused > 0 {
            assert!(refused < 8);
            return;
        }
    }
    panic!("fifty times eight edits at once, and none met another");
}
