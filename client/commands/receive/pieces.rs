//! `receive MAKE`: takes in pieces that were not ordered through the book, from the shop across the road or there
//! before the book.

use clap::Args;
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Money, ReceiveKitRequest, TowelGrade, Unit};
use fettlebook_quantity::{Count, Mass, parse_count, parse_grams};

use super::{Receive, figures_of};
use crate::commands::common::{open_day, tell};
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::seconds;
use crate::money;
use crate::options::{self, Kept, Stock};
use crate::render::Printer;
use crate::request;
use crate::{places, tags, word};

/// Heading of its options.
const HEADING: &str = "With a make";

/// What `receive MAKE` takes.
#[derive(Args, Clone, Debug)]
#[command(next_help_heading = HEADING)]
pub(crate) struct Pieces {
    /// Pieces, each with a tag of its own; a bundle of towels or a box is one
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) count: Option<Count>,
    /// Tags written on them; without it the next free ones are given
    #[arg(long, value_name = "TAG", value_delimiter = ',')]
    pub(crate) tag: Vec<String>,
    /// Towels in the bundle
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) towels: Option<Count>,
    /// What a bundle may touch; without it residue
    #[arg(long, value_name = "WORD", value_parser = word::parser::<TowelGrade>())]
    pub(crate) grade: Option<TowelGrade>,
    /// Lot of a bottle
    #[arg(long, value_name = "LOT")]
    pub(crate) lot: Option<String>,
    /// Last day a bottle may be used, for example 2027-03-31
    #[arg(long, value_name = "DATE")]
    pub(crate) expires: Option<String>,
    /// What is in it when it is not full or whole, for example '300 ml' or '20 pairs'
    #[arg(long, value_name = "AMOUNT", value_parser = options::stock)]
    pub(crate) holds: Option<Stock>,
    /// Weight of the empty bottle with its cap; without it the make's
    #[arg(long, value_name = "WEIGHT", value_parser = parse_grams)]
    pub(crate) tare: Option<Mass>,
    /// Reference sections a pad has worked before it came here, for example 12.5
    #[arg(long, value_name = "SECTIONS", value_parser = worked)]
    pub(crate) worked: Option<i64>,
    /// Washes a pad or a bundle has had before it came here
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) washes: Option<Count>,
    /// Time that a machine or a plate has run before it came here, for example '25 h'
    #[arg(long, value_name = "TIME", value_parser = seconds)]
    pub(crate) run: Option<i64>,
    /// Pad changes that a plate has had before it came here
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) changes: Option<Count>,
    /// Charges that a battery has had before it came here
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) charges: Option<Count>,
    /// What each piece cost, freight included, for example '18.90 EUR'; said by whoever keeps the book
    #[arg(long, value_name = "PRICE", value_parser = money::read)]
    pub(crate) cost: Option<Money>,
    /// Day by which a tool is to be checked, for example 2027-06-30
    #[arg(long, value_name = "DATE")]
    pub(crate) check_due: Option<String>,
}

impl Pieces {
    /// Each option, and whether it was given.
    pub(super) fn given(&self) -> Vec<(&'static str, bool)> {
        vec![
            ("--count", self.count.is_some()),
            ("--tag", !self.tag.is_empty()),
            ("--towels", self.towels.is_some()),
            ("--grade", self.grade.is_some()),
            ("--lot", self.lot.is_some()),
            ("--expires", self.expires.is_some()),
            ("--holds", self.holds.is_some()),
            ("--tare", self.tare.is_some()),
            ("--worked", self.worked.is_some()),
            ("--washes", self.washes.is_some()),
            ("--run", self.run.is_some()),
            ("--changes", self.changes.is_some()),
            ("--charges", self.charges.is_some()),
            ("--cost", self.cost.is_some()),
            ("--check-due", self.check_due.is_some()),
        ]
    }
}

/// Work in millionths of a reference section.
fn worked(text: &str) -> Result<i64, String> {
    options::figure(text, &["sections", "section"], 6)
}

