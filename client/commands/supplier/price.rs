//! `supplier price ID MAKE`: what a supplier asks for a make, and how that is written.
//!
//! Options that are not given leave the offer as it is.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Offer, PriceBreak, Supplier, UpdateSupplierRequest};
use prost_types::FieldMask;

use super::read;
use crate::commands::common::record;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::options::money;
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
            etag: known.etag,
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

/// How an offer is written.
pub(crate) const OFFER_FORMS: &str = "'2 per pack: 18.90 EUR', 'each: 24.50 EUR' or, where more \
     packs cost less, '2 per pack: 18.90 EUR, from 5 packs 17.50 EUR'";

/// Reads an offer; whose make it is for is said elsewhere.
pub(crate) fn offer(text: &str) -> Result<Offer, String> {
    let (pack, prices) = text.split_once(':').ok_or_else(|| {
        format!("'{text}' does not say how many are in a pack; write {OFFER_FORMS}")
    })?;
    let mut parts = prices.split(',').map(str::trim);
    let first = parts.next().unwrap_or_default();
    let mut breaks = vec![price_break(1, first)?];
    for part in parts {
        let further = from_packs(part)?;
        let before = breaks.last().map_or(1, |last| last.from_pack_count);
        if further.from_pack_count <= before {
            return Err(format!(
                "'{part}' comes after a price from {before}; write the prices from few packs to many, \
                 each once, as {OFFER_FORMS}"
            ));
        }
        breaks.push(further);
    }
    Ok(Offer {
        make: String::new(),
        pack_count: in_a_pack(pack.trim())?,
        breaks,
    })
}

/// `2 per pack` or `each`.
fn in_a_pack(text: &str) -> Result<i64, String> {
    let lower = text.to_lowercase();
    if lower == "each" {
        return Ok(1);
    }
    lower
        .strip_suffix("per pack")
        .and_then(|count| at_least_one(count.trim()))
        .ok_or_else(|| format!("'{text}' is not a number of pieces in a pack; write {OFFER_FORMS}"))
}

/// `from 5 packs 17.50 EUR`.
fn from_packs(text: &str) -> Result<PriceBreak, String> {
    let refused = || {
        format!(
            "'{text}' is not a price from so many packs on; write {OFFER_FORMS}, with points and no thousands mark"
        )
    };
    let mut words = text.split_whitespace();
    let [from, count, packs] = [words.next(), words.next(), words.next()];
    let said = from == Some("from") && matches!(packs, Some("packs" | "pack"));
    let count = count.filter(|_| said).and_then(at_least_one);
    let price = words.collect::<Vec<_>>().join(" ");
    price_break(count.ok_or_else(refused)?, &price).map_err(|_| refused())
}

fn price_break(from_pack_count: i64, price: &str) -> Result<PriceBreak, String> {
    let price = money(price).map_err(|why| format!("{why}; an offer is written {OFFER_FORMS}"))?;
    Ok(PriceBreak {
        from_pack_count,
        price: Some(price),
    })
}

fn at_least_one(text: &str) -> Option<i64> {
    whole(text).ok().filter(|count| *count >= 1)
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;
    use fettlebook_contract::v1::Offer;

    use super::{Price, offer};
    use crate::args::Cli;

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

    /// Pieces in a pack, then packs and price of each break.
    fn read(text: &str) -> (i64, Vec<(i64, String)>) {
        let offer = offer(text).unwrap();
        let breaks = offer.breaks.into_iter().map(|one| {
            let price = one.price.unwrap();
            let told = format!("{} {}", price.amount, price.currency_code);
            (one.from_pack_count, told)
        });
        (offer.pack_count, breaks.collect())
    }

    fn prices(told: &[(i64, &str)]) -> Vec<(i64, String)> {
        let owned = |(count, price): &(i64, &str)| (*count, (*price).to_owned());
        told.iter().map(owned).collect()
    }

    #[test]
    fn an_offer_says_what_a_pack_holds_and_what_it_costs_from_how_many() {
        assert_eq!(
            read("2 per pack: 18.90 EUR, from 5 packs 17.50 EUR, from 20 packs 16 eur"),
            (
                2,
                prices(&[(1, "18.90 EUR"), (5, "17.50 EUR"), (20, "16 EUR")])
            )
        );
        assert_eq!(read("Each:24.50 EUR"), (1, prices(&[(1, "24.50 EUR")])));
        assert_eq!(
            read(" 12  per pack :  34.00 EUR "),
            (12, prices(&[(1, "34.00 EUR")]))
        );
    }

    #[test]
    fn what_is_unclear_is_refused_with_the_accepted_form() {
        for text in [
            "",
            "18.90 EUR",
            "2: 18.90 EUR",
            "per pack: 18.90 EUR",
            "0 per pack: 18.90 EUR",
            "-2 per pack: 18.90 EUR",
            "2.5 per pack: 18.90 EUR",
            "2 per pack:",
            "2 per pack: 18.90",
            "2 per pack: EUR 18.90",
            "2 per pack: 18,90 EUR",
            "2 per pack: -18.90 EUR",
            "2 per pack: 18.90 EUR,",
            "2 per pack: 18.90 EUR, 17.50 EUR",
            "2 per pack: 18.90 EUR, from 5 17.50 EUR",
            "2 per pack: 18.90 EUR, from 5 packs 17,50 EUR",
            "2 per pack: 18.90 EUR, from 1 pack 17.50 EUR",
            "2 per pack: 18.90 EUR, from 5 packs 17 EUR, from 5 packs 16 EUR",
            "2 per pack: 18.90 EUR, from 9 packs 17 EUR, from 5 packs 16 EUR",
            "2 per pack: 18.90 EUR, from five packs 17.50 EUR",
        ] {
            let refused = offer(text).unwrap_err();
            assert!(
                refused.contains("2 per pack: 18.90 EUR"),
                "{text}: {refused}"
            );
        }
    }
}
