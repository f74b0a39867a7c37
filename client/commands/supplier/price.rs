//! `supplier price ID MAKE OFFER`: puts a make on a price list, at a new price, or takes it off.
//!
//! It serves a new price list, make by make. The other offers of the supplier are sent back as they
//! are.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Offer, Supplier, UpdateSupplierRequest};
use prost_types::FieldMask;

use super::offer::offer;
use super::show::read;
use crate::commands::common::record;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

const FORMS: &str = "\
An offer says what a pack holds, what one pack costs, and from how many packs every pack of a
line costs less:
  fettle supplier price tern-quay plate-125-m8 'each: 24.50 EUR'
  fettle supplier price tern-quay coarse-foam-150 \\
    '2 per pack: 18.90 EUR, from 5 packs 17.50 EUR, from 20 packs 16 EUR'
It takes the place of the offer for that make, if there is one; the others stay.";

/// What `supplier price` takes.
#[derive(Args, Debug)]
#[command(after_help = FORMS)]
pub(crate) struct Price {
    /// Id of the supplier
    #[arg(value_name = "SUPPLIER", add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: String,
    /// Make it is for
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: String,
    /// What a pack holds and costs, for example '2 per pack: 18.90 EUR, from 5 packs 17.50 EUR'
    #[arg(value_name = "OFFER", value_parser = offer, required_unless_present = "drop")]
    pub(crate) offer: Option<Offer>,
    /// Take the make off the price list
    #[arg(long, conflicts_with = "offer")]
    pub(crate) drop: bool,
}

/// Changes the price list.
pub(crate) async fn perform(
    session: &Session,
    args: &Price,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let known = read(session, &args.supplier)
        .await?
        .supplier
        .ok_or_else(|| Fault::answer("the supplier"))?;
    let update = UpdateSupplierRequest {
        request_id: request::new_id(),
        supplier: Some(Supplier {
            supplier: known.supplier,
            offers: args.change(known.offers)?,
            ..Supplier::default()
        }),
        update_mask: Some(FieldMask {
            paths: vec!["offers".to_owned()],
        }),
    };
    record(session, printer, update).await
}

impl Price {
    /// The price list with the offer in its place, or without it.
    fn change(&self, mut offers: Vec<Offer>) -> Result<Vec<Offer>, Fault> {
        let place = offers.iter().position(|one| one.make == self.make);
        let offer = self.offer.as_ref().map(|offer| Offer {
            make: self.make.clone(),
            ..offer.clone()
        });
        match (offer, place) {
            (Some(offer), Some(place)) => {
                if let Some(old) = offers.get_mut(place) {
                    *old = offer;
                }
            }
            (Some(offer), None) => offers.push(offer),
            (None, Some(place)) => {
                offers.remove(place);
            }
            (None, None) => {
                let mut fault = Fault::usage(
                    "--drop",
                    format!("{} has no offer for {}.", self.supplier, self.make),
                );
                fault.todo = format!(
                    "See 'fettle supplier show {}' for what it offers.",
                    self.supplier
                );
                return Err(fault);
            }
        }
        Ok(offers)
    }
}

#[cfg(test)]
mod tests {
    use super::{Price, offer};
    use crate::args::Cli;
    use clap::Parser as _;
    use fettlebook_contract::v1::Offer;

    fn asked(make: &str, text: Option<&str>) -> Price {
        Price {
            supplier: "tern-quay".to_owned(),
            make: make.to_owned(),
            offer: text.map(|text| offer(text).unwrap()),
            drop: text.is_none(),
        }
    }

    fn list() -> Vec<Offer> {
        ["a", "b", "c"]
            .map(|make| Offer {
                make: make.to_owned(),
                ..offer("each: 1.00 EUR").unwrap()
            })
            .to_vec()
    }

    fn told(offers: &[Offer]) -> Vec<String> {
        let amount = |one: &Offer| one.breaks[0].price.clone().unwrap().amount;
        let tell = |one: &Offer| format!("{} {}", one.make, amount(one));
        offers.iter().map(tell).collect()
    }

    #[test]
    fn an_offer_takes_the_place_of_the_one_for_its_make_and_leaves_the_others() {
        let changed = asked("b", Some("each: 2.00 EUR")).change(list()).unwrap();
        assert_eq!(told(&changed), ["a 1.00", "b 2.00", "c 1.00"]);
        let added = asked("d", Some("each: 2.00 EUR")).change(list()).unwrap();
        assert_eq!(told(&added), ["a 1.00", "b 1.00", "c 1.00", "d 2.00"]);
    }

    #[test]
    fn an_offer_is_taken_off_and_one_that_is_not_there_is_refused() {
        let left = asked("b", None).change(list()).unwrap();
        assert_eq!(told(&left), ["a 1.00", "c 1.00"]);
        let fault = asked("d", None).change(list()).unwrap_err();
        assert!(fault.message.contains('d') && fault.exit.code() == 2);
    }

    #[test]
    fn an_offer_or_drop_but_not_both_and_not_neither() {
        let parsed = |words: &[&str]| {
            let line = ["fettle", "supplier", "price", "tern-quay", "a"];
            Cli::try_parse_from(line.iter().chain(words)).is_ok()
        };
        assert!(parsed(&["each: 1 EUR"]) && parsed(&["--drop"]));
        assert!(!parsed(&[]) && !parsed(&["each: 1 EUR", "--drop"]));
    }
}
