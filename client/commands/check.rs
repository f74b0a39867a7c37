//! `check [JOB..]`: will the kit carry the job, or each of a week?
//!
//! It serves the evening before. On a van the next job is the next one there. It writes nothing but what was
//! shown on this device; a stop ends with exit code 3.

use std::collections::BTreeSet;

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{CheckJobsRequest, CheckJobsResponse, Verdict};

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::ids;
use crate::paper::{self, Ground, OnPaper};
use crate::places;
use crate::render::{Form, Printer, Screen, check};
use crate::shown::Shown;
use crate::when;
use crate::when::stamp;

/// What `check` takes.
#[derive(Args, Debug, Default)]
pub(crate) struct Check {
    /// Booked jobs; without any the next one, on a van the next one there
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) jobs: Vec<String>,
    /// Every booked job up to the end of that day, for example friday
    #[arg(long, value_name = "DATE", conflicts_with = "jobs")]
    pub(crate) through: Option<String>,
    /// Every booked job of today and the six days after it, a line each
    #[arg(long, conflicts_with_all = ["jobs", "through"])]
    pub(crate) week: bool,
    /// Only jobs there, for example van-a
    #[arg(long, value_name = "PLACE", conflicts_with = "jobs", value_parser = ids::id,
          add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// Another routine that the job might be worked by: says whether the kit carries either, and ends as the better
    /// of the two
    #[arg(long, value_name = "ROUTINE", requires = "jobs", value_parser = ids::id,
          conflicts_with_all = ["through", "week", "paper"], add = ArgValueCompleter::new(complete::routines))]
    pub(crate) or: Option<String>,
    /// Every line with its numbers and every piece that goes
    #[arg(long)]
    pub(crate) full: bool,
    /// Every caution in full, also those that were shown here before
    #[arg(long)]
    pub(crate) cautions: bool,
    /// Take watch for a no as well: exit code 3
    #[arg(long)]
    pub(crate) strict: bool,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
}

/// The last day of a week that begins today.
const WEEK: &str = "+6 days";

/// Checks the jobs.
pub(crate) async fn perform(
    session: &Session,
    args: &Check,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let last_day = match (&args.through, args.week) {
        (Some(day), _) => Some(day.as_str()),
        (None, true) => Some(WEEK),
        (None, false) => None,
    };
    let through = last_day
        .map(|text| when::end_of_day(text, &session.now()))
        .transpose()
        .map_err(|why| Fault::usage("--through", why))?;
    let place = match &args.place {
        Some(place) => place.clone(),
        // Without a name it is the next job where this device works.
        None if args.jobs.is_empty() && through.is_none() => session.van().unwrap_or_default(),
        None => String::new(),
    };
    let asked = CheckJobsRequest {
        jobs: args.jobs.clone(),
        through_time: through.as_ref().map(stamp),
        place: place.clone(),
        or_routine: args.or.clone().unwrap_or_default(),
    };
    let answer = session.call(asked).await?;
    if answer.checks.is_empty() && args.place.is_some() {
        places::must_be(session, &place, printer).await?;
    }
    let nothing =
        |screen: &Screen| check::nothing_booked(screen, &answer, &place, through.is_some());
    let sheet = |ground: &Ground<'_>| paper::check::html(ground, &answer, &nothing(ground.screen));
    args.paper.put(session, "The check", printer, sheet)?;
    if answer.checks.is_empty() {
        printer.answer(&answer, |screen, _| nothing(screen))?;
        return Ok(Exit::Done);
    }
    let memory = Shown::of(session);
    let known = if args.cautions || args.full {
        BTreeSet::new()
    } else {
        memory.cautions()
    };
    let told_in_full = match (printer.form(), args.full, through.is_some()) {
        (Form::Json, ..) => {
            printer.answer(&answer, |_, _| String::new())?;
            false
        }
        (_, true, _) => {
            printer.answer(&answer, check::full)?;
            true
        }
        (_, false, false) if answer.or_check.is_some() => {
            printer.answer(&answer, |screen, answer| either(screen, answer, &known))?;
            true
        }
        (_, false, true) => {
            printer.answer(&answer, check::week)?;
            false
        }
        (_, false, false) => {
            printer.answer(&answer, |screen, answer| {
                check::short(screen, answer, &known)
            })?;
            true
        }
    };
    let shown = answer.checks.iter().chain(&answer.or_check);
    let cautions: Vec<String> = shown
        .filter(|_| told_in_full)
        .flat_map(|one| check::shown_in_full(one, &known))
        .collect();
    let shown_time = session.now().timestamp().to_string();
    if let Err(error) = memory.remember(&answer.checks, &cautions, &shown_time) {
        printer.say(&format!(
            "What this check showed cannot be remembered on this device: {error}."
        ));
    }
    Ok(ending(best(&answer), args.strict))
}

/// A job by its own routine and by another.
fn either(screen: &Screen, answer: &CheckJobsResponse, known: &BTreeSet<String>) -> String {
    match (answer.checks.as_slice(), &answer.or_check) {
        ([own], Some(other)) => check::either(screen, own, other, known),
        _ => check::short(screen, answer, known),
    }
}

/// The verdict that it ends by: of either routine the better one.
fn best(answer: &CheckJobsResponse) -> Verdict {
    match (answer.checks.as_slice(), &answer.or_check) {
        ([own], Some(other)) => check::better_of(own, other).verdict(),
        _ => answer.verdict(),
    }
}

/// A stop is a no; a watch only where it was asked for strictly.
const fn ending(verdict: Verdict, strict: bool) -> Exit {
    match (verdict, strict) {
        (Verdict::Stop, _) | (Verdict::Watch, true) => Exit::No,
        (Verdict::Watch, false) | (Verdict::Go | Verdict::Unspecified, _) => Exit::Done,
    }
}

#[cfg(test)]
mod tests {
    use super::{best, ending};
    use crate::exit::Exit;
    use fettlebook_contract::v1::{CheckJobsResponse, JobCheck, Verdict};

    #[test]
    fn either_routine_ends_by_the_better_one() {
        let by = |verdict: Verdict| JobCheck {
            verdict: verdict.into(),
            ..JobCheck::default()
        };
        let ends = |own, other| {
            let answer = CheckJobsResponse {
                verdict: Verdict::into(own),
                checks: vec![by(own)],
                or_check: Some(by(other)),
                ..CheckJobsResponse::default()
            };
            ending(best(&answer), false)
        };
        assert_eq!(ends(Verdict::Stop, Verdict::Go), Exit::Done);
        assert_eq!(ends(Verdict::Go, Verdict::Stop), Exit::Done);
        assert_eq!(ends(Verdict::Stop, Verdict::Stop), Exit::No);
    }

    #[test]
    fn stop_is_a_no_and_watch_only_when_strict() {
        assert_eq!(ending(Verdict::Stop, false), Exit::No);
        assert_eq!(ending(Verdict::Watch, false), Exit::Done);
        assert_eq!(ending(Verdict::Watch, true), Exit::No);
        assert_eq!(ending(Verdict::Go, true), Exit::Done);
        assert_eq!(
            ending(Verdict::Unspecified, true),
            Exit::Done,
            "nothing was checked"
        );
    }
}
