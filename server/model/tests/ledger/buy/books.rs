//! Random books of two to six lines in which something may lack for a job.

use fettlebook_model::Command;
use fettlebook_model::command::NotebookRow;
use fettlebook_model::job::{Job, Step};
use fettlebook_model::make::Grade;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::supplier::Offer;
use fettlebook_quantity::Volume;

use crate::shop::{
    Shop, foam, id, liquid, make, noted, offer, retired, routine, saloon_job, step, supplier,
};

/// Pads of the three grades.
const PADS: [&str; 3] = ["coarse-foam-150", "medium-foam-150", "fine-foam-150"];
/// Liquids of the three grades.
const LIQUIDS: [&str; 3] = [
    "coarse-compound-1l",
    "medium-polish-250ml",
    "fine-polish-500ml",
];
/// Steps by their pad and liquid, as places in the lists above: of two, three, four, five and six lines.
const ROUTINES: [&[(usize, usize)]; 5] = [
    &[(0, 0)],
    &[(0, 0), (2, 0)],
    &[(0, 0), (2, 2)],
    &[(0, 0), (1, 2), (2, 2)],
    &[(0, 0), (1, 1), (2, 2)],
];

/// A random book.
#[derive(Debug, Clone)]
pub(super) struct Story {
    routine: usize,
    /// Millions of a section each pad of a grade has worked.
    pads: [Vec<i64>; 3],
    /// Pads of each grade that tore.
    torn: [i64; 3],
    /// Bottles of each grade, mL.
    bottles: [Vec<i64>; 3],
    /// Pieces in a pack and cents a pack, of pads and then of liquids; none where nobody lists any.
    packs: Option<Vec<(i64, i64)>>,
}

/// Numbers that follow from a seed alone. Source: G. Marsaglia, *Xorshift RNGs*, Journal of Statistical
/// Software 8 (2003), from memory.
struct Dice(u64);

impl Dice {
    fn up_to(&mut self, least: i64, most: i64) -> i64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        let count = u64::try_from(most - least + 1).unwrap();
        least + i64::try_from((self.0 >> 11) % count).unwrap()
    }
}

impl Story {
    pub(super) fn of(seed: u64) -> Self {
        let mut dice = Dice(0x9e37_79b9_7f4a_7c15 ^ (seed + 1).wrapping_mul(0x2545_f491_4f6c_dd1d));
        let pads = [0, 1, 2].map(|_| {
            let least = dice.up_to(0, 1) * 6;
            let count = dice.up_to(least, 9 + least / 2);
            let worn = dice.up_to(0, 130);
            (0..count).map(|_| dice.up_to(0, worn)).collect()
        });
        let torn = [0, 1, 2].map(|_| dice.up_to(0, 3));
        let bottles = [0, 1, 2].map(|_| {
            let count = dice.up_to(0, 2);
            let most = dice.up_to(60, 180);
            (0..count).map(|_| dice.up_to(0, most)).collect()
        });
        let is_listed = dice.up_to(0, 3) > 0;
        let packs = (0..6)
            .map(|_| (dice.up_to(1, 6), dice.up_to(200, 4_000)))
            .collect();
        Self {
            routine: usize::try_from(dice.up_to(0, 4)).unwrap(),
            pads,
            torn,
            bottles,
            packs: is_listed.then_some(packs),
        }
    }

    /// The same with packs of one.
    pub(super) fn by_the_piece(mut self) -> Self {
        for (pack, _) in self.packs.iter_mut().flatten() {
            *pack = 1;
        }
        self
    }

    /// Two steps with so many pads each that have worked so many sections, so many that tore, and enough of
    /// everything else.
    pub(super) fn worn_alike(pads: usize, sections: i64, torn: i64) -> Self {
        Self {
            routine: 2,
            pads: [vec![sections; pads], Vec::new(), vec![sections; pads]],
            torn: [torn, 0, torn],
            bottles: [vec![900], Vec::new(), vec![450]],
            packs: None,
        }
    }

    /// Its book, with a job on Thursday the 12th of March.
    pub(super) fn shop(&self) -> Shop {
        let mut shop = Shop::new();
        shop.set_policy(PolicyKey::HandlingDays, 0);
        shop.say(Command::CreateMake {
            make: make(PADS[1], foam(Grade::Medium, 150)),
        });
        shop.say(Command::CreateMake {
            make: make(LIQUIDS[1], liquid(Grade::Medium, 250)),
        });
        let steps: Vec<Step> = ROUTINES[self.routine]
            .iter()
            .map(|(pad, liquid)| {
                step(
                    ["cut", "refine", "finish"][*pad],
                    PADS[*pad],
                    LIQUIDS[*liquid],
                )
            })
            .collect();
        shop.say(Command::CreateRoutine {
            routine: routine("of-the-story", steps),
        });
        self.stock(&mut shop);
        if let Some(packs) = &self.packs {
            let makes = PADS.iter().chain(&LIQUIDS);
            let offers: Vec<Offer> = makes
                .zip(packs)
                .map(|(make, (pack, cents))| {
                    let price = format!("{}.{:02}", cents / 100, cents % 100);
                    offer(make, *pack, &[(1, price.as_str())])
                })
                .collect();
            shop.supply(supplier("millrace", 1, offers));
        }
        self.book(&mut shop, "thursday", "2026-03-12 08:00");
        shop
    }

    pub(super) fn book(&self, shop: &mut Shop, job: &str, start: &str) {
        let job = Job {
            routine: id("of-the-story"),
            ..saloon_job(job, start)
        };
        shop.say(Command::BookJob { job });
    }

    fn stock(&self, shop: &mut Shop) {
        let mut rows: Vec<NotebookRow> = Vec::new();
        for (at, make) in PADS.iter().enumerate() {
            for worked in &self.pads[at] {
                let pad = format!("P-{}", rows.len() + 1);
                rows.push(noted(&pad, make, worked * 1_000_000));
            }
            for _ in 0..self.torn[at] {
                let pad = format!("P-{}", rows.len() + 1);
                rows.push(retired(&pad, make, 90_000_000, "torn"));
            }
        }
        if !rows.is_empty() {
            shop.import(rows);
        }
        for (make, bottles) in LIQUIDS.iter().zip(&self.bottles) {
            for ml in bottles {
                shop.receive_as(make, 1, |receipt| {
                    receipt.volume_ul = Some(Volume::from_ul(ml * 1_000));
                });
            }
        }
    }
}
