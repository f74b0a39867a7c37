//! The sums of a quote: net by line, tax by rate, gross.
//!
//! It serves the quote a customer gets. Net and tax always add up to the gross, to the cent. Tax rates
//! are the user's: local rules decide which applies, and which basis.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::{CostError, Fraction, Rounding, line_net, minor_unit_places};
use crate::money::{Currency, Money};

const SUM: CostError = CostError::TooLarge {
    what: "The sum of the quote",
};

/// What the tax is reckoned and rounded on. The two differ by cents, so the one used is kept with the
/// quote.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TaxBasis {
    /// On the summed net of each rate (EN 16931, rule BR-CO-17).
    Invoice,
    /// On each line by itself, then summed.
    Item,
}

/// A line of a quote.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct QuoteLine {
    /// Quantity; below zero for what is taken back.
    pub quantity: Decimal,
    /// Price of `price_base` units, net of tax. Zero for what is given free.
    pub price: Money,
    /// Units that the price is for.
    pub price_base: Decimal,
    /// Tax rate in per cent, 0 to 100.
    pub tax_percent: Decimal,
}

/// A net amount and its tax rate: a line, or a charge (above zero) or allowance (below) on the whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TaxedNet {
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
    /// Net of each line, in the order given.
    pub line_nets: Vec<Decimal>,
    /// Sums by rate, the lowest rate first.
    pub by_rate: Vec<TaxSum>,
    /// Net of all.
    pub net: Decimal,
    /// Tax of all.
    pub tax: Decimal,
    /// Net and tax.
    pub gross: Decimal,
}

/// Reckons a quote: each line net rounded once, half away from zero, at the decimals of the currency,
/// and the sums of [`total_up`].
///
/// # Errors
/// When a price is in another currency or below zero, a base is not above zero, a rate is outside 0 to
/// 100, or a sum needs more digits than can be held.
pub fn quote(lines: &[QuoteLine], currency: Currency, basis: TaxBasis) -> Result<Quote, CostError> {
    let places = minor_unit_places(currency);
    let mut nets = Vec::with_capacity(lines.len());
    for line in lines {
        if line.price.currency != currency {
            return Err(CostError::Currency {
                what: "A price",
                found: line.price.currency,
                wanted: currency,
            });
        }
        nets.push(TaxedNet {
            net: line_net(line.quantity, line.price.amount, line.price_base, places)?,
            tax_percent: line.tax_percent,
        });
    }
    total_up(&nets, basis, places)
}

