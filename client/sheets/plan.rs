//! What an import of a folder would send: what is not there yet, in the order in which it rests on
//! one another, and what it passes over and why.
//!
//! It serves `book import --from`. Nothing is planned while a name leads nowhere; whether something
//! makes sense is the service's to say.

use std::collections::{BTreeMap, BTreeSet};

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Car, Job, JobState, Make, PadRow, Routine, Supplier};
use jiff::ZonedDateTime;

use super::{FILES, Found, Read};
use crate::fault::Problem;

mod pieces;

pub(crate) use pieces::Receipt;

/// A sort of make, by the word of its figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sort {
    /// A pad.
    Pad,
    /// A backing plate.
    Plate,
    /// A machine.
    Machine,
    /// A towel.
    Towel,
    /// A liquid.
    Liquid,
    /// A sundry.
    Sundry,
    /// A tool.
    Tool,
    /// A battery.
    Battery,
}

impl Sort {
    /// The sort of a make; none without figures.
    pub(crate) const fn of(make: &Make) -> Option<Self> {
        Some(match &make.figures {
            Some(Figures::Pad(_)) => Self::Pad,
            Some(Figures::Plate(_)) => Self::Plate,
            Some(Figures::Machine(_)) => Self::Machine,
            Some(Figures::Towel(_)) => Self::Towel,
            Some(Figures::Liquid(_)) => Self::Liquid,
            Some(Figures::Sundry(_)) => Self::Sundry,
            Some(Figures::Tool(_)) => Self::Tool,
            Some(Figures::Battery(_)) => Self::Battery,
            None => return None,
        })
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Pad => "pad",
            Self::Plate => "plate",
            Self::Machine => "machine",
            Self::Towel => "towel",
            Self::Liquid => "liquid",
            Self::Sundry => "sundry",
            Self::Tool => "tool",
            Self::Battery => "battery",
        }
    }
}

/// What the book holds already.
#[derive(Clone, Debug, Default)]
pub(crate) struct Known {
    /// Makes and their sorts.
    pub(crate) makes: BTreeMap<String, Option<Sort>>,
    /// Cars.
    pub(crate) cars: BTreeSet<String>,
    /// Routines.
    pub(crate) routines: BTreeSet<String>,
    /// Suppliers.
    pub(crate) suppliers: BTreeSet<String>,
    /// Tags, of what is binned too.
    pub(crate) tags: BTreeSet<String>,
    /// Jobs.
    pub(crate) jobs: BTreeSet<String>,
}

/// Something that is not sent, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct PassedOver {
    /// File it is in.
    pub(crate) file: &'static str,
    /// Id or tag.
    pub(crate) id: String,
    /// Why, a clause.
    pub(crate) why: &'static str,
}

/// What would be sent.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Plan {
    /// Makes to set up.
    pub(crate) makes: Vec<Read<Make>>,
    /// Cars to set up.
    pub(crate) cars: Vec<Read<Car>>,
    /// Routines to set up.
    pub(crate) routines: Vec<Read<Routine>>,
    /// Suppliers to set up, with their offers.
    pub(crate) suppliers: Vec<Read<Supplier>>,
    /// Pieces to receive that are no pads.
    pub(crate) receipts: Vec<Read<Receipt>>,
    /// Pads to take over with what they have behind them.
    pub(crate) pads: Vec<PadRow>,
    /// Jobs to book.
    pub(crate) jobs: Vec<Read<Job>>,
    /// What is not sent.
    pub(crate) passed_over: Vec<PassedOver>,
    /// What of the pieces that are sent cannot be taken over, a sentence each.
    pub(crate) left_behind: Vec<String>,
}

impl Plan {
    /// What is new in each file; offers are counted by their suppliers' lists.
    pub(crate) fn counts(&self) -> impl Iterator<Item = (&'static str, usize)> {
        let offers = self.suppliers.iter().map(|read| read.what.offers.len());
        let counts = [
            self.makes.len(),
            self.cars.len(),
            self.routines.len(),
            self.suppliers.len(),
            offers.sum(),
            self.pads.len().saturating_add(self.receipts.len()),
            self.jobs.len(),
        ];
        FILES.into_iter().zip(counts)
    }

