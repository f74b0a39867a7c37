//! What pad makes really last in this shop: all of them in a list, or one with its curve and pads.
//!
//! It serves `wear`. The figures, the sentences and the caveats are the service's; this page sets
//! them out, and a figure that is a range is told as one.

mod one;

use fettlebook_contract::v1::{LifeRange, MakeWear, PadLeft};

use crate::render::gauge;
use crate::render::grid::Grid;
use crate::render::rests_on::grouped;
use crate::render::screen::Screen;
use crate::render::table::Column;

pub(crate) use one::{NONE_IN_SERVICE, NOTHING_SEEN, facts, in_service, show, worked_out_from};

/// The makes, a line each.
pub(crate) fn list(screen: &Screen, wear: &[MakeWear]) -> String {
    if wear.is_empty() {
        return "No pads to tell the wear of. 'fettle receive' takes pads in, 'fettle book import' \
                takes over a notebook."
            .to_owned();
    }
    let mut text = makes(wear).on(screen);
    text.push('\n');
    for told in foundations(wear) {
        text.push('\n');
        text.push_str(&screen.hung("", "  ", &told));
    }
    text.push('\n');
    text.push_str(&screen.hung("", "  ", HOW_TO_READ));
    text.push('\n');
    let more = "For the curve and the pads of one: fettle wear MAKE";
    text.push_str(&screen.hung("", "  ", more));
    text
}

/// The makes as a table.
pub(crate) fn makes(wear: &[MakeWear]) -> Grid {
    let rows = wear.iter().map(|make| {
        vec![
            make.make.clone(),
            make.failure_count.to_string(),
            make.in_service_count.to_string(),
            typical(make.life.as_ref(), gauge::percent),
            range_of_three(make.jobs.as_ref()),
        ]
    });
    let headings = [
        ("Make", Column::Name),
        ("Worn out", Column::Right),
        ("In service", Column::Right),
        ("Lasts", Column::Right),
        ("Jobs a pad", Column::Right),
    ];
    Grid::of(&headings, rows.collect())
}

/// How the table of makes is read.
pub(crate) const HOW_TO_READ: &str = "Lasts: half of the pads longer, as a part of the rating. Jobs a pad: \
     nine in ten do more than the first, half more than the second, one in ten more than the last.";

/// Each sentence of what the makes' figures rest on, once, with the makes that it is of.
pub(crate) fn foundations(wear: &[MakeWear]) -> Vec<String> {
    grouped(
        wear.iter()
            .map(|make| (make.make.as_str(), make.rests_on.as_str())),
    )
}

/// A range in words: the typical figure first.
fn told(range: &LifeRange, figure: fn(f64) -> String) -> String {
    format!(
        "typically {}, nine in ten more than {}, one in ten more than {}",
        figure(range.typical),
        figure(range.low),
        figure(range.high)
    )
}

/// What is left of one pad, for its own sheet.
pub(crate) fn left(left: &PadLeft) -> String {
    let jobs = left.jobs_left.as_ref().map_or_else(String::new, |jobs| {
        let jobs_left = told(jobs, figure);
        format!("in jobs: {jobs_left}. ")
    });
    let next = one_more(left).map_or_else(String::new, |said| format!("{said} "));
    format!("{jobs}{next}{}", left.rests_on)
        .trim_end()
        .to_owned()
}

/// Whether a pad may do one more job, by the chance that the book aims at.
fn one_more(left: &PadLeft) -> Option<String> {
    let (chance, target) = left.next_job_chance.zip(left.carry_target)?;
    let (chance_told, target_told) = (gauge::chance(chance, target), gauge::percent(target));
    Some(if chance >= target {
        format!("One more lasts with {chance_told}, within the {target_told} aimed at.")
    } else {
        format!("One more lasts with {chance_told} only, below the {target_told} aimed at.")
    })
}

fn typical(range: Option<&LifeRange>, figure: fn(f64) -> String) -> String {
    range.map_or_else(String::new, |range| figure(range.typical))
}

fn ends(range: Option<&LifeRange>) -> String {
    range.map_or_else(String::new, |range| {
        format!("{} to {}", figure(range.low), figure(range.high))
    })
}

/// Three figures of a range of jobs, the least first.
pub(crate) fn range_of_three(range: Option<&LifeRange>) -> String {
    range.map_or_else(String::new, |range| {
        let three = [range.low, range.typical, range.high];
        three.map(figure).join(" – ")
    })
}

/// A number of jobs: a tenth where it is small, whole where it is not.
pub(crate) fn figure(jobs: f64) -> String {
    if jobs.is_nan() {
        return "?".to_owned();
    }
    if jobs >= 999.5 {
        return ">999".to_owned();
    }
    if jobs >= 9.95 {
        return format!("{jobs:.0}");
    }
    format!("{:.1}", jobs.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::{figure, left};
    use fettlebook_contract::v1::PadLeft;

    #[test]
    fn a_pad_says_whether_one_more_job_is_within_the_target() {
        let pad = |chance| PadLeft {
            next_job_chance: Some(chance),
            carry_target: Some(0.95),
            rests_on: "Rests on the rating only.".to_owned(),
            ..PadLeft::default()
        };
        assert_eq!(
            left(&pad(0.97)),
            "One more lasts with 97 %, within the 95 % aimed at. Rests on the rating only."
        );
        let below = left(&pad(0.948));
        assert!(
            below.starts_with("One more lasts with 94.8 % only, below the 95 % aimed at."),
            "{below}"
        );
        assert_eq!(left(&PadLeft::default()), "");
    }

    #[test]
    fn a_number_of_jobs_is_told_as_finely_as_it_is_known() {
        assert_eq!(figure(0.04), "0.0");
        assert_eq!(figure(3.44), "3.4");
        assert_eq!(figure(9.94), "9.9");
        assert_eq!(figure(9.96), "10");
        assert_eq!(figure(41.6), "42");
        assert_eq!(figure(1e12), ">999");
        assert_eq!(figure(f64::INFINITY), ">999");
        assert_eq!(figure(-1.0), "0.0");
        assert_eq!(figure(f64::NAN), "?");
    }
}
