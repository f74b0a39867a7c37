//! Terms of a cost: a quantity at a price for so many, the wear of a piece, towels in a wash.
//!
//! It serves the lines of a quote and the cost heads of a job. A head is added up exactly and rounded
//! once: a price per millilitre is never rounded by itself.

use rust_decimal::Decimal;

use super::error::{above_zero, at_least_zero};
use super::{CostError, Fraction};

const COST: CostError = CostError::TooLarge { what: "The cost" };

/// A quantity at a price for so many: quantity × price / base.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct CostTerm {
    /// Quantity in the unit of the base; below zero for what is taken back.
    pub quantity: Decimal,
    /// Price of `base` units, not below zero.
    pub price: Decimal,
    /// Units that the price is for, above zero: 1, or 12 for a price by the dozen.
    pub base: Decimal,
}

impl CostTerm {
    /// A quantity at a price for one.
    #[must_use]
    pub(crate) const fn at_unit_price(quantity: Decimal, price: Decimal) -> Self {
        Self {
            quantity,
            price,
            base: Decimal::ONE,
        }
    }

    /// The wear of a piece: (price − scrap) × used / life. Not clipped: a piece used beyond its life
    /// costs more than its price.
    ///
    /// `used` and `life` are in one unit: damage and 1, or washes and rated washes. Source: the
    /// units-of-production method, IAS 16, paragraph 62.
    ///
    /// # Errors
    /// When the price, the scrap value or the use is below zero, the scrap value above the price, or
    /// the life not above zero.
    pub(crate) fn wear(
        price: Decimal,
        scrap: Decimal,
        used: Decimal,
        life: Decimal,
    ) -> Result<Self, CostError> {
        at_least_zero(price, "The price")?;
        at_least_zero(scrap, "The scrap value")?;
        at_least_zero(used, "The use")?;
        above_zero(life, "The life")?;
        if scrap > price {
            return Err(CostError::ScrapAbovePrice { scrap, price });
        }
        let lost = Fraction::of(price)
            .zip(Fraction::of(scrap))
            .and_then(|(price, scrap)| price.minus(scrap)?.exact());
        Ok(Self {
            quantity: used,
            price: lost.ok_or(COST)?,
            base: life,
        })
    }

    /// Towels washed: towels × load cost / capacity.
    ///
    /// # Errors
    /// When the towels or the load cost are below zero, or the capacity is not above zero.
    pub(crate) fn wash(
        towels: Decimal,
        load_cost: Decimal,
        capacity: Decimal,
    ) -> Result<Self, CostError> {
        at_least_zero(towels, "The number of towels")?;
        at_least_zero(load_cost, "The cost of a load")?;
        above_zero(capacity, "The number of towels in a load")?;
        Ok(Self {
            quantity: towels,
            price: load_cost,
            base: capacity,
        })
    }

    fn checked(self) -> Result<Self, CostError> {
        at_least_zero(self.price, "The price")?;
        above_zero(self.base, "The quantity a price is for")?;
        Ok(self)
    }

    fn exact(self) -> Option<Fraction> {
        Fraction::of(self.quantity)?
            .times(Fraction::of(self.price)?)?
            .per(Fraction::of(self.base)?)
    }
}

/// A cost head: the exact sum of its terms, rounded once, half away from zero.
///
/// # Errors
/// When a price is below zero, a base not above zero, or the sum needs more digits than can be held.
pub(crate) fn head_cost(terms: &[CostTerm], places: u32) -> Result<Decimal, CostError> {
    let mut sum = Fraction::ZERO;
    for term in terms {
        let cost = term.checked()?.exact();
        sum = cost.and_then(|cost| sum.plus(cost)).ok_or(COST)?;
    }
    sum.round(places).ok_or(COST)
}

/// What a time costs at the price of an hour, rounded once, half away from zero.
///
/// Formula: rate × time / 1 h.
///
/// # Errors
/// As [`head_cost`].
pub(crate) fn for_time(rate: Decimal, time_s: i64, places: u32) -> Result<Decimal, CostError> {
    const HOUR_S: i64 = 3_600;
    let term = CostTerm {
        quantity: time_s.into(),
        price: rate,
        base: HOUR_S.into(),
    };
    head_cost(&[term], places)
}

