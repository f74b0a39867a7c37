//! `supplier price ID MAKE`: what a supplier asks for a make, and how that is written.
//!
//! Options that are not given leave the offer as it is.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    GetMakeRequest, Money, Offer, PriceBreak, Supplier, UpdateSupplierRequest,
};
use prost_types::FieldMask;

use super::read;
use crate::ask::{is_it_so, somebody_is_there};
use crate::commands::common::tell_understood;
use crate::commands::doubt::not_meant;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::ids;
use crate::money;
use crate::render::{Printer, understood};
use crate::request;

const FORMS: &str = "\
An offer says what one as sold costs or what a pack holds and costs, and from how many packs every
pack of a line costs less; several makes go in one command:
  fettle supplier price tern-quay plate-125-m8 '24.50 EUR' fine-polish-500ml '29 EUR'
  fettle supplier price tern-quay coarse-foam-150 \\
    '2 per pack: 18.90 EUR, from 5 packs 17.50 EUR, from 20 packs 16 EUR'
It takes the place of the offer for that make, if there is one; the others stay.";

/// A price of one that is so many times another of the same make is asked about.
const ODD_TIMES: f64 = 5.0;

/// What `supplier price` takes.
#[derive(Args, Debug)]
#[command(after_help = FORMS)]
pub(crate) struct Price {
    /// Id of the supplier
    #[arg(value_name = "SUPPLIER", value_parser = ids::id, add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: String,
    /// Make and what it costs, for example plate-125-m8 '24.50 EUR' or coarse-foam-150 '2 per pack:
    /// 18.90 EUR, from 5 packs 17.50 EUR'; several are given one behind the other
    #[arg(required = true, value_name = "MAKE OFFER", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) offers: Vec<String>,
    /// Take the makes off the price list
    #[arg(long)]
    pub(crate) drop: bool,
}

/// Changes the price list.
pub(crate) async fn perform(
    session: &Session,
    args: &Price,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let changes = args.changes()?;
    let known = read(session, &args.supplier)
        .await?
        .supplier
        .ok_or_else(|| Fault::answer("the supplier"))?;
    let before = known.offers.clone();
    let mut offers = known.offers;
    for change in changes {
        offers = match change {
            Change::Drop(make) => without(offers, &args.supplier, &make)?,
            Change::Offer(offer) => {
                let offer = as_sold(session, &offer).await?;
                is_meant(session, &offer, printer).await?;
                with(offers, offer)
            }
        };
    }
    let told = understood::offers(&before, &offers);
    let update = UpdateSupplierRequest {
        request_id: request::new_id(),
        supplier: Some(Supplier {
            supplier: known.supplier,
            offers,
            etag: known.etag,
            ..Supplier::default()
        }),
        update_mask: Some(FieldMask {
            paths: vec!["offers".to_owned()],
        }),
    };
    let answer = session.call(update).await?;
    tell_understood(printer, &answer, &told)
}

/// One change of a price list.
#[derive(Clone, Debug, PartialEq)]
enum Change {
    /// An offer for a make; one without a pack is for one as it is sold.
    Offer(Offer),
    /// No offer for a make any more.
    Drop(String),
}

impl Price {
    /// The changes that were typed.
    fn changes(&self) -> Result<Vec<Change>, Fault> {
        if self.drop {
            let makes = self.offers.iter();
            return Ok(makes.map(|make| Change::Drop(make.clone())).collect());
        }
        let mut changes = Vec::new();
        let mut left = self.offers.as_slice();
        while let [make, rest @ ..] = left {
            let (make, said) = match make.split_once('=') {
                Some((make, said)) => (make.trim().to_owned(), Some(said.to_owned())),
                None => (make.clone(), None),
            };
            let (read, after) = match said {
                Some(said) => (offer(&said), rest),
                None => longest(rest),
            };
            left = after;
            let read = read.map_err(|why| {
                let mut fault = Fault::usage("OFFER", format!("{why}."));
                fault.hints.example =
                    format!("fettle supplier price {} {make} '24.50 EUR'", self.supplier);
                fault
            })?;
            changes.push(Change::Offer(Offer { make, ..read }));
        }
        Ok(changes)
    }
}

