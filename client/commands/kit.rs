//! `kit`: the pieces there are, and whether they may go on paint.
//!
//! It serves looking and setting right. What a piece's state means for a job is the check's to say.

use clap::{Args, Subcommand};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    AsideReason, DemoteTowelsRequest, GetMakeRequest, GetPieceLifeRequest, GetPieceLifeResponse,
    LifePoint, ListPiecesRequest, MarkDryRequest, Readiness, ReturnKitRequest, SetAsideRequest,
    TowelGrade, piece,
};
use serde_json::{Value, json};

use crate::ask::{ask_which, somebody_is_there};
use crate::commands::common::{ListForm, Told, open_day, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::ids;
use crate::json::{to_value, whole};
use crate::page;
use crate::paper::{self, Ground, OnPaper};
use crate::places;
use crate::render::{Form, Printer, kit};
use crate::request;
use crate::tags::{self, All};
use crate::word;

/// How pads come back, as it is asked.
const SOILED: &str = "soiled, to be washed";
const CLEAN: &str = "clean";

/// What can be done with the kit.
#[derive(Debug, Subcommand)]
pub(crate) enum KitCommand {
    /// List the kit
    List(List),
    /// Show one piece and what happened to it
    Show(Show),
    /// Keep pieces off paint for a reason
    Aside(Aside),
    /// Bring pieces back from aside
    Return(Return),
    /// Say that washed pieces are dry now
    Dry(Dry),
    /// Take a bundle of towels down to a lower use
    Demote(Demote),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &KitCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        KitCommand::List(args) => list(session, args, printer).await,
        KitCommand::Show(args) => show(session, args, printer).await,
        KitCommand::Aside(args) => set_aside(session, args, printer).await,
        KitCommand::Return(args) => bring_back(session, args, printer).await,
        KitCommand::Dry(args) => mark_dry(session, args, printer).await,
        KitCommand::Demote(args) => demote(session, args, printer).await,
    }
}

/// What `kit list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    /// Only what is so, there, of that make or of that sort: soiled, van-a, coarse-foam-150, pads
    #[arg(value_name = "WHICH", add = ArgValueCompleter::new(complete::places))]
    pub(crate) which: Vec<String>,
    /// Only what is there, for example van-a
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// Only this make
    #[arg(long, value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: Option<String>,
    /// Only what is so
    #[arg(long, value_name = "WORD", value_parser = word::parser::<Readiness>())]
    pub(crate) readiness: Option<Readiness>,
    /// What is binned too
    #[arg(long)]
    pub(crate) binned: bool,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

impl List {
    /// Whether not all of the kit is asked for.
    fn is_narrowed(&self) -> bool {
        !self.which.is_empty()
            || self.place.is_some()
            || self.make.is_some()
            || self.readiness.is_some()
    }
}

/// Lists the kit.
/// Binned pieces are left out unless they are asked for.
pub(crate) async fn list(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let mut asked = ListPiecesRequest {
        place: args.place.as_deref().map(ids::id_of).unwrap_or_default(),
        make: args.make.clone().unwrap_or_default(),
        readiness: args.readiness.unwrap_or_default().into(),
        show_binned: args.binned || args.readiness == Some(Readiness::Binned),
        ..ListPiecesRequest::default()
    };
    which(session, &args.which, &mut asked).await?;
    let answer = page::every(session, asked.clone()).await?;
    if answer.pieces.is_empty() && !asked.place.is_empty() {
        places::must_be(session, &asked.place, printer).await?;
    }
    let sheet = |ground: &Ground<'_>| paper::kit::html(ground, &answer.pieces);
    args.paper.put(session, "The list", printer, sheet)?;
    let is_narrowed = args.is_narrowed();
    printer.list(&answer, &answer.pieces, |screen, pieces| {
        if pieces.is_empty() && is_narrowed {
            kit::NONE_SO.to_owned()
        } else {
            kit::list(screen, pieces)
        }
    })?;
    Ok(Exit::Done)
}

