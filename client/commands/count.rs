//! `count TAG`: records what is there, as counted or measured, and settles flags.
//!
//! It serves stock-taking. What is counted is in the unit of the piece; another unit is refused
//! rather than turned into something.

mod walk;

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{CountKitRequest, GetPieceRequest, Unit};
use fettlebook_quantity::{Count as Number, parse_count};

use crate::commands::common::Told;
use crate::commands::doubt::record_if_meant;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options::{self, Stock};
use crate::render::Printer;
use crate::request;

/// What `count` takes.
#[derive(Args, Debug)]
pub(crate) struct Count {
    /// Tag of what was counted; without it you walk through the place, on a terminal
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tag: Option<String>,
    /// Place to walk through; without it all of them
    #[arg(long, value_name = "PLACE", conflicts_with = "tag", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// What is left in a bottle or of a sundry, for example '300 ml' or '12 m'
    #[arg(long, value_name = "AMOUNT", value_parser = options::stock)]
    pub(crate) left: Option<Stock>,
    /// Clean towels in a bundle
    #[arg(long, value_name = "COUNT", value_parser = parse_count, conflicts_with = "left")]
    pub(crate) clean: Option<Number>,
    /// Soiled towels in a bundle
    #[arg(long, value_name = "COUNT", value_parser = parse_count, conflicts_with = "left")]
    pub(crate) soiled: Option<Number>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the count.
pub(crate) async fn perform(
    session: &Session,
    args: &Count,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let Some(tag) = &args.tag else {
        return walk::perform(session, args, printer).await;
    };
    let quantity = match args.left {
        None => None,
        Some(left) => {
            let unit = unit_of(session, tag, "--left").await?;
            Some(left.in_unit(unit, "--left", tag)?)
        }
    };
    let count = CountKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tag: tag.clone(),
        quantity,
        clean_count: args.clean.map(Number::get),
        soiled_count: args.soiled.map(Number::get),
        validate_only: false,
        kept: None,
    };
    record_if_meant(session, printer, count).await
}

/// The unit that a bottle or a sundry is kept in.
///
/// # Errors
/// When the tag is not known, or what it is on has no amount.
pub(crate) async fn unit_of(session: &Session, tag: &str, option: &str) -> Result<Unit, Fault> {
    let asked = GetPieceRequest {
        tag: tag.to_owned(),
    };
    let answer = session.call(asked).await?;
    match answer.piece.and_then(|piece| piece.state) {
        Some(State::Bottle(_)) => Ok(Unit::Microlitre),
        Some(State::Sundry(sundry)) => Ok(sundry.unit()),
        Some(
            State::Pad(_) | State::Plate(_) | State::Machine(_) | State::Bundle(_) | State::Tool(_),
        )
        | None => Err(Fault::usage(
            option,
            format!("{tag} is neither a bottle nor a sundry, so no amount is left of it."),
        )),
    }
}
