//! How a line of an order is written: `fine-foam-150=2`, or with its pack and price.
//!
//! It serves `order add`. What is left out is by the supplier's price list; nothing is filled in here.

use fettlebook_contract::v1::OrderLine;

use crate::commands::make::figures::whole;
use crate::options::money;

/// How a line is written.
const LINE_FORMS: &str = "MAKE=PACKS, for example fine-foam-150=2, or, for what is not on the \
     supplier's price list, 'fine-foam-150=2 packs of 2 at 17.90 EUR'";

/// Reads a line of an order.
pub(crate) fn line(text: &str) -> Result<OrderLine, String> {
    let refused = || format!("'{text}' is not a line of an order; write {LINE_FORMS}");
    let (make, rest) = text.split_once('=').ok_or_else(refused)?;
    let make = make.trim();
    let (packs, price) = match rest.split_once(" at ") {
        Some((packs, price)) => {
            let price = money(price).map_err(|why| format!("{why}; a line is {LINE_FORMS}"))?;
            (packs, Some(price))
        }
        None => (rest, None),
    };
    let (packs, pieces) = match packs.split_once(" of ") {
        Some((packs, pieces)) => (packs, at_least_one(pieces).ok_or_else(refused)?),
        None => (packs, 0),
    };
    let packs = packs.trim();
    let packs = packs
        .strip_suffix("packs")
        .or_else(|| packs.strip_suffix("pack"))
        .unwrap_or(packs);
    if make.is_empty() {
        return Err(refused());
    }
    Ok(OrderLine {
        make: make.to_owned(),
        pack_count: at_least_one(packs).ok_or_else(refused)?,
        pieces_per_pack: pieces,
        price,
        received_pack_count: 0,
    })
}

fn at_least_one(text: &str) -> Option<i64> {
    whole(text.trim()).ok().filter(|count| *count >= 1)
}

#[cfg(test)]
mod tests {
    use super::line;

    #[test]
    fn a_line_is_a_make_and_packs_and_leaves_the_rest_to_the_price_list() {
        for text in ["fine-foam-150=2", "fine-foam-150 = 2 packs"] {
            let read = line(text).unwrap();
            assert_eq!((read.make.as_str(), read.pack_count), ("fine-foam-150", 2));
            assert_eq!((read.pieces_per_pack, read.price), (0, None));
        }
    }

    #[test]
    fn a_line_may_say_its_pack_and_its_price() {
        let read = line("fine-foam-150=1 pack of 2 at 17.90 EUR").unwrap();
        assert_eq!((read.pack_count, read.pieces_per_pack), (1, 2));
        assert_eq!(read.price.unwrap().amount, "17.90");
        let read = line("plate-75-m8=3 at 18 EUR").unwrap();
        assert_eq!((read.pack_count, read.pieces_per_pack), (3, 0));
    }

    #[test]
    fn what_is_unclear_is_refused_with_the_accepted_form() {
        for text in [
            "",
            "fine-foam-150",
            "=2",
            "fine-foam-150=",
            "fine-foam-150=0",
            "fine-foam-150=-1",
            "fine-foam-150=1.5",
            "fine-foam-150=two",
            "fine-foam-150=2 boxes",
            "fine-foam-150=2 packs of 0",
            "fine-foam-150=2 at 17.90",
            "fine-foam-150=2 at 17,90 EUR",
        ] {
            let refused = line(text).unwrap_err();
            assert!(refused.contains("fine-foam-150=2,"), "{text}: {refused}");
        }
    }
}
