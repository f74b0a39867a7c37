//! `log JOB`: records what a job used, as planned unless corrected here.
//!
//! It serves the end of a job. It asks the service what it understood before anything is recorded,
//! and says it; what happened is never refused for contradicting the book.

mod job;
mod loose;
mod questions;

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::liquid_amount::Amount;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    BatteryUse, BottleUse, BundleUse, CarClass, Entry, GetJobRequest, GetPieceRequest,
    LiquidAmount, LogUseRequest, LogUseResponse, LooseUse, MachineTime, PadUse, Step, SundryUse,
    Swap, UnbookedCar, Weighing,
};
use jiff::Timestamp;

use crate::ask::somebody_is_there;
use crate::commands::common::{Told, read_from, tell};
use crate::commands::count::quantity_of;
use crate::commands::doubt;
use crate::commands::routine::parts;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::minutes::{Minutes, minutes};
use crate::figures::read::whole;
use crate::json::from_json;
use crate::options;
use crate::options::{Poured, Stock, Towels};
use crate::render::{Form, Printer, entry};
use crate::request;
use crate::shown::{self, Shown};
use crate::tags;
use crate::word;

/// What `log` takes.
#[derive(Args, Debug)]
pub(crate) struct Log {
    /// The job that was done; without it the one that has ended, on a van there, and on a terminal you choose
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: Option<String>,
    /// The class of a car that nobody booked, for example large-suv
    #[arg(long, value_name = "CLASS", value_parser = word::parser::<CarClass>(),
          requires = "routine", conflicts_with_all = ["job", "loose", "car"])]
    pub(crate) class: Option<CarClass>,
    /// A car of the book that nobody booked
    #[arg(long, value_name = "CAR", requires = "routine", conflicts_with_all = ["job", "loose"],
          add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: Option<String>,
    /// The routine of a car that nobody booked
    #[arg(long, value_name = "ROUTINE", add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: Option<String>,
    /// Where a car was done that nobody booked; without it where this device works
    #[arg(long, value_name = "PLACE", requires = "routine",
          add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// A pad found worn, dropped, or worked another share: P-07:torn, P-07:dropped, P-07=9
    /// (sections), P-07=9:torn
    #[arg(long, value_name = "PAD", value_parser = options::pad_use)]
    pub(crate) pad: Vec<PadUse>,
    /// A pad taken for the one that was picked: P-02=P-09
    #[arg(long, value_name = "PLANNED=USED", value_parser = options::swap)]
    pub(crate) swap: Vec<Swap>,
    /// Towels that fell, or used from a bundle: dropped=2, T-03=9; 9 alone is of the planned bundle
    #[arg(long, value_name = "TOWELS", value_parser = options::towels)]
    pub(crate) towels: Vec<Towels>,
    /// Weight of a bottle after the job, with its cap: B-03=412g
    #[arg(long, value_name = "BOTTLE=WEIGHT", value_parser = options::weighing)]
    pub(crate) weigh: Vec<Weighing>,
    /// Liquid used from a bottle: B-03=35ml, 'B-03=8 dots'
    #[arg(long, value_name = "BOTTLE=AMOUNT", value_parser = options::liquid_use)]
    pub(crate) used: Vec<(String, Poured)>,
    /// Panels not worked after all: -roof,-bonnet
    #[arg(long, value_name = "PANELS", value_delimiter = ',', allow_hyphen_values = true,
          value_parser = options::panel_off)]
    pub(crate) panels: Vec<String>,
    /// Of a sundry: S-01=2, 'S-02=30 ml'
    #[arg(long, value_name = "SUNDRY=AMOUNT", value_parser = options::named_stock)]
    pub(crate) sundry: Vec<(String, Stock)>,
    /// How long the machines really ran: all together, for example '95 min', or one of them, M-02=20; without it
    /// as planned
    #[arg(long, value_name = "TIME", value_parser = minutes, conflicts_with = "loose")]
    pub(crate) minutes: Vec<Minutes>,
    /// Who did it; without it as it was booked
    #[arg(long, value_name = "NAME", conflicts_with = "loose")]
    pub(crate) person: Option<String>,
    /// A battery that ran, with how full it still was where it did not run empty: BT-01, BT-02=half
    #[arg(long, value_name = "BATTERY", value_parser = options::battery, conflicts_with = "loose")]
    pub(crate) battery: Vec<BatteryUse>,
    /// The first day alone, of a job that takes two; the job stays booked, and is logged after its second
    #[arg(long, conflicts_with_all = ["loose", "class", "car"])]
    pub(crate) first_day: bool,
    /// A use outside any job: 'machine=MAKE, pad=MAKE, liquid=MAKE, press=light'; without that you are asked, on
    /// a terminal
    #[arg(long, value_name = "STEP", value_parser = parts::loose_step, num_args = 0..=1,
          conflicts_with = "job")]
    pub(crate) loose: Option<Option<Step>>,
    /// Sections worked in a loose use
    #[arg(long, value_name = "COUNT", value_parser = whole, requires = "loose")]
    pub(crate) sections: Option<i64>,
    /// Machine of a loose use
    #[arg(long, value_name = "TAG", requires = "loose", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) machine: Option<String>,
    /// Plate of a loose use
    #[arg(long, value_name = "TAG", requires = "loose", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) plate: Option<String>,
    /// File with a LogUseRequest as JSON in the contract's names; - for standard input
    #[arg(long, value_name = "FILE", conflicts_with_all = ["pad", "swap", "towels", "weigh", "used",
          "panels", "sundry", "minutes", "person", "battery", "first_day", "loose", "done", "note"])]
    pub(crate) from: Option<String>,
    /// Say what would be recorded, and record nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    #[command(flatten)]
    pub(crate) told: Told,
}

