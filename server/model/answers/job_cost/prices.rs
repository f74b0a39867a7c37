//! What things cost: by the stock's layers or average where receipts have a cost, else by the price
//! they would be bought at again.
//!
//! Serves the cost sheet. Every sum is exact and rounded once, to the coin of the book's currency.

use rust_decimal::Decimal;

use super::CostKind;
use super::amounts::Amount;
use crate::book::deed::Entry;
use crate::ground::ids::Id;
use crate::ground::money::{Currency, Money};
use crate::ground::refusal::{Reason, Refusal};
use crate::maths::cost::{
    CostError, CostTerm, MovingAverage, Receipt, WashLoad, fifo_issue_cost, head_cost, quantise,
};
use crate::ready::piece_price::PackPrice;
use crate::ready::stock_cost::{StockMoves, book_currency, quantity_left};
use crate::trade::make::{Figures, Make};
use crate::trade::policy::{Policy, PolicyKey};
use crate::{Book, Moment};

/// Decimals of parts of a cost before they are added up and rounded to the coin.
const PART_PLACES: u32 = 12;

/// The prices of a book.
pub(super) struct Prices<'a> {
    book: &'a Book,
    currency: Currency,
    places: u32,
    /// Entries about the pieces that were costed when they came, oldest first.
    stock: &'a [Entry],
    /// When the job was done whose costs are looked at, and what it took of the stock.
    done: Option<(Moment, Vec<(Id, i64)>)>,
}

impl<'a> Prices<'a> {
    /// The prices of a book that has any.
    pub(super) fn of(book: &'a Book, stock: &'a [Entry]) -> Result<Self, Refusal> {
        let currency = book_currency(book)?.ok_or_else(|| {
            Refusal::new(
                Reason::FieldMissing,
                "make.price",
                "No make has a price yet, and no supplier lists any, so nothing can be costed.",
                "Give makes their price, or set up a supplier with its price list.",
            )
        })?;
        Ok(Self {
            book,
            currency,
            places: currency.places(),
            stock,
            done: None,
        })
    }

    /// The prices as the stock stood before a job that is done, as if nothing else had been taken of
    /// it since: what the job took must not be costed at what came to its place.
    pub(super) fn before(mut self, done_at: Moment, used: &[Amount]) -> Self {
        let of_stock = used
            .iter()
            .filter(|one| matches!(one.kind, CostKind::Liquid | CostKind::Sundries))
            .map(|one| (one.make.clone(), one.quantity.max(0)));
        self.done = Some((done_at, of_stock.collect()));
        self
    }

    /// Decimals of the currency.
    pub(super) const fn places(&self) -> u32 {
        self.places
    }

    /// An amount in the book's currency.
    pub(super) const fn money(&self, amount: Decimal) -> Money {
        Money {
            amount,
            currency: self.currency,
        }
    }

    /// Whether what is used of a make can be costed.
    pub(super) fn knows(&self, kind: CostKind, make: &Id) -> bool {
        let of_stock = matches!(kind, CostKind::Liquid | CostKind::Sundries);
        let has_come = || {
            let mut pieces = self.book.pieces();
            pieces.any(|piece| piece.make == *make && piece.cost.is_some())
        };
        of_stock && has_come() || self.price_of_piece(make).is_some()
    }

    /// Cost of a quantity, in the units of its kind; nothing where no price is known.
    pub(super) fn cost(
        &self,
        kind: CostKind,
        make: &Id,
        quantity: i64,
    ) -> Result<Decimal, Refusal> {
        let quantity = quantity.max(0);
        let exact = match kind {
            CostKind::Liquid | CostKind::Sundries => self.of_stock(make, quantity),
            CostKind::Pads | CostKind::Plates => self.wear(make, quantity),
            CostKind::Towels => self.towels(make, quantity),
        };
        exact.map_err(|_| too_much())
    }

    /// What a supplier asks for a piece, or the make's own price, each as a pack and the pieces in it;
    /// towels by the towel.
    fn price_of_piece(&self, make: &Id) -> Option<(Decimal, Decimal)> {
        let pack = PackPrice::of(self.book, make)?;
        Some((pack.price, pack.piece_count.max(1).into()))
    }

    /// What the job that is looked at took of a make.
    fn taken(&self, make: &Id) -> i64 {
        let of_make = self.done.iter().flat_map(|(_, taken)| taken);
        let of_make = of_make.filter(|(id, _)| id == make);
        of_make.fold(0, |sum, (_, quantity)| sum.saturating_add(*quantity))
    }

