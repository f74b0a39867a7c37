//! How worn each piece of the kit is by its own clock, and how many jobs it has left.
//!
//! Serves the whole kit at a glance. Pads go by work and washes, plates by hours and pad changes, machines by
//! hours, towels by the washes of their bundle, batteries by charges, by which each holds less. What has no rated
//! life says so.

use std::collections::BTreeMap;

use fettlebook_quantity::exact_f64;

use super::job_takes::{Takes, takes_of};
use super::jobs_left::jobs_left;
use super::wear_report::{LifeRange, PadLeft, left_of};
use crate::book::damage::{band_of, damage_of, wear_band};
use crate::ground::ids::Id;
use crate::maths::moments::Moments;
use crate::ready::batteries::likely_run;
use crate::ready::lives::{MakeLife, UsualJob, pad_figures, usual_job};
use crate::trade::job::{Job, JobState};
use crate::trade::kit::{Piece, State};
use crate::trade::make::{Figures, FilledFigure, Make};
use crate::trade::policy::Policy;
use crate::trade::wear::{Band, miner};
use crate::{Book, Moment};

const S_AN_HOUR: i64 = 3_600;
const MICRO_SECTIONS: i64 = 1_000_000;
/// Latest jobs that say what one takes. Basis: ours, as for the kept levels.
const JOBS_LOOKED_AT: usize = 6;

/// A clock of a piece: how far it has run, and how far it is rated to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Clock {
    /// So far.
    pub count: i64,
    /// Rated; `None` where nothing says.
    pub rated: Option<i64>,
}

/// How worn a piece is.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceWear<'a> {
    /// The piece.
    pub piece: &'a Piece,
    /// Its make.
    pub make: &'a Make,
    /// Work of a pad, millionths of a reference section.
    pub work_micro_sections: Option<Clock>,
    /// Running time of a plate or machine, s.
    pub run_time_s: Option<Clock>,
    /// Washes of a pad or bundle.
    pub wash_count: Option<Clock>,
    /// Pad changes of a plate.
    pub change_count: Option<Clock>,
    /// Charges of a battery.
    pub charge_count: Option<Clock>,
    /// Time on paint that a charge of a battery gives, s, and that one of a new battery gives.
    pub charge_run_s: Option<Clock>,
    /// Part of the rated life that is used; `None` where nothing rates it.
    pub damage: Option<f64>,
    /// Its band.
    pub band: Option<Band>,
    /// Jobs it has left of the kind that it usually goes to; `None` where that is not known.
    pub jobs_left: Option<LifeRange>,
    /// What that rests on, a sentence.
    pub rests_on: String,
}

/// Whether a piece of the kit has a clock: pads, plates, machines, bundles and batteries in service.
pub fn is_clocked(piece: &Piece) -> bool {
    let is_worn = matches!(
        piece.state,
        State::Pad(_) | State::Plate(_) | State::Machine(_) | State::Bundle(_) | State::Battery(_)
    );
    is_worn && !piece.is_binned()
}

/// The clocks of the pieces of a book, what several of them rest on being worked out once.
pub struct Clocks<'a> {
    book: &'a Book,
    now: Moment,
    lives: BTreeMap<&'a Id, Option<(MakeLife, UsualJob)>>,
    /// What a job takes of each make.
    takes: Option<Takes>,
}

impl<'a> Clocks<'a> {
    /// Of a book at a moment.
    #[must_use]
    pub const fn of(book: &'a Book, now: Moment) -> Self {
        Self {
            book,
            now,
            lives: BTreeMap::new(),
            takes: None,
        }
    }

