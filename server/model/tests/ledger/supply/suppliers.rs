//! Suppliers and their price lists: what makes no sense is refused whole.

use fettlebook_model::supplier::{OrderDay, PriceBreak, Supplier};
use fettlebook_model::{Command, Reason, Refusal, Subject};

use crate::shop::{
    Shop, eur, id, make, money, offer, order_of, packs, plate, restored, supplier, tern_quay,
};

/// The refusal of Tern Quay Supplies with a change; the book is as it was.
fn refused(change: impl FnOnce(&mut Supplier)) -> Refusal {
    let mut shop = Shop::new();
    let mut asked = tern_quay();
    change(&mut asked);
    let before = shop.book.clone();
    let supplier = asked;
    let refusal = shop.try_say(Command::CreateSupplier { supplier });
    let refusal = refusal.unwrap_err();
    assert_eq!(shop.book, before);
    refusal
}

#[track_caller]
fn is(refusal: &Refusal, reason: Reason, field: &str) {
    assert_eq!(
        (refusal.reason, refusal.field.as_str()),
        (reason, field),
        "{refusal}"
    );
    assert!(refusal.what.ends_with('.') && !refusal.what.ends_with(".."));
    assert!(!refusal.todo.is_empty(), "{refusal}");
}

fn price(from_pack_count: i64, amount: &str) -> PriceBreak {
    PriceBreak {
        from_pack_count,
        price: eur(amount),
    }
}

#[test]
fn a_supplier_is_kept_as_it_was_given() {
    let mut shop = Shop::new();
    let given = Supplier {
        order_days: vec![OrderDay::Monday, OrderDay::Thursday],
        min_order: Some(eur("25")),
        note: "rings back".into(),
        ..tern_quay()
    };
    shop.supply(given.clone());
    let held = shop.book.supplier(&given.id).unwrap();
    assert_eq!(held.as_ref(), &given);
    assert_eq!(restored(&shop.book), shop.book);
}

#[test]
fn a_name_is_needed_and_is_a_line() {
    for name in ["", " ", "\t"] {
        let refusal = refused(|supplier| supplier.name = name.into());
        is(&refusal, Reason::FieldMissing, "supplier.name");
    }
    for name in ["a\nb".to_owned(), "n".repeat(81)] {
        let refusal = refused(|supplier| supplier.name = name);
        is(&refusal, Reason::FieldInvalid, "supplier.name");
    }
    let refusal = refused(|supplier| supplier.note = "n".repeat(501));
    is(&refusal, Reason::FieldInvalid, "note");
}

#[test]
fn a_price_of_nothing_is_refused_and_so_are_terms_of_nothing() {
    let field = "supplier.offers.breaks.price";
    for at in [0, 1] {
        let refusal = refused(|supplier| supplier.offers[0].breaks[at].price = eur("0.00"));
        is(&refusal, Reason::QuantityInvalid, field);
    }
    let refusal = refused(|supplier| supplier.min_order = Some(eur("0")));
    is(&refusal, Reason::QuantityInvalid, "supplier.min_order");
    let refusal = refused(|supplier| supplier.free_delivery_from = Some(eur("0")));
    is(
        &refusal,
        Reason::QuantityInvalid,
        "supplier.free_delivery_from",
    );
    let refusal = refused(|supplier| supplier.freight = Some(eur("0")));
    is(&refusal, Reason::QuantityInvalid, "supplier.freight");
}

#[test]
fn free_delivery_needs_a_freight_below_it() {
    let refusal = refused(|supplier| supplier.freight = None);
    is(&refusal, Reason::FieldMissing, "supplier.freight");
    let mut shop = Shop::new();
    shop.supply(Supplier {
        free_delivery_from: None,
        ..tern_quay()
    });
}

#[test]
fn price_breaks_begin_at_one_pack_and_rise_in_packs_but_never_in_price() {
    let field = "supplier.offers.breaks";
    for breaks in [
        vec![price(2, "5")],
        vec![price(0, "5"), price(1, "4")],
        vec![price(1, "5"), price(1, "4")],
        vec![price(1, "5"), price(10, "4"), price(5, "3")],
        vec![price(1, "5"), price(5, "5.01")],
        vec![price(1, "5"), price(5, "4"), price(10, "4.50")],
        (1..=13).map(|from| price(from, "5")).collect(),
    ] {
        let told = format!("{breaks:?}");
        let refusal = refused(|supplier| supplier.offers[0].breaks = breaks);
        assert_eq!(refusal.field, field, "{told}");
        is(&refusal, Reason::FieldInvalid, field);
    }
    let refusal = refused(|supplier| supplier.offers[0].breaks = Vec::new());
    is(&refusal, Reason::FieldMissing, field);
    let mut shop = Shop::new();
    let mut asked = tern_quay();
    asked.offers[0].breaks = (1..=12).map(|from| price(from, "5")).collect();
    shop.supply(asked);
}

#[test]
fn a_price_list_names_makes_of_the_book_and_each_once() {
    let field = "supplier.offers.make";
    let refusal = refused(|supplier| supplier.offers[0].make = id("pencil-foam-30"));
    is(&refusal, Reason::MakeUnknown, field);
    let refusal = refused(|supplier| {
        let twice = supplier.offers[0].clone();
        supplier.offers.push(twice);
    });
    is(&refusal, Reason::FieldInvalid, field);
    let refusal = refused(|supplier| {
        let one = supplier.offers[0].clone();
        supplier.offers = vec![one; 501];
    });
    is(&refusal, Reason::FieldInvalid, "supplier.offers");
}

