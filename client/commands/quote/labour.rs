//! Labour as it is typed for a quote: `6 h at 45 EUR`, `6h30min x 45`, or one sum.

use fettlebook_contract::v1::Money;

use crate::figures::read::seconds;
use crate::money;

/// Labour that is quoted along, net; a currency that was not written is empty.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Labour {
    /// Time, s, and the price of an hour.
    Timed(i64, Money),
    /// One sum.
    Sum(Money),
}

/// What stands between a time and the price of an hour.
const BETWEEN: [&str; 5] = [" at ", " x ", "×", "*", "@"];
/// What may stand behind the price of an hour.
const AN_HOUR: [&str; 5] = ["/h", "/hour", " an hour", " per hour", " a hour"];

/// Reads labour.
///
/// # Errors
/// A sentence that says how it is written.
pub(crate) fn read(text: &str) -> Result<Labour, String> {
    let refused = |why: &str| {
        format!(
            "'{}' is not labour: {why}; write a time and the price of an hour, for example '6 h at 45 EUR', or \
             one sum, for example '270 EUR'",
            text.trim()
        )
    };
    let lower = text.trim().to_lowercase();
    let parts = BETWEEN.iter().find_map(|sign| lower.split_once(sign));
    let Some((time, rate)) = parts else {
        return money::read(text)
            .map(Labour::Sum)
            .map_err(|_| refused("it is no sum of money"));
    };
    let time_s = seconds(time.trim()).map_err(|why| refused(&why))?;
    let rate = rate.trim();
    let rate = AN_HOUR
        .iter()
        .find_map(|said| rate.strip_suffix(said))
        .unwrap_or(rate);
    let rate = money::read(rate).map_err(|_| refused(&format!("'{rate}' is no sum of money")))?;
    Ok(Labour::Timed(time_s, rate))
}

#[cfg(test)]
mod tests {
    use super::{Labour, read};

    fn told(text: &str) -> String {
        match read(text) {
            Ok(Labour::Timed(time_s, rate)) => {
                format!("{time_s} s at {} {}", rate.amount, rate.currency_code)
            }
            Ok(Labour::Sum(sum)) => format!("{} {}", sum.amount, sum.currency_code),
            Err(why) => why,
        }
    }

    #[test]
    fn labour_is_a_time_with_the_price_of_an_hour_or_a_sum() {
        for (text, expected) in [
            ("6 h at 45 EUR", "21600 s at 45 EUR"),
            ("6h30min x 45", "23400 s at 45 "),
            ("1,5 h × 38,50 €/h", "5400 s at 38.50 EUR"),
            ("90 min @ 45 eur an hour", "5400 s at 45 EUR"),
            ("270", "270 "),
            ("€270", "270 EUR"),
        ] {
            assert_eq!(told(text), expected, "{text}");
        }
    }

    #[test]
    fn what_is_neither_is_refused_with_both_forms() {
        for text in ["", "6 h", "6 at 45", "six hours at 45", "6 h at much"] {
            let why = told(text);
            assert!(
                why.contains("'6 h at 45 EUR'") && why.contains("'270 EUR'"),
                "{text}: {why}"
            );
        }
    }
}
