//! Random suppliers, orders and deliveries.

use fettlebook_model::Command;
use fettlebook_model::command::{Delivery, DeliveryLine, NewOrder, OrderedLine, Said};
use fettlebook_model::supplier::Supplier;
use rust_decimal::Decimal;

use super::{Act, Sort};
use crate::shop::{came, delivery_of, eur, id, offer, order_of, packs, tern_quay};

impl Act {
    /// One of two suppliers, who may promise what cannot be.
    fn key(&self) -> &'static str {
        ["tern-quay", "tern-quay", "millrace"][self.turn(3)]
    }

    /// A turn from nothing to below a count, by the figure.
    fn turn(&self, count: i64) -> usize {
        usize::try_from(self.figure.rem_euclid(count)).unwrap()
    }

    /// A supplier set up or edited.
    pub(super) fn supplier(&self, shop: &crate::shop::Shop) -> Command {
        let price = format!(
            "{}.{:02}",
            self.figure.max(0) / 7,
            self.figure.rem_euclid(100)
        );
        let mut supplier = Supplier {
            id: id(self.key()),
            lead_days: 1 + self.figure.rem_euclid(8),
            ..tern_quay()
        };
        if self.more {
            supplier.offers = vec![offer(
                self.make,
                1 + self.figure.rem_euclid(4),
                &[(1, &price)],
            )];
        }
        let held = shop.book.supplier(&supplier.id);
        match (self.sort, held) {
            (Sort::Revise, Some(held)) => Command::EditSupplier {
                was: if self.astray {
                    supplier.clone()
                } else {
                    held.as_ref().clone()
                },
                supplier,
            },
            _ => Command::CreateSupplier { supplier },
        }
    }

    /// An order written, sent or closed, or what comes of one.
    pub(super) fn buying(&self, said: Said) -> Command {
        let order = id(&format!("order-{}", 1 + self.turn(4)));
        match self.sort {
            Sort::Place => Command::PlaceOrder { said, order },
            Sort::Close => Command::CloseOrder { said, order },
            Sort::Order => Command::CreateOrder(Box::new(self.order(said))),
            _ => Command::ReceiveOrder(Box::new(Delivery {
                said,
                lines: self.came(),
                freight: (self.figure % 3 == 0).then(|| eur("4.95")),
                ..delivery_of(order.as_str())
            })),
        }
    }

    fn order(&self, said: Said) -> NewOrder {
        let price = Decimal::new(self.figure.max(0), 3).to_string();
        let line = OrderedLine {
            price: (self.figure % 2 == 0).then(|| eur(&price)),
            pieces_per_pack: self.more.then_some(self.figure.rem_euclid(5)),
            ..packs(self.make, 1 + self.figure.rem_euclid(5))
        };
        let mut lines = vec![line];
        if self.more {
            lines.push(packs("nitrile-gloves", 2));
        }
        NewOrder {
            said,
            is_placed: self.figure % 4 != 0,
            ..order_of(self.key(), lines)
        }
    }

    /// Packs of one make, or all that is still to come.
    fn came(&self) -> Vec<DeliveryLine> {
        if !self.more {
            return Vec::new();
        }
        let line = came(self.make, 1 + self.figure.rem_euclid(3));
        let tags = if self.figure % 5 == 0 {
            self.tags(&["P", "B", "T", "S"])
        } else {
            Vec::new()
        };
        vec![DeliveryLine { tags, ..line }]
    }
}
