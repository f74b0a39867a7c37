//! What a command line may be typed as beside its one written form, put into that form before it is parsed:
//! `--pad P-03 torn` for `--pad P-03:torn`, `--weigh B-02 431 g` for `--weigh B-02=431g`.
//!
//! Only words that cannot be anything else behind their option are joined to it; whatever is left is the
//! parser's to understand or to refuse.

use std::ffi::OsString;

use fettlebook_contract::page;
use fettlebook_quantity::{parse_amount, parse_share};

use crate::options::is_finding;
use crate::tags;

/// Options whose value may be typed as two words and more, and what goes between them.
const JOINED: &[(&str, char)] = &[
    ("--pad", ':'),
    ("--weigh", '='),
    ("--used", '='),
    ("--towels", '='),
    ("--sundry", '='),
    ("--swap", '='),
    ("--film", '='),
    ("--measure", '='),
];

/// Options whose amount may stand apart from its unit: `--price 29 EUR`.
const WITH_UNIT: &[&str] = &[
    "--price",
    "--freight",
    "--free-from",
    "--min-order",
    "--left",
    "--holds",
    "--bottle",
    "--face",
    "--diameter",
    "--throw",
    "--weight",
    "--tare",
    "--lead",
    "--valid",
    "--dry",
    "--vibration",
    "--noise",
    "--max-speed",
    "--work-speed",
    "--rated-speed",
    "--density",
];

/// The command line in its written form.
pub(crate) fn forgiven(args: Vec<OsString>) -> Vec<OsString> {
    let args: Vec<OsString> = without_sort(args).into_iter().map(scanned).collect();
    let mut done: Vec<OsString> = Vec::new();
    let mut left = args.as_slice();
    while let [word, rest @ ..] = left {
        left = rest;
        if word == "--" {
            done.push(word.clone());
            done.extend(left.iter().cloned());
            break;
        }
        let option = word.to_str().unwrap_or_default();
        done.push(word.clone());
        let value = left.first().and_then(|value| value.to_str());
        let Some(value) = value.filter(|value| !value.starts_with("--")) else {
            continue;
        };
        if let Some((_, mark)) = JOINED.iter().find(|(known, _)| *known == option) {
            let (joined, taken) = joined(value, &texts(left.get(1..)), *mark);
            done.push(joined.into());
            left = left.get(taken..).unwrap_or_default();
        } else if WITH_UNIT.contains(&option)
            && let Some(unit) = left.get(1).and_then(|unit| unit.to_str())
            && is_number(value)
            && is_unit(unit)
        {
            done.push(format!("{value} {unit}").into());
            left = left.get(2..).unwrap_or_default();
        }
    }
    done
}

/// A word that begins with what a label's code holds, with the tag in its place: behind it may stand what happened to
/// the piece, `https://192.0.2.7:7420/t/P-03:torn`.
fn scanned(word: OsString) -> OsString {
    let tag = word.to_str().and_then(|word| {
        let is_one = word.matches("://").count() == 1;
        page::tag(word).filter(|_| is_one)
    });
    tag.map(Into::into).unwrap_or(word)
}

/// The words without the sort of a make that is edited, which its id says already.
fn without_sort(mut args: Vec<OsString>) -> Vec<OsString> {
    const SORTS: &[&str] = &[
        "pad", "plate", "machine", "towel", "liquid", "sundry", "tool",
    ];
    let is_edit = |words: &[OsString]| match words {
        [noun, verb, sort, id] => {
            let sort = sort.to_str().is_some_and(|sort| SORTS.contains(&sort));
            noun == "make" && verb == "edit" && sort && !id.to_string_lossy().starts_with('-')
        }
        _ => false,
    };
    if let Some(at) = args.windows(4).position(is_edit) {
        args.remove(at.saturating_add(2));
    }
    args
}

fn texts(words: Option<&[OsString]>) -> Vec<&str> {
    let words = words.unwrap_or_default().iter();
    words.map_while(|word| word.to_str()).collect()
}