    /// How worn a piece is; `None` of what has no clock.
    pub fn read(&mut self, piece: &'a Piece) -> Option<PieceWear<'a>> {
        if !is_clocked(piece) {
            return None;
        }
        let make = self.book.make(&piece.make)?;
        let bare = PieceWear {
            piece,
            make,
            work_micro_sections: None,
            run_time_s: None,
            wash_count: None,
            change_count: None,
            charge_count: None,
            charge_run_s: None,
            damage: damage_of(self.book, piece),
            band: wear_band(self.book, piece),
            jobs_left: None,
            rests_on: String::new(),
        };
        Some(match (&piece.state, &make.figures) {
            (State::Pad(pad), Figures::Pad(figures)) => {
                let left = self.pad_left(piece, make);
                PieceWear {
                    work_micro_sections: Some(Clock {
                        count: pad.work.micro_sections(),
                        rated: figures
                            .rated_work_sections
                            .map(|rated| rated.saturating_mul(MICRO_SECTIONS)),
                    }),
                    wash_count: Some(Clock {
                        count: pad.wash_count,
                        rated: figures.rated_wash_count,
                    }),
                    jobs_left: left.as_ref().map(|left| left.jobs_left),
                    rests_on: left.map(|left| left.rests_on).unwrap_or_default(),
                    ..bare
                }
            }
            (State::Plate(plate), Figures::Plate(figures)) => PieceWear {
                run_time_s: Some(Clock {
                    count: plate.run_time_ms.div_euclid(1_000),
                    rated: figures
                        .rated_run_h
                        .map(|hours| hours.saturating_mul(S_AN_HOUR)),
                }),
                change_count: Some(Clock {
                    count: plate.change_count,
                    rated: figures.rated_change_count,
                }),
                jobs_left: self.plate_jobs(piece),
                rests_on: rated_by(
                    make,
                    self.book.policy(),
                    [FilledFigure::RatedRunH, FilledFigure::RatedChangeCount],
                ),
                ..bare
            },
            (State::Bundle(bundle), Figures::Towel(figures)) => {
                let rated = figures.demote_wash_count.filter(|washes| *washes > 0);
                let damage =
                    rated.map(|rated| miner(&[(exact_f64(bundle.wash_count), exact_f64(rated))]));
                PieceWear {
                    wash_count: Some(Clock {
                        count: bundle.wash_count,
                        rated,
                    }),
                    damage,
                    band: damage.map(|damage| band_of(self.book.policy(), damage)),
                    rests_on: rated_by(
                        make,
                        self.book.policy(),
                        [FilledFigure::DemoteWashCount, FilledFigure::DemoteWashCount],
                    ),
                    ..bare
                }
            }
            (State::Battery(battery), Figures::Battery(figures)) => {
                let run = likely_run(self.book, piece)?;
                PieceWear {
                    charge_count: Some(Clock {
                        count: battery.charge_count,
                        rated: figures.rated_charge_count,
                    }),
                    charge_run_s: Some(Clock {
                        count: run.run_ms.div_euclid(1_000),
                        rated: Some(run.new_run_ms.div_euclid(1_000)),
                    }),
                    rests_on: run.rests_on,
                    ..bare
                }
            }
            (State::Machine(machine), _) => PieceWear {
                run_time_s: Some(Clock {
                    count: machine.run_time_ms.div_euclid(1_000),
                    rated: None,
                }),
                rests_on: "No life is rated for a machine: its hours alone are told.".to_owned(),
                ..bare
            },
            _ => bare,
        })
    }

    fn pad_left(&mut self, piece: &Piece, make: &'a Make) -> Option<PadLeft> {
        let book = self.book;
        let (life, usual) = self
            .lives
            .entry(&make.id)
            .or_insert_with(|| {
                let figures = pad_figures(make)?;
                let life = MakeLife::of(book, &make.id, figures).ok()?;
                Some((life, usual_job(book, make, figures)))
            })
            .as_ref()?;
        left_of(book, piece, life, *usual, self.now)
    }

    /// Jobs that a plate has left, by what the latest jobs took of its make.
    fn plate_jobs(&mut self, piece: &Piece) -> Option<LifeRange> {
        let damage = damage_of(self.book, piece)?;
        let takes = self.takes.get_or_insert_with(|| usual_takes(self.book));
        let takes = *takes.get(&piece.make)?;
        Some(jobs_left(1.0 - damage, |jobs| takes.many(jobs)))
    }
}

/// What a job takes of each make that it takes any of, by the latest jobs of the book.
fn usual_takes(book: &Book) -> Takes {
    let jobs = book.jobs().map(AsRef::as_ref);
    let mut jobs: Vec<&Job> = jobs
        .filter(|job| job.state != JobState::CalledOff)
        .collect();
    jobs.sort_by_key(|job| std::cmp::Reverse(job.starts_at));
    let latest: Vec<Takes> = jobs
        .into_iter()
        .take(JOBS_LOOKED_AT)
        .filter_map(|job| takes_of(book, job))
        .collect();
    let mut by_make: BTreeMap<Id, Vec<Moments>> = BTreeMap::new();
    for (make, takes) in latest.into_iter().flatten() {
        by_make.entry(make).or_default().push(takes);
    }
    let makes = by_make.into_iter();
    makes
        .map(|(make, takes)| (make, Moments::one_of(&takes)))
        .collect()
}

/// Whether ratings are from the policy or were given.
fn rated_by(make: &Make, policy: &Policy, figures: [FilledFigure; 2]) -> String {
    let from_policy = make.from_policy(policy);
    let is_filled = |figure: &FilledFigure| from_policy.iter().any(|from| from.figure == *figure);
    let filled = figures.iter().filter(|figure| is_filled(figure)).count();
    match filled {
        0 => "Rests on the rating that you gave.".to_owned(),
        2 => "Rests on the rating of the policy.".to_owned(),
        _ => "Rests on the ratings of you and of the policy.".to_owned(),
    }
}
