//! `start`: sets up what a shop begins with, by questions, as a starter kit usually is, or from a sheet.
//!
//! It serves the first hour, and whoever adds what is missing later. Whatever way it is said, it is one
//! request and one entry; nothing is recorded before all of it is understood.

use clap::Args;
use fettlebook_contract::v1::{
    ListMakesRequest, ListPiecesRequest, ListStarterKitsRequest, Piece, StartRequest,
    StartResponse, StarterKit,
};

use crate::ask::{is_it_so, somebody_is_there};
use crate::commands::check;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Form, Printer, sheet as rows, start as pages};
use crate::request;
use crate::said::currency::of_locale;
use crate::sheets::own;

mod asker;
mod first_job;
mod from_sheet;
mod pieces;
mod talk;

use asker::{Asker as _, Person, Reply};
use talk::{Known, Talk};

const FORMS: &str = "\
Ways to begin:
  fettle start                                   asks, a line at a time; Esc goes a step back
  fettle start --kit big-small --yes             the kit as it usually is, without a question
  fettle start --kit big --yes --car saloon --when 'tomorrow 08:00'
  fettle start --sheet kit.csv --dry-run         a list that you have, each row as it is understood
  fettle start --kit big --sheet kit.csv         the list's things, and routines for one big machine

All of it is one entry, so that one command takes it back. On a book in use only what is missing is added.";

/// What `start` takes.
#[derive(Args, Clone, Debug, Default)]
#[command(after_help = FORMS)]
pub(crate) struct Start {
    /// Starter kit by its word; without it you are asked
    #[arg(long, value_name = "KIT")]
    pub(crate) kit: Option<String>,
    /// A list of things in a file, one row a thing, in your own words; - reads standard input
    #[arg(long, value_name = "FILE")]
    pub(crate) sheet: Option<String>,
    /// Where the things are; without it the bench
    #[arg(long, value_name = "PLACE")]
    pub(crate) place: Option<String>,
    /// Class of the first car, for example medium-saloon
    #[arg(long, value_name = "CLASS")]
    pub(crate) car: Option<String>,
    /// When that car comes, for example 'tomorrow 08:00'
    #[arg(long, value_name = "WHEN", requires = "car")]
    pub(crate) when: Option<String>,
    /// Currency of prices that name none, for example EUR; without it the book's, or this machine's
    #[arg(long, value_name = "CODE")]
    pub(crate) currency: Option<String>,
    /// Show what would be set up, and record nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
}

/// Sets up what a shop begins with.
pub(crate) async fn perform(
    session: &Session,
    args: &Start,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let kits = session.call(ListStarterKitsRequest {}).await?.starter_kits;
    let named = args
        .kit
        .as_deref()
        .map(|word| named(&kits, word))
        .transpose()?;
    if let Some(path) = &args.sheet {
        let kit = named.and_then(|index| kits.get(index));
        return start_from_sheet(session, args, path, kit, printer).await;
    }
    if somebody_is_there(printer) && !args.dry_run {
        return talk(session, args, &kits, named, printer).await;
    }
    let Some(kit) = named.and_then(|index| kits.get(index)) else {
        return Err(nobody_to_ask(&kits));
    };
    if !args.dry_run && printer.may_ask() {
        return Err(say_yes(kit));
    }
    let mut request = StartRequest {
        request_id: request::new_id(),
        starter_kit: kit.starter_kit.clone(),
        pieces: pieces::usual(kit, args.place.as_deref()),
        ..StartRequest::default()
    };
    if let Some(class) = &args.car {
        let class = first_job::class(class)?;
        let when = args.when.as_deref();
        first_job::put(&session.now(), &mut request, kit, class, "", when)?;
    }
    if args.dry_run && printer.form() != Form::Json {
        printer.page(&format!("{}\n", pages::kit(printer.screen(), kit)));
    }
    finish(session, args, request, printer).await
}

