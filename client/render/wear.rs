//! What pad makes really last in this shop: all of them in a list, or one with its curve and pads.
//!
//! It serves `wear`. The figures, the sentences and the caveats are the service's; this page sets
//! them out, and a figure that is a range is told as one.

use fettlebook_contract::v1::{LifeRange, MakeWear, PadLeft, Readiness};

use crate::render::screen::Screen;
use crate::render::table::{Column, sheet, table};
use crate::render::{curve, gauge, tint};
use crate::word::word;

/// The makes, a line each.
pub(crate) fn list(screen: &Screen, wear: &[MakeWear]) -> String {
    if wear.is_empty() {
        return "No pads to tell the wear of. 'fettle receive' takes pads in, 'fettle book import' \
                takes over a notebook."
            .to_owned();
    }
    let mut text = table(
        screen,
        &[
            ("Make", Column::Name),
            ("Worn out", Column::Right),
            ("In service", Column::Right),
            ("Lasts", Column::Right),
            ("Jobs a pad", Column::Right),
            ("Rests on", Column::Text),
        ],
        wear.iter().map(|make| {
            vec![
                make.make.clone(),
                make.failure_count.to_string(),
                make.in_service_count.to_string(),
                typical(make.life.as_ref(), gauge::percent),
                range_of_three(make.jobs.as_ref()),
                rests_on(make),
            ]
        }),
    );
    text.push_str("\n\n");
    text.push_str(&screen.hung("", "  ", HOW_TO_READ));
    text.push('\n');
    let more = "For the curve and the pads of one: fettle wear MAKE";
    text.push_str(&screen.hung("", "  ", more));
    text
}

const HOW_TO_READ: &str = "Lasts: half of the pads longer, as a part of the rating. Jobs a pad: \
     nine in ten do more than the first, half more than the second, one in ten more than the last.";

/// What the figures of a make rest on.
fn rests_on(make: &MakeWear) -> String {
    under_heading(&make.rests_on).to_owned()
}

/// The sentence of what figures rest on, without the words that its column's heading says already.
fn under_heading(sentence: &str) -> &str {
    sentence
        .strip_prefix("Rests on ")
        .unwrap_or(sentence)
        .trim_end_matches('.')
}

/// One make: what the shop sees, the curve, the counts, the pads and what to keep in mind.
pub(crate) fn show(screen: &Screen, make: &MakeWear) -> String {
    let title = format!("{} ({})", tint::strong(&make.make_name), make.make);
    let mut head = screen.hung("", "  ", &title);
    if !make.summary.is_empty() {
        head.push('\n');
        head.push_str(&screen.hung("", "", &make.summary));
    }
    if make.curve.is_empty() {
        head.push('\n');
        head.push_str(&screen.hung("", "", NOTHING_SEEN));
    }
    let mut blocks = vec![
        head,
        drawn(screen, make),
        counts(screen, make),
        pads(screen, &make.pads),
        foundation(screen, make),
        caveats(screen, &make.caveats),
    ];
    blocks.retain(|block| !block.is_empty());
    blocks.join("\n\n")
}

const NOTHING_SEEN: &str =
    "No pad of this make has worn out here yet: what follows is believed, not seen.";

fn drawn(screen: &Screen, make: &MakeWear) -> String {
    if make.curve.is_empty() && make.belief.is_empty() {
        return String::new();
    }
    curve::plot(screen, make)
}

fn counts(screen: &Screen, make: &MakeWear) -> String {
    sheet(
        screen,
        [
            ("Worn out", make.failure_count.to_string()),
            ("  as a precaution", make.precaution_count.to_string()),
            ("Left otherwise", make.cut_off_count.to_string()),
            ("In service", make.in_service_count.to_string()),
            (
                "A pad lasts",
                make.life.as_ref().map_or_else(String::new, |life| {
                    format!("{} of the rating", told(life, gauge::percent))
                }),
            ),
            (
                "In jobs",
                make.jobs
                    .as_ref()
                    .map_or_else(String::new, |jobs| told(jobs, figure)),
            ),
        ],
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

fn pads(screen: &Screen, pads: &[PadLeft]) -> String {
    let Some(first) = pads.first() else {
        return "No pad of this make is in service.".to_owned();
    };
    let alike = pads.iter().all(|pad| pad.rests_on == first.rests_on);
    let mut headings = vec![
        ("Pad", Column::Whole),
        ("State", Column::Text),
        ("Wear so far", Column::Whole),
        ("Jobs left", Column::Right),
        ("Range", Column::Right),
    ];
    if !alike {
        headings.push(("Rests on", Column::Text));
    }
    let rows = pads.iter().map(|pad| {
        let jobs = pad.jobs_left.as_ref();
        let mut cells = vec![
            pad.tag.clone(),
            state(pad.readiness()),
            gauge::wear(screen, pad.damage, pad.band()),
            typical(jobs, figure),
            ends(jobs),
        ];
        if !alike {
            cells.push(under_heading(&pad.rests_on).to_owned());
        }
        cells
    });
    let mut text = table(screen, &headings, rows);
    if alike && !first.rests_on.is_empty() {
        text.push('\n');
        text.push_str(&screen.hung("", "  ", &first.rests_on));
    }
    text
}

fn state(readiness: Readiness) -> String {
    let text = word(readiness);
    match readiness {
        Readiness::Ready => tint::good(&text),
        Readiness::Soiled | Readiness::Drying => tint::warn(&text),
        Readiness::Aside | Readiness::Binned => tint::bad(&text),
        Readiness::Unspecified => String::new(),
    }
}

/// What the figures are worked out from.
fn foundation(screen: &Screen, make: &MakeWear) -> String {
    let shape = if make.shape_fitted {
        let limits = match (make.shape_low, make.shape_high) {
            (Some(low), Some(high)) => format!(", 95 % limits {low:.1} to {high:.1}"),
            _ => String::new(),
        };
        format!(
            "{:.1}, fitted to this shop's retirements{limits}",
            make.shape
        )
    } else {
        format!("{:.1}, by the book's policy", make.shape)
    };
    let job = format!(
        "wears {} of the rated life. {}",
        gauge::percent(make.job_damage),
        make.job_rests_on
    );
    sheet(screen, [("One job", job), ("Weibull shape", shape)])
}

fn caveats(screen: &Screen, caveats: &[String]) -> String {
    if caveats.is_empty() {
        return String::new();
    }
    let mut lines = vec![tint::strong("To keep in mind")];
    lines.extend(caveats.iter().map(|said| screen.hung("- ", "  ", said)));
    lines.join("\n")
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
