//! The two suppliers of the invented shop, and what is ordered of them and comes.

use fettlebook_model::command::{Delivery, DeliveryLine, NewOrder, OrderedLine, Said};
use fettlebook_model::kit::PieceCost;
use fettlebook_model::make::Make;
use fettlebook_model::money::Money;
use fettlebook_model::order::Order;
use fettlebook_model::supplier::{Offer, PriceBreak, Supplier};
use fettlebook_model::{Command, Entry, Refusal};
use rust_decimal::Decimal;

use super::{Shop, id};

/// A decimal in a test.
pub(crate) fn dec(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// An amount of euros in a test.
pub(crate) fn eur(amount: &str) -> Money {
    money(amount, "EUR")
}

/// An amount of a currency in a test.
pub(crate) fn money(amount: &str, currency: &str) -> Money {
    Money::parse(amount, currency).unwrap()
}

/// What is asked for packs of a make: from so many packs on, so much for one.
pub(crate) fn offer(make: &str, pack_count: i64, prices: &[(i64, &str)]) -> Offer {
    Offer {
        make: id(make),
        pack_count,
        breaks: prices
            .iter()
            .map(|(from_pack_count, price)| PriceBreak {
                from_pack_count: *from_pack_count,
                price: eur(price),
            })
            .collect(),
    }
}

/// A supplier that delivers free, every day, without a least order.
pub(crate) fn supplier(key: &str, lead_days: i64, offers: Vec<Offer>) -> Supplier {
    Supplier {
        id: id(key),
        name: key.replace('-', " "),
        lead_days,
        min_order: None,
        free_delivery_from: None,
        freight: None,
        order_days: Vec::new(),
        offers,
        note: String::new(),
    }
}

/// Tern Quay Supplies, invented: three days, freight 4.95 below 80.
pub(crate) fn tern_quay() -> Supplier {
    Supplier {
        name: "Tern Quay Supplies".into(),
        free_delivery_from: Some(eur("80")),
        freight: Some(eur("4.95")),
        ..supplier(
            "tern-quay",
            3,
            vec![
                offer("coarse-foam-150", 2, &[(1, "18.90"), (5, "17.00")]),
                offer("fine-foam-150", 2, &[(1, "19.80")]),
                offer("coarse-compound-1l", 1, &[(1, "24.50")]),
                offer("edgeless-towel-400g", 12, &[(1, "30.00")]),
                offer("nitrile-gloves", 1, &[(1, "9.00"), (10, "8.10")]),
            ],
        )
    }
}

/// Packs of a make, at the price of the list.
pub(crate) fn packs(make: &str, pack_count: i64) -> OrderedLine {
    OrderedLine {
        make: id(make),
        pack_count,
        pieces_per_pack: None,
        price: None,
    }
}

/// An order that is sent at once.
pub(crate) fn order_of(supplier: &str, lines: Vec<OrderedLine>) -> NewOrder {
    NewOrder {
        said: Said::default(),
        supplier: id(supplier),
        lines,
        freight: None,
        is_placed: true,
    }
}

/// All of an order that is still to come, on the bench.
pub(crate) fn delivery_of(order: &str) -> Delivery {
    Delivery {
        said: Said::default(),
        order: id(order),
        lines: Vec::new(),
        place: id("bench"),
        freight: None,
    }
}

/// Packs of a make that came, with nothing said of them.
pub(crate) fn came(make: &str, pack_count: i64) -> DeliveryLine {
    DeliveryLine::all(&id(make), pack_count)
}

impl Shop {
    /// Sets a supplier up.
    pub(crate) fn supply(&mut self, supplier: Supplier) -> &Entry {
        self.say(Command::CreateSupplier { supplier })
    }

    /// Edits a supplier.
    pub(crate) fn edit_supplier(
        &mut self,
        key: &str,
        change: impl FnOnce(&mut Supplier),
    ) -> Result<&Entry, Refusal> {
        let was = self.book.supplier(&id(key)).unwrap().as_ref().clone();
        let mut supplier = was.clone();
        change(&mut supplier);
        self.try_say(Command::EditSupplier { was, supplier })
    }

    /// Sets the price of a pack of a make, and the pieces in it.
    pub(crate) fn price(&mut self, make: &str, price: &str, pack_count: i64) {
        let was = self.book.make(&id(make)).unwrap().as_ref().clone();
        let make = Make {
            price: Some(eur(price)),
            pack_count,
            ..was.clone()
        };
        self.say(Command::EditMake { was, make });
    }

    /// Writes an order and gives its id.
    pub(crate) fn order(&mut self, new: NewOrder) -> String {
        self.say(Command::CreateOrder(Box::new(new)));
        let last = self.book.orders().max_by_key(|order| order.last_seq);
        last.unwrap().id.to_string()
    }

    /// Orders packs of one make at the price of the list.
    pub(crate) fn order_packs(&mut self, supplier: &str, make: &str, pack_count: i64) -> String {
        self.order(order_of(supplier, vec![packs(make, pack_count)]))
    }

    /// Takes a delivery in.
    pub(crate) fn deliver(&mut self, delivery: Delivery) -> &Entry {
        self.try_deliver(delivery).unwrap()
    }

    /// Takes a delivery in, if it can be.
    pub(crate) fn try_deliver(&mut self, delivery: Delivery) -> Result<&Entry, Refusal> {
        self.try_say(Command::ReceiveOrder(Box::new(delivery)))
    }

    /// An order as it stands.
    pub(crate) fn order_now(&self, order: &str) -> &Order {
        self.book.order(&id(order)).unwrap()
    }

    /// What a piece cost.
    pub(crate) fn cost(&self, piece: &str) -> PieceCost {
        self.piece(piece).cost.unwrap()
    }

    /// What pieces cost, as amounts.
    pub(crate) fn landed(&self, pieces: &str) -> Vec<String> {
        let cost = |piece| self.cost(piece).landed.amount.to_string();
        pieces.split(' ').map(cost).collect()
    }
}
