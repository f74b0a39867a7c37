//! Random logs: of jobs, as planned or with corrections, minutes and a person, and outside any job.

use fettlebook_model::command::{JobLog, LiquidAmount, LooseLog, PadUse, Said};
use fettlebook_model::take::Picked;
use fettlebook_model::{Command, Tag, decide};
use fettlebook_quantity::Volume;

use super::Act;
use crate::shop::{Shop, id, pad_use, step, tag};

/// Least seconds that a log may say of machines, by the contract.
const TIME_S_MIN: i64 = 60;

impl Act {
    pub(super) fn log(&self, said: Said, shop: &Shop) -> JobLog {
        let mut log = JobLog {
            said,
            job: Some(id(self.job)),
            first_day: self.figure % 5 < 2,
            ..JobLog::default()
        };
        if self.figure % 2 == 0 {
            log.picked = self.shown(shop);
        }
        self.minutes(&mut log);
        if self.more {
            log.pads = self.pads();
            log.bottles = self.bottles();
            log.bundles = self.counts(&["T"]);
            log.dropped_towel_count = self.figure.rem_euclid(3);
            log.swaps = match self.tags(&["P"]).as_slice() {
                [planned, used, ..] => vec![(*planned, *used)],
                _ => Vec::new(),
            };
        }
        log
    }

    /// A pick that was shown: what the book shows now, and a piece or two besides.
    pub(super) fn shown(&self, shop: &Shop) -> Vec<Picked> {
        let log = JobLog {
            job: Some(id(self.job)),
            ..JobLog::default()
        };
        let shown = decide(&shop.book, &Command::LogJob(Box::new(log)), shop.now);
        let mut picked = shown.map_or_else(|_| Vec::new(), |shown| shown.picked);
        picked.extend(self.tags(&["P", "B", "T"]).into_iter().map(|tag| Picked {
            tag,
            step: self.more.then(|| id("cut")),
            quantity: self.figure.abs(),
            spare: false,
        }));
        picked
    }

    pub(super) fn loose(&self, said: Said) -> LooseLog {
        LooseLog {
            said,
            step: Some(step("touch-up", "coarse-foam-150", "coarse-compound-1l")),
            machine: Some(tag("M-01")),
            plate: self.more.then(|| tag("BP-01")),
            section_count: self.figure.max(0),
            pads: self.pads(),
            bottles: self.bottles(),
            bundles: self.counts(&["T"]),
            sundries: self.counts(&["S"]),
            weighings: Vec::new(),
        }
    }

    fn pads(&self) -> Vec<PadUse> {
        let pads = self.tags(&["P"]);
        pads.iter()
            .map(|pad| PadUse {
                found: (self.figure % 5 == 0).then(|| "torn".parse().unwrap()),
                section_count: self.more.then_some(self.figure.rem_euclid(20)),
                ..pad_use(&pad.to_string())
            })
            .collect()
    }

    fn bottles(&self) -> Vec<(Tag, LiquidAmount)> {
        let amount = LiquidAmount::Volume(Volume::from_ul(self.figure * 500));
        self.tags(&["B"])
            .into_iter()
            .map(|tag| (tag, amount))
            .collect()
    }

    fn counts(&self, letters: &[&str]) -> Vec<(Tag, i64)> {
        let count = self.figure.rem_euclid(40);
        self.tags(letters)
            .into_iter()
            .map(|tag| (tag, count))
            .collect()
    }

    /// How long the machines ran, all together or the one, and who did it; of some logs neither is said.
    fn minutes(&self, log: &mut JobLog) {
        let time_s = TIME_S_MIN + self.figure.rem_euclid(1_300) * 40;
        log.machine_time_s = (self.figure % 3 == 0).then_some(time_s);
        if self.figure % 4 == 1 {
            log.machine_times = vec![(tag("M-01"), time_s / 2 + TIME_S_MIN)];
        }
        log.person = self.person();
    }

    /// One of two people, or nobody.
    pub(super) fn person(&self) -> String {
        let people = ["", "bench hand", "van hand"];
        let at = usize::try_from(self.figure.rem_euclid(5)).unwrap();
        people.get(at).copied().unwrap_or_default().to_owned()
    }
}