    /// Liquids and sundries: first in, first out, or at the moving average, as the policy says; what
    /// goes beyond the stock at the price it is bought at again.
    fn of_stock(&self, make: &Id, quantity: i64) -> Result<Decimal, CostError> {
        let moves = StockMoves::of(self.book, make, self.stock)?;
        let average = moves.average(self.done.as_ref().map(|(at, _)| *at))?;
        if self.policy().value(PolicyKey::StockByAverage) == 1
            && let Some(term) = average.at_average(quantity.into())
        {
            return head_cost(&[term], self.places);
        }
        let receipts: Vec<Receipt> = moves.receipts().collect();
        let came = receipts
            .iter()
            .fold(Decimal::ZERO, |sum, one| sum.saturating_add(one.quantity));
        let left = quantity_left(self.book, make).saturating_add(self.taken(make));
        let left = Decimal::from(left).min(came);
        let issued = came.saturating_sub(left);
        let from_layers = Decimal::from(quantity).min(left);
        let layers = if from_layers > Decimal::ZERO {
            fifo_issue_cost(&receipts, issued, from_layers)?
        } else {
            Decimal::ZERO
        };
        let rest = Decimal::from(quantity).saturating_sub(from_layers);
        let again = self.bought_again(make, rest, &average)?;
        quantise(layers.saturating_add(again), self.places)
    }

    /// A quantity at the price its make is bought at again, or at what it cost so far where no price is
    /// known; not rounded to the coin.
    fn bought_again(
        &self,
        make: &Id,
        quantity: Decimal,
        average: &MovingAverage,
    ) -> Result<Decimal, CostError> {
        let priced = if let Some((price, pieces)) = self.price_of_piece(make) {
            let holds = self.book.make(make).map_or(1, |make| piece_quantity(make));
            Some(CostTerm {
                quantity,
                price,
                base: pieces.saturating_mul(holds.max(1).into()),
            })
        } else {
            average.at_average(quantity)
        };
        head_cost(priced.as_slice(), PART_PLACES)
    }

    /// A part of a pad's or plate's rated life, in millionths, at the price of another.
    fn wear(&self, make: &Id, millionths: i64) -> Result<Decimal, CostError> {
        let Some((price, pieces)) = self.price_of_piece(make) else {
            return Ok(Decimal::ZERO);
        };
        let used = Decimal::new(millionths, 6);
        let term = CostTerm::wear(price, Decimal::ZERO, used, pieces)?;
        head_cost(&[term], self.places)
    }

    /// Towels: a wash's part of their rated washes, and the wash itself.
    fn towels(&self, make: &Id, count: i64) -> Result<Decimal, CostError> {
        let rated = match self.book.make(make).map(|make| &make.figures) {
            Some(Figures::Towel(towel)) => towel.demote_wash_count.unwrap_or(1).max(1),
            _ => 1,
        };
        let load = wash_load(self.policy()).cost(PART_PLACES)?;
        let capacity = self.policy().value(PolicyKey::TowelsPerLoad).max(1);
        let mut terms = vec![CostTerm::wash(count.into(), load, capacity.into())?];
        if let Some((price, pieces)) = self.price_of_piece(make) {
            let life = pieces.saturating_mul(rated.into());
            terms.push(CostTerm::wear(price, Decimal::ZERO, count.into(), life)?);
        }
        head_cost(&terms, self.places)
    }

    fn policy(&self) -> &Policy {
        self.book.policy()
    }
}

/// What a new piece of a make holds, in the units it is costed in.
fn piece_quantity(make: &Make) -> i64 {
    match &make.figures {
        Figures::Liquid(liquid) => liquid.bottle_ul.ul(),
        Figures::Sundry(sundry) => sundry.pack_quantity,
        Figures::Pad(_)
        | Figures::Plate(_)
        | Figures::Machine(_)
        | Figures::Towel(_)
        | Figures::Tool(_)
        | Figures::Battery(_) => 1,
    }
}

/// A load of towels by the policies.
fn wash_load(policy: &Policy) -> WashLoad {
    let milli = |key| Decimal::new(policy.value(key), 3);
    WashLoad {
        energy_kwh: milli(PolicyKey::WashEnergyWh),
        price_per_kwh: milli(PolicyKey::EnergyPriceMilli),
        water_m3: Decimal::new(policy.value(PolicyKey::WashWaterMl), 6),
        price_per_m3: milli(PolicyKey::WaterPriceMilli),
        detergent_ml: policy.value(PolicyKey::WashDetergentMl).into(),
        price_per_ml: Decimal::new(policy.value(PolicyKey::DetergentPriceMilli), 6),
    }
}

/// The refusal of sums beyond what can be reckoned with.
pub(super) fn too_much() -> Refusal {
    Refusal::quantity(
        "job",
        "The costs of this job are more than can be reckoned with.",
        "Look at the prices of its makes.",
    )
}
