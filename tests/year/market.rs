//! The market of the simulated shop: two suppliers, what they ask, and how long they truly take.
//!
//! It serves the comparison of ways to order. What a supplier says stands in the book; how late it
//! truly is, how long its bottles keep and how long its pads live comes from the seed, and is the same
//! for every way to order. All figures are invented.

use std::collections::BTreeMap;

use fettlebook_model::Id;
use fettlebook_model::money::Money;
use fettlebook_model::supplier::{Offer, PriceBreak, Supplier};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Weibull};

use crate::ledger::{LIQUIDS, PADS, id};
use crate::truth::{PadTruth, Truth};

/// Towels of the routine.
pub(crate) const TOWEL: &str = "edgeless-towel-400";
/// Gloves of the routine, in pairs.
pub(crate) const GLOVES: &str = "nitrile-gloves-50";
/// Tape of the routine, in millimetres.
pub(crate) const TAPE: &str = "masking-tape-50-m";

/// The cheap supplier, with freight and free delivery.
pub(crate) const TERN: &str = "tern-quay";
/// The quick one, dearer and with a minimum order; somebody can also drive there.
pub(crate) const MILLRACE: &str = "millrace";

/// Goods from which Millrace Trade Counter delivers.
pub(crate) const MILLRACE_MIN: f64 = 25.0;
/// Freight of Tern Quay Supplies below free delivery.
pub(crate) const TERN_FREIGHT: f64 = 6.90;

/// How late a delivery is, days, each with how often out of a hundred.
const LATE: [(usize, u32); 3] = [(0, 60), (1, 25), (2, 15)];
/// Days of the calendar for which delays are drawn.
const CALENDAR_DAYS: usize = 420;
/// Deliveries of bottles out of a hundred that have not long to go.
const SHORT_DATED: u32 = 15;

/// What is bought, and at what price.
pub(crate) struct Ware {
    /// Make.
    pub(crate) make: &'static str,
    /// Tern: pieces in a pack, price of a pack, and from how many packs at which price.
    pub(crate) tern: (i64, &'static str, Option<(i64, &'static str)>),
    /// Millrace: pieces in a pack and its price.
    pub(crate) millrace: (i64, &'static str),
}

/// The price lists.
pub(crate) const WARES: [Ware; 7] = [
    Ware {
        make: PADS[0],
        tern: (2, "17.80", Some((5, "15.90"))),
        millrace: (1, "10.20"),
    },
    Ware {
        make: PADS[1],
        tern: (2, "18.60", Some((5, "16.60"))),
        millrace: (1, "10.70"),
    },
    Ware {
        make: LIQUIDS[0],
        tern: (1, "32.00", Some((3, "29.50"))),
        millrace: (1, "35.50"),
    },
    Ware {
        make: LIQUIDS[1],
        tern: (1, "24.00", Some((4, "22.00"))),
        millrace: (1, "26.90"),
    },
    Ware {
        make: TOWEL,
        tern: (12, "21.60", None),
        millrace: (12, "24.50"),
    },
    Ware {
        make: GLOVES,
        tern: (1, "12.80", None),
        millrace: (1, "13.90"),
    },
    Ware {
        make: TAPE,
        tern: (1, "4.20", Some((6, "3.70"))),
        millrace: (1, "4.80"),
    },
];

fn eur(amount: &str) -> Money {
    Money::parse(amount, "EUR").unwrap()
}

/// The suppliers as the book knows them.
pub(crate) fn suppliers() -> [Supplier; 2] {
    let offer = |make: &str, pack_count: i64, price: &str, more: Option<(i64, &str)>| Offer {
        make: id(make),
        pack_count,
        breaks: std::iter::once((1, price))
            .chain(more)
            .map(|(from_pack_count, price)| PriceBreak {
                from_pack_count,
                price: eur(price),
            })
            .collect(),
    };
    let tern = WARES.iter().map(|ware| {
        let (pieces, price, more) = ware.tern;
        offer(ware.make, pieces, price, more)
    });
    let millrace = WARES.iter().map(|ware| {
        let (pieces, price) = ware.millrace;
        offer(ware.make, pieces, price, None)
    });
    [
        Supplier {
            id: id(TERN),
            name: "Tern Quay Supplies".to_owned(),
            lead_days: 3,
            min_order: None,
            free_delivery_from: Some(eur("80")),
            freight: Some(eur("6.90")),
            order_days: Vec::new(),
            offers: tern.collect(),
            note: String::new(),
        },
        Supplier {
            id: id(MILLRACE),
            name: "Millrace Trade Counter".to_owned(),
            lead_days: 1,
            min_order: Some(eur("25")),
            free_delivery_from: None,
            freight: None,
            order_days: Vec::new(),
            offers: millrace.collect(),
            note: String::new(),
        },
    ]
}

/// Price of one piece at a supplier, without any break.
pub(crate) fn piece_price(supplier: &str, make: &str) -> f64 {
    let ware = WARES.iter().find(|ware| ware.make == make).unwrap();
    let (pieces, price) = match supplier {
        TERN => (ware.tern.0, ware.tern.1),
        _ => ware.millrace,
    };
    price.parse::<f64>().unwrap() / pieces as f64
}

/// What is true of the market and hidden from the book.
pub(crate) struct Market {
    /// Days late, by supplier and the day of the calendar on which it was ordered.
    late: BTreeMap<&'static str, Vec<usize>>,
    pads: [(PadTruth, ChaCha8Rng); 2],
    dates: ChaCha8Rng,
}

impl Market {
    /// The market of a seed.
    pub(crate) fn of(seed: u64, truth: &Truth) -> Self {
        let stream = |at: u64| {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            rng.set_stream(at);
            rng
        };
        let mut late = BTreeMap::new();
        for (at, name) in [TERN, MILLRACE].into_iter().enumerate() {
            let mut rng = stream(10 + at as u64);
            let days = (0..CALENDAR_DAYS).map(|_| late_by(rng.random_range(0..100)));
            late.insert(name, days.collect());
        }
        Self {
            late,
            pads: [(truth.pads[0], stream(20)), (truth.pads[1], stream(21))],
            dates: stream(30),
        }
    }

    /// Days that a delivery truly takes when it is ordered on this day of the calendar.
    pub(crate) fn lead_days(&self, supplier: &Id, ordered_on: usize) -> usize {
        let said = if supplier.as_str() == TERN { 3 } else { 1 };
        said + self.late[supplier.as_str()][ordered_on]
    }

    /// The true life of the next pad of a make: the n-th one bought is the same for everybody.
    pub(crate) fn next_life(&mut self, at: usize) -> f64 {
        let (PadTruth { shape, scale }, rng) = &mut self.pads[at];
        Weibull::new(*scale, *shape).unwrap().sample(rng)
    }

    /// Days until the bottles of a delivery are past their date.
    pub(crate) fn keeps_days(&mut self) -> i64 {
        if self.dates.random_range(0..100) < SHORT_DATED {
            self.dates.random_range(40..90)
        } else {
            self.dates.random_range(300..700)
        }
    }
}

fn late_by(mut of_hundred: u32) -> usize {
    for (days, share) in LATE {
        if of_hundred < share {
            return days;
        }
        of_hundred -= share;
    }
    0
}
