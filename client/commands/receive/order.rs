//! `receive ORDER`: takes a delivery of an order into the kit.
//!
//! It serves the day a parcel comes that was ordered through the book. Without lines all that is
//! still to come has come; how freight is shared is the service's to say.

use fettlebook_contract::v1::{DeliveryLine, ReceiveOrderRequest};

use super::Receive;
use crate::commands::common::record;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;
use crate::when;

/// What the ids that the book gives to orders begin with.
const ORDER_PREFIX: &str = "order-";

/// Whether a word is the id of an order rather than of a make.
pub(super) fn is_order(word: &str) -> bool {
    word.strip_prefix(ORDER_PREFIX).is_some_and(|number| {
        !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit())
    })
}

/// Records the delivery.
pub(super) async fn perform(
    session: &Session,
    args: &Receive,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let lines = args.line.iter().map(|line| dated(session, line));
    let receive = ReceiveOrderRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        order: args.what.clone(),
        lines: lines.collect::<Result<_, _>>()?,
        place: args.place.clone().unwrap_or_default(),
        freight: args.freight.clone(),
    };
    record(session, printer, receive).await
}

/// The line with its day as the contract carries it.
fn dated(session: &Session, line: &DeliveryLine) -> Result<DeliveryLine, Fault> {
    let mut line = line.clone();
    if !line.expiry_date.is_empty() {
        let day = when::day(&line.expiry_date, &session.now());
        line.expiry_date = day.map_err(|why| Fault::usage("--line", why))?.to_string();
    }
    Ok(line)
}

#[cfg(test)]
mod tests {
    use super::is_order;

    #[test]
    fn an_id_that_the_book_gives_to_orders_is_told_from_a_make() {
        assert!(is_order("order-1") && is_order("order-120"));
        for make in [
            "order",
            "order-",
            "order-form",
            "order-1a",
            "reorder-1",
            "coarse-foam-150",
        ] {
            assert!(!is_order(make), "{make}");
        }
    }
}