impl Log {
    /// Whether nothing but a job was said, so that at a terminal what was other is asked.
    const fn is_bare(&self) -> bool {
        self.pad.is_empty()
            && self.swap.is_empty()
            && self.towels.is_empty()
            && self.weigh.is_empty()
            && self.used.is_empty()
            && self.panels.is_empty()
            && self.sundry.is_empty()
            && self.minutes.is_empty()
            && self.person.is_none()
            && self.battery.is_empty()
            && self.loose.is_none()
            && self.from.is_none()
    }
}

/// Asks what is understood, says it, and records it.
pub(crate) async fn perform(
    session: &Session,
    args: &Log,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let somebody = printer.form() == Form::People && somebody_is_there(printer);
    let mut request = request(session, args).await?;
    if matches!(args.loose, Some(None)) {
        if !somebody {
            return Err(no_step());
        }
        loose::ask(session, &mut request).await?;
    }
    if request.job.is_empty() && request.loose.is_none() && request.unbooked.is_none() {
        request.job = if request.first_day {
            job::begun(session, somebody).await?
        } else {
            job::meant(session, somebody).await?
        };
    }
    let only_look = args.dry_run || request.validate_only;
    request.validate_only = true;
    let mut understood = ask(session, request.clone()).await?;
    let asks = somebody && !only_look && args.is_bare();
    if asks {
        loop {
            let preview = found(&understood)?;
            printer.say(&entry::preview(printer.screen(), preview));
            say_differs(session, &request.job, &understood, printer).await?;
            if !questions::ask(&mut request, preview, printer)? {
                break;
            }
            understood = ask(session, request.clone()).await?;
        }
    }
    let preview = found(&understood)?;
    if only_look {
        printer.answer(&understood, |screen, _| {
            format!("{}\nNothing was recorded.", entry::preview(screen, preview))
        })?;
        return Ok(Exit::Done);
    }
    if printer.form() == Form::People && !asks {
        let text = entry::preview(printer.screen(), preview);
        printer.remark(&text);
    }
    // Whoever was asked has seen what is odd, and Enter meant it.
    if !asks {
        say_differs(session, &request.job, &understood, printer).await?;
        doubt::meant(&preview.flags, printer, false)?;
    }
    request.validate_only = false;
    // What was shown is what is recorded.
    request.picked.clone_from(&understood.picked);
    let answer = ask(session, request).await?;
    let recorded = found(&answer)?;
    if recorded.deeds != preview.deeds || recorded.flags != preview.flags {
        return tell(printer, &answer);
    }
    printer.answer(&answer, |screen, _| entry::as_understood(screen, recorded))?;
    Ok(Exit::Done)
}

/// Says where the pads of a log are others than a person expects.
async fn say_differs(
    session: &Session,
    job: &str,
    understood: &LogUseResponse,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let preview = found(understood)?;
    if let Some(differs) = differs(session, job, understood, preview).await {
        let differs = printer.screen().hung("", "  ", &differs);
        printer.say(&differs);
    }
    Ok(())
}

