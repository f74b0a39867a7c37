//! The commands: a file a noun, with what each command of it takes and the function that performs it.
//!
//! They serve `run` and the demo. Each parses what was typed into a request, calls, and hands the
//! answer to a screen; none prints by itself, and none holds a rule of the trade.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::suggest;

pub(crate) mod bin;
pub(crate) mod book;
pub(crate) mod car;
pub(crate) mod charge;
pub(crate) mod check;
pub(crate) mod common;
pub(crate) mod completions;
pub(crate) mod count;
pub(crate) mod demo;
pub(crate) mod doctor;
pub(crate) mod doubt;
pub(crate) mod fill;
pub(crate) mod job;
pub(crate) mod kit;
pub(crate) mod labels;
pub(crate) mod log;
pub(crate) mod make;
pub(crate) mod man;
pub(crate) mod move_kit;
pub(crate) mod noun;
pub(crate) mod order;
pub(crate) mod page;
pub(crate) mod quote;
pub(crate) mod receive;
pub(crate) mod reorder;
pub(crate) mod routine;
pub(crate) mod schema;
pub(crate) mod sheet;
pub(crate) mod shop;
pub(crate) mod shops;
pub(crate) mod start;
pub(crate) mod supplier;
pub(crate) mod take;
pub(crate) mod today;
pub(crate) mod undo;
pub(crate) mod wash;
pub(crate) mod wear;
pub(crate) mod weigh;

/// What can be asked for.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Where the shop stands and what to do now, as fettle alone says
    Today(today::Today),
    /// Set up what a shop begins with, or add what is missing
    Start(start::Start),
    /// Print an empty sheet, to fill in or to write on
    Sheet(sheet::EmptySheet),
    /// Will the kit carry the job?
    Check(check::Check),
    /// Fix the pick of a job, so that other jobs leave it alone
    Take(take::Take),
    /// Record what a job used
    Log(Box<log::Log>),
    /// Record a wash
    Wash(wash::Wash),
    /// Take back what was recorded last, or the entries named
    Undo(undo::Undo),
    /// What was recorded, as book entries lists it
    Entries(book::entries::Entries),
    /// Record the weight of bottles
    Weigh(weigh::Weigh),
    /// Record that batteries were put on the charger
    Charge(charge::Charge),
    /// Fill a bottle from another of the same make
    Fill(fill::Fill),
    /// Take new pieces into the kit
    Receive(Box<receive::Receive>),
    /// Print labels with tag, name and code
    Labels(labels::Labels),
    /// Record what is there, as counted or measured
    Count(count::Count),
    /// Take pieces to another place
    Move(move_kit::Move),
    /// Take pieces out of the kit for good
    Bin(bin::Bin),
    /// What pads really last here, and what is left of each
    Wear(wear::Wear),
    /// What to order, from whom and by when
    Reorder(reorder::Reorder),
    /// A price for the materials of a job, on the terminal or on paper
    Quote(quote::QuoteJob),
    /// What can be bought, with its figures
    #[command(subcommand)]
    Make(make::MakeCommand),
    /// The pieces there are
    #[command(subcommand)]
    Kit(kit::KitCommand),
    /// Cars by class and colour
    #[command(subcommand)]
    Car(car::CarCommand),
    /// Named lists of steps
    #[command(subcommand)]
    Routine(routine::RoutineCommand),
    /// Work that is booked
    #[command(subcommand)]
    Job(job::JobCommand),
    /// Whom one orders from, with terms and price lists
    #[command(subcommand)]
    Supplier(Box<supplier::SupplierCommand>),
    /// What was ordered and what is still to come
    #[command(subcommand)]
    Order(order::OrderCommand),
    /// The record itself
    #[command(subcommand)]
    Book(book::BookCommand),
    /// The shop's devices, and what waits here for it
    #[command(subcommand)]
    Shop(shop::ShopCommand),
    /// Every shop in a line: jobs at risk, late orders, worn kit, costs
    Shops(shops::Shops),
    /// What is well and what is not: disk, backup, clock, certificate, outbox, devices
    Doctor(doctor::Doctor),
    /// Open the page at the bench from this machine, with a code for a telephone
    Page(page::Page),
    /// Tell the story on an invented shop, in a throw-away book
    Demo(demo::Demo),
    /// Describe what a command prints with --json, as a JSON Schema
    Schema(schema::Schema),
    /// Print the completion script of a shell
    Completions(completions::Completions),
    /// Write the manual pages into a folder
    Man(man::Man),
}

/// Whether a command only shows something, asks nothing, and may be long: a pager is for these.
pub(crate) const fn only_shows(command: &Command) -> bool {
    use book::BookCommand;
    use kit::KitCommand;
    match command {
        Command::Today(_)
        | Command::Check(_)
        | Command::Wear(_)
        | Command::Quote(_)
        | Command::Shops(_) => true,
        Command::Entries(args) | Command::Book(BookCommand::Entries(args)) => !args.follow,
        Command::Book(BookCommand::Policy(args)) => !args.renew,
        Command::Reorder(args) => !args.place,
        Command::Book(BookCommand::Show(_)) => true,
        Command::Kit(command) => matches!(command, KitCommand::List(_) | KitCommand::Show(_)),
        Command::Car(command) => matches!(command, car::CarCommand::Show(_)),
        _ => false,
    }
}

