//! Forecasts of a demand that is nothing in most periods: Croston's, its two corrections, and TSB.
//!
//! It serves makes that only some jobs need. Start rules change the figures, so they are stated with
//! each method.

use super::SupplyError;
use super::error::at_least_zero;
use crate::life::count_f64;

/// What a series of mostly nothing says by Croston's method.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Intermittent {
    /// Smoothed size of a demand.
    pub size: f64,
    /// Smoothed periods from one demand to the next.
    pub interval: f64,
    /// Croston's demand per period: size / interval; too high by about α/2 of it.
    pub croston: f64,
    /// Corrected by Syntetos and Boylan: (1 − α/2) × that.
    pub sba: f64,
    /// Corrected by Shale, Boylan and Johnston: (1 − α/(2 − α)) × that.
    pub sbj: f64,
    /// Average demand interval: periods / periods with demand.
    pub adi: f64,
    /// Squared coefficient of variation of the sizes, variance over their number.
    pub cv2: f64,
}

/// Forecast by Teunter, Syntetos and Babai, which falls while nothing is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tsb {
    /// Smoothed size of a demand.
    pub size: f64,
    /// Smoothed chance of a demand in a period.
    pub chance: f64,
    /// Demand per period: chance × size.
    pub forecast: f64,
}

/// Croston's method with one smoothing constant α for sizes and intervals.
///
/// Start: the size is the first demand, the interval its period counted from 1. At each later demand
/// both move by α towards the new figure. Source: J. D. Croston, *Forecasting and stock control for
/// intermittent demands*, Oper. Res. Q. 23 (1972), 289–303; A. A. Syntetos and J. E. Boylan, Int. J.
/// Forecasting 21 (2005), 303–314; E. A. Shale, J. E. Boylan and F. R. Johnston, J. Oper. Res. Soc. 57
/// (2006), 588–592.
///
/// # Errors
/// When a demand is below zero or no number, none is above zero, or α does not lie above 0 and up to 1.
pub fn intermittent(demands: &[f64], alpha: f64) -> Result<Intermittent, SupplyError> {
    let alpha = smoothing(alpha)?;
    let sizes = checked_sizes(demands)?;
    let (mut last, mut size) = *sizes.first().ok_or(SupplyError::NoDemand)?;
    let mut interval = count_f64(last.saturating_add(1));
    for (period, demand) in sizes.iter().skip(1) {
        size += alpha * (demand - size);
        interval += alpha * (count_f64(period.saturating_sub(last)) - interval);
        last = *period;
    }
    let croston = size / interval;
    Ok(Intermittent {
        size,
        interval,
        croston,
        sba: (1.0 - 0.5 * alpha) * croston,
        sbj: (1.0 - alpha / (2.0 - alpha)) * croston,
        adi: count_f64(demands.len()) / count_f64(sizes.len()),
        cv2: variation(&sizes),
    })
}

/// The method of Teunter, Syntetos and Babai: size with `alpha`, chance with `beta`.
///
/// Start: the size is the first demand, the chance 1 or 0 as the first period has one; the chance then
/// moves in every period, the size at each later demand. Source: R. H. Teunter, A. A. Syntetos and
/// M. Z. Babai, *Intermittent demand: linking forecasting to inventory obsolescence*, Eur. J. Oper.
/// Res. 214 (2011), 606–615.
///
/// # Errors
/// As [`intermittent`].
pub fn tsb(demands: &[f64], alpha: f64, beta: f64) -> Result<Tsb, SupplyError> {
    let (alpha, beta) = (smoothing(alpha)?, smoothing(beta)?);
    let sizes = checked_sizes(demands)?;
    let mut size = sizes.first().ok_or(SupplyError::NoDemand)?.1;
    for (_, demand) in sizes.iter().skip(1) {
        size += alpha * (demand - size);
    }
    let asked = |demand: &f64| if *demand > 0.0 { 1.0 } else { 0.0 };
    let first = demands.first().map_or(0.0, asked);
    let chance = demands.iter().skip(1).fold(first, |chance, demand| {
        chance + beta * (asked(demand) - chance)
    });
    Ok(Tsb {
        size,
        chance,
        forecast: chance * size,
    })
}

fn smoothing(alpha: f64) -> Result<f64, SupplyError> {
    if alpha > 0.0 && alpha <= 1.0 {
        Ok(alpha)
    } else {
        Err(SupplyError::NotAShare {
            what: "The smoothing constant",
        })
    }
}

/// The largest demand of a period that is taken; squares of it are still numbers.
const DEMAND_MOST: i64 = 1_000_000_000_000_000;

/// Periods with a demand, from zero, and its size.
fn checked_sizes(demands: &[f64]) -> Result<Vec<(usize, f64)>, SupplyError> {
    let what = "The demand of a period";
    let most = fettlebook_quantity::exact_f64(DEMAND_MOST);
    for demand in demands {
        if at_least_zero(*demand, what)? > most {
            return Err(SupplyError::TooLarge {
                what,
                most: DEMAND_MOST,
            });
        }
    }
    let sizes = demands.iter().copied().enumerate();
    Ok(sizes.filter(|(_, demand)| *demand > 0.0).collect())
}

fn variation(sizes: &[(usize, f64)]) -> f64 {
    let count = count_f64(sizes.len());
    let mean = sizes.iter().map(|(_, size)| size / count).sum::<f64>();
    let off = |size: f64| (size / mean - 1.0) * (size / mean - 1.0);
    sizes.iter().map(|(_, size)| off(*size) / count).sum()
}

#[cfg(test)]
mod tests {
    use super::{intermittent, tsb};

    #[test]
    fn demand_in_every_period_is_smoothed_as_usual() {
        let steady = intermittent(&[4.0, 4.0, 4.0], 0.2).unwrap();
        assert_eq!((steady.croston, steady.adi, steady.cv2), (4.0, 1.0, 0.0));
        assert_eq!(tsb(&[4.0, 4.0], 0.2, 0.2).unwrap().forecast, 4.0);
    }

    #[test]
    fn without_demand_tsb_falls_and_croston_stays() {
        let series = [3.0, 0.0, 2.0, 0.0, 0.0, 0.0];
        let (early, late) = (&series[..3], &series[..]);
        let croston = |series| intermittent(series, 0.1).unwrap().croston;
        assert_eq!(croston(early), croston(late));
        let forecast = |series| tsb(series, 0.1, 0.1).unwrap().forecast;
        assert!(forecast(late) < forecast(early));
    }

    #[test]
    fn series_that_teach_nothing_are_refused() {
        let sentence = "No period has any demand, so there is nothing to forecast. Log use first.";
        for series in [&[][..], &[0.0, 0.0]] {
            assert_eq!(intermittent(series, 0.1).unwrap_err().to_string(), sentence);
            assert_eq!(tsb(series, 0.1, 0.1).unwrap_err().to_string(), sentence);
        }
        for series in [[-1.0], [f64::NAN], [f64::INFINITY], [1e300]] {
            assert!(intermittent(&series, 0.1).is_err());
            assert!(tsb(&series, 0.1, 0.1).is_err());
        }
        for alpha in [0.0, 1.1, f64::NAN] {
            assert!(intermittent(&[1.0], alpha).is_err());
            assert!(tsb(&[1.0], 0.1, alpha).is_err());
        }
    }
}
