//! Bottles as people see them: `full`, `3/4`, `half`, `431 g`, `350 ml`, `2`, `full, half`, `1.5`.

use fettlebook_contract::v1::StartPiece;
use fettlebook_quantity::{Amount, parse_amount};

use super::{is_none, plain, times};

/// What one bottle holds, as somebody said it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Left {
    /// Thousandths of a full one.
    Share(i64),
    /// A volume, µL.
    Volume(i64),
    /// The weight of the bottle on the scale, mg.
    Gross(i64),
}

impl Left {
    /// A row of bottles that hold this.
    pub(crate) fn put(self, piece: StartPiece) -> StartPiece {
        match self {
            Self::Share(1_000) => piece,
            Self::Share(permille) => StartPiece {
                full_permille: Some(permille),
                ..piece
            },
            Self::Volume(ul) => StartPiece {
                volume_ul: Some(ul),
                ..piece
            },
            Self::Gross(mg) => StartPiece {
                gross_mg: Some(mg),
                ..piece
            },
        }
    }
}

/// A full bottle.
pub(crate) const FULL: Left = Left::Share(1_000);

const FORMS: &str = "Write full, 3/4, half, 431 g (the bottle on the scale) or 350 ml; of several bottles each, \
     as full, half";

/// Reads what each of some bottles holds; empty ones are left out.
///
/// # Errors
/// A sentence that says how it is written.
pub(crate) fn read(text: &str) -> Result<Vec<Left>, String> {
    if is_none(text) {
        return Ok(Vec::new());
    }
    let mut all = Vec::new();
    for part in parts(&plain(text)) {
        let bottles = some(part.trim());
        all.extend(bottles.ok_or_else(|| format!("'{}' is not clear. {FORMS}.", text.trim()))?);
    }
    all.retain(|left| *left != Left::Share(0));
    Ok(all)
}

/// Parts of a list. A comma between digits is a decimal one.
fn parts(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut from = 0;
    for (at, letter) in text.char_indices() {
        let after = text.get(at..).unwrap_or_default().chars().nth(1);
        let splits = match letter {
            ';' | '+' | '&' => true,
            ',' => !after.is_some_and(|next| next.is_ascii_digit()),
            _ => false,
        };
        if splits {
            parts.push(text.get(from..at).unwrap_or_default());
            from = at + letter.len_utf8();
        }
    }
    parts.push(text.get(from..).unwrap_or_default());
    parts
        .into_iter()
        .flat_map(|part| part.split(" and "))
        .collect()
}

/// The bottles of one part.
fn some(text: &str) -> Option<Vec<Left>> {
    if let Some(left) = one(text) {
        return Some(vec![left]);
    }
    if let Some((count, rest)) = times(text) {
        let is_bare = bare(rest).is_empty();
        let left = if is_bare { FULL } else { one(rest)? };
        return Some(vec![left; usize::try_from(count).ok()?]);
    }
    whole_and_share(bare(text))
}

/// `2`, `1.5`, `1 1/2`, `1½`: full bottles and a part of one.
fn whole_and_share(text: &str) -> Option<Vec<Left>> {
    let end = text
        .find(|letter: char| !letter.is_ascii_digit())
        .unwrap_or(text.len());
    let (whole, rest) = text.split_at_checked(end)?;
    let mut all = vec![FULL; usize::try_from(super::count(whole)?).ok()?];
    let rest = rest.trim();
    if !rest.is_empty() {
        let share = match rest.strip_prefix(['.', ',']) {
            Some(digits) => thousandths(digits)?,
            None => share(rest)?,
        };
        all.push(Left::Share(share));
    }
    Some(all)
}

/// A text without the words for a bottle.
fn bare(text: &str) -> &str {
    const WORDS: [&str; 6] = ["bottles", "bottle", "pcs", "pc", "btl", "fl"];
    let mut text = text.trim();
    for word in WORDS {
        text = text.strip_suffix(word).unwrap_or(text).trim_end();
    }
    text
}

fn one(text: &str) -> Option<Left> {
    if let Some(share) = share(text) {
        return Some(Left::Share(share));
    }
    let pointed = text.replace(',', ".");
    match parse_amount(&pointed).ok()? {
        Amount::Volume(volume) => Some(Left::Volume(volume.ul())),
        Amount::Mass(mass) => Some(Left::Gross(mass.mg())),
        Amount::Dots(_) | Amount::Length(_) | Amount::Pieces(_) => None,
    }
}

