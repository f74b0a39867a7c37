//! `bin TAG.. --because WORD`: takes pieces out of the kit for good.
//!
//! It serves retirement and loss. The reason is never left out, because what pads die of is what
//! the book learns from: on a terminal it is asked for, else its words are named.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{BinKitRequest, BinReason};
use fettlebook_quantity::{Count, parse_count};

use crate::ask::{ask_which, somebody_is_there};
use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;
use crate::tags::{self, All};
use crate::word;

/// What `bin` takes.
#[derive(Args, Debug)]
pub(crate) struct Bin {
    /// Tags of what leaves the kit
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::ranges))]
    pub(crate) tags: Vec<String>,
    /// Why; without it you are asked, on a terminal
    #[arg(long, value_name = "WORD", value_parser = word::parser::<BinReason>())]
    pub(crate) because: Option<BinReason>,
    /// Towels taken out of a bundle; without it the whole bundle
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) towels: Option<Count>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that the pieces left the kit.
pub(crate) async fn perform(
    session: &Session,
    args: &Bin,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let tags = tags::named(session, &args.tags, All::Nothing, printer).await?;
    let reason = match args.because {
        Some(reason) => reason,
        None if somebody_is_there(printer) => ask(&tags)?,
        None => return Err(no_reason()),
    };
    let bin = BinKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags,
        reason: reason.into(),
        count: args.towels.map(Count::get),
        kept: None,
    };
    record(session, printer, bin).await
}

/// Asks why, with the words to choose from.
fn ask(tags: &[String]) -> Result<BinReason, Fault> {
    let question = format!("Why does {} leave the kit?", tags.join(", "));
    let words: Vec<String> = word::values::<BinReason>().map(word::word).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let chosen = ask_which(&question, &words)?.ok_or_else(no_reason)?;
    word::find(chosen).ok_or_else(no_reason)
}

fn no_reason() -> Fault {
    let words = word::list::<BinReason>();
    let mut fault = Fault::usage("--because", "Why it leaves the kit was not said.");
    fault.todo = format!("Say it with --because and one of: {words}.");
    fault
}

#[cfg(test)]
mod tests {
    use super::no_reason;

    #[test]
    fn a_reason_that_is_missing_is_a_usage_error_that_lists_the_words() {
        let fault = no_reason();
        assert_eq!((&*fault.field, fault.exit.code()), ("--because", 2));
        for word in ["worn", "torn", "lost", "cross-loaded"] {
            assert!(fault.todo.contains(word), "{word}: {}", fault.todo);
        }
    }
}
