//! How a step's sections fall to the pads that worked it.

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

#[cfg(test)]
mod tests {
    use super::shares;

    #[test]
    fn what_is_not_said_is_split_evenly() {
        assert_eq!(shares(77, &[None; 5]), [16, 16, 15, 15, 15]);
        assert_eq!(shares(77, &[Some(9), None, None]), [9, 34, 34]);
        assert_eq!(shares(5, &[Some(9), None]), [9, 0]);
        assert_eq!(shares(5, &[]), [0_i64; 0]);
    }
}