/// Puts what was said without an option into the request.
async fn which(
    session: &Session,
    words: &[String],
    asked: &mut ListPiecesRequest,
) -> Result<(), Fault> {
    let known = if words.is_empty() {
        Vec::new()
    } else {
        places::all(session).await
    };
    for word in words {
        let lower = word.to_lowercase();
        let id = ids::id_of(word);
        if let Some(readiness) = word::find::<Readiness>(word) {
            asked.set_readiness(readiness);
            asked.show_binned |= readiness == Readiness::Binned;
        } else if let Some(sort) = tags::sort(&lower) {
            asked.set_sort(sort);
        } else if known.contains(&id) {
            asked.place = id;
        } else if matches!(lower.as_str(), "all" | "everything") {
            asked.show_binned = true;
        } else {
            let made = session.once(GetMakeRequest { make: id.clone() }).await;
            if made.is_err() {
                let mut fault = Fault::usage(
                    "WHICH",
                    format!("'{word}' is neither a state, nor a place, a make or a sort of kit."),
                );
                fault.todo = format!(
                    "Places are {}; states are {}.",
                    known.join(", "),
                    word::list::<Readiness>()
                );
                return Err(fault.with_example("fettle kit list soiled"));
            }
            asked.make = id;
        }
    }
    Ok(())
}

/// What `kit show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Tag of the piece
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tag: String,
}

/// Shows the piece.
/// Its entries come newest first.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetPieceLifeRequest {
        tag: tags::one(session, &args.tag).await?,
    };
    let life = session.call(asked).await?;
    if life.piece.is_none() {
        return Err(Fault::answer("the piece"));
    }
    match printer.form() {
        Form::Json => printer.document(&document(&life)?),
        Form::People | Form::Csv => {
            let page = kit::show(printer.screen(), &life);
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}

/// The piece, its entries newest first, how it stood after each, oldest first, what is left, and what it gave.
fn document(life: &GetPieceLifeResponse) -> Result<Value, Fault> {
    let entries = life
        .points
        .iter()
        .rev()
        .filter_map(|point| point.entry.as_ref());
    let entries = entries.map(to_value).collect::<Result<Vec<_>, _>>()?;
    let points = life
        .points
        .iter()
        .map(point)
        .collect::<Result<Vec<_>, _>>()?;
    Ok(json!({
        "piece": life.piece.as_ref().map(to_value).transpose()?,
        "entries": entries,
        "points": points,
        "left": life.left.as_ref().map(to_value).transpose()?,
        "supply": life.supply.as_ref().map(to_value).transpose()?,
    }))
}

/// How the piece stood after an entry, which is named by its number only.
fn point(point: &LifePoint) -> Result<Value, Fault> {
    let bare = LifePoint {
        entry: None,
        ..point.clone()
    };
    let mut value = to_value(&bare)?;
    if let (Some(fields), Some(entry)) = (value.as_object_mut(), &point.entry) {
        fields.insert("seq".to_owned(), whole(entry.seq));
    }
    Ok(value)
}

/// What `kit aside` takes.
#[derive(Args, Debug)]
pub(crate) struct Aside {
    /// Tags of what is set aside
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::ranges))]
    pub(crate) tags: Vec<String>,
    /// Why
    #[arg(long, value_name = "WORD", value_parser = word::parser::<AsideReason>())]
    pub(crate) because: AsideReason,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that the pieces were set aside.
/// --because WORD`: keeps pieces off paint for a reason. What is set aside stays in the kit.
pub(crate) async fn set_aside(
    session: &Session,
    args: &Aside,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = SetAsideRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: tags::named(session, &args.tags, All::Nothing, printer).await?,
        reason: args.because.into(),
        kept: None,
    };
    record(session, printer, asked).await
}

/// What `kit return` takes.
#[derive(Args, Debug)]
pub(crate) struct Return {
    /// Tags of what comes back: P-01..P-09, P1,P2, all for whatever is aside
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::aside))]
    pub(crate) tags: Vec<String>,
    /// Day of the next check of tools that were checked, for example 2027-06-30
    #[arg(long, value_name = "DATE")]
    pub(crate) check_due: Option<String>,
    /// Pads come back clean and need no wash; without this or --soiled you are asked, on a terminal
    #[arg(long, conflicts_with = "soiled")]
    pub(crate) clean: bool,
    /// Pads come back soiled and want a wash
    #[arg(long)]
    pub(crate) soiled: bool,
    #[command(flatten)]
    pub(crate) told: Told,
}