/// The offer that as many words as can be are, and the words behind it: `38 EUR` may be two words.
fn longest(words: &[String]) -> (Result<Offer, String>, &[String]) {
    let Some(first) = words.first() else {
        return (
            Err(format!("What it costs is missing; write {OFFER_FORMS}")),
            words,
        );
    };
    let mut found = (offer(first), words.get(1..).unwrap_or_default());
    for count in 2..=words.len() {
        let joined = words.get(..count).unwrap_or_default().join(" ");
        if let Ok(offer) = offer(&joined) {
            found = (Ok(offer), words.get(count..).unwrap_or_default());
        }
    }
    found
}

/// The offer with the pack of its make and the book's currency where it names none.
async fn as_sold(session: &Session, offer: &Offer) -> Result<Offer, Fault> {
    let mut offer = money::offer_in_book(session, offer).await?;
    if offer.pack_count == 0 {
        let make = offer.make.clone();
        let known = session.call(GetMakeRequest { make }).await?.make;
        offer.pack_count = known.map_or(1, |make| make.pack_count.max(1));
    }
    Ok(offer)
}

/// Asks about a price that is far from the make's own, where somebody can be asked; else it is said.
async fn is_meant(session: &Session, offer: &Offer, printer: &mut Printer) -> Result<(), Fault> {
    let make = offer.make.clone();
    let known = session.once(GetMakeRequest { make }).await;
    let Some(make) = known.ok().and_then(|answer| answer.make) else {
        return Ok(());
    };
    let new = offer.breaks.first().and_then(|one| one.price.as_ref());
    let Some(odd) = odd(new, offer.pack_count, make.price.as_ref(), make.pack_count) else {
        return Ok(());
    };
    let told = format!(
        "{} costs {odd} one by this, against its own price; a pack is written 'N per pack: PRICE'.",
        offer.make
    );
    printer.say(&printer.screen().hung("", "  ", &told));
    if somebody_is_there(printer) && !is_it_so("Record it all the same?")? {
        return Err(not_meant());
    }
    Ok(())
}

/// How many times dearer or cheaper one is at a price than at another, where that is odd.
fn odd(new: Option<&Money>, new_pack: i64, old: Option<&Money>, old_pack: i64) -> Option<String> {
    let one = |price: &Money, pack: i64| {
        let pack = i32::try_from(pack.max(1)).ok()?;
        let amount: f64 = price.amount.parse().ok()?;
        Some(amount / f64::from(pack))
    };
    let (new, old) = (one(new?, new_pack)?, one(old?, old_pack)?);
    let times = new / old;
    if times > ODD_TIMES {
        Some(format!("{times:.0} times as much for"))
    } else if times < 1.0 / ODD_TIMES && times > 0.0 {
        Some(format!("a {:.0}th of it for", 1.0 / times))
    } else {
        None
    }
}

/// The price list with an offer in its place.
fn with(mut offers: Vec<Offer>, offer: Offer) -> Vec<Offer> {
    match offers.iter_mut().find(|one| one.make == offer.make) {
        Some(old) => *old = offer,
        None => offers.push(offer),
    }
    offers
}

/// The price list without the offer for a make.
fn without(mut offers: Vec<Offer>, supplier: &str, make: &str) -> Result<Vec<Offer>, Fault> {
    match offers.iter().position(|one| one.make == make) {
        Some(place) => {
            offers.remove(place);
            Ok(offers)
        }
        None => {
            let mut fault = Fault::usage("--drop", format!("{supplier} has no offer for {make}."));
            fault.todo = "Its price list is in what is shown of the supplier.".to_owned();
            fault.hints.example = format!("fettle supplier show {supplier}");
            Err(fault)
        }
    }
}

/// How an offer is written.
pub(crate) const OFFER_FORMS: &str = "'24.50 EUR' for one as it is sold, '2 per pack: 18.90 EUR' or, where \
     more packs cost less, '2 per pack: 18.90 EUR, from 5 packs 17.50 EUR'";

