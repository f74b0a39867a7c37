//! From the words typed to the exit code: parse, connect, perform, finish.
//!
//! It serves the `fettle` binary. Every way out, usage errors included, keeps to the one form of
//! output that was asked for.

use std::ffi::OsString;
use std::process::ExitCode;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{ColorChoice, CommandFactory as _, FromArgMatches as _, Parser as _};
use fettlebook_contract::v1::ErrorReason;

use crate::args::Cli;
use crate::ask::{is_it_so, somebody_is_there};
use crate::commands::book::{BookCommand, backup};
use crate::commands::shop::{self, ShopCommand};
use crate::commands::{self, Command, demo};
use crate::complete;
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::{Fault, name_of};
use crate::last_seen::Memory;
use crate::private;
use crate::render::{Form, Printer, Screen, shop as words};
use crate::runtime::runtime;
use crate::solo::{Solo, SoloClock};
use crate::transport::ShopTransport;

/// Runs one command line; `solo` starts the service in this process where it is needed.
pub fn run(args: impl IntoIterator<Item = OsString>, solo: &'static dyn Solo) -> ExitCode {
    private::begin();
    let args: Vec<OsString> = args.into_iter().collect();
    if complete::asked() {
        complete::answer(&args, solo, Cli::command);
        return Exit::Done.into();
    }
    let parsed = Cli::command()
        .color(if typed(&args, "--no-color") {
            ColorChoice::Never
        } else {
            ColorChoice::Auto
        })
        .try_get_matches_from(&args)
        .and_then(|matches| Cli::from_arg_matches(&matches).map(|cli| (cli, matches)));
    let (cli, matches) = match parsed {
        Ok(parsed) => parsed,
        Err(error) => return not_understood(&args, &error).into(),
    };
    let form = if cli.json { Form::Json } else { Form::People };
    let screen = Screen::measure(cli.columns);
    let mut printer = Printer::standard(form, screen, !cli.no_color);
    if cli.yes {
        printer.ask_nothing();
    }
    if !cli.no_pager && commands::only_shows(cli.asked()) {
        printer.page_long();
    }
    let exit = cli
        .whereabouts(&matches)
        .and_then(|whereabouts| runtime()?.block_on(perform(&cli, whereabouts, solo, &mut printer)))
        .unwrap_or_else(|fault| {
            printer.fault(&fault);
            fault.exit
        });
    printer.end(exit).into()
}

async fn perform(
    cli: &Cli,
    whereabouts: Whereabouts,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if let Some(done) = commands::without_book(cli.asked(), Cli::command, printer) {
        return done;
    }
    match cli.asked() {
        Command::Demo(args) => return demo::perform(args, solo, play, printer).await,
        Command::Book(BookCommand::Restore(args)) => {
            return backup::restore(args, solo, printer).await;
        }
        Command::Book(BookCommand::Mend(args)) => return backup::mend(args, solo, printer).await,
        Command::Shop(command) => {
            let (folder, book) = (cli.shop_folder()?, || cli.book_folder());
            let done = shop::without_session(command, &folder, book, solo, printer).await;
            if let Some(done) = done {
                return done;
            }
        }
        _ => {}
    }
    let clock = cli.clock(&whereabouts)?;
    let ended = perform_with(cli, whereabouts.clone(), solo, clock, printer).await;
    match ended {
        Err(fault) if may_ask_of_clock(cli, &whereabouts, &fault, printer) => {
            printer.say(&printer.screen().hung("", "", &fault.message));
            if is_it_so("Is the clock of this machine right?")? {
                let clock = SoloClock::Accepted;
                return perform_with(cli, whereabouts, solo, clock, printer).await;
            }
            Err(fault)
        }
        ended => ended,
    }
}

/// Whether a person can be asked if the clock is right: it is this machine's own, and it was not said.
fn may_ask_of_clock(
    cli: &Cli,
    whereabouts: &Whereabouts,
    fault: &Fault,
    printer: &Printer,
) -> bool {
    let is_ahead = fault.reason == name_of(ErrorReason::ClockAhead);
    let is_own = matches!(whereabouts, Whereabouts::Folder(_));
    let is_before_copy = fault.reason == words::CLOCK_BEFORE_COPY;
    let is_of_clock = (is_ahead && is_own) || is_before_copy;
    is_of_clock && !cli.accept_clock && somebody_is_there(printer)
}

