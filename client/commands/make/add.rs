//! `make add SORT ID`: sets up a make with its figures.
//!
//! It serves setting up. Ratings that are left out are the book's policy to fill in.

use clap::{Args, Subcommand};
use fettlebook_contract::v1::{CreateMakeRequest, Make, Money};

use crate::commands::common::tell_understood;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::{Given, Held, Of, differences, read, sorts};
use crate::ids;
use crate::money;
use crate::render::Printer;
use crate::request;

/// Sorts of make.
#[derive(Debug, Subcommand)]
pub(crate) enum Add {
    /// A polishing pad
    Pad(Made<sorts::Pad>),
    /// A backing plate
    Plate(Made<sorts::Plate>),
    /// A polishing machine
    Machine(Made<sorts::Machine>),
    /// A towel
    Towel(Made<sorts::Towel>),
    /// A compound or polish
    Liquid(Made<sorts::Liquid>),
    /// Something counted or measured that does not wear
    Sundry(Made<sorts::Sundry>),
    /// Something that must be there and is not used up: a gauge, a light, a brush
    Tool(Made<sorts::Tool>),
    /// A battery of cordless machines
    Battery(Made<sorts::Battery>),
}

/// What every sort takes.
#[derive(Args, Debug)]
pub(crate) struct Common {
    /// Id to type from now on, for example coarse-foam-150; without it from the name
    #[arg(value_name = "ID", required_unless_present = "name")]
    pub(crate) make: Option<String>,
    /// Name as said, for example 'coarse foam 150'
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// Price of one pack, for example '18.90 EUR'
    #[arg(long, value_name = "PRICE", value_parser = money::read)]
    pub(crate) price: Option<Money>,
    /// Pieces in a pack at that price; without it one
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pub(crate) pack: Option<i64>,
    /// GHS hazard codes from the data sheet, for example H225,H319
    #[arg(long, value_name = "CODES", value_delimiter = ',')]
    pub(crate) ghs: Vec<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// A make of one sort.
#[derive(Args, Debug)]
pub(crate) struct Made<S: Of> {
    #[command(flatten)]
    pub(crate) common: Common,
    #[command(flatten)]
    given: Given<S>,
}

/// Sets up the make.
pub(crate) async fn perform(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut make = args.make()?;
    make.price = money::in_book(session, "--price", make.price.as_ref()).await?;
    let understood = differences(None, &make)?;
    let create = CreateMakeRequest {
        request_id: request::new_id(),
        make: Some(make),
    };
    let answer = session.call(create).await?;
    tell_understood(printer, &answer, &understood)
}

impl Add {
    /// The make as the contract carries it.
    fn make(&self) -> Result<Make, Fault> {
        match self {
            Self::Pad(made) => made.make(),
            Self::Plate(made) => made.make(),
            Self::Machine(made) => made.make(),
            Self::Towel(made) => made.make(),
            Self::Liquid(made) => made.make(),
            Self::Sundry(made) => made.make(),
            Self::Tool(made) => made.make(),
            Self::Battery(made) => made.make(),
        }
    }
}

impl<S: Of> Made<S> {
    fn make(&self) -> Result<Make, Fault> {
        let common = &self.common;
        let (make, name) = ids::with_name(common.make.as_deref(), common.name.as_deref());
        let make = Make {
            make,
            name,
            price: common.price.clone(),
            pack_count: common.pack.unwrap_or(0),
            ghs_codes: common.ghs.clone(),
            note: common.note.clone().unwrap_or_default(),
            ..Make::default()
        };
        let mut held = Held::new(&make, S::SORT)?;
        for figure in held.rows() {
            let typed = self.given.typed().iter();
            if let Some((_, typed)) = typed.clone().find(|(option, _)| *option == figure.option) {
                held.put(figure, typed)?;
            }
        }
        held.make()
    }
}
