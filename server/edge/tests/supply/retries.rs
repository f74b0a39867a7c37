//! Orders and deliveries sent again, and taken back.

use fettlebook_contract::v1;

use super::super::{World, assert_told, fresh};
use super::{DAY_S, came, close, line, of, place, receive};
use crate::edge::tests::Answered as _;

#[tokio::test]
async fn a_retry_gets_the_same_bytes_and_counts_once() {
    let world = World::supplied().await;
    let mut supply = world.supply();
    let order = v1::CreateOrderRequest {
        placed: true,
        ..of(vec![line("coarse-foam-150", 2)])
    };
    let delivery = receive("order-1", vec![came("coarse-foam-150", 1)]);
    let ordered = supply.create_order(order.clone()).answer().await;
    let came_in = supply.receive_order(delivery.clone()).answer().await;
    world.order(of(vec![line("nitrile-gloves", 1)])).await;
    supply.close_order(close("order-1")).await.unwrap();

    let before = world.journal();
    world.clock.shift(DAY_S);
    let again = supply.create_order(order.clone()).answer().await;
    assert_eq!(again.entry, ordered.entry);
    assert_eq!(again.order, "order-1");
    assert_eq!(again.written.unwrap().state(), v1::OrderState::Closed);
    let again = supply.receive_order(delivery.clone()).answer().await;
    assert_eq!(again.entry, came_in.entry);
    let other = v1::ReceiveOrderRequest {
        lines: vec![came("coarse-foam-150", 2)],
        ..delivery
    };
    let status = supply.receive_order(other).await.unwrap_err();
    assert_told(&status, "REQUEST_ID_REUSED", "request_id");
    let other = v1::PlaceOrderRequest {
        request_id: order.request_id,
        ..place("order-2")
    };
    let status = supply.place_order(other).await.unwrap_err();
    assert_told(&status, "REQUEST_ID_REUSED", "request_id");
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn a_delivery_taken_back_is_to_come_again_and_an_orders_number_is_not_given_twice() {
    let world = World::supplied().await;
    let mut supply = world.supply();
    let request = v1::CreateOrderRequest {
        placed: true,
        ..of(vec![line("coarse-foam-150", 1)])
    };
    let ordered = supply.create_order(request).answer().await;
    let came_in = supply.receive_order(receive("order-1", Vec::new())).await;
    let came_in = came_in.unwrap().into_inner();
    for (entry, state) in [
        (came_in.entry, Some(v1::OrderState::Placed)),
        (ordered.entry, None),
    ] {
        let request = v1::ReverseEntryRequest {
            request_id: fresh(),
            seq: entry.unwrap().seq,
            ..Default::default()
        };
        world.book().reverse_entry(request).await.unwrap();
        let request = v1::GetOrderRequest {
            order: "order-1".to_owned(),
        };
        let order = supply.get_order(request).await;
        match state {
            Some(state) => assert_eq!(order.unwrap().into_inner().order.unwrap().state(), state),
            None => assert_told(&order.unwrap_err(), "ORDER_UNKNOWN", "order"),
        }
    }
    let next = world.order(of(vec![line("nitrile-gloves", 1)])).await;
    assert_eq!(next, "order-2");
}
