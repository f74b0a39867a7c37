//! Reading what is written for tags, before the kit is asked.

use fettlebook_contract::page;

/// Longest letters and digits of a tag.
const LETTERS_MAX: usize = 3;
const DIGITS_MAX: usize = 5;

/// One thing that was named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// A tag, as it stands on the label.
    Tag(String),
    /// All tags with these letters from one number to another.
    Range {
        /// The letters.
        letters: String,
        /// The lowest number.
        from: u32,
        /// The highest number.
        to: u32,
    },
    /// A number without letters.
    Number(u32),
    /// Another word, in lower case.
    Word(String),
}

/// A tag as it stands on the label, however it was typed: `p8`, `P 08`, `P_8` and `P-08` are `P-08`, and so is what
/// a label's code holds where it opens the page at the bench.
pub(crate) fn spelt(text: &str) -> Option<String> {
    let text = page::tag(text).unwrap_or(text);
    match begin(text.trim())? {
        (letters, number, "") => Some(label(&letters, number)),
        _ => None,
    }
}

fn label(letters: &str, number: u32) -> String {
    format!("{letters}-{number:02}")
}

/// The tag that a text begins with, and what follows.
fn begin(text: &str) -> Option<(String, u32, &str)> {
    let end = text.find(|c: char| !c.is_ascii_alphabetic())?;
    let (letters, rest) = text.split_at_checked(end)?;
    if letters.is_empty() || letters.len() > LETTERS_MAX {
        return None;
    }
    let rest = rest.trim_start_matches(' ');
    let rest = rest.strip_prefix(['-', '_', '#']).unwrap_or(rest);
    let (number, rest) = number(rest.trim_start_matches(' '))?;
    Some((letters.to_ascii_uppercase(), number, rest))
}

/// The number that a text begins with, and what follows.
fn number(text: &str) -> Option<(u32, &str)> {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    let (digits, rest) = text.split_at_checked(end)?;
    if digits.is_empty() || digits.len() > DIGITS_MAX {
        return None;
    }
    digits.parse().ok().filter(|n| *n > 0).map(|n| (n, rest))
}

/// A range in one word: `P-01..P-09`, `P01-P09`, `P-01..09`.
fn range(text: &str) -> Option<Part> {
    let text = text.replace(['…', '–', '—', '~'], "..");
    let (letters, from, rest) = begin(text.trim())?;
    let rest = rest.trim();
    let rest = rest
        .strip_prefix("...")
        .or_else(|| rest.strip_prefix(".."))
        .or_else(|| rest.strip_prefix('-'))?
        .trim();
    let (of, to, end) = match begin(rest) {
        Some(last) => last,
        None => {
            let (to, end) = number(rest)?;
            (letters.clone(), to, end)
        }
    };
    (of == letters && end.is_empty()).then(|| between(letters, from, to))
}

fn between(letters: String, from: u32, to: u32) -> Part {
    Part::Range {
        letters,
        from: from.min(to),
        to: from.max(to),
    }
}

/// What words name, one by one.
pub(crate) fn parts(words: &[String]) -> Vec<Part> {
    let mut parts = Vec::new();
    for word in words {
        for piece in word.split([',', ';', '+']) {
            take(piece.trim(), &mut parts);
        }
    }
    joined(parts)
}

fn take(text: &str, parts: &mut Vec<Part>) {
    if text.is_empty() || text == "and" {
        return;
    }
    if let Some(tag) = spelt(text) {
        parts.push(Part::Tag(tag));
    } else if let Some(range) = range(text) {
        parts.push(range);
    } else if let Some((number, "")) = number(text) {
        parts.push(Part::Number(number));
    } else if text.contains(char::is_whitespace) {
        text.split_whitespace().for_each(|one| take(one, parts));
    } else {
        parts.push(Part::Word(text.to_lowercase()));
    }
}

/// What was typed in several words and is one: `P 08`, `P-01 to P-09`.
fn joined(parts: Vec<Part>) -> Vec<Part> {
    let mut done: Vec<Part> = Vec::new();
    for part in parts {
        let one = match (done.as_slice(), &part) {
            ([.., Part::Word(letters)], Part::Number(number)) if letters.len() == 1 => {
                spelt(&format!("{letters}{number}")).map(|tag| (1, Part::Tag(tag)))
            }
            ([.., Part::Tag(from), Part::Word(word)], Part::Tag(to)) if is_to(word) => {
                range(&format!("{from}..{to}")).map(|range| (2, range))
            }
            _ => None,
        };
        match one {
            Some((taken, one)) => {
                done.truncate(done.len().saturating_sub(taken));
                done.push(one);
            }
            None => done.push(part),
        }
    }
    done
}

fn is_to(word: &str) -> bool {
    matches!(word, "to" | "through" | ".." | "..." | "…" | "-" | "–")
}