/// A value with the words behind it that belong to it, and how many words it took.
fn joined(value: &str, behind: &[&str], mark: char) -> (String, usize) {
    let plain = (value.to_owned(), 1);
    let Some(first) = behind
        .first()
        .copied()
        .filter(|first| !first.starts_with("--"))
    else {
        return plain;
    };
    let second = behind.get(1).copied().unwrap_or_default();
    if let Some((name, amount)) = value.split_once(['=', ':']) {
        // `B-03=10 ml`: the unit of an amount.
        let is_apart = !name.is_empty() && is_number(amount) && is_unit(first);
        return if is_apart {
            (format!("{value} {first}"), 2)
        } else {
            plain
        };
    }
    let is_tail = match mark {
        ':' => is_finding(first) || is_number(first),
        _ => {
            first.starts_with(|c: char| c.is_ascii_digit() || c == '½' || c == '¼' || c == '¾')
                || parse_share(first).is_some()
                || tags::spelt(first).is_some()
        }
    };
    if !is_tail {
        return plain;
    }
    let between = if mark == ':' && is_number(first) {
        '='
    } else {
        mark
    };
    if is_number(first) && is_unit(second) {
        return (format!("{value}{between}{first} {second}"), 3);
    }
    if mark == ':' && between == '=' && is_finding(second) {
        return (format!("{value}={first}:{second}"), 3);
    }
    (format!("{value}{between}{first}"), 2)
}

fn is_number(text: &str) -> bool {
    let mark = |c: char| c == '.' || c == ',';
    text.starts_with(|c: char| c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_digit() || mark(c))
}

/// Whether a word is a unit, or a currency, and nothing else.
fn is_unit(word: &str) -> bool {
    const OTHERS: &[&str] = &[
        "pairs", "pair", "gsm", "g/m2", "g/ml", "m/s2", "db", "rpm", "opm", "eur", "usd", "gbp",
        "chf", "€", "$", "£", "euro", "euros", "um", "mil", "s", "min", "h", "hours", "days",
        "day", "weeks", "m2", "cm2",
    ];
    let lower = word.to_lowercase();
    OTHERS.contains(&lower.as_str())
        || (word.starts_with(|c: char| c.is_alphabetic())
            && parse_amount(&format!("1 {word}")).is_ok())
}

#[cfg(test)]
mod tests {
    use super::forgiven;

    fn typed(line: &str) -> String {
        let words = line.split(' ').map(Into::into).collect();
        let done = forgiven(words).into_iter();
        let done = done.map(|word| word.into_string().unwrap());
        done.collect::<Vec<_>>().join("|")
    }

    #[test]
    fn words_that_belong_to_an_option_are_joined_to_it() {
        for (line, expected) in [
            ("log a --pad P-03 torn", "log|a|--pad|P-03:torn"),
            ("log a --pad P-03 9 torn", "log|a|--pad|P-03=9:torn"),
            (
                "log a --pad https://192.0.2.7:7420/t/P-03 torn",
                "log|a|--pad|P-03:torn",
            ),
            (
                "log a --pad https://bench.example/t/P-03:torn",
                "log|a|--pad|P-03:torn",
            ),
            ("wash https://192.0.2.7/t/P-03", "wash|P-03"),
            ("log a --pad P-03 9", "log|a|--pad|P-03=9"),
            (
                "log a --weigh B-02 431g --dry-run",
                "log|a|--weigh|B-02=431g|--dry-run",
            ),
            ("log a --weigh B-02 431 g", "log|a|--weigh|B-02=431 g"),
            ("log a --towels dropped 1", "log|a|--towels|dropped=1"),
            ("log a --used B-03 10 ml", "log|a|--used|B-03=10 ml"),
            ("log a --used B-03=10 ml", "log|a|--used|B-03=10 ml"),
            ("log a --used B-03 half", "log|a|--used|B-03=half"),
            ("log a --swap P-06 P-08", "log|a|--swap|P-06=P-08"),
            ("make edit a --price 29 EUR", "make|edit|a|--price|29 EUR"),
            (
                "car add a --film bonnet 112 um",
                "car|add|a|--film|bonnet=112 um",
            ),
        ] {
            assert_eq!(typed(line), expected, "{line}");
        }
    }

    #[test]
    fn what_may_be_something_else_is_left_as_it_is() {
        for line in [
            "log --pad P-03 estate-mon",
            "log --pad P-03:torn torn-estate",
            "log a --pad P-03 --weigh B-02=3g",
            "log --towels 6 estate-mon",
            "log --weigh B-02=431g estate-mon",
            "make edit --price 29 gloves",
            "log -- --pad P-03 torn",
            "wash P-01 P-02",
            "log a --pad",
        ] {
            assert_eq!(typed(line), line.replace(' ', "|"));
        }
    }
}