/// Sets up what a sheet lists.
async fn start_from_sheet(
    session: &Session,
    args: &Start,
    path: &str,
    kit: Option<&StarterKit>,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let bytes = from_sheet::bytes(path)?;
    let currency = currency(session, args).await?;
    let beside = from_sheet::beside(session, kit, currency).await?;
    let read = own::read(path, &bytes, &beside);
    let mut request = StartRequest {
        request_id: request::new_id(),
        starter_kit: kit.map(|kit| kit.starter_kit.clone()).unwrap_or_default(),
        ..StartRequest::default()
    };
    from_sheet::put(&read, &mut request);
    for piece in &mut request.pieces {
        if let (true, Some(place)) = (piece.place.is_empty(), &args.place) {
            piece.place.clone_from(place);
        }
    }
    if let (Some(class), Some(kit)) = (&args.car, kit) {
        let class = first_job::class(class)?;
        let when = args.when.as_deref();
        first_job::put(&session.now(), &mut request, kit, class, "", when)?;
    }
    let mut problems = read.problems.clone();
    if problems.is_empty() {
        let looked = look(
            session,
            &first_job::with_free_id(session, request.clone()).await?,
        )
        .await?;
        problems = from_sheet::problems(path, &read, &looked);
    }
    let shows = args.dry_run || somebody_is_there(printer);
    if shows && printer.form() != Form::Json {
        printer.page(&rows::understood(printer.screen(), &read));
    }
    if !problems.is_empty() {
        return Err(from_sheet::wrong(path, problems));
    }
    if !args.dry_run && somebody_is_there(printer) && !is_it_so("Record it?")? {
        return Err(left());
    }
    finish(session, args, request, printer).await
}

/// Asks for all of it, and records it once it is meant.
async fn talk(
    session: &Session,
    args: &Start,
    kits: &[StarterKit],
    kit: Option<usize>,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    // Whoever may not set anything up, or cannot reach the shop, is not asked in vain.
    look(session, &StartRequest::default()).await?;
    let currency = currency(session, args).await?;
    printer.say(&begins(session, printer, currency.as_deref()));
    let known = Known {
        kits,
        kit,
        place: args.place.as_deref(),
        currency: currency.as_deref(),
        now: session.now(),
    };
    let mut talk = Talk::new(known);
    let mut at = 0;
    loop {
        if talk.hold(&mut Person, &mut at)? {
            return Err(left());
        }
        let request = first_job::with_free_id(session, talk.request()?).await?;
        let looked = look(session, &request).await?;
        printer.say(&pages::looked(printer.screen(), &looked));
        let answers = [
            "record it".to_owned(),
            "go back".to_owned(),
            "leave it".to_owned(),
        ];
        match Person.which("Is that so?", &answers, 0)? {
            Reply::Said(0) => return finish(session, args, request, printer).await,
            Reply::Said(1) | Reply::Back => at = at.saturating_sub(1),
            Reply::Said(_) | Reply::Left => return Err(left()),
        }
    }
}

/// What a person should know before anything is asked.
fn begins(session: &Session, printer: &Printer, currency: Option<&str>) -> String {
    let now = session.now();
    let zone = now.time_zone().iana_name().unwrap_or("this machine");
    let prices = currency.map_or_else(
        || "prices name their currency".to_owned(),
        |code| format!("prices in {code} (--currency names another)"),
    );
    let text = format!(
        "Times are those of {zone}, {prices}. Enter takes what stands in brackets; Esc goes a step back; \
         Ctrl-C leaves. Nothing is recorded before the end."
    );
    printer.screen().hung("", "", &text)
}

/// The currency of prices that name none: what was said, else the book's, else the locale's.
async fn currency(session: &Session, args: &Start) -> Result<Option<String>, Fault> {
    if let Some(code) = &args.currency {
        return Ok(Some(code.to_uppercase()));
    }
    let makes = page::every(session, ListMakesRequest::default())
        .await?
        .makes;
    let priced = makes.into_iter().find_map(|make| make.price);
    let of_book = priced.map(|price| price.currency_code);
    Ok(of_book.or_else(|| of_locale().map(str::to_owned)))
}

