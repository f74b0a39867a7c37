//! How long machines ran, as a person says it: `95`, `1 h 20 min`, `M-02=20`.

use super::read;
use crate::tags;

/// How long machines ran, s.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Minutes {
    /// All together.
    All(i64),
    /// One of them, by its tag or the make that it is the only one of.
    Of(String, i64),
}

/// Reads how long machines ran; a number alone is minutes.
///
/// # Errors
/// A sentence that says what is not a time.
pub(crate) fn minutes(text: &str) -> Result<Minutes, String> {
    match named(text.trim()) {
        Some((machine, time)) => Ok(Minutes::Of(tag_of(machine), read::minutes(time)?)),
        None => read::minutes(text).map(Minutes::All),
    }
}

/// Reads several, with commas between machines that are named: `M-01=95, M-02=20`.
///
/// # Errors
/// As [`minutes`].
pub(crate) fn all_minutes(text: &str) -> Result<Vec<Minutes>, String> {
    if !text.contains('=') {
        return minutes(text).map(|one| vec![one]);
    }
    let parts = text.split(',').map(str::trim);
    parts.filter(|part| !part.is_empty()).map(minutes).collect()
}

/// A tag as it stands on the label, where what was typed is one.
fn tag_of(text: &str) -> String {
    tags::spelt(text).unwrap_or_else(|| text.to_owned())
}

/// A machine and its time, where one is named: it begins with a letter.
fn named(text: &str) -> Option<(&str, &str)> {
    let parted = text
        .split_once(['=', ':'])
        .or_else(|| text.split_once(char::is_whitespace))?;
    let (machine, time) = (parted.0.trim(), parted.1.trim());
    let is_name = machine.starts_with(|c: char| c.is_alphabetic()) && !time.is_empty();
    is_name.then_some((machine, time))
}

#[cfg(test)]
mod tests {
    use super::{Minutes, all_minutes, minutes};

    #[test]
    fn a_time_is_of_all_machines_or_of_the_one_that_is_named() {
        for text in ["95", "95 min", "1 h 35 min", " 1h35min "] {
            assert_eq!(minutes(text), Ok(Minutes::All(5_700)), "{text}");
        }
        for text in ["M-02=20", "m2=20", "M-02:20 min", "M-02 20"] {
            let of_one = Minutes::Of("M-02".to_owned(), 1_200);
            assert_eq!(minutes(text), Ok(of_one), "{text}");
        }
        let by_make = Minutes::Of("orbital-75".to_owned(), 3_600);
        assert_eq!(minutes("orbital-75=1 h"), Ok(by_make));
        for text in ["", "M-02", "M-02=", "=20", "M-02=soon", "20 M-02"] {
            assert!(minutes(text).is_err(), "{text}");
        }
    }

    #[test]
    fn several_machines_are_told_with_commas_between() {
        let both = [
            Minutes::Of("M-01".to_owned(), 5_700),
            Minutes::Of("M-02".to_owned(), 1_200),
        ];
        assert_eq!(all_minutes("M-01=95, m2=20,").unwrap(), both);
        assert_eq!(all_minutes("95").unwrap(), [Minutes::All(5_700)]);
        assert!(all_minutes("M-01=95, soon").is_err());
    }
}
