//! What stock cost: what came of a make, what was taken of it, and the average that follows.
//!
//! It reckons in exact decimals from what stands when it is asked, so that a late delivery or a reversal
//! changes it; what has no known cost is told apart, never taken as free.

use std::collections::btree_map::Entry as MapEntry;
use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::Decimal;

use crate::book::advance;
use crate::book::change::Stamp;
use crate::book::deed::{Deed, Entry, Record};
use crate::ground::ids::{Id, Seq, Subject, Tag};
use crate::ground::money::Currency;
use crate::ground::refusal::{Reason, Refusal};
use crate::maths::cost::{CostError, MovingAverage, Receipt};
use crate::trade::kit::{Piece, State};
use crate::{Book, Moment};

/// What a piece in this state holds, in the units its make is costed in: µL, towels, a sundry's
/// unit, or 1 for what is counted by the piece. Never below zero.
pub(crate) fn quantity_of(state: &State) -> i64 {
    match state {
        State::Pad(_)
        | State::Plate(_)
        | State::Machine(_)
        | State::Tool(_)
        | State::Battery(_) => 1,
        State::Bundle(bundle) => bundle.total_count().max(0),
        State::Bottle(bottle) => bottle.left_ul.ul().max(0),
        State::Sundry(sundry) => sundry.left_quantity.max(0),
    }
}

/// What there is of a make, in its units.
pub(crate) fn quantity_left(book: &Book, make: &Id) -> i64 {
    book.pieces_of(make).fold(0_i64, |sum, piece| {
        sum.saturating_add(quantity_of(&piece.state))
    })
}

/// The one currency of a book's prices and of what its stock cost; `None` while it has none.
///
/// # Errors
/// When prices in two currencies meet.
pub fn book_currency(book: &Book) -> Result<Option<Currency>, Refusal> {
    let of_suppliers = book
        .suppliers()
        .flat_map(|supplier| supplier.moneys().next());
    let of_makes = book.makes().filter_map(|make| make.price);
    let of_stock = book.pieces().filter_map(|piece| Some(piece.cost?.landed));
    let mut known: Option<Currency> = None;
    for price in of_suppliers.chain(of_makes).chain(of_stock) {
        let currency = *known.get_or_insert(price.currency);
        if price.currency != currency {
            return Err(Refusal::new(
                Reason::CurrencyMismatch,
                "make.price",
                format!("Prices in {currency} and in {} meet.", price.currency),
                "Give all prices of makes and suppliers in one currency.",
            ));
        }
    }
    Ok(known)
}

/// Pieces of these makes that have a cost, binned ones too.
pub(crate) fn costed<'a>(book: &'a Book, makes: &BTreeSet<&Id>) -> impl Iterator<Item = &'a Piece> {
    let costed = book.pieces().filter(|piece| piece.cost.is_some());
    costed
        .filter(|piece| makes.contains(&piece.make))
        .map(AsRef::as_ref)
}

/// A quantity that came or went.
#[derive(Debug, Clone, Copy)]
struct Move {
    at: Moment,
    seq: Seq,
    what: What,
}

#[derive(Debug, Clone, Copy)]
enum What {
    /// A line of a delivery, with all its pieces.
    Came(Receipt),
    /// Taken from the pieces; below zero what a count found more.
    Went(i64),
}

/// What came of a make with a cost, and what was taken of it, as the entries about its pieces stand: one
/// that was reversed counts as never made, and one told late counts from when it was done.
pub(crate) struct StockMoves {
    moves: Vec<Move>,
}

impl StockMoves {
    /// From the entries about the pieces of a make, oldest first.
    ///
    /// # Errors
    /// When what came needs more digits than can be held.
    pub(crate) fn of(book: &Book, make: &Id, entries: &[Entry]) -> Result<Self, CostError> {
        let mut deeds: BTreeMap<Tag, Vec<(&Entry, &Deed)>> = BTreeMap::new();
        let standing = |entry: &&Entry| book.reversed_by(entry.seq).is_none();
        for entry in entries.iter().filter(standing) {
            for deed in &entry.deeds {
                if let (false, Subject::Piece(tag)) = (deed.is_restating(), deed.subject()) {
                    deeds.entry(tag).or_default().push((entry, deed));
                }
            }
        }
        let mut lines: BTreeMap<(Moment, Seq), Receipt> = BTreeMap::new();
        let mut moves = Vec::new();
        let pieces: Vec<&Piece> = costed(book, &BTreeSet::from([make])).collect();
        let tags: BTreeSet<Tag> = pieces.iter().map(|piece| piece.tag).collect();
        for piece in pieces {
            let of_piece = deeds.get(&piece.tag).into_iter().flatten();
            if let Some((entry, receipt)) = follow(of_piece, &tags, &mut moves) {
                let line = lines.entry((entry.done_at, entry.seq));
                match line {
                    MapEntry::Vacant(line) => {
                        line.insert(receipt);
                    }
                    MapEntry::Occupied(mut line) => {
                        let sum = line.get().plus(&receipt)?;
                        line.insert(sum);
                    }
                }
            }
        }
        moves.extend(lines.into_iter().map(|((at, seq), line)| Move {
            at,
            seq,
            what: What::Came(line),
        }));
        moves.sort_by_key(|one| (one.at, one.seq));
        Ok(Self { moves })
    }

