//! `receive MAKE`: takes new pieces into the kit.
//!
//! It serves the day a parcel comes. Tags that are not given are the service's to hand out; the
//! entry names them, so that they can be written on the pieces.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{GetMakeRequest, ReceiveKitRequest, TowelGrade, Unit};
use fettlebook_quantity::{Count, Mass, parse_count, parse_mass};

use crate::call::send;
use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options::{self, Stock};
use crate::render::Printer;
use crate::request;
use crate::when;
use crate::word;

/// What `receive` takes.
#[derive(Args, Debug)]
pub(crate) struct Receive {
    /// Make of the pieces
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: String,
    /// Pieces, each with a tag of its own; a bundle of towels or a box is one
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) count: Option<Count>,
    /// Tags written on them; without it the next free ones are given
    #[arg(long, value_name = "TAG", value_delimiter = ',')]
    pub(crate) tag: Vec<String>,
    /// Where they go; without it the bench
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
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
    #[arg(long, value_name = "WEIGHT", value_parser = parse_mass)]
    pub(crate) tare: Option<Mass>,
    /// Reference sections a pad has worked before it came here, for example 12.5
    #[arg(long, value_name = "SECTIONS", value_parser = worked)]
    pub(crate) worked: Option<i64>,
    /// Washes a pad or a bundle has had before it came here
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) washes: Option<Count>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Work in millionths of a reference section.
fn worked(text: &str) -> Result<i64, String> {
    options::figure(text, &["sections", "section"], 6)
}

/// Records the receipt.
pub(crate) async fn perform(
    session: &Session,
    args: &Receive,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let expiry = args
        .expires
        .as_deref()
        .map(|text| when::day(text, &session.now()))
        .transpose()
        .map_err(|why| Fault::usage("--expires", why))?;
    let (volume_ul, quantity) = match args.holds {
        None => (None, None),
        Some(holds) => held(session, &args.make, holds).await?,
    };
    let receive = ReceiveKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        make: args.make.clone(),
        place: args.place.clone().unwrap_or_default(),
        piece_count: args.count.map_or(0, Count::get),
        tags: args.tag.clone(),
        towel_count: args.towels.map_or(0, Count::get),
        lot: args.lot.clone().unwrap_or_default(),
        expiry_date: expiry.map_or_else(String::new, |date| date.to_string()),
        volume_ul,
        tare_mg: args.tare.map(Mass::mg),
        quantity,
        towel_grade: args.grade.unwrap_or_default().into(),
        work_micro_sections: args.worked,
        wash_count: args.washes.map(Count::get),
    };
    let kit = session.kit();
    record(printer, receive, |sent| {
        let mut kit = kit.clone();
        async move { kit.receive_kit(sent).await }
    })
    .await
}

/// What is in a bottle, or of a sundry, as the request carries it.
async fn held(
    session: &Session,
    make: &str,
    holds: Stock,
) -> Result<(Option<i64>, Option<i64>), Fault> {
    match figures_of(session, make).await? {
        Some(Figures::Liquid(_)) => {
            let volume_ul = holds.in_unit(Unit::Microlitre, "--holds", make)?;
            Ok((Some(volume_ul), None))
        }
        Some(Figures::Sundry(sundry)) => {
            let quantity = holds.in_unit(sundry.unit(), "--holds", make)?;
            Ok((None, Some(quantity)))
        }
        Some(Figures::Pad(_) | Figures::Plate(_) | Figures::Machine(_) | Figures::Towel(_))
        | None => Err(Fault::usage(
            "--holds",
            format!("{make} is neither a liquid nor a sundry; give --count or --towels."),
        )),
    }
}

/// The figures of a make.
///
/// # Errors
/// When the make is not known.
pub(crate) async fn figures_of(session: &Session, make: &str) -> Result<Option<Figures>, Fault> {
    let asked = GetMakeRequest {
        make: make.to_owned(),
    };
    let kit = session.kit();
    let answer = send(asked, |sent| {
        let mut kit = kit.clone();
        async move { kit.get_make(sent).await }
    })
    .await?;
    Ok(answer.make.and_then(|make| make.figures))
}
