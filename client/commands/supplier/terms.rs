//! How the days on which a supplier takes orders are written.
//!
//! It serves `supplier add` and `supplier edit`.

use fettlebook_contract::v1::Weekday;

use crate::word;

/// Letters that a day of the week may be cut to.
const LETTERS: usize = 3;

/// Reads a day of the week, `monday` or `mon`.
pub(crate) fn weekday(text: &str) -> Result<Weekday, String> {
    let lower = text.trim().to_lowercase();
    word::values::<Weekday>()
        .find(|day| {
            let name = word::word(*day);
            lower == name || (lower.len() == LETTERS && name.starts_with(&lower))
        })
        .ok_or_else(|| {
            format!(
                "'{text}' is not a day of the week; write for example mon,wed or one of {}",
                word::list::<Weekday>()
            )
        })
}

#[cfg(test)]
mod tests {
    use super::weekday;
    use fettlebook_contract::v1::Weekday;

    #[test]
    fn a_day_of_the_week_is_read_whole_or_by_three_letters() {
        assert_eq!(weekday("mon"), Ok(Weekday::Monday));
        assert_eq!(weekday("Wednesday"), Ok(Weekday::Wednesday));
        assert_eq!(weekday(" sun "), Ok(Weekday::Sunday));
        for text in ["", "t", "tu", "thur", "day", "1", "mon-fri", "unspecified"] {
            let refused = weekday(text).unwrap_err();
            assert!(refused.contains("mon,wed"), "{text}: {refused}");
        }
    }
}
