//! Sums of money on their way into a request: those without a currency are in the book's.

use fettlebook_contract::v1::{GetBookRequest, Money, Offer};
use fettlebook_quantity::parse_price;

use crate::connect::Session;
use crate::fault::Fault;
use crate::said::currency::of_locale;

/// Reads a sum; its currency is empty where none was written.
///
/// # Errors
/// A sentence that says how a sum is written.
pub(crate) fn read(text: &str) -> Result<Money, String> {
    let price = parse_price(text).map_err(|error| error.to_string())?;
    Ok(Money {
        amount: price.amount,
        currency_code: price.currency.unwrap_or_default(),
    })
}

/// The sum with the book's currency where none was written; in a book without a price, with that of the
/// person's system.
///
/// # Errors
/// When neither is known.
pub(crate) async fn in_book(
    session: &Session,
    option: &str,
    sum: Option<&Money>,
) -> Result<Option<Money>, Fault> {
    let Some(sum) = sum else {
        return Ok(None);
    };
    if !sum.currency_code.is_empty() {
        return Ok(Some(sum.clone()));
    }
    let of_book = session.call(GetBookRequest::default()).await?.currency_code;
    let of_here = of_locale().unwrap_or_default().to_owned();
    let currency = if of_book.is_empty() { of_here } else { of_book };
    if currency.is_empty() {
        let amount = &sum.amount;
        return Err(Fault::usage(
            option,
            format!(
                "'{amount}' names no currency, and the book has no price yet to go by; say it once, for \
                 example {amount} EUR."
            ),
        ));
    }
    Ok(Some(Money {
        currency_code: currency,
        ..sum.clone()
    }))
}

/// The offer with the book's currency where its prices name none.
///
/// # Errors
/// When the book has no price yet to go by.
pub(crate) async fn offer_in_book(session: &Session, offer: &Offer) -> Result<Offer, Fault> {
    let mut offer = offer.clone();
    for one in &mut offer.breaks {
        one.price = in_book(session, "OFFER", one.price.as_ref()).await?;
    }
    Ok(offer)
}
