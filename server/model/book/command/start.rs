//! What a shop begins with: makes, pieces, prices, a car and a job, set up in one entry.

use fettlebook_quantity::Mass;

use super::Receipt;
use crate::ground::ids::Id;
use crate::ground::money::Money;
use crate::trade::job::{Car, Job};
use crate::trade::make::Make;
use crate::trade::starter::StarterKit;

/// What a shop begins with, or what is added to what it has.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Start {
    /// Anything worth remembering.
    pub note: String,
    /// Starter kit whose makes and routines are set up where the book has none by their ids.
    pub kit: Option<StarterKit>,
    /// Further makes; one in the place of a starter kit's goes before it.
    pub makes: Vec<OfRow<Make>>,
    /// Prices of makes that have none.
    pub prices: Vec<OfRow<StartPrice>>,
    /// Pieces.
    pub pieces: Vec<OfRow<StartPiece>>,
    /// Car to set up.
    pub car: Option<Car>,
    /// Job to book.
    pub job: Option<Job>,
}

/// Something with the row it came from, for naming what is wrong; 0 is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfRow<T> {
    /// Row.
    pub row: i64,
    /// What it is.
    pub what: T,
}

/// What a make costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StartPrice {
    /// Make.
    pub make: Id,
    /// Price of a pack.
    pub price: Money,
    /// Pieces in a pack; as the make says when open.
    pub pack_count: Option<i64>,
}

/// Pieces of one make that are alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StartPiece {
    /// What came in; work and volume are open where jobs, a share or a weight say them.
    pub receipt: Receipt,
    /// Jobs that each pad has done.
    pub job_count: Option<i64>,
    /// How full each bottle is, thousandths.
    pub full_permille: Option<i64>,
    /// Weight of each bottle as it stands on the scale.
    pub gross_mg: Option<Mass>,
}
