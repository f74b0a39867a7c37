//! Random books in which something lacks for the jobs to come.

use std::collections::BTreeMap;

use fettlebook_model::command::NotebookRow;
use fettlebook_model::job::Job;
use fettlebook_model::kit::Readiness;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::supplier::{OrderDay, Supplier};
use fettlebook_model::{Command, Moment};
use fettlebook_quantity::Volume;
use jiff::ToSpan as _;
use jiff::civil::Date;
use proptest::collection::{btree_map, vec};
use proptest::option;
use proptest::prelude::{Just, Strategy, any, prop_oneof};
use proptest::sample::select;

use crate::shop::{Shop, at, eur, id, noted, offer, routine, saloon_job, step, supplier};

/// A random book before anything is ordered.
#[derive(Debug, Clone)]
pub(super) struct Story {
    /// Coarse and fine pads: hundredths of their rated work, and whether ready, soiled or aside.
    pub(super) pads: [Vec<(i64, u8)>; 2],
    /// Bottles of compound and polish: mL left, and days to the date on them.
    pub(super) bottles: [Vec<(i64, Option<i64>)>; 2],
    /// Bundles of towels: clean, soiled, washes.
    pub(super) bundles: Vec<(i64, i64, i64)>,
    /// Pairs of gloves.
    pub(super) pairs: i64,
    /// Jobs by the day from today and whether after four o'clock: which routine.
    pub(super) jobs: BTreeMap<(i64, bool), &'static str>,
    /// Packs that are on their way of each make.
    pub(super) on_its_way: Vec<(&'static str, i64)>,
    /// Days the two suppliers take, and whether they take orders on Mondays and Thursdays only.
    pub(super) leads: (i64, i64),
    pub(super) two_days: bool,
    /// Pieces in a pack.
    pub(super) pack_counts: Vec<i64>,
    pub(super) handling_days: i64,
    pub(super) spare_count: i64,
}

const MAKES: [&str; 5] = [
    "coarse-foam-150",
    "fine-foam-150",
    "coarse-compound-1l",
    "fine-polish-500ml",
    "edgeless-towel-400g",
];

pub(super) fn stories() -> impl Strategy<Value = Story> {
    let pads = || vec((0_i64..120, 0_u8..5), 0..9);
    let bottle = || (0_i64..130, option::of(0_i64..40));
    let bottles = || vec(bottle(), 0..3);
    let bundle = (0_i64..25, 0_i64..25, prop_oneof![Just(0_i64), 44_i64..50]);
    let stock = (
        [pads(), pads()],
        [bottles(), bottles()],
        vec(bundle, 0..4),
        0_i64..8,
    );
    let job = select(&["two-step", "cut-only", "twice"][..]);
    let work = (
        btree_map((10_i64..16, any::<bool>()), job, 1..=4),
        vec((select(&MAKES[..]), 1_i64..3), 0..3),
        (1_i64..4, 1_i64..4),
        any::<bool>(),
    );
    let terms = (vec(1_i64..5, 5), 0_i64..3, 0_i64..3);
    (stock, work, terms).prop_map(|(stock, work, terms)| Story {
        pads: stock.0,
        bottles: stock.1,
        bundles: stock.2,
        pairs: stock.3,
        jobs: work.0,
        on_its_way: work.1,
        leads: work.2,
        two_days: work.3,
        pack_counts: terms.0,
        handling_days: terms.1,
        spare_count: terms.2,
    })
}

/// Days after the day on which the list is made, Wednesday the 4th of March 2026.
fn day(ahead: i64) -> Date {
    "2026-03-04".parse::<Date>().unwrap() + ahead.days()
}

pub(super) fn moment(day: Date, hour: i64) -> Moment {
    at(&format!("{day} {hour:02}:00"))
}

impl Story {
    /// Its book, at four in the afternoon.
    pub(super) fn shop(&self) -> Shop {
        let mut shop = Shop::new();
        shop.set_policy(PolicyKey::HandlingDays, self.handling_days);
        shop.set_policy(PolicyKey::SparePadsCount, self.spare_count);
        let cut = step("cut", "coarse-foam-150", "coarse-compound-1l");
        let again = step("again", "coarse-foam-150", "coarse-compound-1l");
        let mut cut_only = routine("cut-only", vec![cut.clone()]);
        cut_only.towel_make = Some(id("edgeless-towel-400g"));
        for routine in [cut_only, routine("twice", vec![cut, again])] {
            shop.say(Command::CreateRoutine { routine });
        }
        self.stock(&mut shop);
        self.list_prices(&mut shop);
        for (make, count) in &self.on_its_way {
            shop.order_packs("tern-quay", make, *count);
        }
        for ((ahead, is_late), key) in &self.jobs {
            // The kit of an early job is in the wash before a late one starts.
            let hour = if *is_late { 16 } else { 6 };
            let job = Job {
                routine: id(key),
                starts_at: moment(day(*ahead), hour),
                ..saloon_job(&format!("job-{ahead}-{hour}"), "2026-03-05 08:00")
            };
            shop.say(Command::BookJob { job });
        }
        shop
    }

