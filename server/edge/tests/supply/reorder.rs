//! The reorder list: what booked jobs lack, from whom, by when.

use fettlebook_contract::v1;

use super::super::{World, fresh, job, stamp};
use super::{eur, line, of, place, tern_quay};

fn all() -> v1::ListReorderRequest {
    v1::ListReorderRequest::default()
}

fn through(day: &str) -> v1::ListReorderRequest {
    v1::ListReorderRequest {
        through_date: day.to_owned(),
        ..all()
    }
}

fn from(supplier: &str) -> v1::ListReorderRequest {
    v1::ListReorderRequest {
        supplier: supplier.to_owned(),
        ..all()
    }
}

impl World {
    /// The shop without gloves and without compound, which nobody sells, and its job on 22 June.
    async fn lacking() -> Self {
        let world = Self::supplied().await;
        let later = v1::Job {
            start_time: stamp("2026-06-22T06:00:00Z"),
            ..job("saloon-thursday")
        };
        let request = v1::UpdateJobRequest {
            request_id: fresh(),
            job: Some(later),
            update_mask: None,
        };
        world.jobs().update_job(request).await.unwrap();
        let mut without = tern_quay();
        without.offers.remove(1);
        let request = v1::UpdateSupplierRequest {
            request_id: fresh(),
            supplier: Some(without),
            update_mask: None,
        };
        world.supply().update_supplier(request).await.unwrap();
        for tag in ["S-01", "B-01"] {
            let request = v1::BinKitRequest {
                request_id: fresh(),
                tags: vec![tag.to_owned()],
                reason: v1::BinReason::Lost.into(),
                ..Default::default()
            };
            world.kit().bin_kit(request).await.unwrap();
        }
        world
    }

    async fn reorder(&self, request: v1::ListReorderRequest) -> Vec<v1::SupplierBasket> {
        let answer = self.supply().list_reorder(request).await.unwrap();
        let answer = answer.into_inner();
        assert!(answer.assumptions.iter().all(|text| text.ends_with('.')));
        answer.baskets
    }
}

/// Suppliers and makes of baskets.
fn made_of(baskets: &[v1::SupplierBasket]) -> Vec<(&str, Vec<&str>)> {
    let baskets = baskets.iter();
    baskets
        .map(|basket| {
            let makes = basket.lines.iter().map(|line| line.make.as_str());
            (basket.supplier.as_str(), makes.collect())
        })
        .collect()
}

/// Reckoned by hand: one box of gloves at 7.10 with 6.90 freight is 14.00 and lacks 72.90 of the 80
/// from which delivery is free. With three days of lead, 19 June is the last that can do.
#[tokio::test]
async fn what_a_booked_job_lacks_is_to_be_ordered_in_time_and_what_none_offers_comes_last() {
    let world = World::lacking().await;
    let before = world.journal();
    let baskets = world.reorder(all()).await;
    assert_eq!(
        made_of(&baskets),
        [
            ("tern-quay", vec!["nitrile-gloves"]),
            ("", vec!["coarse-compound-1-l"])
        ]
    );
    let gloves = &baskets[0].lines[0];
    assert_eq!(gloves.cause(), v1::ReorderCause::BookedJob);
    assert_eq!(
        (&gloves.jobs, gloves.late),
        (&vec!["saloon-thursday".to_owned()], false)
    );
    assert_eq!(
        (gloves.pack_count, gloves.pieces_per_pack, gloves.need_count),
        (1, 1, 1)
    );
    assert_eq!(
        (gloves.price.clone(), gloves.cost.clone()),
        (eur("7.10"), eur("7.10"))
    );
    assert_eq!(gloves.need_date, "2026-06-22");
    let by = gloves.order_by_date.as_str();
    assert!(("2026-06-04"..="2026-06-19").contains(&by), "{by}");
    assert!(gloves.reason.ends_with('.') && gloves.if_skipped.ends_with('.'));
    let basket = &baskets[0];
    assert_eq!(
        [
            &basket.goods,
            &basket.freight,
            &basket.total,
            &basket.to_free_delivery
        ],
        [&eur("7.10"), &eur("6.90"), &eur("14.00"), &eur("72.90")]
    );
    assert_eq!(
        (basket.order_by_date.as_str(), &basket.to_min_order),
        (by, &None)
    );
    assert_eq!(basket.supplier_name, "Tern Quay Supplies");
    let compound = &baskets[1].lines[0];
    assert_eq!(
        (&compound.price, &compound.cost, &baskets[1].total),
        (&None, &None, &None)
    );

    assert_eq!(made_of(&world.reorder(through("2026-06-21")).await), []);
    assert_eq!(world.reorder(through("2026-06-22")).await, baskets);
    assert_eq!(world.reorder(from("tern-quay")).await, baskets[..1]);
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn an_order_on_its_way_is_counted_on_and_a_draft_is_not() {
    let world = World::lacking().await;
    let id = world.order(of(vec![line("nitrile-gloves", 1)])).await;
    let lacks = world.reorder(from("tern-quay")).await;
    assert_eq!(made_of(&lacks), [("tern-quay", vec!["nitrile-gloves"])]);
    world.supply().place_order(place(&id)).await.unwrap();
    assert_eq!(made_of(&world.reorder(from("tern-quay")).await), []);
}

#[tokio::test]
async fn a_list_that_cannot_be_is_refused() {
    let world = World::lacking().await;
    let mut supply = world.supply();
    refused! {
        supply.list_reorder(through("22.6.2026")) => "FIELD_INVALID" "through_date";
        supply.list_reorder(through("2026-02-30")) => "FIELD_INVALID" "through_date";
        supply.list_reorder(from("Tern Quay")) => "FIELD_INVALID" "supplier";
        supply.list_reorder(from("millrace")) => "SUPPLIER_UNKNOWN" "supplier";
    }
    let dollars = v1::Money {
        amount: "40.00".to_owned(),
        currency_code: "USD".to_owned(),
    };
    let request = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(v1::Make {
            make: "plate-125-m8".to_owned(),
            price: Some(dollars),
            ..Default::default()
        }),
        update_mask: None,
    };
    world.kit().update_make(request).await.unwrap();
    refused! {
        supply.list_reorder(all()) => "CURRENCY_MISMATCH" "make.price";
    }
}
