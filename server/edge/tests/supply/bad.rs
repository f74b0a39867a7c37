//! Bad input about suppliers and orders: each answers with the reason and the field, and leaves the
//! journal as it was, to the byte.

use fettlebook_contract::v1;

use super::super::{World, fresh, stamp, words};
use super::{came, close, eur, line, of, offer, place, receive, tern_quay};

fn dollars() -> Option<v1::Money> {
    Some(v1::Money {
        amount: "7.00".to_owned(),
        currency_code: "USD".to_owned(),
    })
}

/// A second supplier, changed by a closure.
fn with(change: impl FnOnce(&mut v1::Supplier)) -> v1::CreateSupplierRequest {
    let mut supplier = v1::Supplier {
        supplier: "millrace".to_owned(),
        ..tern_quay()
    };
    change(&mut supplier);
    v1::CreateSupplierRequest {
        request_id: fresh(),
        supplier: Some(supplier),
    }
}

/// The first offer with these prices.
fn priced(prices: &[(i64, &str)]) -> v1::CreateSupplierRequest {
    with(|new| new.offers = vec![offer("coarse-foam-150", 2, prices)])
}

#[tokio::test]
async fn a_supplier_that_makes_no_sense_is_not_set_up() {
    let world = World::supplied().await;
    let (before, mut supply) = (world.journal(), world.supply());
    let nobody = v1::CreateSupplierRequest {
        request_id: fresh(),
        supplier: None,
    };
    let no_request = v1::CreateSupplierRequest {
        request_id: String::new(),
        ..with(|_| {})
    };
    let priceless = with(|new| new.offers[0].breaks[1].price = None);
    let mixed = with(|new| new.offers[1].breaks[0].price = dollars());
    let other = with(|new| {
        new.offers.clear();
        new.freight = dollars();
        new.free_delivery_from = None;
    });
    let words_for_money = with(|new| new.min_order = eur("1e3"));
    let below = with(|new| new.freight = eur("-0.00"));
    let uncoded = with(|new| new.freight = Some(v1::Money::default()));
    let twice = with(|new| new.offers[1].make = "coarse-foam-150".to_owned());
    let many = with(|new| new.offers = vec![tern_quay().offers[0].clone(); 501]);
    refused! {
        supply.create_supplier(nobody) => "FIELD_MISSING" "supplier";
        supply.create_supplier(no_request) => "FIELD_MISSING" "request_id";
        supply.create_supplier(with(|new| new.supplier.clear())) => "FIELD_MISSING" "supplier.supplier";
        supply.create_supplier(with(|new| new.supplier = "Millrace".to_owned())) => "FIELD_INVALID" "supplier.supplier";
        supply.create_supplier(with(|new| new.supplier = "tern-quay".to_owned())) => "ID_TAKEN" "supplier.supplier";
        supply.create_supplier(with(|new| new.name.clear())) => "FIELD_MISSING" "supplier.name";
        supply.create_supplier(with(|new| new.name = "a\nb".to_owned())) => "FIELD_INVALID" "supplier.name";
        supply.create_supplier(with(|new| new.lead_days = i64::MAX)) => "QUANTITY_INVALID" "supplier.lead_days";
        supply.create_supplier(with(|new| new.lead_days = -1)) => "QUANTITY_INVALID" "supplier.lead_days";
        supply.create_supplier(with(|new| new.freight = None)) => "FIELD_MISSING" "supplier.freight";
        supply.create_supplier(with(|new| new.freight = eur("0"))) => "QUANTITY_INVALID" "supplier.freight";
        supply.create_supplier(below) => "FIELD_INVALID" "supplier.freight";
        supply.create_supplier(uncoded) => "FIELD_MISSING" "supplier.freight.amount";
        supply.create_supplier(words_for_money) => "FIELD_INVALID" "supplier.min_order";
        supply.create_supplier(with(|new| new.order_days = vec![0])) => "FIELD_MISSING" "supplier.order_days";
        supply.create_supplier(with(|new| new.order_days = vec![8])) => "FIELD_INVALID" "supplier.order_days";
        supply.create_supplier(with(|new| new.order_days = vec![2, 2])) => "FIELD_INVALID" "supplier.order_days";
        supply.create_supplier(with(|new| new.offers[0].make = "velvet-150".to_owned())) => "MAKE_UNKNOWN" "supplier.offers.make";
        supply.create_supplier(with(|new| new.offers[0].make.clear())) => "FIELD_MISSING" "supplier.offers.make";
        supply.create_supplier(with(|new| new.offers[0].pack_count = 0)) => "QUANTITY_INVALID" "supplier.offers.pack_count";
        supply.create_supplier(twice) => "FIELD_INVALID" "supplier.offers.make";
        supply.create_supplier(many) => "FIELD_INVALID" "supplier.offers";
        supply.create_supplier(priceless) => "FIELD_MISSING" "supplier.offers.breaks.price";
        supply.create_supplier(priced(&[])) => "FIELD_MISSING" "supplier.offers.breaks";
        supply.create_supplier(priced(&[(2, "9.00")])) => "FIELD_INVALID" "supplier.offers.breaks";
        supply.create_supplier(priced(&[(1, "9.00"), (6, "8.00"), (3, "7.00")])) => "FIELD_INVALID" "supplier.offers.breaks";
        supply.create_supplier(priced(&[(1, "9.00"), (1, "8.00")])) => "FIELD_INVALID" "supplier.offers.breaks";
        supply.create_supplier(priced(&[(1, "9.00"), (2, "9.01")])) => "FIELD_INVALID" "supplier.offers.breaks";
        supply.create_supplier(priced(&[(1, "0.00")])) => "QUANTITY_INVALID" "supplier.offers.breaks.price";
        supply.create_supplier(mixed) => "CURRENCY_MISMATCH" "supplier.offers.breaks.price";
        supply.create_supplier(other) => "CURRENCY_MISMATCH" "supplier.offers.breaks.price";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn an_order_that_makes_no_sense_is_not_written() {
    let world = World::supplied().await;
    let (before, mut supply) = (world.journal(), world.supply());
    let gloves = || of(vec![line("nitrile-gloves", 1)]);
    let at = |supplier: &str| v1::CreateOrderRequest {
        supplier: supplier.to_owned(),
        ..gloves()
    };
    let priced = |price| v1::OrderLine {
        price,
        ..line("nitrile-gloves", 1)
    };
    let packed = |pieces_per_pack| v1::OrderLine {
        pieces_per_pack,
        ..line("nitrile-gloves", 1)
    };
    let freight = |freight| v1::CreateOrderRequest {
        freight,
        ..gloves()
    };
    let tomorrow = v1::CreateOrderRequest {
        done_time: stamp("2026-06-05T00:00:00Z"),
        ..gloves()
    };
    let twice = vec![line("nitrile-gloves", 1), line("nitrile-gloves", 2)];
    refused! {
        supply.create_order(at("")) => "FIELD_MISSING" "supplier";
        supply.create_order(at("Tern Quay")) => "FIELD_INVALID" "supplier";
        supply.create_order(at("millrace")) => "SUPPLIER_UNKNOWN" "supplier";
        supply.create_order(of(Vec::new())) => "FIELD_MISSING" "lines";
        supply.create_order(of(vec![line("nitrile-gloves", 1); 201])) => "FIELD_INVALID" "lines";
        supply.create_order(of(twice)) => "FIELD_INVALID" "lines.make";
        supply.create_order(of(vec![line("", 1)])) => "FIELD_MISSING" "lines.make";
        supply.create_order(of(vec![line("velvet-150", 1)])) => "MAKE_UNKNOWN" "lines.make";
        supply.create_order(of(vec![line("plate-125-m8", 1)])) => "FIELD_MISSING" "lines.price";
        supply.create_order(of(vec![line("nitrile-gloves", 0)])) => "QUANTITY_INVALID" "lines.pack_count";
        supply.create_order(of(vec![line("nitrile-gloves", i64::MIN)])) => "QUANTITY_INVALID" "lines.pack_count";
        supply.create_order(of(vec![line("nitrile-gloves", i64::MAX)])) => "QUANTITY_INVALID" "lines.pack_count";
        supply.create_order(of(vec![packed(-1)])) => "QUANTITY_INVALID" "lines.pieces_per_pack";
        supply.create_order(of(vec![packed(i64::MAX)])) => "QUANTITY_INVALID" "lines.pieces_per_pack";
        supply.create_order(of(vec![priced(eur("7,10"))])) => "FIELD_INVALID" "lines.price";
        supply.create_order(of(vec![priced(eur("0.00"))])) => "QUANTITY_INVALID" "lines.price";
        supply.create_order(of(vec![priced(dollars())])) => "CURRENCY_MISMATCH" "lines.price";
        supply.create_order(freight(dollars())) => "CURRENCY_MISMATCH" "lines.price";
        supply.create_order(freight(eur("-1"))) => "FIELD_INVALID" "freight";
        supply.create_order(tomorrow) => "TIME_FUTURE" "done_time";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn an_order_is_placed_and_closed_once_and_only_if_it_is_there() {
    let world = World::supplied().await;
    let mut supply = world.supply();
    let placed = world.order(of(vec![line("nitrile-gloves", 1)])).await;
    supply.place_order(place(&placed)).await.unwrap();
    let closed = world.order(of(vec![line("nitrile-gloves", 1)])).await;
    supply.close_order(close(&closed)).await.unwrap();
    let before = world.journal();
    let tomorrow = stamp("2026-06-05T00:00:00Z");
    let late_place = v1::PlaceOrderRequest {
        done_time: tomorrow,
        ..place(&placed)
    };
    let late_close = v1::CloseOrderRequest {
        done_time: tomorrow,
        ..close(&placed)
    };
    let read = |order: &str| v1::GetOrderRequest {
        order: order.to_owned(),
    };
    let supplier = |supplier: &str| v1::GetSupplierRequest {
        supplier: supplier.to_owned(),
    };
    refused! {
        supply.place_order(place(&placed)) => "ORDER_STATE" "order";
        supply.place_order(place(&closed)) => "ORDER_STATE" "order";
        supply.close_order(close(&closed)) => "ORDER_STATE" "order";
        supply.place_order(place("order-9")) => "ORDER_UNKNOWN" "order";
        supply.close_order(close("order-9")) => "ORDER_UNKNOWN" "order";
        supply.place_order(place("")) => "FIELD_MISSING" "order";
        supply.close_order(close("Order 1")) => "FIELD_INVALID" "order";
        supply.place_order(late_place) => "TIME_FUTURE" "done_time";
        supply.close_order(late_close) => "TIME_FUTURE" "done_time";
        supply.get_order(read("order-9")) => "ORDER_UNKNOWN" "order";
        supply.get_order(read("")) => "FIELD_MISSING" "order";
        supply.get_order(read("order/1")) => "FIELD_INVALID" "order";
        supply.get_supplier(supplier("millrace")) => "SUPPLIER_UNKNOWN" "supplier";
        supply.get_supplier(supplier("")) => "FIELD_MISSING" "supplier";
        supply.get_supplier(supplier("Tern Quay")) => "FIELD_INVALID" "supplier";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn a_delivery_that_cannot_be_of_the_order_is_not_taken_in() {
    let world = World::supplied().await;
    let mut supply = world.supply();
    let draft = world.order(of(vec![line("coarse-foam-150", 2)])).await;
    let request = v1::CreateOrderRequest {
        placed: true,
        ..of(vec![
            line("coarse-foam-150", 2),
            line("coarse-compound-1-l", 1),
        ])
    };
    let id = world.order(request).await;
    let one = receive(&id, vec![came("coarse-foam-150", 1)]);
    supply.receive_order(one).await.unwrap();
    let before = world.journal();
    let pads = |count| receive(&id, vec![came("coarse-foam-150", count)]);
    let tagged = |tags: &[&str]| {
        let tags = words(tags);
        let line = came("coarse-foam-150", 1);
        receive(&id, vec![v1::DeliveryLine { tags, ..line }])
    };
    let bottle = |expiry: &str| {
        let expiry_date = expiry.to_owned();
        let line = came("coarse-compound-1-l", 1);
        receive(
            &id,
            vec![v1::DeliveryLine {
                expiry_date,
                ..line
            }],
        )
    };
    let freight = |freight| v1::ReceiveOrderRequest { freight, ..pads(1) };
    let tomorrow = v1::ReceiveOrderRequest {
        done_time: stamp("2026-06-05T00:00:00Z"),
        ..pads(1)
    };
    let nowhere = v1::ReceiveOrderRequest {
        place: "Van A".to_owned(),
        ..pads(1)
    };
    let twice = vec![came("coarse-foam-150", 1), came("coarse-foam-150", 1)];
    refused! {
        supply.receive_order(receive("", Vec::new())) => "FIELD_MISSING" "order";
        supply.receive_order(receive("order-9", Vec::new())) => "ORDER_UNKNOWN" "order";
        supply.receive_order(receive(&draft, Vec::new())) => "ORDER_STATE" "order";
        supply.receive_order(pads(2)) => "ORDER_STATE" "lines.pack_count";
        supply.receive_order(pads(0)) => "QUANTITY_INVALID" "lines.pack_count";
        supply.receive_order(pads(i64::MIN)) => "QUANTITY_INVALID" "lines.pack_count";
        supply.receive_order(receive(&id, vec![came("nitrile-gloves", 1)])) => "ORDER_STATE" "lines.make";
        supply.receive_order(receive(&id, vec![came("", 1)])) => "FIELD_MISSING" "lines.make";
        supply.receive_order(receive(&id, twice)) => "FIELD_INVALID" "lines.make";
        supply.receive_order(tagged(&["P-01", "P-50"])) => "TAG_TAKEN" "tags";
        supply.receive_order(tagged(&["P-50", "P-50"])) => "TAG_TAKEN" "tags";
        supply.receive_order(tagged(&["pad 7", "P-50"])) => "FIELD_INVALID" "lines.tags";
        supply.receive_order(bottle("31.3.2028")) => "FIELD_INVALID" "lines.expiry_date";
        supply.receive_order(freight(dollars())) => "CURRENCY_MISMATCH" "freight";
        supply.receive_order(freight(eur("-6.90"))) => "FIELD_INVALID" "freight";
        supply.receive_order(nowhere) => "FIELD_INVALID" "place";
        supply.receive_order(tomorrow) => "TIME_FUTURE" "done_time";
    }
    assert_eq!(world.journal(), before);
    let order = world.order_now(&id).await;
    assert_eq!(order.state(), v1::OrderState::PartReceived);
}
