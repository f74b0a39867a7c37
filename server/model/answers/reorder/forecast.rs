//! The forecast: booked jobs run one after the other on a copy of the book, with what is on its way
//! coming in, and the check asked each time what has to be bought.
//!
//! Serves the reorder list. The check is the only judge of what a job needs, so that who follows the
//! list is told *go* by the same rule; it must never count the same kit for two jobs.

use jiff::civil::Date;

use super::Cause;
use super::parcel::{Parcel, on_their_way};
use crate::answers::check::{Line, Verdict, Washes, check_jobs, imagine, wash_all};
use crate::book::change::Stamp;
use crate::book::deed::Deed;
use crate::ground::exact::ceil_div;
use crate::ground::ids::{Id, Place, Tag};
use crate::ready::local_day::LocalDays;
use crate::ready::plan::plan_job;
use crate::ready::towel_use::grade_for;
use crate::trade::job::Job;
use crate::trade::kit::{
    BottleState, BundleState, MachineState, PadState, PlateState, State, SundryState,
};
use crate::trade::make::{Figures, Make};
use crate::trade::tally::Tally;
use crate::trade::tool::ToolState;
use crate::trade::towel::{TowelGrade, Wipings};
use crate::{Book, Moment};

/// Most rounds of buying and checking again for one job: what is short is bought in the first, what
/// its chance still asks for in the others.
const ROUNDS_MAX: usize = 16;
/// Letters of tags that are only imagined; their numbers follow on any that a person gave.
const IMAGINED_LETTERS: &str = "ZZZ";

/// Something that a booked job needs and that is not there.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Need {
    /// Make.
    pub(super) make: Id,
    /// Pieces: pads, towels by the towel, bottles, sundry packs.
    pub(super) count: i64,
    /// The job that needs it.
    pub(super) job: Id,
    /// The local day of that job.
    pub(super) on: Date,
    /// Whether the job would be short, or only carried with too small a chance.
    pub(super) cause: Cause,
}

/// What the forecast found.
pub(super) struct Forecast {
    /// What is needed, in the order of the jobs.
    pub(super) needs: Vec<Need>,
    /// The book after the last job, with what was on its way and what has to be bought in it.
    pub(super) after: Book,
    /// The book as each job leaves it, with the day; what comes by the next job's day is in it.
    pub(super) stages: Vec<(Date, Book)>,
    /// Jobs that could not be looked at, with why.
    pub(super) left_out: Vec<(Id, String)>,
    /// What checks stop on that is not bought by this list: plates, machines, paint film.
    pub(super) other_stops: Vec<String>,
}

/// Runs the booked jobs up to a day, with these parcels besides those that are on their way.
pub(super) fn run(book: &Book, through: Option<Date>, parcels: &[Parcel], now: Moment) -> Forecast {
    let today = LocalDays::of(book).day(now);
    let mut run = Run {
        forecast: Forecast {
            needs: Vec::new(),
            after: book.clone(),
            stages: Vec::new(),
            left_out: Vec::new(),
            other_stops: Vec::new(),
        },
        parcels: on_their_way(book, today)
            .chain(parcels.iter().cloned())
            .collect(),
        next_tag: book
            .next_tags(IMAGINED_LETTERS, 1)
            .first()
            .map_or(1, |tag| tag.number()),
        washes: Washes::default(),
        now,
    };
    run.parcels.sort_by_key(|parcel| parcel.on);
    wash_all(&mut run.forecast.after, now);
    let first = (today, run.forecast.after.clone());
    run.forecast.stages.push(first);
    let jobs: Vec<Job> = book
        .booked_jobs()
        .filter(|job| job.starts_at >= now)
        .filter(|job| through.is_none_or(|through| job.local_day() <= through))
        .map(|job| Job::clone(job))
        .collect();
    for job in &jobs {
        run.job(job);
    }
    run.washes.do_until(&mut run.forecast.after, Moment::MAX);
    run.arrive(None);
    let last_day = jobs.last().map_or(today, Job::local_day);
    let after = run.forecast.after.clone();
    run.forecast.stages.push((last_day, after));
    run.forecast
}

struct Run {
    forecast: Forecast,
    parcels: Vec<Parcel>,
    next_tag: u32,
    washes: Washes,
    now: Moment,
}

impl Run {
    fn job(&mut self, job: &Job) {
        self.washes
            .do_until(&mut self.forecast.after, job.starts_at);
        self.arrive(Some(job));
        for round in 0..=ROUNDS_MAX {
            let ids = std::slice::from_ref(&job.id);
            let checks = match check_jobs(&self.forecast.after, ids, self.now) {
                Ok(checks) => checks,
                Err(why) => {
                    self.forecast
                        .left_out
                        .push((job.id.clone(), why.to_string()));
                    return;
                }
            };
            let lines: Vec<Line> = checks.into_iter().flat_map(|check| check.lines).collect();
            if round == ROUNDS_MAX || !self.buy(job, &lines) {
                self.say_other_stops(job, &lines);
                break;
            }
        }
        imagine(&mut self.forecast.after, job);
        if let Ok(plan) = plan_job(&self.forecast.after, job) {
            self.washes.ask_after(&self.forecast.after, job, &plan);
        }
        let stage = (job.local_day(), self.forecast.after.clone());
        self.forecast.stages.push(stage);
    }