    /// What came, earliest first, each line of a delivery whole.
    pub(crate) fn receipts(&self) -> impl Iterator<Item = Receipt> + '_ {
        self.moves.iter().filter_map(|one| match one.what {
            What::Came(receipt) => Some(receipt),
            What::Went(_) => None,
        })
    }

    /// Stock at its average just after the last receipt, of those until a moment where one is given:
    /// what is taken later leaves the average as it is.
    ///
    /// # Errors
    /// When a figure needs more digits than can be held.
    pub(crate) fn average(&self, at: Option<Moment>) -> Result<MovingAverage, CostError> {
        let (mut stock, mut last) = (MovingAverage::default(), MovingAverage::default());
        let until = |one: &&Move| at.is_none_or(|at| one.at <= at);
        for one in self.moves.iter().take_while(until) {
            match one.what {
                What::Came(receipt) => {
                    stock.receive(receipt)?;
                    last = stock;
                }
                What::Went(quantity) if quantity < 0 => {
                    stock.found(quantity.unsigned_abs().into())?;
                }
                What::Went(quantity) => {
                    // What was used beyond the stock has no cost of its own.
                    stock.issue(Decimal::from(quantity).min(stock.quantity()))?;
                }
            }
        }
        Ok(last)
    }
}

/// The bottle into which a deed pours, or from which.
const fn other_bottle(deed: &Deed) -> Option<Tag> {
    match deed {
        Deed::PouredOut { into, .. } => Some(*into),
        Deed::PouredIn { from, .. } => Some(*from),
        _ => None,
    }
}

/// Follows a piece through its deeds: what it brought and when, and what was taken of it each time.
/// What is poured from one costed bottle into another takes its cost along: it neither came nor went.
fn follow<'a>(
    deeds: impl Iterator<Item = &'a (&'a Entry, &'a Deed)>,
    costed: &BTreeSet<Tag>,
    moves: &mut Vec<Move>,
) -> Option<(&'a Entry, Receipt)> {
    let mut came = None;
    let (mut record, mut held) = (None, 0_i64);
    for (entry, deed) in deeds {
        record = advance(record, deed, Stamp::of(entry));
        let Some(Record::Piece(piece)) = &record else {
            continue;
        };
        let now = if piece.is_binned() {
            0
        } else {
            quantity_of(&piece.state)
        };
        let gone = held.saturating_sub(now);
        held = now;
        if let (Deed::Received { .. }, Some(cost)) = (*deed, piece.cost) {
            let receipt = Receipt {
                quantity: cost.quantity.into(),
                total_cost: cost.landed.amount,
            };
            came = Some((*entry, receipt));
        } else if gone != 0 && !other_bottle(deed).is_some_and(|other| costed.contains(&other)) {
            moves.push(Move {
                at: entry.done_at,
                seq: entry.seq,
                what: What::Went(gone),
            });
        }
    }
    came
}

/// The average that goes into the journal with a piece: cost of one unit after further receipts (quantity
/// and cost), none of it used meanwhile, on what the journal said of the piece that came before. Costs are
/// worked out anew from what stands ([`StockMoves::average`]).
///
/// # Errors
/// When a sum needs more digits than can be held.
pub(crate) fn average_after(
    book: &Book,
    make: &Id,
    came: &[(i64, Decimal)],
) -> Result<Decimal, CostError> {
    let before = costed(book, &BTreeSet::from([make]))
        .max_by_key(|piece| (piece.received_at, piece.tag))
        .and_then(|piece| piece.cost);
    let (mut quantity, mut value) = match before {
        Some(cost) => {
            let there = quantity_left(book, make);
            (there, cost.average.checked_mul(there.into()).ok_or(VALUE)?)
        }
        // What has no known cost says nothing of what the new costs.
        None => (0, Decimal::ZERO),
    };
    for (count, cost) in came {
        quantity = quantity.checked_add(*count).ok_or(VALUE)?;
        value = value.checked_add(*cost).ok_or(VALUE)?;
    }
    value.checked_div(quantity.max(1).into()).ok_or(VALUE)
}

const VALUE: CostError = CostError::TooLarge {
    what: "The value of the stock",
};