/// Where the pads of a log are others than were taken, or than the last check showed on this device.
async fn differs(
    session: &Session,
    job: &str,
    understood: &LogUseResponse,
    preview: &Entry,
) -> Option<String> {
    if job.is_empty() || preview.deeds.is_empty() {
        return None;
    }
    let asked = GetJobRequest {
        job: job.to_owned(),
    };
    let held = session.once(asked).await.ok()?.job?;
    if held.taken.is_some() {
        let pads = shown::taken(&understood.picked, preview);
        let told = shown::differences(&pads, preview)?;
        return Some(format!("The pads differ from what was taken: {told}."));
    }
    let last = Shown::of(session).last(job)?;
    let pads = if held.second_start_time.is_some() {
        shown::of_the_day(last.pads, preview)
    } else {
        last.pads
    };
    let told = shown::differences(&pads, preview)?;
    let when = last.shown_time.parse::<Timestamp>().ok();
    let when = when.map_or_else(String::new, |at| {
        let at = at.to_zoned_datetime(session.now().time_zone().clone());
        format!(" on {}", at.strftime("%a %-d %b %Y %H:%M"))
    });
    Some(format!(
        "The pads differ from the last check shown here{when}: {told}."
    ))
}

/// The fault of a loose use of which nothing was said, where nobody can be asked.
fn no_step() -> Fault {
    Fault::usage("--loose", "What was used outside a job was not said.").with_example(LOOSE_EXAMPLE)
}

/// A loose use that works, filled in from the book.
const LOOSE_EXAMPLE: &str = "fettle log --loose 'machine={machine-make}, pad={pad-make}, liquid={liquid-make}' --sections 6 --pad {pad}";

async fn ask(session: &Session, request: LogUseRequest) -> Result<LogUseResponse, Fault> {
    session.call(request).await
}

fn found(answer: &LogUseResponse) -> Result<&Entry, Fault> {
    answer
        .entry
        .as_ref()
        .ok_or_else(|| Fault::answer("the entry"))
}

/// The message.
///
/// # Errors
/// When a moment or the file is not understood, or a sundry is kept in another unit.
pub(crate) async fn request(session: &Session, args: &Log) -> Result<LogUseRequest, Fault> {
    if let Some(path) = &args.from {
        return from_file(path, args.job.as_deref());
    }
    let (dropped, bundles) = towels(&args.towels);
    let request_id = request::new_id();
    let mut message = LogUseRequest {
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        job: args.job.clone().unwrap_or_default(),
        left_out_panels: args.panels.clone(),
        swaps: args.swap.clone(),
        dropped_towel_count: dropped,
        bundles,
        weighings: args.weigh.clone(),
        bottles: drawn(session, &args.used).await?,
        sundries: stock_used(session, &args.sundry).await?,
        person: args.person.clone().unwrap_or_default(),
        batteries: args.battery.clone(),
        unbooked: unbooked(session, args, &request_id),
        first_day: args.first_day,
        request_id,
        ..LogUseRequest::default()
    };
    minutes_said(session, &args.minutes, &mut message).await?;
    if message.bundles.iter().any(|used| used.bundle.is_empty()) {
        let bundle = bundle_of_plan(session, &message).await?;
        for used in &mut message.bundles {
            if used.bundle.is_empty() {
                used.bundle.clone_from(&bundle);
            }
        }
    }
    match &args.loose {
        None => message.pads.clone_from(&args.pad),
        Some(step) => {
            if step.is_some() && args.sections.is_none() {
                let why = "How many sections were worked is missing beside --loose.";
                return Err(Fault::usage("--sections", why).with_example(LOOSE_EXAMPLE));
            }
            message.loose = Some(LooseUse {
                step: step.clone(),
                machine: tag_of(session, args.machine.as_deref()).await?,
                plate: tag_of(session, args.plate.as_deref()).await?,
                section_count: args.sections.unwrap_or_default(),
                pads: args.pad.clone(),
            });
        }
    }
    Ok(message)
}

/// Puts in how long machines ran.
async fn minutes_said(
    session: &Session,
    said: &[Minutes],
    message: &mut LogUseRequest,
) -> Result<(), Fault> {
    for one in said {
        match one {
            Minutes::All(_) if message.machine_time_s.is_some() => {
                let why = "The time of all machines together is given twice.";
                return Err(Fault::usage("--minutes", why).with_example(MINUTES_EXAMPLE));
            }
            Minutes::All(time_s) => message.machine_time_s = Some(*time_s),
            Minutes::Of(machine, time_s) => message.machines.push(MachineTime {
                machine: tags::one(session, machine).await?,
                time_s: *time_s,
            }),
        }
    }
    Ok(())
}

/// Minutes that work, filled in from the book.
const MINUTES_EXAMPLE: &str = "fettle log {job} --minutes 95";

/// The car that nobody booked, where there is one.
fn unbooked(session: &Session, args: &Log, request_id: &str) -> Option<UnbookedCar> {
    args.class
        .or(args.car.as_ref().map(|_| CarClass::Unspecified))
        .map(|class| UnbookedCar {
            class: class.into(),
            car: args.car.clone().unwrap_or_default(),
            routine: args.routine.clone().unwrap_or_default(),
            place: args.place.clone().unwrap_or_else(|| session.place()),
            start_time: None,
            utc_offset_s: i64::from(session.now().offset().seconds()),
            job: name_of(args, request_id),
        })
}

