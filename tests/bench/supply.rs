//! A shop of 500 pieces with a day of five jobs, or with 40 booked jobs and 12 suppliers. All of it
//! invented.

use fettlebook_model::command::Said;
use fettlebook_model::job::Job;
use fettlebook_model::money::Money;
use fettlebook_model::supplier::{Offer, PriceBreak, Supplier};
use fettlebook_model::wear::BinReason;
use fettlebook_model::{Book, Command, Id, Moment};
use jiff::SignedDuration;

use crate::ledger::{CAR_COUNT, LIQUIDS, Ledger, PADS, id, job, start_of};

const SUPPLIERS: i64 = 12;
const JOBS: usize = 40;

/// 500 pieces, some pads of which have worn out.
fn stocked() -> Ledger {
    let mut ledger = Ledger::set_up();
    for make in PADS {
        let tags = ledger.receive(make, 200);
        ledger.say(&Command::Bin {
            said: Said::default(),
            tags: tags.into_iter().take(12).collect(),
            reason: BinReason::Torn,
            count: None,
        });
    }
    for liquid in LIQUIDS {
        ledger.receive(liquid, 49);
    }
    ledger
}

/// Five jobs booked on one day.
pub(crate) fn busy_day() -> (Book, Vec<Id>, Moment) {
    let mut ledger = stocked();
    let mut jobs = Vec::new();
    for hour in 0..5 {
        let job = Job {
            id: id(&format!("job-{hour}")),
            starts_at: start_of(1) + SignedDuration::from_hours(hour),
            ..job(1, 1)
        };
        jobs.push(job.id.clone());
        ledger.say(&Command::BookJob { job });
    }
    (ledger.book, jobs, ledger.now)
}

/// 40 booked jobs and 12 suppliers, and the moment it is.
pub(crate) fn busy_shop() -> (Book, Moment) {
    let mut ledger = stocked();
    for at in 1..=SUPPLIERS {
        ledger.say(&Command::CreateSupplier {
            supplier: supplier(at),
        });
    }
    for day in 0..JOBS {
        ledger.book_job(day, day % CAR_COUNT);
    }
    (ledger.book, ledger.now)
}

fn supplier(at: i64) -> Supplier {
    let offer = |make: &str| Offer {
        make: id(make),
        pack_count: 2,
        breaks: [(1, 20 + at), (5, 18 + at)]
            .map(|(from_pack_count, whole)| PriceBreak {
                from_pack_count,
                price: euro(whole),
            })
            .to_vec(),
    };
    Supplier {
        id: id(&format!("supplier-{at}")),
        name: format!("supplier {at}"),
        lead_days: 1 + at % 5,
        min_order: Some(euro(25)),
        free_delivery_from: Some(euro(80)),
        freight: Some(euro(7)),
        order_days: Vec::new(),
        offers: PADS.into_iter().chain(LIQUIDS).map(offer).collect(),
        note: String::new(),
    }
}

fn euro(whole: i64) -> Money {
    Money {
        amount: whole.into(),
        currency: currency(),
    }
}

#[allow(clippy::expect_used, reason = "the code is written in this file")]
fn currency() -> fettlebook_model::money::Currency {
    "EUR".parse().expect("a currency")
}
