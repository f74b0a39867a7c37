//! The pads in service on the picture: a mark at the wear of each, with its tag on it.
//!
//! Tags stand upright side by side; where marks are closer than that their tags give way to either side, each
//! tied to its mark by a line.

use fettlebook_contract::v1::PadLeft;
use fettlebook_quantity::exact_f64;
use svg::node::element::{Group, Text as Words};

use super::{BASE, IN_SERVICE, INK, LEFT, RIGHT, round, stroke, words};
use crate::render::tint::clean;

/// Room that a tag takes along the axis.
const GAP: f64 = 15.0;
const SIZE: f64 = 14.0;
/// Heights above the axis: of a mark, and where a tag begins.
const MARK_TOP: f64 = BASE - 16.0;
const TAG_FOOT: f64 = BASE - 30.0;
/// How far upright letters stand to the left of their middle.
const LETTERS_MIDDLE: f64 = 5.0;

/// The marks and tags of pads, which stand at these places across the sheet.
pub(super) fn standing<'a>(pads: impl Iterator<Item = (f64, &'a PadLeft)>) -> Group {
    let mut pads: Vec<(f64, &PadLeft)> = pads.collect();
    pads.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    let marks = pads.iter().fold(Group::new(), |group, (x, _)| {
        group.add(stroke(*x, MARK_TOP, *x, BASE, IN_SERVICE, 3.0))
    });
    // Of more than there is room for the most worn have theirs.
    let room = ((RIGHT - LEFT - GAP / 2.0) / GAP).floor();
    let skipped = pads
        .iter()
        .rev()
        .enumerate()
        .take_while(|(at, _)| count(*at) < room)
        .count();
    let told = pads.get(pads.len().saturating_sub(skipped)..);
    let told = told.unwrap_or_default();
    let marked: Vec<f64> = told.iter().map(|(x, _)| *x).collect();
    let places = apart(&marked);
    told.iter()
        .zip(places)
        .fold(marks, |group, ((x, pad), place)| {
            group
                .add(stroke(*x, MARK_TOP, place, TAG_FOOT + 3.0, IN_SERVICE, 1.0))
                .add(tag(&pad.tag, place))
        })
}

/// A tag that reads upwards from its foot, on white where a curve passes behind it.
fn tag(text: &str, x: f64) -> Words {
    let x = round(x + LETTERS_MIDDLE);
    words(&clean(text), x, TAG_FOOT, SIZE, "start")
        .set("transform", format!("rotate(-90 {x} {TAG_FOOT})"))
        .set("fill", INK)
        .set("stroke", "#ffffff")
        .set("stroke-width", 3)
        .set("paint-order", "stroke")
}

/// Places at least a gap apart and on the sheet, in order, as near to those that are wished as can be.
///
/// Formula: with yᵢ = xᵢ − i·gap the least squares in order of y (pool adjacent violators), then back.
/// Source: R. E. Barlow and others, Statistical Inference under Order Restrictions, 1972, chapter 1; from memory.
fn apart(wished: &[f64]) -> Vec<f64> {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (at, x) in wished.iter().enumerate() {
        let mut pool = (x - count(at) * GAP, 1);
        while let Some((mean, size)) = pools.pop_if(|(mean, _)| *mean >= pool.0) {
            let all = size + pool.1;
            pool = (
                (mean * count(size) + pool.0 * count(pool.1)) / count(all),
                all,
            );
        }
        pools.push(pool);
    }
    // The first stands clear of the axis beside it.
    let least = LEFT + GAP / 2.0;
    let most = RIGHT - count(wished.len().saturating_sub(1)) * GAP;
    let shifted = pools
        .into_iter()
        .flat_map(|(mean, size)| std::iter::repeat_n(mean, size));
    shifted
        .enumerate()
        .map(|(at, y)| y.max(least).min(most) + count(at) * GAP)
        .collect()
}

fn count(count: usize) -> f64 {
    exact_f64(i64::try_from(count).unwrap_or(i64::MAX))
}

#[cfg(test)]
mod tests {
    use super::{GAP, apart};
    use crate::render::svg::{LEFT, RIGHT};

    #[test]
    fn tags_stand_over_their_marks_and_give_way_to_either_side_where_they_are_close() {
        assert_eq!(apart(&[300.0, 400.0]), [300.0, 400.0]);
        // Three on one spot: the middle one stays, the others stand beside it.
        assert_eq!(apart(&[500.0; 3]), [500.0 - GAP, 500.0, 500.0 + GAP]);
        assert_eq!(apart(&[]), [0.0; 0]);
        for wished in [vec![LEFT; 40], vec![RIGHT; 40], vec![700.0; 66]] {
            let places = apart(&wished);
            assert!(places.iter().all(|x| (LEFT..=RIGHT + 1e-9).contains(x)));
            assert!(places.windows(2).all(|two| two[1] - two[0] >= GAP - 1e-9));
        }
    }
}
