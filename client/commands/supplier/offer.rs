//! How an offer is written: `2 per pack: 18.90 EUR, from 5 packs 17.50 EUR`.
//!
//! It serves `supplier price`. How many pieces a pack holds is always said, because a price without
//! it is two prices; what is unclear is refused with the accepted form.

use fettlebook_contract::v1::{Offer, PriceBreak};

use crate::commands::make::figures::whole;
use crate::options::money;

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
    use super::offer;

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
