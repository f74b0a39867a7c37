//! Packs of what is counted or measured, and bundles of towels: `1`, `2`, `half`, `30 pairs`, `20 m`, `2x12`.

use fettlebook_contract::v1::Unit;

use super::{bottles, count, is_none, plain, times};
use crate::options;

/// Packs that hold as much as each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Packs {
    /// How many.
    pub(crate) count: i64,
    /// What is in each, in the make's unit; nothing for whole ones.
    pub(crate) quantity: Option<i64>,
}

/// Reads how many packs there are of something that comes by `pack` of a unit.
///
/// # Errors
/// A sentence that says how it is written.
pub(crate) fn read(text: &str, unit: Unit, pack: i64) -> Result<Vec<Packs>, String> {
    if is_none(text) {
        return Ok(Vec::new());
    }
    let plain = plain(text);
    let whole = |count| {
        vec![Packs {
            count,
            quantity: None,
        }]
    };
    if let Some(count) = count(bare(&plain)) {
        return Ok(whole(count));
    }
    if let Some(share) = bottles::share(bare(&plain)) {
        let quantity = pack.saturating_mul(share) / 1_000;
        return Ok(vec![Packs {
            count: 1,
            quantity: Some(quantity).filter(|quantity| *quantity != pack),
        }]);
    }
    if let Some((count, rest)) = times(&plain)
        && bottles::share(bare(rest)) == Some(1_000)
    {
        return Ok(whole(count));
    }
    let stock = options::stock(&plain.replace(',', "."));
    let kept = options::Kept {
        unit,
        full: Some(pack),
    };
    let quantity = stock
        .ok()
        .and_then(|stock| stock.in_unit(kept, "", "").ok());
    quantity
        .map(|quantity| {
            vec![Packs {
                count: 1,
                quantity: Some(quantity).filter(|quantity| *quantity != pack),
            }]
        })
        .ok_or_else(|| {
            let example = match unit {
                Unit::Pair => "30 pairs",
                Unit::Microlitre => "300 ml",
                Unit::Millimetre => "20 m",
                _ => "3 pieces",
            };
            format!(
                "'{}' is not clear. Write 1 or 2 for whole packs, half, or what is left, as {example}.",
                text.trim()
            )
        })
}

/// A text without the words for a pack.
fn bare(text: &str) -> &str {
    const WORDS: [&str; 13] = [
        "boxes", "box", "rolls", "roll", "packs", "pack", "cans", "can", "bottles", "bottle",
        "pcs", "pieces", "piece",
    ];
    let mut text = text.trim();
    for word in WORDS {
        text = text.strip_suffix(word).unwrap_or(text).trim_end();
    }
    text
}

/// Reads the towels of bundles: `24` is one bundle, `2x12` are two.
///
/// # Errors
/// A sentence that says how it is written.
pub(crate) fn towels(text: &str) -> Result<Vec<i64>, String> {
    if is_none(text) {
        return Ok(Vec::new());
    }
    let plain = plain(text);
    let bare = plain
        .trim_end_matches("towels")
        .trim_end_matches("pcs")
        .trim_end();
    let unclear = || {
        format!(
            "'{}' is not clear. Write how many towels there are, as 24, or 2x12 for two bundles that are \
             washed apart.",
            text.trim()
        )
    };
    let mut bundles = Vec::new();
    for part in bare.split([',', '+', ';']) {
        let part = part.trim();
        if let Some(count) = count(part) {
            bundles.push(count);
            continue;
        }
        let (times, each) = part.split_once('x').ok_or_else(unclear)?;
        let (times, each) = (count(times), count(each));
        let (times, each) = times.zip(each).ok_or_else(unclear)?;
        bundles.extend((0..times).map(|_| each));
    }
    bundles.retain(|count| *count > 0);
    Ok(bundles)
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::Unit;

    use super::{Packs, read, towels};

    fn packs(text: &str, unit: Unit, pack: i64) -> Vec<(i64, Option<i64>)> {
        let read = read(text, unit, pack).unwrap_or_else(|why| panic!("{text}: {why}"));
        read.iter()
            .map(|Packs { count, quantity }| (*count, *quantity))
            .collect()
    }

    #[test]
    fn packs_are_whole_or_as_much_as_is_left() {
        let gloves = |text| packs(text, Unit::Pair, 50);
        assert_eq!(gloves("1"), [(1, None)]);
        assert_eq!(gloves("2 boxes"), [(2, None)]);
        assert_eq!(gloves("full"), [(1, None)]);
        assert_eq!(gloves("2x full"), [(2, None)]);
        assert_eq!(gloves("half a box"), [(1, Some(25))]);
        assert_eq!(gloves("30 pairs"), [(1, Some(30))]);
        assert_eq!(gloves("50 pairs"), [(1, None)]);
        assert_eq!(packs("20 m", Unit::Millimetre, 50_000), [(1, Some(20_000))]);
        assert_eq!(
            packs("0,3 l", Unit::Microlitre, 1_000_000),
            [(1, Some(300_000))]
        );
        assert_eq!(gloves("no"), []);
        let why = read("some", Unit::Pair, 50).unwrap_err();
        assert!(why.contains("30 pairs"), "{why}");
    }

    #[test]
    fn towels_lie_in_bundles() {
        assert_eq!(towels("24"), Ok(vec![24]));
        assert_eq!(towels("24 towels"), Ok(vec![24]));
        assert_eq!(towels("2x12"), Ok(vec![12, 12]));
        assert_eq!(towels("2 × 12"), Ok(vec![12, 12]));
        assert_eq!(towels("8, 12"), Ok(vec![8, 12]));
        assert_eq!(towels("none"), Ok(vec![]));
        assert!(towels("many").unwrap_err().contains("2x12"));
    }
}
