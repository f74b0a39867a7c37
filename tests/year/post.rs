//! What comes into the shop that orders its kit: orders sent, deliveries as late as they truly are, and
//! what somebody drives for.
//!
//! It serves the comparison of ways to order. It writes the bill of goods and freight, and gives every new
//! piece its hidden truth.

use fettlebook_model::command::{Delivery, DeliveryLine, NewOrder, OrderedLine, Said};
use fettlebook_model::money::Money;
use fettlebook_model::{Command, Deed, Id, Tag};
use jiff::ToSpan as _;
use jiff::tz::Offset;

use crate::buyers::Order;
use crate::ledger::{PADS, id};
use crate::market::{MILLRACE, TERN, WARES, piece_price};
use crate::storeroom::{is_liquid, receipt};
use crate::supply::{Coming, Shop};
use crate::truth::TruePad;

impl Shop {
    /// Drives to the counter for so many pieces.
    pub(crate) fn fetch(&mut self, make: &str, count: i64) -> Vec<Tag> {
        *self.bill.missing.entry(make.to_owned()).or_default() += 1;
        let ware = WARES.iter().find(|ware| ware.make == make).unwrap();
        let pack = ware.millrace.0;
        let pieces = (count + pack - 1) / pack * pack;
        let price = piece_price(MILLRACE, make) * pieces as f64;
        self.bill.goods += price;
        self.bill.fetched += price;
        *self.there.get_mut(ware.make).unwrap() += pieces as f64;
        self.take_in(make, pieces)
    }

    pub(crate) fn take_in(&mut self, make: &str, pieces: i64) -> Vec<Tag> {
        let receipt = receipt(make, pieces);
        let entry = self.ledger.say(&Command::Receive(Box::new(receipt)));
        self.learn_pieces(&entry.deeds)
    }

    /// Gives new pieces their hidden truth.
    fn learn_pieces(&mut self, deeds: &[Deed]) -> Vec<Tag> {
        let mut tags = Vec::new();
        for deed in deeds {
            let Deed::Received { tag, make, .. } = deed else {
                continue;
            };
            tags.push(*tag);
            if let Some(at) = PADS.iter().position(|pad| *pad == make.as_str()) {
                let life = self.market.next_life(at);
                self.pads.insert(*tag, (at, TruePad { life, spent: 0.0 }));
            } else if is_liquid(make.as_str()) {
                let piece = self.ledger.book.piece(*tag).unwrap();
                let full = piece.bottle().unwrap().full_ul;
                self.bottles.insert(*tag, full.ul() as f64);
            }
        }
        tags
    }

    /// Takes in what has truly come by a day of the calendar.
    pub(crate) fn deliveries(&mut self, today: usize) {
        let (come, later): (Vec<Coming>, Vec<Coming>) = self
            .coming
            .drain(..)
            .partition(|coming| coming.comes_on <= today);
        self.coming = later;
        for coming in come {
            self.deliver(&coming.order, today - coming.sent_on);
        }
    }

    fn deliver(&mut self, id: &Id, took: usize) {
        let order = self.ledger.book.order(id).unwrap().clone();
        if order.supplier.as_str() == TERN {
            self.leads.push(took as f64);
        }
        let today = Offset::UTC.to_datetime(self.ledger.now).date();
        let mut lines = Vec::new();
        for line in &order.lines {
            let make = line.make.as_str();
            let expiry = is_liquid(make)
                .then(|| today.checked_add(self.market.keeps_days().days()).unwrap());
            lines.push(DeliveryLine {
                expiry,
                ..DeliveryLine::all(&line.make, line.pack_count)
            });
            let ware = WARES.iter().find(|ware| ware.make == make).unwrap();
            *self.there.get_mut(ware.make).unwrap() +=
                (line.pack_count * line.pieces_per_pack) as f64;
        }
        let delivery = Delivery {
            said: Said::default(),
            order: order.id.clone(),
            lines,
            place: "bench".parse().unwrap(),
            freight: None,
        };
        let entry = self.ledger.say(&Command::ReceiveOrder(Box::new(delivery)));
        self.learn_pieces(&entry.deeds);
    }

    /// Sends an order.
    pub(crate) fn place(&mut self, today: usize, (supplier, lines): Order) {
        let lines = lines.into_iter().map(|(make, pack_count)| OrderedLine {
            make: id(make),
            pack_count,
            pieces_per_pack: None,
            price: None,
        });
        let order = NewOrder {
            said: Said::default(),
            supplier: id(supplier),
            lines: lines.collect(),
            freight: None,
            is_placed: true,
        };
        let entry = self.ledger.say(&Command::CreateOrder(Box::new(order)));
        let Some(Deed::OrderSet { order }) = entry.deeds.first() else {
            unreachable!("an order was written");
        };
        let money = |money: Money| f64::try_from(money.amount).unwrap();
        let goods = order
            .lines
            .iter()
            .map(|line| money(line.price) * line.pack_count as f64);
        self.bill.goods += goods.sum::<f64>();
        self.bill.freight += order.freight.map_or(0.0, money);
        self.bill.orders += 1;
        self.coming.push(Coming {
            order: order.id.clone(),
            sent_on: today,
            comes_on: today + self.market.lead_days(&order.supplier, today),
        });
    }
}
