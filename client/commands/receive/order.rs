//! `receive ORDER`: takes a delivery of an order into the kit.
//!
//! It serves the day a parcel comes that was ordered through the book. Without lines all that is
//! still to come has come; how freight is shared is the service's to say.

use fettlebook_contract::v1::{DeliveryLine, ReceiveOrderRequest};

use super::Receive;
use crate::commands::common::tell;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::render::Printer;
use crate::request;
use crate::when;
use crate::{money, places};

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
        place: places::asked(
            session,
            "--place",
            args.place.as_deref(),
            args.new_place,
            printer,
        )
        .await?
        .unwrap_or_else(|| session.place()),
        freight: money::in_book(session, "--freight", args.freight.as_ref()).await?,
    };
    let lines = receive.lines.iter();
    let given: Vec<String> = lines.flat_map(|line| line.tags.clone()).collect();
    let answer = session.call(receive).await?;
    let done = tell(printer, &answer)?;
    super::say_what_to_write(printer, &answer.pieces, &given);
    Ok(done)
}

/// The line with its day as the contract carries it.
fn dated(session: &Session, line: &DeliveryLine) -> Result<DeliveryLine, Fault> {
    let mut line = line.clone();
    if !line.expiry_date.is_empty() {
        let day = when::last_day(&line.expiry_date, &session.now());
        line.expiry_date = day.map_err(|why| Fault::usage("--line", why))?.to_string();
    }
    Ok(line)
}

/// How a line is written.
const LINE_FORMS: &str = "'MAKE=PACKS' and, where it is known, ', lot LOT', ', use by DATE' and ', \
     tags TAG TAG', for example 'fine-polish-500ml=2, lot GY-150, use by 2027-03-01, tags B-07 B-08'";

/// Reads a line of a delivery; its day is still as it was written.
pub(crate) fn line(text: &str) -> Result<DeliveryLine, String> {
    let mut parts = text.split(',').map(str::trim);
    let first = parts.next().unwrap_or_default();
    let mut line = packs(first)
        .ok_or_else(|| format!("'{first}' is not a make and packs of it; write {LINE_FORMS}"))?;
    for part in parts {
        let (word, rest) = part.split_once(char::is_whitespace).unwrap_or((part, ""));
        let rest = rest.trim();
        let known = match word {
            "lot" => put(&mut line.lot, rest),
            "use" => rest
                .strip_prefix("by ")
                .and_then(|day| put(&mut line.expiry_date, day.trim())),
            "tags" | "tag" => tags(&mut line, rest),
            _ => None,
        };
        if known.is_none() {
            return Err(format!(
                "'{part}' is no part of a line, or is there twice; write {LINE_FORMS}"
            ));
        }
    }
    Ok(line)
}

fn packs(text: &str) -> Option<DeliveryLine> {
    let (make, packs) = text.split_once('=')?;
    let (make, packs) = (make.trim(), packs.trim());
    let packs = packs
        .strip_suffix("packs")
        .or_else(|| packs.strip_suffix("pack"))
        .unwrap_or(packs);
    let pack_count = whole(packs.trim()).ok().filter(|count| *count >= 1)?;
    (!make.is_empty()).then(|| DeliveryLine {
        make: make.to_owned(),
        pack_count,
        ..DeliveryLine::default()
    })
}

/// Fills a field that must be empty with text that must not be.
fn put(field: &mut String, text: &str) -> Option<()> {
    (field.is_empty() && !text.is_empty()).then(|| text.clone_into(field))
}

fn tags(line: &mut DeliveryLine, text: &str) -> Option<()> {
    let named = text.split_whitespace().map(str::to_owned);
    (line.tags.is_empty() && !text.is_empty()).then(|| line.tags.extend(named))
}

#[cfg(test)]
mod tests {
    use super::{is_order, line};

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

    #[test]
    fn a_line_says_packs_and_what_is_known_of_them_in_any_order() {
        let read =
            line("fine-polish-500ml=2, tags B-07 B-08, use by 2027-03-01, lot GY 150").unwrap();
        assert_eq!(
            (read.make.as_str(), read.pack_count),
            ("fine-polish-500ml", 2)
        );
        assert_eq!(read.lot, "GY 150");
        assert_eq!(read.expiry_date, "2027-03-01");
        assert_eq!(read.tags, ["B-07", "B-08"]);
        let read = line(" coarse-foam-150 = 1 pack ").unwrap();
        assert_eq!(
            (read.make.as_str(), read.pack_count),
            ("coarse-foam-150", 1)
        );
        assert!(read.lot.is_empty() && read.tags.is_empty());
    }

    #[test]
    fn what_is_unclear_is_refused_with_the_accepted_form() {
        for text in [
            "",
            "fine-polish-500ml",
            "=2",
            "fine-polish-500ml=0",
            "fine-polish-500ml=2 bottles",
            "fine-polish-500ml=2,",
            "fine-polish-500ml=2, GY-150",
            "fine-polish-500ml=2, lot",
            "fine-polish-500ml=2, lot A, lot B",
            "fine-polish-500ml=2, use 2027-03-01",
            "fine-polish-500ml=2, use by",
            "fine-polish-500ml=2, tags",
            "fine-polish-500ml=2, tags B-07, B-08",
        ] {
            let refused = line(text).unwrap_err();
            assert!(refused.contains("use by 2027-03-01"), "{text}: {refused}");
        }
    }
}