/// What one load of the washing machine takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct WashLoad {
    /// Energy, kWh.
    pub energy_kwh: Decimal,
    /// Price of a kWh.
    pub price_per_kwh: Decimal,
    /// Water, m³.
    pub water_m3: Decimal,
    /// Price of a m³, waste water included.
    pub price_per_m3: Decimal,
    /// Detergent, mL.
    pub detergent_ml: Decimal,
    /// Price of a mL of detergent.
    pub price_per_ml: Decimal,
}

impl WashLoad {
    /// Cost of the load: energy, water and detergent at their prices, rounded once.
    ///
    /// # Errors
    /// When a figure is below zero, or the sum needs more digits than can be held.
    pub(crate) fn cost(&self, places: u32) -> Result<Decimal, CostError> {
        let terms = [
            (self.energy_kwh, self.price_per_kwh, "The energy of a load"),
            (self.water_m3, self.price_per_m3, "The water of a load"),
            (
                self.detergent_ml,
                self.price_per_ml,
                "The detergent of a load",
            ),
        ];
        let mut checked = Vec::with_capacity(terms.len());
        for (quantity, price, what) in terms {
            at_least_zero(quantity, what)?;
            checked.push(CostTerm::at_unit_price(quantity, price));
        }
        head_cost(&checked, places)
    }
}

#[cfg(test)]
mod tests {
    use super::{CostError, CostTerm, WashLoad, head_cost};
    use rust_decimal::Decimal;

    fn of(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn thirds_of_half_a_cent_round_as_their_sum() {
        let third = CostTerm::wear(of("0.025"), of("0"), of("1"), of("3")).unwrap();
        assert_eq!(head_cost(&[third; 3], 2).unwrap().to_string(), "0.03");
        assert_eq!(head_cost(&[], 2).unwrap().to_string(), "0.00");
    }

    /// Source: worked by hand: (16 − 1) × 1 / 25; a piece used twice its life costs twice its loss.
    #[test]
    fn wear_is_the_share_of_what_the_piece_loses() {
        let cost = |used: &str| {
            let worn = CostTerm::wear(of("16"), of("1"), of(used), of("25")).unwrap();
            head_cost(&[worn], 2).unwrap()
        };
        assert_eq!(cost("1").to_string(), "0.60");
        assert_eq!(cost("50").to_string(), "30.00");
        let towels = CostTerm::wash(of("14"), of("4.20"), of("20")).unwrap();
        assert_eq!(head_cost(&[towels], 2).unwrap().to_string(), "2.94");
    }

    #[test]
    fn a_price_per_millilitre_is_not_rounded() {
        let term = CostTerm::at_unit_price(of("16000"), of("0.00101"));
        assert_eq!(head_cost(&[term], 2).unwrap().to_string(), "16.16");
    }

    /// Source: worked by hand: 0.9 × 0.30 + 0.055 × 5.20 + 40 × 0.0125 = 1.056.
    #[test]
    fn a_load_costs_its_energy_water_and_detergent() {
        let load = WashLoad {
            energy_kwh: of("0.9"),
            price_per_kwh: of("0.30"),
            water_m3: of("0.055"),
            price_per_m3: of("5.20"),
            detergent_ml: of("40"),
            price_per_ml: of("0.0125"),
        };
        assert_eq!(load.cost(2).unwrap().to_string(), "1.06");
        let dry = WashLoad {
            water_m3: of("-1"),
            ..load
        };
        assert_eq!(
            dry.cost(2).unwrap_err().to_string(),
            "The water of a load is -1. It cannot be below zero."
        );
    }

    #[test]
    fn terms_that_are_none_are_refused() {
        let one = of("1");
        let cost = |quantity, price, base| {
            let term = CostTerm {
                quantity,
                price,
                base,
            };
            head_cost(&[term], 2)
        };
        assert!(cost(one, of("-1"), one).is_err());
        assert!(cost(one, one, of("0")).is_err());
        assert!(matches!(
            cost(Decimal::MAX, Decimal::MAX, one),
            Err(CostError::TooLarge { .. })
        ));
        assert!(CostTerm::wear(of("-1"), of("0"), one, one).is_err());
        assert!(CostTerm::wear(one, of("2"), one, one).is_err());
        assert!(CostTerm::wear(one, one, of("-1"), one).is_err());
        assert!(CostTerm::wear(one, one, one, of("0")).is_err());
        assert!(CostTerm::wash(one, one, of("0")).is_err());
        assert!(CostTerm::wash(of("-1"), one, one).is_err());
    }
}