/// Refuses a receipt of nothing: without a count one piece comes in.
fn something_came(pieces: &Pieces) -> Result<(), Fault> {
    let counts = [("--count", pieces.count), ("--towels", pieces.towels)];
    match counts
        .into_iter()
        .find(|(_, count)| count.is_some_and(|count| count.get() == 0))
    {
        None => Ok(()),
        Some((option, _)) => Err(Fault::usage(
            option,
            format!("{option} 0 is nothing that came; say how many did, or record nothing."),
        )),
    }
}

/// Records the receipt of pieces that were not ordered through the book.
pub(super) async fn perform(
    session: &Session,
    args: &Receive,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let pieces = &args.pieces;
    something_came(pieces)?;
    let expiry = open_day(session, "--expires", pieces.expires.as_deref())?;
    let check_due = open_day(session, "--check-due", pieces.check_due.as_deref())?;
    let (piece_count, towel_count) = counts(session, &args.what, pieces).await?;
    let (volume_ul, quantity) = match pieces.holds {
        None => (None, None),
        Some(holds) => held(session, &args.what, holds).await?,
    };
    let receive = ReceiveKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        make: args.what.clone(),
        place: places::asked(
            session,
            "--place",
            args.place.as_deref(),
            args.new_place,
            printer,
        )
        .await?
        .unwrap_or_else(|| session.place()),
        piece_count,
        tags: pieces
            .tag
            .iter()
            .map(|tag| tags::spelt(tag).unwrap_or_else(|| tag.clone()))
            .collect(),
        towel_count,
        lot: pieces.lot.clone().unwrap_or_default(),
        expiry_date: expiry,
        check_due_date: check_due,
        volume_ul,
        tare_mg: pieces.tare.map(Mass::mg),
        quantity,
        kept: None,
        towel_grade: pieces.grade.unwrap_or_default().into(),
        work_micro_sections: pieces.worked,
        wash_count: pieces.washes.map(Count::get),
        run_time_s: pieces.run,
        change_count: pieces.changes.map(Count::get),
        charge_count: pieces.charges.map(Count::get),
        landed_cost: money::in_book(session, "--cost", pieces.cost.as_ref()).await?,
        landed_quantity: None,
    };
    let given = receive.tags.clone();
    let answer = session.call(receive).await?;
    let done = tell(printer, &answer)?;
    super::say_what_to_write(printer, &answer.pieces, &given);
    Ok(done)
}

/// Pieces and towels in the bundle, as the request carries them: of towels a count without --towels is how
/// many came, in one bundle.
async fn counts(session: &Session, make: &str, pieces: &Pieces) -> Result<(i64, i64), Fault> {
    let count = pieces.count.map_or(0, Count::get);
    let towels = pieces.towels.map_or(0, Count::get);
    if count == 0 || towels != 0 {
        return Ok((count, towels));
    }
    Ok(match figures_of(session, make).await? {
        Some(Figures::Towel(_)) => (1, count),
        _ => (count, 0),
    })
}

/// What is in a bottle, or of a sundry, as the request carries it.
async fn held(
    session: &Session,
    make: &str,
    holds: Stock,
) -> Result<(Option<i64>, Option<i64>), Fault> {
    match figures_of(session, make).await? {
        Some(Figures::Liquid(liquid)) => {
            let kept = Kept {
                unit: Unit::Microlitre,
                full: Some(liquid.bottle_ul),
            };
            let volume_ul = holds.in_unit(kept, "--holds", make)?;
            Ok((Some(volume_ul), None))
        }
        Some(Figures::Sundry(sundry)) => {
            let kept = Kept {
                unit: sundry.unit(),
                full: Some(sundry.pack_quantity),
            };
            let quantity = holds.in_unit(kept, "--holds", make)?;
            Ok((None, Some(quantity)))
        }
        Some(
            Figures::Pad(_)
            | Figures::Plate(_)
            | Figures::Machine(_)
            | Figures::Towel(_)
            | Figures::Tool(_)
            | Figures::Battery(_),
        )
        | None => Err(Fault::usage(
            "--holds",
            format!("{make} is neither a liquid nor a sundry; give --count or --towels."),
        )),
    }
}
