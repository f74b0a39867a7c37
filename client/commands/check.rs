//! `check [JOB..]`: will the kit carry the job?
//!
//! It serves the evening before. It writes nothing; a stop ends with exit code 3.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{CheckJobsRequest, Verdict};

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, check};
use crate::shown::Shown;
use crate::when;
use crate::when::stamp;

/// What `check` takes.
#[derive(Args, Debug)]
pub(crate) struct Check {
    /// Booked jobs; without any the next one
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) jobs: Vec<String>,
    /// Every booked job up to the end of that day, for example friday
    #[arg(long, value_name = "DATE", conflicts_with = "jobs")]
    pub(crate) through: Option<String>,
    /// Take watch for a no as well: exit code 3
    #[arg(long)]
    pub(crate) strict: bool,
}

/// Checks the jobs.
pub(crate) async fn perform(
    session: &Session,
    args: &Check,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let through = args
        .through
        .as_deref()
        .map(|text| when::end_of_day(text, &session.now()))
        .transpose()
        .map_err(|why| Fault::usage("--through", why))?;
    let asked = CheckJobsRequest {
        jobs: args.jobs.clone(),
        through_time: through.as_ref().map(stamp),
    };
    let answer = session.call(asked).await?;
    printer.answer(&answer, check::show)?;
    let shown_time = session.now().timestamp().to_string();
    if let Err(error) = Shown::of(session).remember(&answer.checks, &shown_time) {
        printer.say(&format!(
            "Which pads this check showed cannot be remembered on this device: {error}."
        ));
    }
    Ok(ending(answer.verdict(), args.strict))
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
    use super::ending;
    use crate::exit::Exit;
    use fettlebook_contract::v1::Verdict;

    #[test]
    fn stop_is_a_no_and_watch_only_when_strict() {
        assert_eq!(ending(Verdict::Stop, false), Exit::No);
        assert_eq!(ending(Verdict::Watch, false), Exit::Done);
        assert_eq!(ending(Verdict::Watch, true), Exit::No);
        assert_eq!(ending(Verdict::Go, true), Exit::Done);
    }
}