/// An id for the job of a car that nobody booked, which no other device gives: the car, and the last four digits
/// of the request.
fn name_of(args: &Log, request_id: &str) -> String {
    let class = args.class.map(word::word);
    let car: String = class.or(args.car.clone()).unwrap_or_default();
    let digits = request_id.len().saturating_sub(4);
    let digits = request_id.get(digits..).unwrap_or_default();
    let room = ID_CHARS_MAX.saturating_sub(digits.len().saturating_add(1));
    let car: String = car.chars().take(room).collect();
    format!("{}-{digits}", car.trim_end_matches('-'))
}

/// Longest id, in characters.
const ID_CHARS_MAX: usize = 48;

/// The tag of a piece that may be left to the service.
async fn tag_of(session: &Session, named: Option<&str>) -> Result<String, Fault> {
    match named {
        Some(named) => tags::one(session, named).await,
        None => Ok(String::new()),
    }
}

fn from_file(path: &str, job: Option<&str>) -> Result<LogUseRequest, Fault> {
    let mut message: LogUseRequest = from_json(&read_from(path)?)?;
    match job {
        Some(job) if message.job.is_empty() && message.loose.is_none() => {
            job.clone_into(&mut message.job);
        }
        Some(job) if message.job != job => {
            return Err(Fault::usage(
                "--from",
                format!("{path} is not about the job {job}; leave the job or the file out."),
            ));
        }
        Some(_) | None => {}
    }
    if message.request_id.is_empty() {
        message.request_id = request::new_id();
    }
    Ok(message)
}

fn towels(given: &[Towels]) -> (i64, Vec<BundleUse>) {
    let mut dropped = 0_i64;
    let mut bundles = Vec::new();
    for towels in given {
        match towels {
            Towels::Dropped(count) => dropped = dropped.saturating_add(*count),
            Towels::Used { bundle, count } => bundles.push(BundleUse {
                bundle: bundle.clone(),
                used_count: *count,
            }),
        }
    }
    (dropped, bundles)
}

/// Liquid used from each bottle; all of it is what the book says was left.
async fn drawn(session: &Session, used: &[(String, Poured)]) -> Result<Vec<BottleUse>, Fault> {
    let mut uses = Vec::new();
    for (bottle, poured) in used {
        let bottle = tags::one(session, bottle).await?;
        let amount = match poured {
            Poured::Amount(amount) => *amount,
            Poured::All => LiquidAmount {
                amount: Some(Amount::VolumeUl(left_in(session, &bottle).await?)),
            },
        };
        uses.push(BottleUse {
            bottle,
            amount: Some(amount),
        });
    }
    Ok(uses)
}

/// What the book says is left in a bottle, µL.
async fn left_in(session: &Session, bottle: &str) -> Result<i64, Fault> {
    let asked = GetPieceRequest {
        tag: bottle.to_owned(),
    };
    match session
        .call(asked)
        .await?
        .piece
        .and_then(|piece| piece.state)
    {
        Some(State::Bottle(state)) => Ok(state.left_ul.max(0)),
        _ => Err(Fault::usage(
            "--used",
            format!("{bottle} is no bottle, so nothing is poured from it."),
        )),
    }
}

/// The bundle that a job is planned with, for towels that name none.
async fn bundle_of_plan(session: &Session, message: &LogUseRequest) -> Result<String, Fault> {
    let asked = LogUseRequest {
        validate_only: true,
        bundles: Vec::new(),
        ..message.clone()
    };
    let picked = session.call(asked).await?.picked;
    for piece in picked {
        let asked = GetPieceRequest { tag: piece.tag };
        let found = session.call(asked).await?.piece;
        if let Some(piece) = found.filter(|piece| matches!(piece.state, Some(State::Bundle(_)))) {
            return Ok(piece.tag);
        }
    }
    Err(Fault::usage(
        "--towels",
        "The job is planned with no bundle of towels; name the one they were from, for example T-03=9.",
    ))
}

async fn stock_used(session: &Session, used: &[(String, Stock)]) -> Result<Vec<SundryUse>, Fault> {
    let mut uses = Vec::new();
    for (tag, stock) in used {
        let tag = tags::one(session, tag).await?;
        uses.push(SundryUse {
            quantity: quantity_of(session, &tag, *stock, "--sundry").await?,
            tag,
        });
    }
    Ok(uses)
}

#[cfg(test)]
mod tests;