/// Performs a command on a book by a clock.
async fn perform_with(
    cli: &Cli,
    whereabouts: Whereabouts,
    solo: &'static dyn Solo,
    clock: SoloClock,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut session = Session::open(whereabouts, solo, clock.clone()).await?;
    let is_of_shop = matches!(cli.asked(), Command::Shop(_));
    let book_here = session.shop().and_then(|shop| shop.book_here());
    if let Some(book) = book_here.filter(|_| !is_of_shop && !cli.now) {
        printer.say(&words::book_opened_here(printer.screen()));
        session.close().await;
        session = Session::open(Whereabouts::Folder(book), solo, clock).await?;
    }
    if let Some(shop) = session.shop() {
        if cli.verbose {
            shop.tell_all();
        }
        if cli.yes {
            shop.keep_all();
        }
    }
    for notice in session.notices() {
        printer.say(notice);
    }
    let memory = Memory::of_this_machine();
    let syncs = matches!(cli.asked(), Command::Shop(ShopCommand::Sync(_)));
    if let Some(shop) = session.shop().filter(|_| !syncs) {
        shop.begin().await;
        talk(shop, printer);
    }
    let met = match session.shop().map(|shop| shop.reachable()) {
        // What a copy says is not what the book is.
        Some(None) => None,
        _ => memory.meet(&session, printer).await,
    };
    if let Some(shop) = session.shop().filter(|_| !syncs) {
        shop.send_missed().await;
        talk(shop, printer);
    }
    let mut ended = commands::perform(&session, cli.asked(), printer).await;
    if let (Err(fault), Some(shop)) = (&ended, session.shop())
        && shop.doubts()
        && somebody_is_there(printer)
    {
        printer.say(&printer.screen().hung("", "", &fault.message));
        if is_it_so("Keep it here all the same?")? {
            shop.keep_all();
            ended = commands::perform(&session, cli.asked(), printer).await;
        }
    }
    if met.is_some() {
        memory.part(&session, met, printer).await;
    }
    if let Some(shop) = session.shop() {
        if ended.is_ok() && !syncs {
            shop.bring_up_quietly().await;
        }
        talk(shop, printer);
    }
    session.close().await;
    ended
}

/// Performs a line of the demo's story as if it had been typed.
async fn play(session: &Session, line: &[&str], printer: &mut Printer) -> Result<Exit, Fault> {
    let words = ["fettle"].iter().chain(line);
    let cli =
        Cli::try_parse_from(words).map_err(|error| Fault::usage("demo", error.to_string()))?;
    commands::perform(session, cli.asked(), printer).await
}

/// Tells what the way to a shop has to tell.
fn talk(shop: &ShopTransport, printer: &mut Printer) {
    for sentence in shop.take_talk() {
        let text = printer.screen().hung("", "", &sentence);
        printer.say(&text);
    }
}

/// Tells what clap has to say: help and version as they are, errors as a fault.
fn not_understood(args: &[OsString], error: &clap::Error) -> Exit {
    let help = matches!(
        error.kind(),
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion
    );
    let json = typed(args, "--json");
    if help || !json {
        // A terminal that is gone is no reason to fail.
        let _ = error.print();
        return if error.use_stderr() {
            Exit::Usage
        } else {
            Exit::Done
        };
    }
    let mut printer = Printer::standard(Form::Json, Screen::measure(None), false);
    printer.fault(&usage_fault(error));
    printer.end(Exit::Usage)
}

const HELP: &str = "Run it with --help for what it takes.";

/// Whether an option was typed, for what is said before the words are understood.
fn typed(args: &[OsString], option: &str) -> bool {
    args.iter()
        .take_while(|word| *word != "--")
        .any(|word| word == option)
}

/// A usage error as a fault: clap's first paragraph, the option it is about and where help is.
fn usage_fault(error: &clap::Error) -> Fault {
    if error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        let mut fault = Fault::usage("", "A command is missing.");
        fault.todo = HELP.to_owned();
        return fault;
    }
    let text = error.render().to_string();
    let message = text
        .split("\n\n")
        .next()
        .unwrap_or_default()
        .trim_start_matches("error: ")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let field = match error.get(ContextKind::InvalidArg) {
        Some(ContextValue::String(name)) => name.clone(),
        Some(ContextValue::Strings(names)) => names.join(", "),
        _ => String::new(),
    };
    let mut fault = Fault::usage(&field, message);
    fault.todo = HELP.to_owned();
    fault
}

#[cfg(test)]
mod tests {
    use super::usage_fault;
    use crate::args::Cli;
    use clap::CommandFactory as _;

    #[test]
    fn a_usage_error_names_the_option_and_the_accepted_forms() {
        let error = Cli::command()
            .try_get_matches_from(["fettle", "weigh", "B-03=412"])
            .unwrap_err();
        let fault = usage_fault(&error);
        assert_eq!(fault.exit.code(), 2);
        assert!(fault.message.contains("412 g"), "{}", fault.message);
        assert!(!fault.field.is_empty());
    }
}