#[test]
fn an_order_day_is_named_once() {
    let refusal = refused(|supplier| supplier.order_days = vec![OrderDay::Friday; 2]);
    is(&refusal, Reason::FieldInvalid, "supplier.order_days");
}

#[test]
fn a_second_currency_is_refused_wherever_the_first_is_from() {
    let field = "supplier.offers.breaks.price";
    let dollars = money("5", "USD");
    let within = refused(|supplier| supplier.freight = Some(dollars));
    is(&within, Reason::CurrencyMismatch, field);
    let mut shop = Shop::new();
    shop.supply(tern_quay());
    let other = Supplier {
        min_order: Some(dollars),
        ..supplier("millrace", 1, Vec::new())
    };
    let supplier = other.clone();
    let refusal = shop.try_say(Command::CreateSupplier { supplier });
    is(&refusal.unwrap_err(), Reason::CurrencyMismatch, field);
    let mut shop = Shop::new();
    shop.price("nitrile-gloves", "9.00", 1);
    let refusal = shop.try_say(Command::CreateSupplier { supplier: other });
    is(&refusal.unwrap_err(), Reason::CurrencyMismatch, field);
}

#[test]
fn what_the_stock_cost_holds_the_currency_when_no_price_is_left() {
    let mut shop = Shop::new();
    shop.supply(tern_quay());
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 1);
    shop.deliver(crate::shop::delivery_of(&order));
    let refusal = shop.edit_supplier("tern-quay", |supplier| {
        supplier.offers.clear();
        supplier.free_delivery_from = None;
        supplier.freight = Some(money("4.95", "USD"));
    });
    let field = "supplier.offers.breaks.price";
    is(&refusal.unwrap_err(), Reason::CurrencyMismatch, field);
}

#[test]
fn an_id_is_given_once_and_never_again() {
    let mut shop = Shop::new();
    let seq = shop.supply(tern_quay()).seq;
    let again = Command::CreateSupplier {
        supplier: tern_quay(),
    };
    let refusal = shop.try_say(again.clone()).unwrap_err();
    is(&refusal, Reason::IdTaken, "supplier.supplier");
    shop.reverse(seq).unwrap();
    assert!(shop.book.supplier(&id("tern-quay")).is_none());
    let refusal = shop.try_say(again).unwrap_err();
    is(&refusal, Reason::IdTaken, "supplier.supplier");
}

#[test]
fn an_edit_of_what_was_changed_meanwhile_is_refused() {
    let mut shop = Shop::new();
    shop.supply(tern_quay());
    shop.edit_supplier("tern-quay", |supplier| supplier.lead_days = 4)
        .unwrap();
    let stale = Command::EditSupplier {
        was: tern_quay(),
        supplier: Supplier {
            lead_days: 5,
            ..tern_quay()
        },
    };
    let refusal = shop.try_say(stale).unwrap_err();
    is(&refusal, Reason::ChangedMeanwhile, "supplier");
    assert_eq!(shop.book.supplier(&id("tern-quay")).unwrap().lead_days, 4);
    let nobody = supplier("millrace", 1, Vec::new());
    let refusal = shop.try_say(Command::EditSupplier {
        was: nobody.clone(),
        supplier: nobody,
    });
    is(
        &refusal.unwrap_err(),
        Reason::SupplierUnknown,
        "supplier.supplier",
    );
}

#[test]
fn an_edit_is_held_to_the_same_and_touches_no_order() {
    let mut shop = Shop::new();
    shop.supply(tern_quay());
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 2);
    let before = shop.order_now(&order).clone();
    let refusal = shop.edit_supplier("tern-quay", |supplier| supplier.name.clear());
    is(&refusal.unwrap_err(), Reason::FieldMissing, "supplier.name");
    shop.edit_supplier("tern-quay", |supplier| {
        supplier.lead_days = 9;
        supplier.offers = vec![offer("nitrile-gloves", 4, &[(1, "99")])];
    })
    .unwrap();
    assert_eq!(shop.order_now(&order), &before);
}

#[test]
fn what_an_order_rests_on_is_not_taken_back() {
    let mut shop = Shop::new();
    let seq = shop.supply(tern_quay()).seq;
    let order = shop.order(order_of("tern-quay", vec![packs("nitrile-gloves", 1)]));
    let ordered = shop.book.head();
    let refusal = shop.reverse(seq).unwrap_err();
    is(&refusal, Reason::NotReversible, "seq");
    assert!(refusal.what.contains(&order), "{refusal}");
    shop.reverse(ordered).unwrap();
    shop.reverse(seq).unwrap();
    assert!(!shop.book.subjects().iter().any(|subject| {
        matches!(subject, Subject::Supplier(_)) && shop.book.supplier(&id("tern-quay")).is_some()
    }));
}

#[test]
fn a_make_in_a_price_list_is_not_taken_back_and_a_list_of_one_that_was_does_not_come_back() {
    let mut shop = Shop::new();
    let made = shop
        .say(Command::CreateMake {
            make: make("plate-75-m8", plate(75, None)),
        })
        .seq;
    shop.supply(supplier(
        "millrace",
        1,
        vec![offer("plate-75-m8", 1, &[(1, "12.00")])],
    ));
    let refusal = shop.reverse(made).unwrap_err();
    is(&refusal, Reason::NotReversible, "seq");
    assert!(refusal.what.contains("millrace"), "{refusal}");
    let edited = shop
        .edit_supplier("millrace", |supplier| supplier.offers.clear())
        .unwrap()
        .seq;
    shop.reverse(made).unwrap();
    let refusal = shop.reverse(edited).unwrap_err();
    is(&refusal, Reason::NotReversible, "seq");
    assert!(refusal.what.contains("plate-75-m8"), "{refusal}");
}
