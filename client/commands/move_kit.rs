//! `move TAG.. --to PLACE`: takes pieces to another place.
//!
//! It serves loading and unloading a van. A place needs no setting up.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::MoveKitRequest;

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::ids;
use crate::places;
use crate::render::Printer;
use crate::request;
use crate::tags::{self, All};

/// What `move` takes.
#[derive(Args, Debug)]
pub(crate) struct Move {
    /// Tags of what is moved: P-01..P-09, P1,P2, all
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::moved))]
    pub(crate) tags: Vec<String>,
    /// Where it goes, for example van-a
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) to: Option<String>,
    /// That place is a new one
    #[arg(long)]
    pub(crate) new_place: bool,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the move.
pub(crate) async fn perform(
    session: &Session,
    args: &Move,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let (words, place) = match &args.to {
        Some(place) => (args.tags.clone(), place.clone()),
        None => apart(session, &args.tags).await?,
    };
    let place = places::meant(session, "--to", &place, args.new_place, printer).await?;
    let moved = MoveKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: tags::named(session, &words, All::Kit, printer).await?,
        place,
        kept: None,
    };
    record(session, printer, moved).await
}

/// The place among the words, where it was not said by its option: `van-a P-06`, `P-06 to van-a`.
async fn apart(session: &Session, words: &[String]) -> Result<(Vec<String>, String), Fault> {
    let known = places::all(session).await;
    let mut tags: Vec<String> = Vec::new();
    let mut place = None;
    for word in words {
        if word == "to" {
            continue;
        }
        let named = ids::id_of(word);
        if place.is_none() && tags::spelt(word).is_none() && known.contains(&named) {
            place = Some(named);
        } else {
            tags.push(word.clone());
        }
    }
    place.map(|place| (tags, place)).ok_or_else(|| {
        let mut fault = Fault::usage("--to", "Where it goes was not said.");
        fault.todo = format!("Say it with --to and a place: {}.", known.join(", "));
        let to = known.first().map_or("bench", String::as_str);
        fault.with_example(format!("fettle move {} --to {to}", words.join(" ")))
    })
}
