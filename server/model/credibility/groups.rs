//! Credibility of several groups at once, both variances found from the groups themselves.
//!
//! It serves the comparison of makes, say liquids by their ratio of use to plan: how far each one's own
//! figures are to be trusted. Where the groups differ no more than chance would have them, all get the
//! common mean.

use crate::life::count_f64;

/// One observation of a group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// Exposure, the weight of the rate: m², planned mL, or 1.
    pub exposure: f64,
    /// Rate per unit of exposure.
    pub rate: f64,
}

/// What is believed of one group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroupBelief {
    /// Its own mean rate, weighted by exposure.
    pub mean: f64,
    /// Credibility Z of that, from 0 to 1.
    pub credibility: f64,
    /// Z × its mean + (1 − Z) × the common mean.
    pub estimate: f64,
}

/// What is believed of all groups.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupsBelief {
    /// The common mean rate, weighted by exposure.
    pub overall: f64,
    /// Variance within a group for an exposure of one, the expected process variance.
    pub within: f64,
    /// Variance of the groups' true rates; 0 where they differ no more than by chance.
    pub between: f64,
    /// Exposure at which a group and the common mean weigh the same, within / between; `None` where the
    /// groups do not differ.
    pub equal_weight: Option<f64>,
    /// The groups, in the order given.
    pub groups: Vec<GroupBelief>,
}

/// The beliefs about groups from their observations.
///
/// Formula, with m the exposures and r groups: within = ΣΣ m_ij (x_ij − x̄_i)² / Σ(n_i − 1), between =
/// (Σ m_i (x̄_i − x̄)² − (r − 1) within) / (m − Σ m_i² / m), Z_i = m_i / (m_i + within / between). Source:
/// H. Bühlmann and A. Gisler, *A Course in Credibility Theory* (2005), section 4.8.
///
/// `None` with fewer than two groups, an empty one, none with two observations, an exposure that is not
/// above zero, or a result beyond the largest number.
#[must_use]
pub fn groups_belief(groups: &[Vec<Observation>]) -> Option<GroupsBelief> {
    let sums: Vec<Sums> = groups
        .iter()
        .map(|group| Sums::of(group))
        .collect::<Option<_>>()?;
    let free: f64 = groups
        .iter()
        .map(|group| count_f64(group.len()) - 1.0)
        .sum();
    if sums.len() < 2 || free <= 0.0 {
        return None;
    }
    let exposure: f64 = sums.iter().map(|group| group.exposure).sum();
    let weighted = |figure: &dyn Fn(&Sums) -> f64| -> f64 {
        sums.iter()
            .map(|group| group.exposure / exposure * figure(group))
            .sum()
    };
    let overall = weighted(&|group| group.mean);
    let within = sums.iter().map(|group| group.squares).sum::<f64>() / free;
    let apart = weighted(&|group| (group.mean - overall) * (group.mean - overall));
    let others = count_f64(sums.len()) - 1.0;
    let effective = 1.0 - weighted(&|group| group.exposure / exposure);
    let between = ((apart - others * within / exposure) / effective).max(0.0);
    let finite = [overall, within, between]
        .iter()
        .all(|figure| figure.is_finite());
    let belief = |group: &Sums| group.belief(overall, within, between);
    finite.then(|| GroupsBelief {
        overall,
        within,
        between,
        equal_weight: (between > 0.0).then(|| within / between),
        groups: sums.iter().map(belief).collect(),
    })
}

/// A group summed up.
struct Sums {
    exposure: f64,
    mean: f64,
    squares: f64,
}

impl Sums {
    fn of(group: &[Observation]) -> Option<Self> {
        let usable = |seen: &Observation| {
            seen.exposure.is_finite() && seen.exposure > 0.0 && seen.rate.is_finite()
        };
        if group.is_empty() || !group.iter().all(usable) {
            return None;
        }
        let exposure: f64 = group.iter().map(|seen| seen.exposure).sum();
        let mean = group
            .iter()
            .map(|seen| seen.exposure / exposure * seen.rate)
            .sum::<f64>();
        let off = |seen: &Observation| seen.exposure * (seen.rate - mean) * (seen.rate - mean);
        Some(Self {
            exposure,
            mean,
            squares: group.iter().map(off).sum(),
        })
    }

    fn belief(&self, overall: f64, within: f64, between: f64) -> GroupBelief {
        let told = self.exposure * between;
        let credibility = if told > 0.0 {
            1.0 / (1.0 + within / told)
        } else {
            0.0
        };
        GroupBelief {
            mean: self.mean,
            credibility,
            estimate: credibility * self.mean + (1.0 - credibility) * overall,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Observation, groups_belief};

    fn group(exposure: f64, rates: &[f64]) -> Vec<Observation> {
        let seen = rates.iter().map(|rate| Observation {
            exposure,
            rate: *rate,
        });
        seen.collect()
    }

    #[test]
    fn groups_that_differ_by_chance_get_the_common_mean() {
        let belief = groups_belief(&[group(1.0, &[0.0, 2.0]), group(1.0, &[2.0, 0.2])]).unwrap();
        assert_eq!((belief.between, belief.equal_weight), (0.0, None));
        for group in &belief.groups {
            assert_eq!((group.credibility, group.estimate), (0.0, belief.overall));
        }
    }

    /// Source: worked by hand: means 1 and 4, overall 3, within (2 + 4)/2 = 3, between
    /// (4·4 + 8·1 − 3)/(12 − 80/12) = 63/16, K = 16/21.
    #[test]
    fn a_group_with_more_exposure_is_trusted_more() {
        let belief = groups_belief(&[
            group(2.0, &[1.0 - 0.5_f64.sqrt(), 1.0 + 0.5_f64.sqrt()]),
            group(4.0, &[4.0 - 0.5_f64.sqrt(), 4.0 + 0.5_f64.sqrt()]),
        ])
        .unwrap();
        let near = |ours: f64, theirs: f64| assert!((ours - theirs).abs() < 1e-12, "{ours}");
        near(belief.overall, 3.0);
        near(belief.within, 3.0);
        near(belief.between, 63.0 / 16.0);
        near(belief.groups[0].credibility, 84.0 / 100.0);
        near(belief.groups[1].credibility, 168.0 / 184.0);
    }

    #[test]
    fn groups_that_teach_nothing_have_no_belief() {
        let one = group(1.0, &[1.0, 2.0]);
        assert_eq!(groups_belief(&[]), None);
        assert_eq!(groups_belief(std::slice::from_ref(&one)), None);
        assert_eq!(groups_belief(&[one.clone(), vec![]]), None);
        assert_eq!(
            groups_belief(&[group(1.0, &[1.0]), group(1.0, &[2.0])]),
            None
        );
        for (exposure, rate) in [(0.0, 1.0), (-1.0, 1.0), (f64::NAN, 1.0), (1.0, f64::NAN)] {
            assert_eq!(
                groups_belief(&[one.clone(), group(exposure, &[rate])]),
                None
            );
        }
        assert_eq!(
            groups_belief(&[one, group(1.0, &[f64::MAX, -f64::MAX])]),
            None
        );
    }
}
