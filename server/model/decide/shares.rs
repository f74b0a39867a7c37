//! How a whole falls to its parts: sections to pads, a planned volume to bottles.

use crate::ground::exact::{floor_div, product};

/// Shares of a whole: those given stand, the rest is split evenly among the open ones, the first
/// of them taking one more where it does not divide. What is given may add up to more than the
/// whole: it happened.
pub(super) fn shares(whole: i64, given: &[Option<i64>]) -> Vec<i64> {
    let said = given
        .iter()
        .flatten()
        .fold(0_i64, |sum, share| sum.saturating_add(*share));
    let rest = whole.saturating_sub(said).max(0);
    let open =
        i64::try_from(given.iter().filter(|share| share.is_none()).count()).unwrap_or(i64::MAX);
    let each = rest.checked_div(open).unwrap_or(0);
    let mut over = rest.checked_rem(open).unwrap_or(0);
    given
        .iter()
        .map(|share| {
            share.unwrap_or_else(|| {
                let extra = over.clamp(0, 1);
                over = over.saturating_sub(extra);
                each.saturating_add(extra)
            })
        })
        .collect()
}

/// A whole in proportion to these parts, none below zero; the last part takes what rounding leaves.
/// The first takes all where the parts are nothing.
pub(super) fn in_proportion(whole: i64, parts: &[i64]) -> Vec<i64> {
    let all = parts
        .iter()
        .fold(0_i64, |sum, part| sum.saturating_add((*part).max(0)));
    let mut open = whole;
    let last = parts.len().saturating_sub(1);
    parts
        .iter()
        .enumerate()
        .map(|(at, part)| {
            let share = if at == last || (all == 0 && at == 0) {
                open
            } else {
                floor_div(product([whole, (*part).max(0)]), i128::from(all))
            };
            open = open.saturating_sub(share);
            share
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{in_proportion, shares};

    #[test]
    fn a_whole_falls_in_proportion_and_nothing_is_lost() {
        assert_eq!(in_proportion(100, &[30, 10]), [75, 25]);
        assert_eq!(in_proportion(100, &[1, 1, 1]), [33, 33, 34]);
        assert_eq!(in_proportion(100, &[0, 0]), [100, 0]);
        assert_eq!(in_proportion(100, &[7]), [100]);
        assert_eq!(in_proportion(100, &[]), [0_i64; 0]);
    }

    #[test]
    fn what_is_not_said_is_split_evenly() {
        assert_eq!(shares(77, &[None; 5]), [16, 16, 15, 15, 15]);
        assert_eq!(shares(77, &[Some(9), None, None]), [9, 34, 34]);
        assert_eq!(shares(5, &[Some(9), None]), [9, 0]);
        assert_eq!(shares(5, &[]), [0_i64; 0]);
    }
}