impl Return {
    /// Whether pads are clean, where it was said.
    const fn is_clean(&self) -> Option<bool> {
        match (self.clean, self.soiled) {
            (true, _) => Some(true),
            (false, true) => Some(false),
            (false, false) => None,
        }
    }
}

/// Whether there is a pad among pieces that come back: of others nobody is asked whether they are clean.
async fn is_there_a_pad(session: &Session, tags: &[String]) -> Result<bool, Fault> {
    for tag in tags {
        let asked = GetPieceLifeRequest { tag: tag.clone() };
        let piece = session.call(asked).await?.piece;
        let state = piece.and_then(|piece| piece.state);
        if matches!(state, Some(piece::State::Pad(_))) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Records that the pieces came back.
/// A pad of which nobody says that it is clean still wants a wash.
pub(crate) async fn bring_back(
    session: &Session,
    args: &Return,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let tags = tags::named(session, &args.tags, All::Aside, printer).await?;
    let clean = match args.is_clean() {
        None if somebody_is_there(printer) && is_there_a_pad(session, &tags).await? => {
            ask_which("How do the pads come back?", &[SOILED, CLEAN])?.map(|word| word == CLEAN)
        }
        said => said,
    };
    let asked = ReturnKitRequest {
        clean,
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags,
        check_due_date: open_day(session, "--check-due", args.check_due.as_deref())?,
        kept: None,
    };
    record(session, printer, asked).await
}

/// What `kit dry` takes.
#[derive(Args, Debug)]
pub(crate) struct Dry {
    /// Tags of what is dry: P-01..P-09, P1,P2, all for whatever dries
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::drying))]
    pub(crate) tags: Vec<String>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that the pieces are dry.
pub(crate) async fn mark_dry(
    session: &Session,
    args: &Dry,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = MarkDryRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: tags::named(session, &args.tags, All::Drying, printer).await?,
        kept: None,
    };
    record(session, printer, asked).await
}

/// What `kit demote` takes.
#[derive(Args, Debug)]
pub(crate) struct Demote {
    /// Tag of the bundle
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tag: String,
    /// Its new use
    #[arg(long, value_name = "WORD", value_parser = word::parser::<TowelGrade>())]
    pub(crate) to: TowelGrade,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the new use.
/// They go down the list, never up.
pub(crate) async fn demote(
    session: &Session,
    args: &Demote,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = DemoteTowelsRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tag: tags::one(session, &args.tag).await?,
        grade: args.to.into(),
        kept: None,
    };
    record(session, printer, asked).await
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::{Entry, GetPieceLifeResponse, LifePoint, PadLeft, Piece};

    use super::{Return, document};
    use crate::commands::common::Told;

    #[test]
    fn pads_come_back_as_it_was_said_and_nothing_is_said_for_whoever_says_nothing() {
        for (clean, soiled, said) in [
            (true, false, Some(true)),
            (false, true, Some(false)),
            (false, false, None),
        ] {
            let back = Return {
                tags: vec!["P-07".to_owned()],
                check_due: None,
                clean,
                soiled,
                told: Told::default(),
            };
            assert_eq!(back.is_clean(), said);
        }
    }

    #[test]
    fn a_life_in_json_keeps_piece_and_entries_and_names_entries_by_number() {
        let point = |seq, damage| LifePoint {
            entry: Some(Entry {
                seq,
                ..Entry::default()
            }),
            damage: Some(damage),
            ..LifePoint::default()
        };
        let life = GetPieceLifeResponse {
            piece: Some(Piece {
                tag: "P-07".to_owned(),
                ..Piece::default()
            }),
            points: vec![point(3, 0.0), point(9, 0.25)],
            left: Some(PadLeft::default()),
            supply: None,
        };
        let document = document(&life).unwrap();
        assert_eq!(document["piece"]["tag"], "P-07");
        let seqs = |list: &str| {
            let items = document[list].as_array().unwrap().iter();
            items.map(|item| item["seq"].clone()).collect::<Vec<_>>()
        };
        assert_eq!(seqs("entries"), ["9", "3"]);
        assert_eq!(seqs("points"), ["3", "9"]);
        assert_eq!(document["points"][1]["damage"], 0.25);
        assert!(document["points"][1].get("entry").is_none());
        assert!(document["left"].is_object());
    }
}