    /// Buys what the lines say; whether there was anything.
    fn buy(&mut self, job: &Job, lines: &[Line]) -> bool {
        let mut bought = false;
        for line in lines.iter().filter(|line| line.buy > 0) {
            let Some(make) = line.make.clone() else {
                continue;
            };
            let cause = if line.short > 0 {
                Cause::BookedJob
            } else {
                Cause::CarryChance
            };
            let count = line.buy.max(self.bottles_short(line));
            let parcel = Parcel::of_pieces(&self.forecast.after, &make, count, job.local_day());
            self.bring(&parcel, &job.place);
            self.forecast.needs.push(Need {
                make,
                count,
                job: job.id.clone(),
                on: job.local_day(),
                cause,
            });
            bought = true;
        }
        bought
    }

    /// Bottles that hold what a liquid line is short of: the check asks for one at a time.
    fn bottles_short(&self, line: &Line) -> i64 {
        let make = line
            .make
            .as_ref()
            .and_then(|id| self.forecast.after.make(id));
        match make.map(|make| &make.figures) {
            Some(Figures::Liquid(liquid)) => {
                ceil_div(line.short.into(), liquid.bottle_ul.ul().into())
            }
            _ => 0,
        }
    }

    fn say_other_stops(&mut self, job: &Job, lines: &[Line]) {
        for line in lines.iter().filter(|line| line.verdict == Verdict::Stop) {
            self.forecast.other_stops.push(format!(
                "{} stops on {}, which is not bought by this list: {}",
                job.id, line.what, line.reason
            ));
        }
    }

    /// Brings in what has come by a job's day; all of it without a job.
    fn arrive(&mut self, job: Option<&Job>) {
        let by = job.map_or(Date::MAX, Job::local_day);
        let count = self
            .parcels
            .iter()
            .take_while(|parcel| parcel.on <= by)
            .count();
        let come: Vec<Parcel> = self.parcels.drain(..count).collect();
        for parcel in come {
            let place = job.map(|job| job.place.clone());
            let place = place.or_else(|| self.forecast.after.places().into_iter().next());
            if let Some(place) = place {
                self.bring(&parcel, &place);
            }
        }
    }

    /// Puts new pieces of a make into the imagined kit, as they were from the beginning.
    fn bring(&mut self, parcel: &Parcel, place: &Place) {
        let Some(make) = self.forecast.after.make(&parcel.make).cloned() else {
            return;
        };
        // A pack of towels is one bundle.
        let (pieces, towels) = match &make.figures {
            Figures::Towel(_) => (parcel.pack_count, parcel.pieces_per_pack),
            _ => {
                let pieces = parcel.pack_count.saturating_mul(parcel.pieces_per_pack);
                (pieces, 0)
            }
        };
        for _ in 0..pieces {
            let Some(tag) = Tag::new(IMAGINED_LETTERS, self.next_tag) else {
                return;
            };
            self.next_tag = self.next_tag.saturating_add(1);
            let deed = Deed::Received {
                tag,
                make: make.id.clone(),
                place: place.clone(),
                state: new_state(&make, towels, grade_for(&self.forecast.after, &make.id)),
                readiness: None,
                at: Some(self.now),
                cost: None,
            };
            let stamp = self.stamp(self.now);
            self.forecast.after.take(&deed, stamp);
        }
    }

    fn stamp(&self, done_at: Moment) -> Stamp<'static> {
        Stamp::unreported(self.forecast.after.head(), done_at)
    }
}

/// A new piece of a make.
fn new_state(make: &Make, towel_count: i64, grade: TowelGrade) -> State {
    match &make.figures {
        Figures::Pad(_) => State::Pad(PadState::default()),
        Figures::Plate(_) => State::Plate(PlateState::default()),
        Figures::Machine(_) => State::Machine(MachineState::default()),
        Figures::Towel(_) => State::Bundle(BundleState {
            clean_count: towel_count,
            soiled_count: 0,
            drying_count: 0,
            wash_count: 0,
            grade,
            wipings: Wipings::default(),
        }),
        Figures::Liquid(liquid) => State::Bottle(BottleState {
            left_ul: liquid.bottle_ul,
            full_ul: liquid.bottle_ul,
            tare_mg: liquid.tare_mg,
            lot: String::new(),
            expiry: None,
            opened_at: None,
            measured_at: None,
            used_at: None,
            tally: Tally::default(),
            found_tare_mg: None,
            waiting: None,
        }),
        Figures::Sundry(sundry) => State::Sundry(SundryState {
            left_quantity: sundry.pack_quantity,
            counted_at: None,
        }),
        Figures::Tool(_) => State::Tool(ToolState::default()),
    }
}
