//! Random things to say to the shop, put into words when they are said.

mod buying;
mod keeping;
mod logging;

use fettlebook_model::command::{Behind, Counted, FilmRead, JobTake, NotebookRow, Receipt, Said};
use fettlebook_model::film::{OfJob, PanelSpots};
use fettlebook_model::job::{Job, SecondDay};
use fettlebook_model::kit::{Inspection, Readiness};
use fettlebook_model::panel::Panel;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::{BinReason, Work};
use fettlebook_model::{Command, Seq, Tag};
use fettlebook_quantity::{Thickness, Volume};
use jiff::SignedDuration;
use jiff::civil::date;
use jiff::tz::Offset;
use proptest::bool::weighted;
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::{Strategy, any};
use proptest::sample::select;

use crate::shop::{Shop, id, noted, receipt, saloon_job, tag, weighing};

/// A sort of command.
#[derive(Debug, Clone, Copy)]
enum Sort {
    Receive,
    Import,
    Move,
    Wash,
    Dry,
    Weigh,
    Count,
    Fill,
    Aside,
    Return,
    Bin,
    Demote,
    Charge,
    Film,
    Policy,
    Book,
    Edit,
    CallOff,
    Take,
    Log,
    Loose,
    Supply,
    Revise,
    Order,
    Place,
    Close,
    Deliver,
    Reverse,
}

/// Every sort, the weightier ones more than once.
const SORTS: &[Sort] = &[
    Sort::Receive,
    Sort::Import,
    Sort::Move,
    Sort::Wash,
    Sort::Wash,
    Sort::Dry,
    Sort::Weigh,
    Sort::Weigh,
    Sort::Weigh,
    Sort::Count,
    Sort::Fill,
    Sort::Fill,
    Sort::Aside,
    Sort::Return,
    Sort::Bin,
    Sort::Demote,
    Sort::Charge,
    Sort::Charge,
    Sort::Film,
    Sort::Film,
    Sort::Policy,
    Sort::Book,
    Sort::Edit,
    Sort::CallOff,
    Sort::Take,
    Sort::Take,
    Sort::Log,
    Sort::Log,
    Sort::Log,
    Sort::Loose,
    Sort::Loose,
    Sort::Supply,
    Sort::Revise,
    Sort::Order,
    Sort::Order,
    Sort::Place,
    Sort::Close,
    Sort::Deliver,
    Sort::Deliver,
    Sort::Deliver,
    Sort::Reverse,
    Sort::Reverse,
];

/// Kit that may be named: some of the stocked shop, some that is received later.
const TAGS: &[&str] = &[
    "P-01", "P-02", "P-06", "P-08", "P-12", "P-13", "B-01", "B-02", "B-03", "B-04", "T-01", "T-02",
    "S-01", "S-02", "M-01", "BP-01", "TL-01", "BT-01", "BT-02",
];
/// Bottles that may be filled, and from which: of one make, of two, and from itself.
const FILLINGS: &[(&str, &str)] = &[
    ("B-03", "B-01"),
    ("B-01", "B-03"),
    ("B-04", "B-03"),
    ("B-01", "B-04"),
    ("B-02", "B-01"),
    ("B-01", "B-01"),
];
const JOBS: &[&str] = &["job-1", "job-2", "job-3"];
const MAKES: &[&str] = &[
    "coarse-foam-150",
    "fine-foam-150",
    "coarse-compound-1l",
    "edgeless-towel-400g",
    "nitrile-gloves",
];

