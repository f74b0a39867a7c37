//! A curve of lives read for drawing, on the terminal and on the picture: how far it reaches, where its marks go,
//! what it says at a wear. It reads off what the service sent and never works out a survival of its own.

use fettlebook_contract::v1::{LifeBelief, MakeWear};

/// Least that a drawing shows, so that the rating is always on it.
const DAMAGE_MIN: f64 = 1.2;
/// Most that a drawing shows; what wore further sits at its edge.
const DAMAGE_MAX: f64 = 10.0;
/// Below this share the tail of what is believed is not worth room.
const TAIL: f64 = 0.02;

/// A share within 0 and 1; what is no number counts as none.
pub(crate) fn share(value: f64) -> f64 {
    if value.is_nan() {
        0.0
    } else {
        value.clamp(0.0, 1.0)
    }
}

/// The damage up to which a make's curves are drawn: the axis ends where the last of them does.
pub(crate) fn reach(wear: &MakeWear) -> f64 {
    let seen = wear.curve.iter().map(|step| step.damage);
    let in_service = lasted(wear);
    let tail = wear.belief.iter().find(|point| point.survival <= TAIL);
    let believed = tail.or(wear.belief.last()).map(|point| point.damage);
    let furthest = seen.chain(in_service).chain(believed);
    let furthest = furthest.filter(|damage| damage.is_finite());
    furthest.fold(0.0, f64::max).clamp(DAMAGE_MIN, DAMAGE_MAX)
}

/// Damage of the pads that did not wear out: those in service, and those that left for another reason.
fn lasted(wear: &MakeWear) -> impl Iterator<Item = f64> {
    let in_service = wear.pads.iter().map(|pad| pad.damage);
    in_service.chain(wear.cut_off_damages.iter().copied())
}

/// Corners of the curve of what was seen, from new and whole to where observation ends: damage and
/// the share that lasts longer. Empty when nothing wore out.
pub(crate) fn seen(wear: &MakeWear) -> Vec<(f64, f64)> {
    let mut corners: Vec<(f64, f64)> = wear
        .curve
        .iter()
        .filter(|step| step.damage.is_finite())
        .map(|step| (step.damage.max(0.0), share(step.survival)))
        .collect();
    let Some(&(last, survival)) = corners.last() else {
        return corners;
    };
    corners.insert(0, (0.0, 1.0));
    // Pads that came further carry the last share on; beyond them nothing is known.
    let furthest = lasted(wear).filter(|damage| damage.is_finite());
    let end = furthest.fold(last, f64::max);
    if survival > 0.0 && end > last {
        corners.push((end, survival));
    }
    corners
}

/// The share that the corners of a step curve tell at a damage; `None` beyond its end.
pub(crate) fn step_at(corners: &[(f64, f64)], damage: f64) -> Option<f64> {
    let (end, _) = corners.last()?;
    if damage > *end {
        return None;
    }
    let reached = corners.iter().take_while(|(at, _)| *at <= damage);
    reached.last().map(|(_, share)| *share)
}

/// The share that is believed at a damage, on the line between the points; `None` outside them.
pub(crate) fn belief_at(belief: &[LifeBelief], damage: f64) -> Option<f64> {
    let before = belief.iter().rev().find(|point| point.damage <= damage)?;
    let after = belief.iter().find(|point| point.damage >= damage)?;
    let span = after.damage - before.damage;
    if span <= 0.0 {
        return Some(share(after.survival));
    }
    let part = (damage - before.damage) / span;
    Some(share(
        before.survival + part * (after.survival - before.survival),
    ))
}

/// Marks of the wear axis: round damages from 0 to the reach, `most` of them at most.
pub(crate) fn marks(reach: f64, most: u32) -> Vec<f64> {
    const STEPS: [f64; 6] = [0.1, 0.2, 0.25, 0.5, 1.0, 2.0];
    let most = f64::from(most.max(2));
    let fitting = STEPS.iter().find(|step| reach / **step + 1.0 <= most);
    let step = fitting.copied().unwrap_or(5.0);
    (0..u32::MAX)
        .map(|index| f64::from(index) * step)
        .take_while(|mark| *mark <= reach + step * 1e-6)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{belief_at, marks, reach, seen, step_at};
    use fettlebook_contract::v1::{LifeBelief, LifeStep, MakeWear, PadLeft};

    fn step(damage: f64, survival: f64) -> LifeStep {
        LifeStep {
            damage,
            survival,
            ..LifeStep::default()
        }
    }

    fn pad(damage: f64) -> PadLeft {
        PadLeft {
            damage,
            ..PadLeft::default()
        }
    }

    fn believed(damage: f64, survival: f64) -> LifeBelief {
        LifeBelief { damage, survival }
    }

    #[test]
    fn a_drawing_reaches_past_the_rating_and_to_what_wore_furthest() {
        assert_eq!(reach(&MakeWear::default()), 1.2);
        let wear = MakeWear {
            curve: vec![step(0.9, 0.5), step(1.6, 0.0)],
            ..MakeWear::default()
        };
        assert_eq!(reach(&wear), 1.6);
        for (damage, told) in [(f64::NAN, 1.2), (f64::INFINITY, 1.2), (1e300, 10.0)] {
            let wear = MakeWear {
                pads: vec![pad(damage)],
                ..MakeWear::default()
            };
            assert_eq!(reach(&wear), told, "{damage}");
        }
        let wear = MakeWear {
            belief: vec![believed(0.0, 1.0), believed(2.0, 0.01), believed(9.0, 0.0)],
            ..MakeWear::default()
        };
        assert_eq!(reach(&wear), 2.0);
    }

    #[test]
    fn a_step_curve_holds_its_share_to_the_next_failure_and_ends_where_it_is_known() {
        let mut wear = MakeWear {
            curve: vec![step(0.8, 0.75), step(1.0, 0.5)],
            ..MakeWear::default()
        };
        let corners = seen(&wear);
        assert_eq!(step_at(&corners, 0.0), Some(1.0));
        assert_eq!(step_at(&corners, 0.79), Some(1.0));
        assert_eq!(step_at(&corners, 0.8), Some(0.75));
        assert_eq!(step_at(&corners, 1.0), Some(0.5));
        assert_eq!(step_at(&corners, 1.01), None);
        wear.pads.push(pad(1.3));
        assert_eq!(step_at(&seen(&wear), 1.2), Some(0.5));
        assert_eq!(step_at(&seen(&wear), 1.31), None);
        assert!(seen(&MakeWear::default()).is_empty());
    }

    #[test]
    fn what_is_believed_is_read_between_its_points_and_not_beyond() {
        let points = [believed(0.0, 1.0), believed(1.0, 0.5), believed(1.0, 0.4)];
        assert_eq!(belief_at(&points, 0.5), Some(0.75));
        assert_eq!(belief_at(&points, 0.0), Some(1.0));
        assert_eq!(belief_at(&points, 1.1), None);
        assert_eq!(belief_at(&[], 0.5), None);
    }

    #[test]
    fn marks_are_round_and_few_enough() {
        let told = |reach, most| {
            let percent = |mark: &f64| (mark * 100.0).round();
            marks(reach, most).iter().map(percent).collect::<Vec<_>>()
        };
        assert_eq!(told(1.25, 8), [0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0]);
        assert_eq!(
            told(1.75, 8),
            [0.0, 25.0, 50.0, 75.0, 100.0, 125.0, 150.0, 175.0]
        );
        assert_eq!(told(10.0, 8), [0.0, 200.0, 400.0, 600.0, 800.0, 1000.0]);
        assert_eq!(told(10.0, 2), [0.0, 500.0, 1000.0]);
    }
}
