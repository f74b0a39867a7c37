//! From the words typed to the exit code: parse, connect, perform, finish.
//!
//! It serves the `fettle` binary. Every way out, usage errors included, keeps to the one form of
//! output that was asked for.

use std::ffi::OsString;
use std::process::ExitCode;
use std::time::Duration;

use clap::error::ErrorKind;
use clap::{ColorChoice, Parser as _};
use fettlebook_contract::v1::ErrorReason;

use crate::args::{Cli, described, tree};
use crate::ask::{is_it_so, somebody_is_there};
use crate::commands::book::{BookCommand, backup};
use crate::commands::shop::{self, ShopCommand};
use crate::commands::{self, Command, demo, page};
use crate::complete;
use crate::connect::{Session, Whereabouts, own_folder, shop_folder};
use crate::example;
use crate::exit::Exit;
use crate::fault::{Fault, name_of};
use crate::file::holds_something;
use crate::forgive::forgiven;
use crate::jobs_of_day;
use crate::json;
use crate::last_seen::Memory;
use crate::mistyped::{self, spoken};
use crate::private;
use crate::render::{Form, Printer, Screen, shop as words};
use crate::runtime::runtime;
use crate::shop::folder::is_paired;
use crate::solo::{Solo, SoloClock, SoloProgram};
use crate::transport::ShopTransport;
use crate::version;

/// Runs one command line; `solo` starts the service in this process where it is needed, and `commit` is what the
/// program is built from.
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    solo: &'static dyn Solo,
    commit: &'static str,
) -> ExitCode {
    private::begin();
    let args: Vec<OsString> = args.into_iter().collect();
    if complete::asked() {
        complete::answer(&args, solo, described);
        return Exit::Done.into();
    }
    let args = forgiven(args);
    let colour = if typed(&args, "--no-color") {
        ColorChoice::Never
    } else {
        ColorChoice::Auto
    };
    let parsed = Cli::read(&args, colour).or_else(|error| match whole(&args, &error) {
        Some(args) => Cli::read(&args, colour),
        None => Err(error),
    });
    let (cli, matches) = match parsed {
        Ok(parsed) => parsed,
        Err(error) if error.kind() == ErrorKind::DisplayVersion => {
            return tell_version(&args, &version::program(commit, solo)).into();
        }
        Err(error) => return not_understood(&args, &error, solo).into(),
    };
    if cli.json_numbers {
        json::write_numbers();
    }
    let form = if cli.json || cli.json_numbers {
        Form::Json
    } else {
        Form::People
    };
    let screen = Screen::measure(cli.columns);
    let mut printer = Printer::standard(form, screen, !cli.no_color);
    if cli.yes {
        printer.ask_nothing();
    }
    if cli.quiet {
        printer.hush();
    }
    if !cli.no_pager && commands::only_shows(cli.asked()) {
        printer.page_long();
    }
    let exit = cli
        .whereabouts(&matches)
        .and_then(|whereabouts| runtime()?.block_on(perform(&cli, whereabouts, solo, &mut printer)))
        .unwrap_or_else(|fault| {
            let fault = example::alone(&cli.typed, &tree(), fault);
            printer.fault(&fault);
            fault.exit
        });
    printer.end(exit).into()
}

/// The command line with what a noun alone stands for: its list.
fn whole(args: &[OsString], error: &clap::Error) -> Option<Vec<OsString>> {
    let lacks = matches!(
        error.kind(),
        ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand
    );
    if !lacks {
        return None;
    }
    let tree = tree();
    let (path, command) = spoken(args, &tree);
    if path == tree.get_name() {
        return None;
    }
    let does = ["list", "devices", "where"]
        .into_iter()
        .find(|name| command.find_subcommand(name).is_some())?;
    let mut args = args.to_vec();
    args.push(does.into());
    Some(args)
}

/// A command that failed, once more where it was only spelt otherwise, else with an example that works.
async fn again(
    session: &Session,
    cli: &Cli,
    fault: Fault,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let respelt = match example::respelt(&cli.typed, &fault) {
        Some(words) => Some((words, fault.hints.meant.clone())),
        None => jobs_of_day::meant(session, &cli.typed, &fault).await,
    };
    let read = respelt
        .and_then(|(words, told)| Some((Cli::read(&words, ColorChoice::Never).ok()?.0, told)));
    if let Some((cli, told)) = read {
        printer.remark(&format!("Read '{}' as {told}.", fault.hints.name));
        let ended = commands::perform(session, cli.asked(), printer).await;
        return match ended {
            Err(fault) => Err(example::given(Some(session), &cli.typed, &tree(), fault).await),
            done => done,
        };
    }
    Err(example::given(Some(session), &cli.typed, &tree(), fault).await)
}