/// One thing to say; what of its parts is said depends on the sort.
#[derive(Debug, Clone)]
pub(crate) struct Act {
    sort: Sort,
    tags: Vec<&'static str>,
    job: &'static str,
    make: &'static str,
    /// Any figure; a part of an act takes it within what the contract lets a request say.
    figure: i64,
    /// Hours that pass before it is said.
    pub(crate) wait_h: i64,
    /// Hours before that at which it was done; now when open.
    late_h: Option<i64>,
    /// Whether more is said than need be.
    more: bool,
    /// Whether it names kit of any sort, and some that is not there.
    astray: bool,
    /// The van that kept it, and how many of the last entries that had not seen.
    van: Option<(&'static str, u64)>,
}

/// Up to a score of things to say.
pub(crate) fn acts() -> impl Strategy<Value = Vec<Act>> {
    let what = (
        select(SORTS),
        vec(select(TAGS), 1..4),
        select(JOBS),
        select(MAKES),
        -3_i64..1_300,
    );
    let how = (
        0_i64..30,
        option::weighted(0.3, -1_i64..60),
        any::<bool>(),
        weighted(0.15),
        option::weighted(0.4, (select(keeping::VANS), 0_u64..6)),
    );
    let act = (what, how).prop_map(
        |((sort, tags, job, make, figure), (wait_h, late_h, more, astray, van))| Act {
            sort,
            tags,
            job,
            make,
            figure,
            wait_h,
            late_h,
            more,
            astray,
            van,
        },
    );
    vec(act, 1..20)
}

impl Act {
    /// Its command, as said to this shop.
    pub(crate) fn command(&self, shop: &Shop) -> Command {
        let said = Said {
            done_at: (self.late_h).map(|hours| shop.now - SignedDuration::from_hours(hours)),
            note: String::new(),
            kept: self.kept(shop),
        };
        match self.sort {
            Sort::Move | Sort::Wash | Sort::Dry | Sort::Aside | Sort::Return | Sort::Bin => {
                self.upkeep(said)
            }
            Sort::Weigh | Sort::Count | Sort::Demote => self.stocktake(said),
            Sort::Fill => self.filling(said),
            Sort::Charge => Command::Charge {
                said,
                tags: self.tags(&["BT"]),
            },
            Sort::Film => self.film(said),
            Sort::Receive => Command::Receive(Box::new(self.receipt(said))),
            Sort::Import => Command::ImportPads {
                note: said.note,
                rows: self.rows(shop),
            },
            Sort::Policy => Command::SetPolicies {
                changes: vec![(
                    PolicyKey::SparePadsCount,
                    self.more.then_some(self.figure % 12),
                )],
                note: String::new(),
            },
            Sort::Book => Command::BookJob {
                job: self.job(shop),
            },
            Sort::Edit => self.edit(shop),
            Sort::CallOff => Command::CallOff {
                said,
                job: id(self.job),
            },
            Sort::Take => Command::TakeJob(Box::new(self.take(said, shop))),
            Sort::Log => Command::LogJob(Box::new(self.log(said, shop))),
            Sort::Loose => Command::LogLoose(Box::new(self.loose(said))),
            Sort::Supply | Sort::Revise => self.supplier(shop),
            Sort::Order | Sort::Place | Sort::Close | Sort::Deliver => self.buying(said),
            Sort::Reverse => Command::Reverse {
                said,
                seq: self.seq(shop),
                past: None,
            },
        }
    }

    /// Its tags of these letters, each once; when it goes astray all of them, as they come, and one
    /// that nothing has.
    fn tags(&self, letters: &[&str]) -> Vec<Tag> {
        if self.astray {
            return self
                .tags
                .iter()
                .chain(&["P-99"])
                .map(|text| tag(text))
                .collect();
        }
        let mut tags: Vec<Tag> = self
            .tags
            .iter()
            .map(|text| tag(text))
            .filter(|tag| letters.contains(&tag.letters()))
            .collect();
        tags.sort();
        tags.dedup();
        tags
    }

    /// One bottle from another: as much as fits, or so much.
    fn filling(&self, said: Said) -> Command {
        let which = usize::try_from(self.figure.max(0)).unwrap() % FILLINGS.len();
        let (bottle, from) = FILLINGS[which];
        Command::Fill {
            said,
            bottle: tag(bottle),
            from: tag(from),
            volume_ul: (self.more).then(|| Volume::from_ul(self.figure.max(0) * 500)),
        }
    }

    /// Readings of the saloon: before or after a job, or beside none, of one panel or of two.
    fn film(&self, said: Said) -> Command {
        let job = id(self.job);
        let um = self.figure % 220;
        let read = |panel, um: &[i64]| PanelSpots {
            panel,
            spots_um: um.iter().copied().map(Thickness::from_um).collect(),
        };
        let mut panels = vec![read(Panel::Bonnet, &[um, um + 2, um + 5])];
        if self.more {
            panels.push(read(Panel::Roof, &[um]));
        }
        Command::RecordFilm(Box::new(FilmRead {
            said,
            car: id("medium-saloon-silver"),
            of_job: match um % 3 {
                0 => None,
                1 => Some(OfJob::Before(job)),
                _ => Some(OfJob::After(job)),
            },
            panels,
        }))
    }

    fn upkeep(&self, said: Said) -> Command {
        let tags = match self.sort {
            Sort::Wash | Sort::Dry => self.tags(&["P", "T"]),
            Sort::Bin if self.more => self.tags(&["T"]),
            _ => self.tags(&["P", "B", "T", "S", "M", "BP", "TL", "BT"]),
        };
        match self.sort {
            Sort::Move => Command::Move {
                said,
                tags,
                place: id("van-a"),
            },
            Sort::Wash => Command::Wash {
                said,
                inspections: self.looks(&tags),
                tags,
            },
            Sort::Dry => Command::MarkDry { said, tags },
            Sort::Return => Command::Return {
                said,
                tags,
                check_due: (self.figure % 4 == 0).then(|| date(2027, 3, 1)),
                is_clean: (self.figure % 3 == 0).then_some(self.more),
            },
            Sort::Bin => Command::Bin {
                said,
                tags,
                reason: select_word(&["torn", "empty", "lost", "precaution"], self.figure),
                count: self.more.then_some(self.figure.rem_euclid(30)),
            },
            _ => Command::SetAside {
                said,
                tags,
                reason: "dropped".parse().unwrap(),
            },
        }
    }