fn left() -> Fault {
    Fault::own(
        "NOT_MEANT",
        Exit::No,
        "Nothing was recorded.",
        "Begin again with 'fettle start' whenever you like.",
    )
}

/// Records what was said, tells which tags to write on the things, and checks the first job.
async fn finish(
    session: &Session,
    args: &Start,
    request: StartRequest,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let request = first_job::with_free_id(session, request).await?;
    if args.dry_run {
        let looked = look(session, &request).await?;
        printer.answer(&looked, pages::looked)?;
        return Ok(if looked.problems.is_empty() {
            Exit::Done
        } else {
            Exit::Usage
        });
    }
    let job = request.job.as_ref().map(|job| job.job.clone());
    let answer = session.call(request).await?;
    if printer.form() == Form::Json {
        printer.answer(&answer, |_, _| String::new())?;
        return Ok(Exit::Done);
    }
    let page = pages::begun(printer.screen(), &answer);
    printer.page(&page);
    let pieces = received(session, &answer).await?;
    if let Some(job) = job {
        printer.page("");
        let first = check::Check {
            jobs: vec![job],
            ..check::Check::default()
        };
        check::perform(session, &first, printer).await?;
    }
    if !pieces.is_empty() {
        let page = pages::to_write(printer.screen(), &pieces);
        printer.page(&format!("\n{page}"));
    }
    let page = pages::what_now(printer.screen(), &answer);
    printer.page(&format!("\n{page}"));
    Ok(Exit::Done)
}

/// What a request would record, and what is wrong with it.
async fn look(session: &Session, request: &StartRequest) -> Result<StartResponse, Fault> {
    let looking = StartRequest {
        validate_only: true,
        ..request.clone()
    };
    session.call(looking).await
}

/// The pieces that came in with an entry.
async fn received(session: &Session, answer: &StartResponse) -> Result<Vec<Piece>, Fault> {
    let deeds = answer.entry.iter().flat_map(|entry| &entry.deeds);
    let tags: Vec<&str> = deeds.map(|deed| deed.subject.as_str()).collect();
    let listed = page::every(session, ListPiecesRequest::default()).await?;
    let mut pieces = listed.pieces;
    pieces.retain(|piece| tags.contains(&piece.tag.as_str()));
    Ok(pieces)
}

/// The kit that a word names: its own word, or how it is said.
fn named(kits: &[StarterKit], word: &str) -> Result<usize, Fault> {
    let bare = |text: &str| {
        let letters = text.chars().filter(|letter| letter.is_alphanumeric());
        letters.collect::<String>().to_lowercase()
    };
    let wanted = bare(word);
    let is_it = |kit: &StarterKit| bare(&kit.starter_kit) == wanted || bare(&kit.name) == wanted;
    kits.iter().position(is_it).ok_or_else(|| {
        Fault::usage(
            "--kit",
            format!(
                "'{word}' is not a starter kit; write one of: {}.",
                words(kits)
            ),
        )
    })
}

fn words(kits: &[StarterKit]) -> String {
    let words = kits
        .iter()
        .map(|kit| format!("{} ({})", kit.starter_kit, kit.name));
    words.collect::<Vec<_>>().join(", ")
}

fn nobody_to_ask(kits: &[StarterKit]) -> Fault {
    Fault::usage(
        "--kit",
        format!(
            "Nobody can be asked here. Name a starter kit, as in 'fettle start --kit big --yes'; there are \
             {}.",
            words(kits)
        ),
    )
    .with_example("fettle start --kit big --yes")
}

fn say_yes(kit: &StarterKit) -> Fault {
    let word = &kit.starter_kit;
    let mut fault = Fault::usage(
        "--yes",
        format!("Nobody can be asked here how many there are of each thing of the kit {word}."),
    );
    fault.todo = format!(
        "To set it up as it usually is: fettle start --kit {word} --yes; to see that first: --dry-run."
    );
    fault
}