    fn stock(&self, shop: &mut Shop) {
        let mut rows = Vec::new();
        for (make, rated, pads) in [
            (MAKES[0], 130, &self.pads[0]),
            (MAKES[1], 110, &self.pads[1]),
        ] {
            for (hundredths, how) in pads {
                let readiness = match how {
                    0 => Readiness::Aside("inspect".parse().unwrap()),
                    1 | 2 => Readiness::Soiled,
                    _ => Readiness::Ready,
                };
                let pad = format!("P-{}", rows.len() + 1);
                rows.push(NotebookRow {
                    readiness,
                    ..noted(&pad, make, hundredths * rated * 10_000)
                });
            }
        }
        if !rows.is_empty() {
            shop.import(rows);
        }
        for (make, bottles) in [(MAKES[2], &self.bottles[0]), (MAKES[3], &self.bottles[1])] {
            for (ml, days) in bottles {
                shop.receive_as(make, 1, |receipt| {
                    receipt.volume_ul = Some(Volume::from_ul(ml * 1_000));
                    receipt.expiry = days.map(day);
                });
            }
        }
        for (at, (clean, soiled, washes)) in self.bundles.iter().enumerate() {
            shop.receive_towels((clean + soiled).max(1), *washes);
            shop.count_towels(&format!("T-{}", at + 1), *clean, *soiled);
        }
        if self.pairs > 0 {
            shop.receive("nitrile-gloves", 1);
            shop.count("S-01", self.pairs);
        }
    }

    /// Two suppliers with the same makes, of which the second is cheaper by the pack for the half.
    fn list_prices(&self, shop: &mut Shop) {
        let order_days = if self.two_days {
            vec![OrderDay::Monday, OrderDay::Thursday]
        } else {
            Vec::new()
        };
        let makes = MAKES.iter().chain(&["nitrile-gloves"]);
        let packs = self.pack_counts.iter().chain(&[1]);
        let offers: Vec<_> = makes
            .zip(packs)
            .map(|(make, pack)| {
                // A delivery of towels is one bundle, as what is on its way is thought of.
                let pack = if *make == MAKES[4] { pack * 5 } else { *pack };
                offer(make, pack, &[(1, "10.00"), (3, "8.00")])
            })
            .collect();
        let mut dearer = offers.clone();
        for (at, offer) in dearer.iter_mut().enumerate() {
            let price = if at % 2 == 0 { "9.00" } else { "11.00" };
            offer.breaks[0].price = eur(price);
            offer.breaks.truncate(1);
        }
        let (first, second) = self.leads;
        for (key, lead, offers) in [("tern-quay", first, offers), ("millrace", second, dearer)] {
            shop.supply(Supplier {
                order_days: order_days.clone(),
                ..supplier(key, lead, offers)
            });
        }
    }
}

/// A story of an empty shop.
pub(super) fn empty() -> Story {
    Story {
        pads: [Vec::new(), Vec::new()],
        bottles: [Vec::new(), Vec::new()],
        bundles: Vec::new(),
        pairs: 0,
        jobs: BTreeMap::new(),
        on_its_way: Vec::new(),
        leads: (1, 1),
        two_days: false,
        pack_counts: vec![1; 5],
        handling_days: 0,
        spare_count: 1,
    }
}
