//! The sums of a quote: net by line, tax by rate, gross.
//!
//! It serves the quote a customer gets. Net and tax always add up to the gross, to the cent. Tax rates
//! are the user's: local rules decide which applies.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::{CostError, Fraction};

const SUM: CostError = CostError::TooLarge {
    what: "The sum of the quote",
};

/// A net amount and its tax rate: a line, or a charge (above zero) or allowance (below) on the whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct TaxedNet {
    /// Net amount.
    pub net: Decimal,
    /// Tax rate in per cent, 0 to 100.
    pub tax_percent: Decimal,
}

/// What is taxed at one rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TaxSum {
    /// Rate in per cent, without trailing zeros.
    pub tax_percent: Decimal,
    /// Summed net.
    pub taxable: Decimal,
    /// Tax.
    pub tax: Decimal,
}

/// The sums of a quote, all at the decimals of its currency.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quote {
    /// Sums by rate, the lowest rate first.
    pub by_rate: Vec<TaxSum>,
    /// Net of all.
    pub net: Decimal,
    /// Tax of all.
    pub tax: Decimal,
    /// Net and tax.
    pub gross: Decimal,
}

/// Adds up net amounts and their tax.
///
/// Formula: tax = taxable × rate / 100 rounded once for each rate, a half away from zero (EN 16931,
/// BR-CO-17).
///
/// # Errors
/// When a net has more decimals than `places`, a rate is outside 0 to 100, or a sum needs more digits
/// than can be held.
pub(crate) fn total_up(nets: &[TaxedNet], places: u32) -> Result<Quote, CostError> {
    let mut sums: BTreeMap<Decimal, Fraction> = BTreeMap::new();
    for line in nets {
        let rate = checked_rate(line.tax_percent)?;
        let net = whole_coins(line.net, places)?;
        let taxable = sums.entry(rate).or_insert(Fraction::ZERO);
        *taxable = taxable.plus(net).ok_or(SUM)?;
    }
    let (mut net_sum, mut tax_sum) = (Fraction::ZERO, Fraction::ZERO);
    let mut by_rate = Vec::with_capacity(sums.len());
    for (tax_percent, taxable) in sums {
        let tax = tax_on(taxable, tax_percent, places).ok_or(SUM)?;
        net_sum = net_sum.plus(taxable).ok_or(SUM)?;
        tax_sum = tax_sum.plus(tax).ok_or(SUM)?;
        by_rate.push(TaxSum {
            tax_percent,
            taxable: rounded(Some(taxable), places)?,
            tax: rounded(Some(tax), places)?,
        });
    }
    Ok(Quote {
        by_rate,
        net: rounded(Some(net_sum), places)?,
        tax: rounded(Some(tax_sum), places)?,
        gross: rounded(net_sum.plus(tax_sum), places)?,
    })
}

fn checked_rate(found: Decimal) -> Result<Decimal, CostError> {
    if (Decimal::ZERO..=Decimal::ONE_HUNDRED).contains(&found) {
        Ok(found.normalize())
    } else {
        Err(CostError::OutOfRange {
            what: "The tax rate in per cent",
            found,
            least: Decimal::ZERO,
            most: Decimal::ONE_HUNDRED,
        })
    }
}

/// The net as it is; one with parts of a coin was never rounded.
fn whole_coins(net: Decimal, places: u32) -> Result<Fraction, CostError> {
    if net.normalize().scale() > places {
        return Err(CostError::NotRounded { net, places });
    }
    Fraction::of(net).ok_or(SUM)
}

/// Tax on a net, rounded to whole coins.
fn tax_on(net: Fraction, rate: Decimal, places: u32) -> Option<Fraction> {
    let tax = net
        .times(Fraction::of(rate)?)?
        .per(Fraction::of(Decimal::ONE_HUNDRED)?)?;
    Fraction::of(tax.round(places)?)
}

fn rounded(amount: Option<Fraction>, places: u32) -> Result<Decimal, CostError> {
    amount.and_then(|amount| amount.round(places)).ok_or(SUM)
}

#[cfg(test)]
mod tests {
    use super::{TaxedNet, total_up};
    use rust_decimal::Decimal;

    fn taxed(net: &str, tax_percent: &str) -> TaxedNet {
        let of = |text: &str| -> Decimal { text.parse().unwrap() };
        TaxedNet {
            net: of(net),
            tax_percent: of(tax_percent),
        }
    }

    /// Source: worked by hand: 21 % of 3.42 is 0.7182.
    #[test]
    fn a_rate_written_in_two_ways_is_one_rate() {
        let sums = total_up(&[taxed("3.32", "21.0"), taxed("0.10", "21")], 2).unwrap();
        assert_eq!(sums.by_rate.len(), 1);
        assert_eq!(sums.by_rate[0].tax_percent.to_string(), "21");
        assert_eq!(
            (sums.tax.to_string(), sums.gross.to_string()),
            ("0.72".into(), "4.14".into())
        );
    }

    #[test]
    fn a_currency_without_coins_is_quoted_whole() {
        let sums = total_up(&[taxed("101", "10")], 0).unwrap();
        assert_eq!(
            (sums.tax.to_string(), sums.gross.to_string()),
            ("10".into(), "111".into())
        );
    }

    #[test]
    fn a_sum_that_makes_no_sense_is_refused_with_a_sentence() {
        let refused = |net: &str, tax: &str| total_up(&[taxed(net, tax)], 2).unwrap_err();
        assert_eq!(
            refused("1", "101").to_string(),
            "The tax rate in per cent is 101. It lies between 0 and 100."
        );
        assert_eq!(
            refused("1.005", "21").to_string(),
            "The net 1.005 has more than 2 decimals. Round each line before adding up."
        );
        let most = Decimal::MAX.to_string();
        assert_eq!(
            refused(&most, "21").to_string(),
            "The sum of the quote needs more digits than can be held exactly. \
             Look for a mistyped figure."
        );
    }
}
