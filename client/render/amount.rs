//! Quantities of the contract in the units a person uses.
//!
//! They serve every screen. They round to what a person can act on; JSON carries the whole figure.

use fettlebook_contract::v1::{Grade, Money, Quote, Unit};
use fettlebook_quantity::{Area, Length, Mass, Seconds, Thickness, Volume};

use crate::render::screen::several;
use crate::word::word;

/// A quantity in its unit.
pub(crate) fn quantity(value: i64, unit: Unit) -> String {
    match unit {
        Unit::Piece | Unit::Unspecified => value.to_string(),
        Unit::Pair => several(value, "pair", "pairs"),
        Unit::Microlitre => volume(value),
        Unit::Millimetre => length(value),
        Unit::Micrometre => film(value),
    }
}

/// A quantity as a person measures it: whole mL from 10 on, whole metres from 1 on, each up.
pub(crate) fn rounded(value: i64, unit: Unit) -> String {
    let up_to = |step: i64| {
        let over = value.rem_euclid(step);
        let more = if over == 0 { 0 } else { step - over };
        value.saturating_add(more)
    };
    match unit {
        Unit::Microlitre if value >= 10_000 => volume(up_to(1_000)),
        Unit::Microlitre => volume(up_to(100)),
        Unit::Millimetre if value >= 1_000 => format!("{} m", up_to(1_000) / 1_000),
        Unit::Millimetre | Unit::Piece | Unit::Pair | Unit::Micrometre | Unit::Unspecified => {
            quantity(value, unit)
        }
    }
}

/// A volume, µL.
pub(crate) fn volume(ul: i64) -> String {
    Volume::from_ul(ul).to_string()
}

/// A length, mm.
pub(crate) fn length(mm: i64) -> String {
    Length::from_mm(mm).to_string()
}

/// A film thickness, µm.
pub(crate) fn film(um: i64) -> String {
    Thickness::from_um(um).to_string()
}

/// An area, mm².
pub(crate) fn area(mm2: i64) -> String {
    Area::from_mm2(mm2).to_string()
}

/// A mass, mg.
pub(crate) fn mass(mg: i64) -> String {
    Mass::from_mg(mg).to_string()
}

/// A span of time, s.
pub(crate) fn time(seconds: i64) -> String {
    Seconds::from_s(seconds).to_string()
}

/// Thousandths as a plain decimal: 1050 is `1.05`.
pub(crate) fn thousandths(value: i64) -> String {
    decimal(value, 3)
}

/// Work in reference sections, from millionths, to a tenth.
pub(crate) fn sections(micro: i64) -> String {
    let tenths = micro.saturating_add(50_000) / 100_000;
    decimal(tenths, 1)
}

/// `value` / 10^`places` without trailing zeros.
pub(crate) fn decimal(value: i64, places: u32) -> String {
    let per = 10_u64.saturating_pow(places);
    let sign = if value < 0 { "-" } else { "" };
    let whole = value.unsigned_abs() / per;
    let part = value.unsigned_abs() % per;
    let width = usize::try_from(places).unwrap_or_default();
    let digits = format!("{part:0width$}");
    match digits.trim_end_matches('0') {
        "" => format!("{sign}{whole}"),
        shown => format!("{sign}{whole}.{shown}"),
    }
}

/// A sum of money as it was sent; nothing is never below zero.
pub(crate) fn money(sum: &Money) -> String {
    let amount = sum.amount.as_str();
    let unsigned = amount.strip_prefix('-').filter(|digits| {
        let worth = |c: char| c.is_ascii_digit() && c != '0';
        !digits.contains(worth)
    });
    format!("{} {}", unsigned.unwrap_or(amount), sum.currency_code)
}

/// A sum of money that may be absent.
pub(crate) fn money_or(sum: Option<&Money>, none: &str) -> String {
    sum.map_or_else(|| none.to_owned(), money)
}

/// A rate in thousandths as a percentage: 215 is `21.5 %`.
pub(crate) fn percent(permille: i64) -> String {
    format!("{} %", decimal(permille, 1))
}

/// The tax rate of a quote: 8875 thousandths of a per cent are `8.875 %`.
pub(crate) fn tax_rate(quote: &Quote) -> String {
    match (quote.tax_milli_percent, quote.tax_permille) {
        // A service from before there were finer rates.
        (0, permille) => percent(permille),
        (fine, _) => format!("{} %", decimal(fine, 3)),
    }
}

/// A grade, empty when not said.
pub(crate) fn grade(grade: Grade) -> String {
    match grade {
        Grade::Unspecified => String::new(),
        Grade::Coarse | Grade::Medium | Grade::Fine => word(grade),
    }
}

#[cfg(test)]
mod tests {
    use super::{money, percent, quantity, rounded, sections, thousandths};
    use fettlebook_contract::v1::{Money, Unit};

    #[test]
    fn money_is_told_as_it_was_sent_and_nothing_is_never_below_zero() {
        let told = |amount: &str| {
            money(&Money {
                amount: amount.to_owned(),
                currency_code: "EUR".to_owned(),
            })
        };
        for amount in ["18.90", "0.00", "-0.50", "1234567.005", "27"] {
            assert_eq!(told(amount), format!("{amount} EUR"));
        }
        assert_eq!(told("-0.00"), "0.00 EUR");
        assert_eq!(told("-0"), "0 EUR");
    }

    #[test]
    fn a_rate_is_told_as_a_percentage() {
        assert_eq!(percent(210), "21 %");
        assert_eq!(percent(215), "21.5 %");
        assert_eq!(percent(0), "0 %");
    }

    #[test]
    fn a_quantity_is_told_in_its_unit() {
        assert_eq!(quantity(3, Unit::Piece), "3");
        assert_eq!(quantity(1, Unit::Pair), "1 pair");
        assert_eq!(quantity(82_000, Unit::Microlitre), "82 mL");
        assert_eq!(quantity(50_000, Unit::Millimetre), "50 m");
    }

    #[test]
    fn what_goes_along_is_told_as_it_is_measured_and_never_less() {
        assert_eq!(rounded(61_250, Unit::Microlitre), "62 mL");
        assert_eq!(rounded(62_000, Unit::Microlitre), "62 mL");
        assert_eq!(rounded(4_210, Unit::Microlitre), "4.3 mL");
        assert_eq!(rounded(14_320, Unit::Millimetre), "15 m");
        assert_eq!(rounded(5_320, Unit::Millimetre), "6 m");
        assert_eq!(rounded(2, Unit::Pair), "2 pairs");
    }

    #[test]
    fn decimals_carry_no_trailing_zeros() {
        assert_eq!(thousandths(1_050), "1.05");
        assert_eq!(thousandths(2_000), "2");
        assert_eq!(thousandths(-50), "-0.05");
        assert_eq!(sections(17_460_000), "17.5");
    }
}