async fn perform(
    cli: &Cli,
    whereabouts: Whereabouts,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if let Some(done) = commands::without_book(cli.asked(), described, printer) {
        return done;
    }
    match cli.asked() {
        Command::Demo(args) => return demo::perform(args, solo, play, printer).await,
        Command::Page(args) => {
            let clock = cli.clock(&whereabouts)?;
            return page::perform(args, whereabouts, solo, clock, printer).await;
        }
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
    let only_shows = commands::only_shows(cli.asked());
    let open = |place: Whereabouts, clock: SoloClock| async move {
        match only_shows {
            true => Session::look(place, solo, clock).await,
            false => Session::open(place, solo, clock).await,
        }
    };
    let mut session = open(whereabouts, clock.clone()).await?;
    // What is not well with a shop is told of the shop, not of the book that is opened in its place.
    let is_of_shop = matches!(cli.asked(), Command::Shop(_) | Command::Doctor(_));
    let book_here = session.shop().and_then(|shop| shop.book_here());
    if let Some(book) = book_here.filter(|_| !is_of_shop && !cli.now) {
        printer.remark(&words::book_opened_here(printer.screen()));
        session.close().await;
        session = open(Whereabouts::Folder(book), clock).await?;
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
        printer.tell(notice);
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
    let ended = match ended {
        Err(fault) => again(&session, cli, fault, printer).await,
        done => done,
    };
    if ended == Ok(Exit::Damage) && printer.form() == Form::People {
        printer.remark("  Looking goes on. For example: fettle kit list");
    }
    if met.is_some() && memory.part(&session, met, printer).await && !cli.begins() {
        let is_today = matches!(cli.asked(), Command::Today(_));
        let is_said = is_today && printer.form() == Form::People;
        let told = elsewhere(session.whereabouts(), is_said);
        if !told.is_empty() {
            printer.remark(&printer.screen().hung("", "  ", &told));
        }
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

/// That a book is empty, and where else the person has one; where the first is said already the second alone.
fn elsewhere(place: &Whereabouts, is_said: bool) -> String {
    let here = match place {
        Whereabouts::Folder(folder) => format!("The book in {} is empty.", folder.display()),
        Whereabouts::At(address) => format!("The book at {address} is empty."),
        Whereabouts::Shop { .. } => "The shop's book is empty.".to_owned(),
    };
    let own = own_folder()
        .ok()
        .filter(|own| holds_something(own) && *place != Whereabouts::Folder(own.clone()));
    let paired = shop_folder().filter(|shop| is_paired(shop));
    let there = match (own, paired, place) {
        (Some(own), ..) => format!(" There is another one in {}.", own.display()),
        (None, Some(_), Whereabouts::Folder(_)) => {
            " This device is paired with a shop, whose book is used without --book.".to_owned()
        }
        (None, ..) => String::new(),
    };
    if is_said {
        return there.trim_start().to_owned();
    }
    format!("{here}{there} 'fettle start' sets up a kit in it.")
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

/// Tells what this program is.
fn tell_version(args: &[OsString], program: &SoloProgram) -> Exit {
    let is_json = typed(args, "--json") || typed(args, "--json-numbers");
    let form = if is_json { Form::Json } else { Form::People };
    let mut printer = Printer::standard(form, Screen::measure(None), false);
    match form {
        Form::Json => printer.document(&version::document(program)),
        Form::People | Form::Csv => printer.verbatim(&program.to_string()),
    }
    printer.end(Exit::Done)
}

/// Tells what is wrong with a command line; help as it is.
fn not_understood(args: &[OsString], error: &clap::Error, solo: &'static dyn Solo) -> Exit {
    let help = error.kind() == ErrorKind::DisplayHelp;
    let is_alone = error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand;
    let json = typed(args, "--json") || typed(args, "--json-numbers");
    if help || (is_alone && !json) {
        // A terminal that is gone is no reason to fail.
        let _ = error.print();
        return if help { Exit::Done } else { Exit::Usage };
    }
    let tree = tree();
    let fault = from_book(args, &tree, mistyped::fault(args, error, &tree), solo);
    let form = if json { Form::Json } else { Form::People };
    let mut printer = Printer::standard(form, Screen::measure(None), !typed(args, "--no-color"));
    printer.fault(&fault);
    printer.end(Exit::Usage)
}

/// How long a book in a folder is waited for. It answers at once, but on a machine that is busy with something else.
const FOLDER_WAIT: Duration = Duration::from_secs(3);

/// The fault with its example filled in from the book, where that is quick and one is there.
fn from_book(
    args: &[OsString],
    tree: &clap::Command,
    fault: Fault,
    solo: &'static dyn Solo,
) -> Fault {
    let alone = example::alone(args, tree, fault.clone());
    let there = complete::whereabouts(args).filter(|place| match place {
        Whereabouts::Folder(folder) => holds_something(folder),
        Whereabouts::At(_) | Whereabouts::Shop { .. } => true,
    });
    let (Some(place), Ok(runtime)) = (there, runtime()) else {
        return alone;
    };
    let wait = match place {
        Whereabouts::Folder(_) => FOLDER_WAIT,
        Whereabouts::At(_) | Whereabouts::Shop { .. } => complete::WAIT,
    };
    let filled = async {
        let session = Session::look(place, solo, SoloClock::System).await.ok()?;
        let filled = example::given(Some(&session), args, tree, fault).await;
        session.close().await;
        Some(filled)
    };
    let waited = runtime.block_on(async { tokio::time::timeout(wait, filled).await });
    waited.ok().flatten().unwrap_or(alone)
}

/// Whether an option was typed, for what is said before the words are understood.
fn typed(args: &[OsString], option: &str) -> bool {
    args.iter()
        .take_while(|word| *word != "--")
        .any(|word| word == option)
}
