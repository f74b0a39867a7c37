//! `count TAG`: records what is there, as counted or measured, and settles flags.
//!
//! It serves stock-taking. What is counted is in the unit of the piece; another unit is refused
//! rather than turned into something.

mod walk;

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{CountKitRequest, GetPieceRequest, Unit};
use fettlebook_quantity::{Count as Number, parse_count};

use crate::commands::common::Told;
use crate::commands::doubt::record_if_meant;
use crate::commands::receive::figures_of;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options::{self, Kept, Stock};
use crate::render::Printer;
use crate::request;
use crate::tags;

/// What `count` takes.
#[derive(Args, Clone, Debug)]
pub(crate) struct Count {
    /// Tag of what was counted; without it you walk through the place, on a terminal
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tag: Option<String>,
    /// What is left, as with --left; of a bundle the clean towels
    #[arg(value_name = "AMOUNT", conflicts_with_all = ["left", "clean"])]
    pub(crate) amount: Vec<String>,
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
    let (tag, amount) = match tag.split_once('=') {
        Some((tag, amount)) => (tag, vec![amount.to_owned()]),
        None => (tag.as_str(), args.amount.clone()),
    };
    let tag = tags::one(session, tag).await?;
    let (args, kept) = args.with(session, &tag, &amount).await?;
    let quantity = match args.left {
        None => None,
        Some(left) => Some(quantity_of(session, &tag, left, "--left").await?),
    };
    let count = CountKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tag,
        quantity,
        clean_count: args.clean.map(Number::get).or(kept.0),
        soiled_count: args.soiled.map(Number::get).or(kept.1),
        validate_only: false,
        kept: None,
    };
    record_if_meant(session, printer, count).await
}

impl Count {
    /// The same with an amount that was typed without its option, and what the book says of a bundle where
    /// only one of its two counts was given.
    async fn with(
        &self,
        session: &Session,
        tag: &str,
        amount: &[String],
    ) -> Result<(Self, (Option<i64>, Option<i64>)), Fault> {
        let mut args = self.clone();
        if amount.is_empty() && args.clean.is_none() && args.soiled.is_none() {
            return Ok((args, (None, None)));
        }
        let amount = amount.join(" ");
        let asked = GetPieceRequest {
            tag: tag.to_owned(),
        };
        let state = session
            .call(asked)
            .await?
            .piece
            .and_then(|piece| piece.state);
        let Some(State::Bundle(bundle)) = state else {
            if !amount.is_empty() {
                let left = options::stock(&amount);
                args.left = Some(left.map_err(|why| Fault::usage("AMOUNT", format!("{why}.")))?);
            }
            return Ok((args, (None, None)));
        };
        if !amount.is_empty() {
            let clean = parse_count(&amount);
            args.clean = Some(clean.map_err(|why| Fault::usage("AMOUNT", format!("{why}.")))?);
        }
        Ok((args, (Some(bundle.clean_count), Some(bundle.soiled_count))))
    }
}

/// An amount of a bottle or a sundry, in the unit that it is kept in.
///
/// # Errors
/// When the tag is not known, or what it is on has no amount or one of another unit.
pub(crate) async fn quantity_of(
    session: &Session,
    tag: &str,
    stock: Stock,
    option: &str,
) -> Result<i64, Fault> {
    let asked = GetPieceRequest {
        tag: tag.to_owned(),
    };
    let piece = session.call(asked).await?.piece;
    let make = piece.as_ref().map(|piece| piece.make.clone());
    let kept = match piece.and_then(|piece| piece.state) {
        Some(State::Bottle(bottle)) => Kept {
            unit: Unit::Microlitre,
            full: Some(bottle.full_ul),
        },
        Some(State::Sundry(sundry)) => Kept {
            unit: sundry.unit(),
            full: match stock.share {
                Some(_) => new_one(session, make.as_deref().unwrap_or_default()).await?,
                None => None,
            },
        },
        Some(
            State::Pad(_)
            | State::Plate(_)
            | State::Machine(_)
            | State::Bundle(_)
            | State::Tool(_)
            | State::Battery(_),
        )
        | None => {
            let mut fault = Fault::usage(
                option,
                format!("{tag} is neither a bottle nor a sundry, so no amount is left of it."),
            );
            fault.hints.example = format!("fettle kit show {tag}");
            return Err(fault);
        }
    };
    let amount = match kept.unit {
        Unit::Microlitre => "'300 ml'",
        Unit::Millimetre => "'12 m'",
        _ => "3",
    };
    let read = stock.in_unit(kept, option, tag);
    read.map_err(|fault| fault.with_example(format!("fettle count {tag} --left {amount}")))
}

/// What one piece of a sundry holds when new.
async fn new_one(session: &Session, make: &str) -> Result<Option<i64>, Fault> {
    Ok(match figures_of(session, make).await? {
        Some(Figures::Sundry(sundry)) => Some(sundry.pack_quantity),
        _ => None,
    })
}
