//! What a job takes of batteries, by their rating and by what the shop's own logs say.
//!
//! It learns from logs in which a person said which batteries ran: what a plan took as used teaches nothing.
//! A charge is held against what the rating gives after as many charges, so that its age counts once.

use fettlebook_quantity::{Seconds, exact_f64, round_to_i64};

use crate::Book;
use crate::ground::exact::ceil_div;
use crate::ground::exact::product;
use crate::ground::ids::Id;
use crate::maths::credibility::{Predicted, Span, UseBelief, use_belief};
use crate::ready::plan::{Plan, StepPlan};
use crate::ready::real_use::{against_plan, credibility_settings};
use crate::ready::times::Paces;
use crate::trade::job::Job;
use crate::trade::kit::Piece;
use crate::trade::logged::Ran;
use crate::trade::make::{Figures, Make};
use crate::trade::policy::{Policy, PolicyKey, permille};

/// Jobs whose logs teach, the latest first; older ones tell of batteries that were younger.
const JOBS_LEARNT_FROM: usize = 40;
/// Jobs looked at for these.
const JOBS_LOOKED_AT: usize = 400;
/// Millionths in a whole.
const MICRO: f64 = 1e6;

/// What the machines of a job that share batteries draw from them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Drawn<'a> {
    /// Their makes, in the order of the steps.
    pub machines: Vec<&'a Id>,
    /// Battery makes that fit them; empty where the book has none.
    pub batteries: Vec<&'a Make>,
    /// Time that they run, ms.
    pub time_ms: i64,
}

impl Drawn<'_> {
    /// Time that their batteries should last for, ms: with what is kept in hand.
    pub(crate) fn wanted_ms(&self, policy: &Policy) -> i64 {
        let reserve = policy.value(PolicyKey::BatteryReservePermille);
        ceil_div(product([self.time_ms, reserve]), 1_000)
    }

    /// Whether a battery is of a make that fits them.
    pub(crate) fn takes(&self, piece: &Piece) -> bool {
        self.batteries.iter().any(|make| make.id == piece.make)
    }
}

/// What the cordless machines of a job draw, those that take the same batteries together.
pub(crate) fn drawn<'a>(book: &'a Book, plan: &'a Plan) -> Vec<Drawn<'a>> {
    let mut all: Vec<Drawn<'a>> = Vec::new();
    for planned in &plan.steps {
        let Some(machine) = &planned.step.machine_make else {
            continue;
        };
        let batteries = fitting(book, machine);
        if batteries.is_empty() && !is_cordless(book, machine) {
            continue;
        }
        let same = |one: &&mut Drawn<'_>| {
            one.machines.contains(&machine) || (!batteries.is_empty() && one.batteries == batteries)
        };
        match all.iter_mut().find(same) {
            Some(one) => {
                one.time_ms = one.time_ms.saturating_add(planned.machine_ms());
                if !one.machines.contains(&machine) {
                    one.machines.push(machine);
                }
            }
            None => all.push(Drawn {
                machines: vec![machine],
                batteries,
                time_ms: planned.machine_ms(),
            }),
        }
    }
    all
}

/// The same, for as long as machines run in this shop, and for as long as a log says of those that ran.
pub(crate) fn drawn_really<'a>(book: &'a Book, plan: &'a Plan, ran: &[Ran]) -> Vec<Drawn<'a>> {
    let mut all = drawn(book, plan);
    if all.is_empty() {
        return all;
    }
    let paces = Paces::of(book);
    // The plan of a log has the time of what ran already.
    let time_ms = |planned: &StepPlan| {
        let is_said = ran
            .iter()
            .any(|ran| planned.step.machine_make.as_ref() == Some(&ran.machine));
        if is_said {
            planned.machine_ms()
        } else {
            paces.of_step(planned)
        }
    };
    for one in &mut all {
        let is_of = |planned: &&StepPlan| {
            let machine = planned.step.machine_make.as_ref();
            machine.is_some_and(|machine| one.machines.contains(&machine))
        };
        let times = plan.steps.iter().filter(is_of).map(time_ms);
        one.time_ms = times.fold(0, i64::saturating_add);
    }
    all
}

/// Battery makes that fit a machine make, by id.
fn fitting<'a>(book: &'a Book, machine: &Id) -> Vec<&'a Make> {
    let makes = book.makes().map(AsRef::as_ref);
    makes
        .filter(|make| match &make.figures {
            Figures::Battery(battery) => battery.fits(machine),
            _ => false,
        })
        .collect()
}

