//! Counts and days as cells hold them.

use jiff::civil::Date;

/// A count without words for pieces: `5 pcs`, `x5`, `2x`, `5,00`; one where it is empty.
pub(super) fn bare_count(text: &str) -> String {
    const WORDS: [&str; 12] = [
        "pcs", "pcs.", "pc", "pieces", "piece", "pads", "ea", "stk", "stk.", "st.", "stuck",
        "stück",
    ];
    let lower = text.trim().to_lowercase().replace('×', "x");
    let mut bare = lower.trim();
    for word in WORDS {
        bare = bare.strip_suffix(word).unwrap_or(bare).trim_end();
    }
    let bare = bare.strip_prefix('x').unwrap_or(bare).trim();
    let bare = bare.strip_suffix('x').unwrap_or(bare).trim();
    // A spreadsheet writes whole numbers with decimals where a column has them.
    let whole = bare.split_once(['.', ',']).filter(|(whole, part)| {
        let zeros = !part.is_empty() && part.bytes().all(|byte| byte == b'0');
        zeros && whole.bytes().all(|byte| byte.is_ascii_digit())
    });
    match whole {
        Some((whole, _)) => whole.to_owned(),
        None if bare.is_empty() => "1".to_owned(),
        None => bare.to_owned(),
    }
}

/// What a cell says of a thing, and how many it says there are: `2x pad`, `5 coarse pads`, `pad (x4)`.
pub(super) fn without_count(what: &str) -> (String, String) {
    let none = || (what.to_owned(), String::new());
    let lower = what.to_lowercase().replace('×', "x");
    let digits = lower.chars().take_while(char::is_ascii_digit).count();
    let (number, rest) = lower.split_at_checked(digits).unwrap_or(("", &lower));
    if (1..=3).contains(&number.len()) {
        let rest = rest.trim_start();
        let after_x = rest.strip_prefix("x ").map(str::trim_start);
        let next = rest
            .split(|letter: char| !letter.is_alphanumeric())
            .next()
            .unwrap_or_default();
        let is_unit = matches!(
            next,
            "" | "mm" | "cm" | "in" | "inch" | "ml" | "l" | "g" | "gsm" | "m" | "step" | "x" | "k"
        );
        let bare = after_x.or_else(|| (!is_unit && number.len() <= 2).then_some(rest));
        if let Some(bare) = bare.filter(|bare| !bare.is_empty()) {
            let tail = what
                .get(what.len().saturating_sub(bare.len())..)
                .unwrap_or(bare);
            return (tail.to_owned(), number.to_owned());
        }
    }
    let open = what.trim_end_matches(')');
    if let Some((before, number)) = open.rsplit_once(['x', '×']) {
        let begins = before.ends_with([' ', '(']);
        let is_number = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
        if begins && is_number {
            let before = before.trim_end_matches(['(', ' ']);
            return (before.to_owned(), number.to_owned());
        }
    }
    none()
}

/// The last day that a cell names: a day, or the end of a month.
pub(super) fn last_day(text: &str) -> Option<String> {
    if let Ok(day) = text.parse::<Date>() {
        return Some(day.to_string());
    }
    let numbers: Vec<i16> = text
        .split(['.', '/', '-'])
        .map(|part| part.trim().parse().ok())
        .collect::<Option<_>>()?;
    let small = |number: i16| i8::try_from(number).ok();
    let day = match numbers.as_slice() {
        [month, year] if *year > 31 => Date::new(*year, small(*month)?, 1).ok()?.last_of_month(),
        [year, month] if *year > 31 => Date::new(*year, small(*month)?, 1).ok()?.last_of_month(),
        [day, month, year] if *year > 31 && text.contains('.') => {
            Date::new(*year, small(*month)?, small(*day)?).ok()?
        }
        _ => return None,
    };
    Some(day.to_string())
}