    /// What was found of the pads that were washed, where more is said.
    fn looks(&self, washed: &[Tag]) -> Vec<(Tag, Inspection)> {
        let found = Inspection {
            rebound_grade: self.figure.rem_euclid(5) + 1,
            edge_grade: self.figure.rem_euclid(3) + 1,
            face_grade: if self.astray {
                self.figure.clamp(1, 5)
            } else {
                5
            },
        };
        let looked_at = washed
            .iter()
            .filter(|tag| self.more && tag.letters() == "P");
        looked_at.map(|tag| (*tag, found)).collect()
    }

    /// A notebook of pads that came later, each as the figures have it.
    fn rows(&self, shop: &Shop) -> Vec<NotebookRow> {
        let behind = if self.more {
            Behind::Jobs(self.figure.rem_euclid(30))
        } else {
            Behind::Work(Work::from_micro_sections(self.figure.max(0) * 100_000))
        };
        let readiness = match self.figure % 5 {
            0 => Readiness::Ready,
            1 => Readiness::Soiled,
            2 => Readiness::Aside("inspect".parse().unwrap()),
            _ => Readiness::Binned(select_word(&["worn", "sold", "precaution"], self.figure)),
        };
        let first = shop.entries.len();
        let tag_of = |at: usize| {
            if self.astray {
                tag(self.tags[at])
            } else {
                tag(&format!("P-{}", 100 + first + at))
            }
        };
        (0..self.tags.len())
            .map(|at| NotebookRow {
                tag: tag_of(at),
                make: id(self.make),
                behind,
                wash_count: self.figure.rem_euclid(25),
                readiness,
                date: self.late_h.map(|hours| {
                    let then = shop.now - SignedDuration::from_hours(24 * hours);
                    Offset::UTC.to_datetime(then).date()
                }),
                ..noted("P-01", self.make, 0)
            })
            .collect()
    }

    fn stocktake(&self, said: Said) -> Command {
        let counted = match self.sort {
            Sort::Count => self.tags(&["B", "T", "S"]),
            _ => self.tags(&["T"]),
        };
        let tag = counted.first().copied().unwrap_or_else(|| tag("T-01"));
        let weighings = self.tags(&["B"]);
        match self.sort {
            Sort::Weigh => Command::Weigh {
                said,
                weighings: (weighings.iter())
                    .map(|tag| weighing(&tag.to_string(), self.figure.max(0)))
                    .collect(),
            },
            Sort::Count => Command::Count {
                said,
                tag,
                count: Counted {
                    quantity: Some(self.figure.max(0) * 700),
                    clean_count: Some(self.figure.max(0)),
                    soiled_count: Some(self.figure.max(0) / 2),
                },
            },
            _ => Command::Demote {
                said,
                tag,
                grade: "wheels".parse().unwrap(),
            },
        }
    }

    fn receipt(&self, said: Said) -> Receipt {
        let towels = self.make == "edgeless-towel-400g";
        Receipt {
            said,
            towel_count: if towels { self.figure.clamp(1, 30) } else { 0 },
            wash_count: (self.more && towels).then_some(self.figure.clamp(0, 49)),
            ..receipt(self.make, self.figure.rem_euclid(4))
        }
    }

    fn job(&self, shop: &Shop) -> Job {
        Job {
            starts_at: shop.now + SignedDuration::from_hours(self.figure % 40),
            left_out: if self.more {
                vec![Panel::Roof, Panel::Boot]
            } else {
                Vec::new()
            },
            person: self.person(),
            second_day: (self.figure % 3 == 0).then(|| SecondDay {
                starts_at: shop.now + SignedDuration::from_hours(self.figure % 40 + 30),
                from_step: None,
            }),
            ..saloon_job(self.job, "2026-03-05 08:00")
        }
    }

    fn edit(&self, shop: &Shop) -> Command {
        let job = self.job(shop);
        let held = shop.book.job(&job.id);
        let was = held.map_or_else(|| job.clone(), |held| held.as_ref().clone());
        Command::EditJob { was, job }
    }

    fn take(&self, said: Said, shop: &Shop) -> JobTake {
        let is_released = self.figure % 5 == 0;
        let is_shown = self.figure % 2 == 0 && !is_released;
        JobTake {
            said,
            job: id(self.job),
            is_released,
            picked: if is_shown {
                self.shown(shop)
            } else {
                Vec::new()
            },
            despite: if self.more {
                "they wait".to_owned()
            } else {
                String::new()
            },
        }
    }

    /// One of the last dozen entries, or none.
    fn seq(&self, shop: &Shop) -> Seq {
        let back = u64::try_from(self.figure.rem_euclid(13)).unwrap();
        Seq((shop.book.head().0 + 1).saturating_sub(back))
    }
}

/// One of these words, by a figure.
fn select_word(words: &[&str], figure: i64) -> BinReason {
    let count = i64::try_from(words.len()).unwrap();
    let at = usize::try_from(figure.rem_euclid(count)).unwrap();
    words[at].parse().unwrap()
}