/// Performs a command that needs no book; `None` for one that does. `tree` is all that can be typed.
pub(crate) fn without_book(
    command: &Command,
    tree: fn() -> clap::Command,
    printer: &mut Printer,
) -> Option<Result<Exit, Fault>> {
    match command {
        Command::Completions(args) => Some(completions::perform(args, printer)),
        Command::Man(args) => Some(man::perform(args, tree(), printer)),
        Command::Schema(args) => Some(schema::perform(args, printer)),
        Command::Sheet(args) => Some(sheet::perform(args, printer)),
        Command::Book(book::BookCommand::Import(args)) if args.template => {
            Some(Ok(book::import::template(printer)))
        }
        Command::Today(_)
        | Command::Start(_)
        | Command::Check(_)
        | Command::Take(_)
        | Command::Log(_)
        | Command::Wash(_)
        | Command::Undo(_)
        | Command::Entries(_)
        | Command::Weigh(_)
        | Command::Fill(_)
        | Command::Charge(_)
        | Command::Receive(_)
        | Command::Labels(_)
        | Command::Count(_)
        | Command::Move(_)
        | Command::Bin(_)
        | Command::Wear(_)
        | Command::Reorder(_)
        | Command::Quote(_)
        | Command::Make(_)
        | Command::Kit(_)
        | Command::Car(_)
        | Command::Routine(_)
        | Command::Job(_)
        | Command::Supplier(_)
        | Command::Order(_)
        | Command::Book(_)
        | Command::Shop(_)
        | Command::Shops(_)
        | Command::Doctor(_)
        | Command::Page(_)
        | Command::Demo(_) => None,
    }
}

/// Performs a command on an open book.
///
/// # Errors
/// What was typed wrong or refused; names that were perhaps meant are added to it.
pub(crate) async fn perform(
    session: &Session,
    command: &Command,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match dispatch(session, command, printer).await {
        Err(fault) => Err(suggest::with_suggestions(session, fault).await),
        done => done,
    }
}

async fn dispatch(
    session: &Session,
    command: &Command,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        Command::Today(_) => today::perform(session, printer).await,
        Command::Start(args) => start::perform(session, args, printer).await,
        Command::Check(args) => check::perform(session, args, printer).await,
        Command::Take(args) => take::perform(session, args, printer).await,
        Command::Log(args) => log::perform(session, args, printer).await,
        Command::Wash(args) => wash::perform(session, args, printer).await,
        Command::Undo(args) => undo::perform(session, args, printer).await,
        Command::Entries(args) => book::entries::perform(session, args, printer).await,
        Command::Weigh(args) => weigh::perform(session, args, printer).await,
        Command::Charge(args) => charge::perform(session, args, printer).await,
        Command::Fill(args) => fill::perform(session, args, printer).await,
        Command::Receive(args) => receive::perform(session, args, printer).await,
        Command::Labels(args) => labels::perform(session, args, printer).await,
        Command::Count(args) => count::perform(session, args, printer).await,
        Command::Move(args) => move_kit::perform(session, args, printer).await,
        Command::Bin(args) => bin::perform(session, args, printer).await,
        Command::Wear(args) => wear::perform(session, args, printer).await,
        Command::Reorder(args) => reorder::perform(session, args, printer).await,
        Command::Quote(args) => quote::perform(session, args, printer).await,
        Command::Make(command) => make::perform(session, command, printer).await,
        Command::Kit(command) => kit::perform(session, command, printer).await,
        Command::Car(command) => car::perform(session, command, printer).await,
        Command::Routine(command) => routine::perform(session, command, printer).await,
        Command::Job(command) => job::perform(session, command, printer).await,
        Command::Supplier(command) => supplier::perform(session, command, printer).await,
        Command::Order(command) => order::perform(session, command, printer).await,
        Command::Book(command) => book::perform(session, command, printer).await,
        Command::Shop(command) => shop::perform(session, command, printer).await,
        Command::Shops(args) => shops::perform(session, args, printer).await,
        Command::Doctor(_) => doctor::perform(session, printer).await,
        Command::Demo(_) => Err(Fault::usage(
            "demo",
            "The demo keeps a book of its own; run it by itself.",
        )),
        Command::Page(_) => Err(Fault::usage(
            "page",
            "The page is open until it is ended; run it by itself.",
        )),
        Command::Completions(_) | Command::Man(_) | Command::Schema(_) | Command::Sheet(_) => {
            Err(Fault::usage(
                "fettle",
                "This is about the program and not about a book; run it by itself.",
            ))
        }
    }
}