    /// How many things are sent, offers with their suppliers.
    pub(crate) fn count(&self) -> usize {
        let [_, _, _, _, offers, ..] = FILES;
        let sent = self.counts().filter(|(file, _)| *file != offers);
        sent.map(|(_, count)| count).sum()
    }
}

const THERE: &str = "is there already";

/// Plans an import.
///
/// # Errors
/// Every name that leads nowhere, by file, line and column.
pub(crate) fn plan(found: Found, known: &Known, now: &ZonedDateTime) -> Result<Plan, Vec<Problem>> {
    let mut planner = Planner {
        names: names(&found, known),
        problems: Vec::new(),
        plan: Plan::default(),
    };
    planner.makes(found.makes, known);
    planner.cars(found.cars, known);
    planner.routines(found.routines, known);
    planner.suppliers(found.suppliers, known);
    planner.offers(found.offers, known);
    planner.pieces(found.kit, known, now);
    planner.jobs(found.jobs, known, now);
    if planner.problems.is_empty() {
        Ok(planner.plan)
    } else {
        Err(planner.problems)
    }
}

/// What is in the book or will be.
fn names(found: &Found, known: &Known) -> Known {
    let mut names = known.clone();
    for read in &found.makes {
        let sort = Sort::of(&read.what);
        names.makes.entry(read.what.make.clone()).or_insert(sort);
    }
    let cars = found.cars.iter().map(|read| read.what.car.clone());
    names.cars.extend(cars);
    let routines = found.routines.iter().map(|read| read.what.routine.clone());
    names.routines.extend(routines);
    let suppliers = found
        .suppliers
        .iter()
        .map(|read| read.what.supplier.clone());
    names.suppliers.extend(suppliers);
    names
}

/// A plan while it is made.
struct Planner {
    /// Names that may be led to.
    names: Known,
    problems: Vec<Problem>,
    plan: Plan,
}

impl Planner {
    fn wrong(&mut self, file: &str, line: i64, column: &str, text: String) {
        self.problems.push(Problem {
            file: file.to_owned(),
            line,
            column: column.to_owned(),
            text,
            todo: String::new(),
        });
    }

    fn passed(&mut self, file: &'static str, id: &str, why: &'static str) {
        self.plan.passed_over.push(PassedOver {
            file,
            id: id.to_owned(),
            why,
        });
    }

    /// A name must lead to something, unless it is empty where it may be.
    fn leads(&mut self, place: (&str, i64, &str), is: bool, name: &str, to: &str, of: &str) {
        let (file, line, column) = place;
        if !is && !name.is_empty() {
            let text = format!("No {to} goes by {name}, neither in {of} nor in the book.");
            self.wrong(file, line, column, text);
        }
    }

    fn make(&mut self, place: (&str, i64, &str), name: &str) {
        let [makes, ..] = FILES;
        let is = self.names.makes.contains_key(name);
        self.leads(place, is, name, "make", makes);
    }

    fn makes(&mut self, makes: Vec<Read<Make>>, known: &Known) {
        let [file, ..] = FILES;
        for read in makes {
            if known.makes.contains_key(&read.what.make) {
                self.passed(file, &read.what.make, THERE);
                continue;
            }
            if read.what.figures.is_none() {
                let text =
                    "The line has no figures; fill in those of its sort, such as pad.face_mm.";
                self.wrong(file, read.line, "", text.to_owned());
            }
            self.plan.makes.push(read);
        }
    }

    fn cars(&mut self, cars: Vec<Read<Car>>, known: &Known) {
        let [_, file, ..] = FILES;
        for read in cars {
            if known.cars.contains(&read.what.car) {
                self.passed(file, &read.what.car, THERE);
            } else {
                self.plan.cars.push(read);
            }
        }
    }