/// A part of a bottle, thousandths.
pub(crate) fn share(text: &str) -> Option<i64> {
    let text = bare(text);
    let text = text.strip_suffix(" full").unwrap_or(text).trim();
    let word = match text {
        "full" | "new" | "sealed" | "unopened" | "100%" | "1/1" => 1_000,
        "empty" | "0%" => 0,
        "half" | "½" | "halved" => 500,
        "three quarters" | "three-quarters" | "¾" | "3 quarters" => 750,
        "quarter" | "one quarter" | "¼" => 250,
        "third" | "one third" | "⅓" => 333,
        "two thirds" | "two-thirds" | "⅔" => 667,
        _ => return fraction(text).or_else(|| percent(text)),
    };
    Some(word)
}

fn fraction(text: &str) -> Option<i64> {
    let (part, whole) = text.split_once('/')?;
    let (part, whole) = (super::count(part)?, super::count(whole)?);
    let is_share = whole > 0 && part <= whole;
    // To the nearest, as a person reads a third.
    is_share.then(|| (part * 1_000 + whole / 2) / whole)
}

fn percent(text: &str) -> Option<i64> {
    let number = text.strip_suffix('%')?.trim();
    let whole = super::count(number)?;
    (whole <= 100).then_some(whole * 10)
}

/// Decimals of a part: `5` is 500, `25` is 250.
fn thousandths(digits: &str) -> Option<i64> {
    let is_part =
        (1..=3).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    is_part
        .then(|| format!("{digits:0<3}").parse().ok())
        .flatten()
}

#[cfg(test)]
mod tests {
    use super::{FULL, Left, read};

    fn bottles(text: &str) -> Vec<Left> {
        read(text).unwrap_or_else(|why| panic!("{text}: {why}"))
    }

    #[test]
    fn a_bottle_is_as_full_as_somebody_says() {
        for (text, left) in [
            ("full", FULL),
            ("sealed", FULL),
            ("3/4", Left::Share(750)),
            ("¾", Left::Share(750)),
            ("three quarters", Left::Share(750)),
            ("1/2 bottle", Left::Share(500)),
            ("half a bottle", Left::Share(500)),
            ("about half full", Left::Share(500)),
            ("~ 1/3", Left::Share(333)),
            ("2/3", Left::Share(667)),
            ("75%", Left::Share(750)),
            ("431 g", Left::Gross(431_000)),
            ("431g", Left::Gross(431_000)),
            ("350 ml", Left::Volume(350_000)),
            ("0,75 l", Left::Volume(750_000)),
        ] {
            assert_eq!(bottles(text), [left], "{text}");
        }
    }

    #[test]
    fn several_bottles_are_said_one_by_one_or_counted() {
        assert_eq!(bottles("2"), [FULL, FULL]);
        assert_eq!(bottles("2 bottles"), [FULL, FULL]);
        assert_eq!(bottles("full, half"), [FULL, Left::Share(500)]);
        assert_eq!(bottles("full + 431g"), [FULL, Left::Gross(431_000)]);
        assert_eq!(bottles("2x 1/2"), [Left::Share(500); 2]);
        assert_eq!(bottles("2 full and half"), [FULL, FULL, Left::Share(500)]);
        assert_eq!(bottles("1.5"), [FULL, Left::Share(500)]);
        assert_eq!(bottles("1,5 bottles"), [FULL, Left::Share(500)]);
        assert_eq!(bottles("1½"), [FULL, Left::Share(500)]);
        assert_eq!(bottles("1 1/4"), [FULL, Left::Share(250)]);
        assert_eq!(bottles("none"), []);
        assert_eq!(bottles("empty"), []);
        assert_eq!(bottles("full, empty"), [FULL]);
    }

    #[test]
    fn what_is_unclear_is_refused_with_examples() {
        for text in [
            "some", "4/3", "120%", "12 dots", "3 m", "", "half-ish", "-1",
        ] {
            let why = read(text).unwrap_err();
            assert!(why.contains("431 g"), "{text}: {why}");
        }
    }
}
