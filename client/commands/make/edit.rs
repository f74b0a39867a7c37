//! `make edit ID`: changes figures of a make.
//!
//! It serves corrections and new prices. Only what is given is changed; an option of another sort of
//! make is refused by its name.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{GetMakeRequest, Make, Money, UpdateMakeRequest};
use prost_types::FieldMask;

use crate::commands::common::{AsRead, tell_understood};
use crate::commands::noun::changes_something;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::{Given, Held, OfAny, differences, read};
use crate::money;
use crate::render::Printer;
use crate::request;

/// What `make edit` takes.
#[derive(Args, Clone, Debug)]
pub(crate) struct Edit {
    /// Id of the make
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: String,
    /// Name as said
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    /// Price of one pack, for example '18.90 EUR'
    #[arg(long, value_name = "PRICE", value_parser = money::read)]
    price: Option<Money>,
    /// Pieces in a pack at that price
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pack: Option<i64>,
    /// GHS hazard codes from the data sheet, for example H225,H319
    #[arg(long, value_name = "CODES", value_delimiter = ',')]
    ghs: Option<Vec<String>>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    #[command(flatten)]
    given: Given<OfAny>,
    #[command(flatten)]
    pub(crate) as_read: AsRead,
}

/// Changes the make.
pub(crate) async fn perform(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetMakeRequest {
        make: args.make.clone(),
    };
    let known = session.call(asked).await?.make;
    let known = known.ok_or_else(|| Fault::answer("the make"))?;
    let (mut make, paths) = args.change(&known)?;
    make.price = money::in_book(session, "--price", make.price.as_ref()).await?;
    let whole = args.whole(&known, &make);
    let update = UpdateMakeRequest {
        request_id: request::new_id(),
        make: Some(make),
        update_mask: Some(FieldMask { paths }),
    };
    let answer = session.call(update).await?;
    tell_understood(printer, &answer, &differences(Some(&known), &whole)?)
}

impl Edit {
    /// The make as it will be: what was given, and the rest as it is known.
    fn whole(&self, known: &Make, changed: &Make) -> Make {
        let price = if self.price.is_some() {
            &changed.price
        } else {
            &known.price
        };
        Make {
            name: self.name.as_ref().unwrap_or(&known.name).clone(),
            price: price.clone(),
            pack_count: self.pack.unwrap_or(known.pack_count),
            ghs_codes: self.ghs.as_ref().unwrap_or(&known.ghs_codes).clone(),
            note: self.note.as_ref().unwrap_or(&known.note).clone(),
            ..changed.clone()
        }
    }

    /// The make with what was given, and the mask that names it.
    fn change(&self, known: &Make) -> Result<(Make, Vec<String>), Fault> {
        let mut paths = Vec::new();
        let mut named = |path: &str, is_given: bool| {
            if is_given {
                paths.push(path.to_owned());
            }
        };
        named("name", self.name.is_some());
        named("price", self.price.is_some());
        named("pack_count", self.pack.is_some());
        named("ghs_codes", self.ghs.is_some());
        named("note", self.note.is_some());
        let make = Make {
            name: self.name.clone().unwrap_or_default(),
            price: self.price.clone(),
            pack_count: self.pack.unwrap_or_default(),
            ghs_codes: self.ghs.clone().unwrap_or_default(),
            note: self.note.clone().unwrap_or_default(),
            etag: self.as_read.or(known.etag.clone()),
            ..known.clone()
        };
        let mut held = Held::of(&make)?;
        for (option, typed) in self.given.typed() {
            let Some(figure) = held.rows().find(|figure| figure.option == *option) else {
                return Err(Fault::usage(
                    &format!("--{option}"),
                    format!(
                        "{} is a {}, which has no --{option}.",
                        self.make,
                        held.sort()
                    ),
                ));
            };
            paths.extend(held.put(figure, typed)?);
        }
        changes_something("make edit", &paths)?;
        Ok((held.make()?, paths))
    }
}

#[cfg(test)]
mod tests;