    fn routines(&mut self, routines: Vec<Read<Routine>>, known: &Known) {
        let [_, _, file, ..] = FILES;
        for read in routines {
            let routine = &read.what;
            if known.routines.contains(&routine.routine) {
                self.passed(file, &routine.routine, THERE);
                continue;
            }
            self.make((file, read.line, "towel_make"), &routine.towel_make);
            for (at, step) in routine.steps.iter().enumerate() {
                let line = read.line_within(0, at);
                if !step.by_hand {
                    self.make((file, line, "steps.machine_make"), &step.machine_make);
                }
                self.make((file, line, "steps.pad_make"), &step.pad_make);
                self.make((file, line, "steps.liquid_make"), &step.liquid_make);
                self.make((file, line, "steps.wipe_down_make"), &step.wipe_down_make);
                for share in &step.shares {
                    if !share.by_hand {
                        self.make(
                            (file, line, "steps.shares.machine_make"),
                            &share.machine_make,
                        );
                    }
                    self.make((file, line, "steps.shares.pad_make"), &share.pad_make);
                    self.make((file, line, "steps.shares.liquid_make"), &share.liquid_make);
                }
            }
            for (at, need) in routine.sundries.iter().enumerate() {
                let line = read.line_within(1, at);
                self.make((file, line, "sundries.make"), &need.make);
            }
            for (at, need) in routine.tools.iter().enumerate() {
                let line = read.line_within(2, at);
                self.make((file, line, "tools.make"), &need.make);
            }
            self.plan.routines.push(read);
        }
    }

    fn suppliers(&mut self, suppliers: Vec<Read<Supplier>>, known: &Known) {
        let [_, _, _, file, ..] = FILES;
        for read in suppliers {
            if known.suppliers.contains(&read.what.supplier) {
                self.passed(file, &read.what.supplier, THERE);
            } else {
                self.plan.suppliers.push(read);
            }
        }
    }

    /// Puts the offers on the lists of suppliers that are set up; one that is there keeps its list.
    fn offers(&mut self, offers: Vec<Read<super::prices::Offered>>, known: &Known) {
        let [_, _, _, suppliers, file, ..] = FILES;
        for read in offers {
            let (line, offered) = (read.line, read.what);
            let id = &offered.supplier;
            let is = self.names.suppliers.contains(id);
            self.leads((file, line, "supplier"), is, id, "supplier", suppliers);
            self.make((file, line, "make"), &offered.offer.make);
            if known.suppliers.contains(id) {
                let told = format!("{id} {}", offered.offer.make);
                self.passed(file, &told, "is for a supplier that is there already");
                continue;
            }
            let mut planned = self.plan.suppliers.iter_mut();
            if let Some(supplier) = planned.find(|read| read.what.supplier == *id) {
                supplier.what.offers.push(offered.offer);
            }
        }
    }

    fn jobs(&mut self, jobs: Vec<Read<Job>>, known: &Known, now: &ZonedDateTime) {
        let [_, cars, routines, _, _, _, file] = FILES;
        for read in jobs {
            let (line, job) = (read.line, &read.what);
            let is = self.names.cars.contains(&job.car);
            self.leads((file, line, "car"), is, &job.car, "car", cars);
            let is = self.names.routines.contains(&job.routine);
            self.leads(
                (file, line, "routine"),
                is,
                &job.routine,
                "routine",
                routines,
            );
            let start = job.start_time.as_ref().map_or(0, |start| start.seconds);
            let why = match job.state() {
                _ if known.jobs.contains(&job.job) => THERE,
                JobState::Done => "is done",
                JobState::CalledOff => "is called off",
                JobState::Booked | JobState::Unspecified
                    if start <= now.timestamp().as_second() =>
                {
                    "should have started before now"
                }
                JobState::Booked | JobState::Unspecified => {
                    self.plan.jobs.push(read);
                    continue;
                }
            };
            let id = job.job.clone();
            self.passed(file, &id, why);
        }
    }
}