fn is_cordless(book: &Book, machine: &Id) -> bool {
    match book.make(machine).map(|make| &make.figures) {
        Some(Figures::Machine(machine)) => machine.cordless,
        _ => false,
    }
}

/// How long the charger takes to fill a battery.
pub(crate) fn charge_time(book: &Book, piece: &Piece) -> Seconds {
    let open = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Battery(battery)) => battery.charge_time_s,
        _ => None,
    };
    let usual = book.policy().value(PolicyKey::BatteryChargeTimeS);
    open.unwrap_or(Seconds::from_s(usual))
}

/// Time on paint that a charge of a battery is rated for as it stands, ms; none of what is no battery.
pub(crate) fn rated_run_ms(book: &Book, piece: &Piece) -> Option<i64> {
    let charges = piece.battery()?.charge_count;
    let make = book.make(&piece.make)?;
    rated_of_make_ms(book, make, charges)
}

/// Time on paint that a charge of a make is rated for after so many, ms.
pub(crate) fn rated_of_make_ms(book: &Book, make: &Make, charge_count: i64) -> Option<i64> {
    let Figures::Battery(battery) = &make.figures else {
        return None;
    };
    let keeps = permille(book.policy(), PolicyKey::BatteryKeepsPermille);
    Some(battery.rated_run_ms(charge_count, keeps))
}

/// How long a charge of a battery lasts as this shop works.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LikelyRun {
    /// Time on paint that a charge of it gives, ms.
    pub run_ms: i64,
    /// Time that one of a new battery gives, ms.
    pub new_run_ms: i64,
    /// What that rests on, a sentence.
    pub rests_on: String,
}

/// How long a charge of a battery lasts; none of what is no battery.
#[must_use]
pub fn likely_run(book: &Book, piece: &Piece) -> Option<LikelyRun> {
    let rated_ms = rated_run_ms(book, piece)?;
    let new_ms = rated_of_make_ms(book, book.make(&piece.make)?, 0)?;
    let charge_use = ChargeUse::of(book, &piece.make, 1.0);
    Some(LikelyRun {
        run_ms: charge_use.run_ms(rated_ms),
        new_run_ms: charge_use.run_ms(new_ms),
        rests_on: charge_use.rests_on(),
    })
}

/// What is believed of the charges that jobs take of one make of batteries.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ChargeUse {
    belief: UseBelief,
    job_count: i64,
}

impl ChargeUse {
    /// What the logs of jobs say of a make; `planned` are the charges a job takes by the rating, for a make
    /// without any.
    #[must_use]
    pub(crate) fn of(book: &Book, make: &Id, planned: f64) -> Self {
        let told = book.jobs_newest_first().take(JOBS_LOOKED_AT);
        let told = told.filter_map(|job| charges_of(job, make));
        let spans: Vec<Span> = told.take(JOBS_LEARNT_FROM).collect();
        let job_count = i64::try_from(spans.len()).unwrap_or(i64::MAX);
        let typical = if spans.is_empty() {
            planned
        } else {
            spans.iter().map(|span| span.planned).sum::<f64>() / exact_f64(job_count)
        };
        Self {
            belief: use_belief(&spans, typical, credibility_settings(book.policy())),
            job_count,
        }
    }

    /// What a rated run comes to here, ms.
    pub(crate) fn run_ms(&self, rated_ms: i64) -> i64 {
        round_to_i64(exact_f64(rated_ms) / self.belief.factor.max(f64::MIN_POSITIVE)).max(1)
    }

    /// The charges that a job will likely take whose plan is so many by the rating.
    pub(crate) fn predict(&self, planned: f64) -> Predicted {
        self.belief.predict(planned)
    }

    /// What it rests on, a sentence.
    pub(crate) fn rests_on(&self) -> String {
        let Some(ratio) = self.belief.ratio else {
            return "Rests on the rating: no log says yet which batteries ran.".to_owned();
        };
        let jobs = match self.job_count {
            1 => "1 job".to_owned(),
            count => format!("{count} jobs"),
        };
        format!(
            "Charges that jobs take here: {}, from {jobs}.",
            against_plan(ratio)
        )
    }
}

/// What the log of a job says that it took of a make of batteries.
fn charges_of(job: &Job, make: &Id) -> Option<Span> {
    let logged = job.logged.as_ref()?;
    let of_make = logged.charges.iter().find(|taken| taken.make == *make)?;
    Some(Span {
        planned: exact_f64(of_make.planned_micro) / MICRO,
        actual: exact_f64(of_make.taken_micro) / MICRO,
    })
}
