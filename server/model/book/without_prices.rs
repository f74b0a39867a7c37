//! Entries as they are for whoever may not see prices.
//!
//! Serves copies of the book and what is shown of it. What an entry says of the kit stays as it was,
//! so that the kit, its wear and a check follow from what is left as they do from the whole; what it
//! says of money, suppliers and orders is gone.

mod bytes;

use std::sync::Arc;

use crate::book::deed::{Deed, Entry, Record};
use crate::ground::ids::Subject;
use crate::trade::kit::Piece;
use crate::trade::make::Make;
use crate::trade::policy::{Policy, PolicyKey};

impl Entry {
    /// This entry without prices, suppliers and orders. It keeps its number even where it says nothing
    /// any more; its note goes with its last deed.
    #[must_use]
    pub fn without_prices(&self) -> Self {
        let deeds: Vec<Deed> = self.deeds.iter().filter_map(Deed::without_prices).collect();
        let is_told = !deeds.is_empty() || self.deeds.is_empty();
        let flags = self.flags.iter().filter(|flag| !is_priced(&flag.subject));
        Self {
            flags: flags.cloned().collect(),
            note: if is_told {
                self.note.clone()
            } else {
                String::new()
            },
            by: self.by.clone(),
            deeds,
            ..*self
        }
    }
}

impl Deed {
    /// This deed without prices; `None` when it is about a supplier, an order or a policy that is one.
    fn without_prices(&self) -> Option<Self> {
        if is_priced(&self.subject()) {
            return None;
        }
        if matches!(self, Self::PolicySet { key, .. } if key.is_price()) {
            return None;
        }
        Some(match self {
            Self::MakeSet { make } => Self::MakeSet {
                make: unpriced_make(make),
            },
            Self::Received {
                tag,
                make,
                place,
                state,
                readiness,
                at,
                cost: Some(_),
            } => Self::Received {
                tag: *tag,
                make: make.clone(),
                place: place.clone(),
                state: state.clone(),
                readiness: *readiness,
                at: *at,
                cost: None,
            },
            Self::Restated {
                subject,
                record: Some(record),
            } => Self::Restated {
                subject: subject.clone(),
                record: Some(record.without_prices()),
            },
            other => other.clone(),
        })
    }
}

impl Record {
    fn without_prices(&self) -> Self {
        match self {
            Self::Make(make) => Self::Make(unpriced_make(make)),
            Self::Piece(piece) => {
                let piece = Piece::clone(piece);
                Self::Piece(Arc::new(Piece {
                    cost: None,
                    ..piece
                }))
            }
            Self::Policy(policy) => {
                let mut policy = Policy::clone(policy);
                let prices = PolicyKey::ALL.iter().filter(|key| key.is_price());
                prices.for_each(|key| policy.put(*key, None));
                Self::Policy(Arc::new(policy))
            }
            other => other.clone(),
        }
    }
}

fn unpriced_make(make: &Make) -> Arc<Make> {
    let make = make.clone();
    Arc::new(Make {
        price: None,
        ..make
    })
}

const fn is_priced(subject: &Subject) -> bool {
    matches!(subject, Subject::Supplier(_) | Subject::Order(_))
}