/// Reads an offer; whose make it is for is said elsewhere, and a pack count of nothing is one as it is sold.
pub(crate) fn offer(text: &str) -> Result<Offer, String> {
    let (pack_count, prices) = match text.split_once(':') {
        Some((pack, prices)) => (in_a_pack(pack.trim())?, prices.to_owned()),
        None => without_a_colon(text),
    };
    let mut parts = parts(&prices).into_iter();
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
        pack_count,
        breaks,
    })
}

/// `2 for 18.90 EUR` and `18.90 EUR for 2`: what a pack holds, and its prices.
fn without_a_colon(text: &str) -> (i64, String) {
    let said = |count: &str, price: &str| {
        let count = count
            .trim()
            .trim_end_matches(" pack")
            .trim_end_matches(" pieces");
        at_least_one(count).map(|count| (count, price.to_owned()))
    };
    let found = [" for ", " per "].iter().find_map(|word| {
        let (before, after) = text.split_once(word)?;
        said(before, after).or_else(|| said(after, before))
    });
    let each = text
        .trim()
        .strip_suffix(" each")
        .or_else(|| text.trim().strip_prefix("each "));
    found
        .or_else(|| each.map(|price| (1, price.to_owned())))
        .unwrap_or_else(|| (0, text.to_owned()))
}

/// The prices of an offer: a comma goes between them where no digit follows it.
fn parts(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut rest = text;
    let mut from = 0;
    while let Some(at) = rest.get(from..).and_then(|tail| tail.find([',', ';'])) {
        let at = from.saturating_add(at);
        let behind = at.saturating_add(1);
        let digit = |c: char| c.is_ascii_digit() || c == '-';
        if rest
            .get(behind..)
            .is_some_and(|tail| tail.starts_with(digit))
        {
            from = behind;
            continue;
        }
        parts.push(rest.get(..at).unwrap_or_default().trim());
        rest = rest.get(behind..).unwrap_or_default();
        from = 0;
    }
    parts.push(rest.trim());
    parts
}

/// `2 per pack`, `pack of 2`, `2` or `each`.
fn in_a_pack(text: &str) -> Result<i64, String> {
    let lower = text.to_lowercase();
    if matches!(lower.as_str(), "each" | "one" | "single" | "per piece") {
        return Ok(1);
    }
    let bare = lower
        .strip_suffix("per pack")
        .or_else(|| lower.strip_suffix("a pack"))
        .or_else(|| lower.strip_suffix("-pack"))
        .or_else(|| lower.strip_suffix("pack"))
        .or_else(|| lower.strip_prefix("pack of"))
        .or_else(|| lower.strip_prefix("per"))
        .unwrap_or(&lower);
    at_least_one(bare.trim())
        .ok_or_else(|| format!("'{text}' is not a number of pieces in a pack; write {OFFER_FORMS}"))
}

/// `from 5 packs 17.50 EUR`, `from 5 17.50 EUR`.
fn from_packs(text: &str) -> Result<PriceBreak, String> {
    let refused = || format!("'{text}' is not a price from so many packs on; write {OFFER_FORMS}");
    let rest = text.strip_prefix("from").ok_or_else(refused)?.trim();
    let (count, rest) = rest.split_once(char::is_whitespace).ok_or_else(refused)?;
    let count = at_least_one(count.trim_end_matches(':')).ok_or_else(refused)?;
    let price = rest.trim();
    let price = ["packs", "pack", "pieces"]
        .iter()
        .find_map(|word| price.strip_prefix(word))
        .unwrap_or(price);
    price_break(count, price.trim_start_matches(':').trim()).map_err(|_| refused())
}

fn price_break(from_pack_count: i64, price: &str) -> Result<PriceBreak, String> {
    let price =
        money::read(price).map_err(|why| format!("{why}; an offer is written {OFFER_FORMS}"))?;
    Ok(PriceBreak {
        from_pack_count,
        price: Some(price),
    })
}

fn at_least_one(text: &str) -> Option<i64> {
    whole(text).ok().filter(|count| *count >= 1)
}

#[cfg(test)]
mod tests;
