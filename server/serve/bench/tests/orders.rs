//! What to order is told with its reasons, ordered once and received, by who keeps the book and nobody else.

use fettlebook_contract::v1::supply_service_client::SupplyServiceClient;

use super::sheet::Sheet;
use super::*;

fn euros(amount: &str) -> Option<v1::Money> {
    Some(v1::Money {
        amount: amount.to_owned(),
        currency_code: "EUR".to_owned(),
    })
}

/// A shop that lacks pads for its job, and a supplier of them, three days away.
async fn short_of_pads() -> World {
    let world = World::open().await;
    let mut supply = SupplyServiceClient::new(world.services());
    let offer = v1::Offer {
        make: fettlebook_yard::PAD_MAKE.to_owned(),
        pack_count: 2,
        breaks: vec![v1::PriceBreak {
            from_pack_count: 1,
            price: euros("18.00"),
        }],
    };
    let supplier = v1::Supplier {
        supplier: "tern-quay".to_owned(),
        name: "Tern Quay Supplies".to_owned(),
        lead_days: 3,
        offers: vec![offer],
        ..Default::default()
    };
    let asked = v1::CreateSupplierRequest {
        request_id: fresh(),
        supplier: Some(supplier),
    };
    supply.create_supplier(asked).await.unwrap();
    world.lose_the_pads().await;
    world
}

async fn orders(world: &World) -> Vec<v1::Order> {
    let mut supply = SupplyServiceClient::new(world.services());
    let asked = v1::ListOrdersRequest {
        show_closed: true,
        ..Default::default()
    };
    supply.list_orders(asked).await.unwrap().into_inner().orders
}

#[tokio::test]
async fn what_lacks_is_listed_with_its_reason_ordered_once_and_received() {
    let world = short_of_pads().await;
    let token = world.pair("bench", Role::Keep);
    let shown = world.get("/reorder", Some(&token)).await;
    assert!(shown.text.contains("Tern Quay Supplies"), "{shown:?}");
    assert!(shown.text.contains(JOB), "{shown:?}");
    let sheet = Sheet::of(&shown, "/reorder");
    let got = world.send_sheet(&token, &sheet).await;
    let again = world.send_sheet(&token, &sheet).await;
    assert_eq!(got.leads_to(), again.leads_to());
    let [order] = orders(&world).await.try_into().unwrap();
    assert_eq!(order.state(), v1::OrderState::Placed);
    let shown = world.get(got.leads_to(), Some(&token)).await;
    assert!(shown.text.contains("action=\"/undo\""), "{shown:?}");

    let path = format!("/order/{}", order.order);
    let came = Sheet::of(&world.get(&path, Some(&token)).await, &path).with("what", "came");
    let wrong = came.clone().with("came.coarse-foam-150", "some");
    let got = world.send_sheet(&token, &wrong).await;
    assert_eq!(got.status, StatusCode::BAD_REQUEST, "{got:?}");
    assert!(got.text.contains("value=\"some\""), "{got:?}");
    let some = came.clone().with("came.coarse-foam-150", "1");
    let got = world.send_sheet(&token, &some).await;
    assert_eq!(
        world.send_sheet(&token, &some).await.leads_to(),
        got.leads_to()
    );
    let [order] = orders(&world).await.try_into().unwrap();
    assert_eq!(order.state(), v1::OrderState::PartReceived);
    assert_eq!(order.lines[0].received_pack_count, 1);
    assert_eq!(world.piece("P-07").await.place, "bench");
    // The form that knows nothing of that delivery shows it first.
    let old = came.with("request_id", &fresh());
    let asks = world.send_sheet(&token, &old).await;
    assert_eq!(asks.status, StatusCode::CONFLICT, "{asks:?}");
    assert!(asks.text.contains(&order.order), "{asks:?}");
}

#[tokio::test]
async fn a_list_that_is_old_says_what_was_ordered_meanwhile() {
    let world = short_of_pads().await;
    let (mine, other) = (
        world.pair("bench", Role::Keep),
        world.pair("van-b", Role::Keep),
    );
    let sheet = Sheet::of(&world.get("/reorder", Some(&mine)).await, "/reorder");
    let theirs = Sheet::of(&world.get("/reorder", Some(&other)).await, "/reorder");
    world.send_sheet(&other, &theirs).await.leads_to();
    let asks = world.send_sheet(&mine, &sheet).await;
    assert_eq!(asks.status, StatusCode::CONFLICT, "{asks:?}");
    assert!(asks.text.contains("van-b"), "{asks:?}");
    assert_eq!(orders(&world).await.len(), 1);
}

#[tokio::test]
async fn who_does_not_keep_the_book_is_offered_no_orders_and_told_no_price() {
    let world = short_of_pads().await;
    let token = world.pair("van-a", Role::Work);
    let today = world.get("/", Some(&token)).await;
    assert!(!today.text.contains("href=\"/reorder\""), "{today:?}");
    assert!(!today.text.contains("18.00"), "{today:?}");
    for path in ["/reorder", "/order/order-1"] {
        let got = world.get(path, Some(&token)).await;
        assert_eq!(got.status, StatusCode::FORBIDDEN, "{path} {got:?}");
    }
    let keeper = world.pair("bench", Role::Keep);
    let today = world.get("/", Some(&keeper)).await;
    assert!(today.text.contains("href=\"/reorder\""), "{today:?}");
}