/// Adds up net amounts and their tax.
///
/// Formula: by invoice, tax = taxable × rate / 100 rounded once for each rate (EN 16931, BR-CO-17); by
/// item, the same for each net, then summed. Halves go away from zero. Source of the choice:
/// Streamlined Sales and Use Tax Agreement, section 324.
///
/// # Errors
/// When a net has more decimals than `places`, a rate is outside 0 to 100, or a sum needs more digits
/// than can be held.
pub fn total_up(nets: &[TaxedNet], basis: TaxBasis, places: u32) -> Result<Quote, CostError> {
    let mut sums: BTreeMap<Decimal, (Fraction, Fraction)> = BTreeMap::new();
    let mut line_nets = Vec::with_capacity(nets.len());
    for line in nets {
        let rate = checked_rate(line.tax_percent)?;
        let net = whole_coins(line.net, places)?;
        line_nets.push(rounded(Some(net), places)?);
        let (taxable, tax) = sums.entry(rate).or_insert((Fraction::ZERO, Fraction::ZERO));
        *taxable = taxable.plus(net).ok_or(SUM)?;
        if basis == TaxBasis::Item {
            let of_item = tax_on(net, rate, places).ok_or(SUM)?;
            *tax = tax.plus(of_item).ok_or(SUM)?;
        }
    }
    let (mut net_sum, mut tax_sum) = (Fraction::ZERO, Fraction::ZERO);
    let mut by_rate = Vec::with_capacity(sums.len());
    for (tax_percent, (taxable, of_items)) in sums {
        let tax = match basis {
            TaxBasis::Invoice => tax_on(taxable, tax_percent, places).ok_or(SUM)?,
            TaxBasis::Item => of_items,
        };
        net_sum = net_sum.plus(taxable).ok_or(SUM)?;
        tax_sum = tax_sum.plus(tax).ok_or(SUM)?;
        by_rate.push(TaxSum {
            tax_percent,
            taxable: rounded(Some(taxable), places)?,
            tax: rounded(Some(tax), places)?,
        });
    }
    Ok(Quote {
        line_nets,
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
    Fraction::of(tax.round(places, Rounding::HalfUp)?)
}

fn rounded(amount: Option<Fraction>, places: u32) -> Result<Decimal, CostError> {
    amount
        .and_then(|amount| amount.round(places, Rounding::HalfUp))
        .ok_or(SUM)
}

#[cfg(test)]
mod tests {
    use super::{QuoteLine, TaxBasis, TaxedNet, quote, total_up};
    use crate::money::Money;
    use rust_decimal::Decimal;

    fn of(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn line(price: &str, currency: &str, tax_percent: &str) -> QuoteLine {
        QuoteLine {
            quantity: of("3"),
            price: Money::parse(price, currency).unwrap(),
            price_base: of("1"),
            tax_percent: of(tax_percent),
        }
    }

    #[test]
    fn a_rate_written_in_two_ways_is_one_rate() {
        let lines = [line("1.105", "EUR", "21.0"), line("0.10", "EUR", "21")];
        let quote = quote(&lines, "EUR".parse().unwrap(), TaxBasis::Invoice).unwrap();
        assert_eq!(quote.line_nets, [of("3.32"), of("0.30")]);
        assert_eq!(quote.by_rate.len(), 1);
        assert_eq!(quote.by_rate[0].tax_percent.to_string(), "21");
        assert_eq!((quote.tax, quote.gross), (of("0.76"), of("4.38")));
    }

    #[test]
    fn a_currency_without_coins_is_quoted_whole() {
        let lines = [line("33.5", "JPY", "10")];
        let quote = quote(&lines, "JPY".parse().unwrap(), TaxBasis::Item).unwrap();
        assert_eq!(quote.net.to_string(), "101");
        assert_eq!(
            (quote.tax.to_string(), quote.gross.to_string()),
            ("10".into(), "111".into())
        );
    }

    #[test]
    fn a_quote_that_makes_no_sense_is_refused_with_a_sentence() {
        let refused = |lines: &[QuoteLine]| {
            quote(lines, "EUR".parse().unwrap(), TaxBasis::Invoice)
                .unwrap_err()
                .to_string()
        };
        assert_eq!(
            refused(&[line("1", "EUR", "21"), line("1", "SEK", "21")]),
            "A price is in SEK, the rest in EUR. Give every figure in one currency."
        );
        assert_eq!(
            refused(&[line("1", "EUR", "101")]),
            "The tax rate in per cent is 101. It lies between 0 and 100."
        );
        let nothing = QuoteLine {
            price_base: of("0"),
            ..line("1", "EUR", "21")
        };
        assert_eq!(
            refused(&[nothing]),
            "The quantity a price is for is 0. It must be above zero."
        );
        let huge = QuoteLine {
            quantity: Decimal::MAX,
            ..line("100000", "EUR", "21")
        };
        assert_eq!(
            refused(&[huge]),
            "The cost needs more digits than can be held exactly. Look for a mistyped figure."
        );
    }

    #[test]
    fn a_net_that_was_not_rounded_is_refused() {
        let net = TaxedNet {
            net: of("1.005"),
            tax_percent: of("21"),
        };
        let refused = total_up(&[net], TaxBasis::Invoice, 2).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "The net 1.005 has more than 2 decimals. Round each line before adding up."
        );
    }
}
