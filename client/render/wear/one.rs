//! One pad make on a page: what the shop sees, the curve, the counts, the pads and what to keep in mind.

use fettlebook_contract::v1::{MakeWear, PadLeft, Readiness};

use super::{ends, figure, told, typical};
use crate::render::grid::Grid;
use crate::render::screen::Screen;
use crate::render::table::{Column, sheet};
use crate::render::{curve, gauge, tint};
use crate::word::word;

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

/// What is said of a make of which nothing was seen to wear out.
pub(crate) const NOTHING_SEEN: &str =
    "No pad of this make has worn out here yet: what follows is believed, not seen.";

fn drawn(screen: &Screen, make: &MakeWear) -> String {
    if make.curve.is_empty() && make.belief.is_empty() {
        return String::new();
    }
    curve::plot(screen, make)
}

fn counts(screen: &Screen, make: &MakeWear) -> String {
    sheet(screen, facts(make))
}

/// How many pads of a make wore out or left, and how long one lasts.
pub(crate) fn facts(make: &MakeWear) -> [(&'static str, String); 6] {
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
    ]
}

fn pads(screen: &Screen, pads: &[PadLeft]) -> String {
    let bar = |pad: &PadLeft| gauge::wear(screen, pad.damage, pad.band());
    let Some((grid, rests_on)) = in_service(pads, bar) else {
        return NONE_IN_SERVICE.to_owned();
    };
    let mut text = grid.on(screen);
    if !rests_on.is_empty() {
        text.push('\n');
        text.push_str(&screen.hung("", "  ", rests_on));
    }
    text
}

/// What is said where a make has no pad in service.
pub(crate) const NONE_IN_SERVICE: &str = "No pad of this make is in service.";

/// The pads of a make in service, each as worn as `worn` tells it, and what all of that rests on where it is the
/// same; nothing where there is no pad.
pub(crate) fn in_service(
    pads: &[PadLeft],
    worn: impl Fn(&PadLeft) -> String,
) -> Option<(Grid, &str)> {
    let first = pads.first()?;
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
            worn(pad),
            typical(jobs, figure),
            ends(jobs),
        ];
        if !alike {
            cells.push(under_heading(&pad.rests_on).to_owned());
        }
        cells
    });
    let rests_on = if alike { first.rests_on.as_str() } else { "" };
    Some((Grid::of(&headings, rows.collect()), rests_on))
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

fn foundation(screen: &Screen, make: &MakeWear) -> String {
    sheet(screen, worked_out_from(make))
}

/// What the figures of a make are worked out from.
pub(crate) fn worked_out_from(make: &MakeWear) -> [(&'static str, String); 2] {
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
    [("One job", job), ("Weibull shape", shape)]
}

fn caveats(screen: &Screen, caveats: &[String]) -> String {
    if caveats.is_empty() {
        return String::new();
    }
    let mut lines = vec![tint::strong("To keep in mind")];
    lines.extend(caveats.iter().map(|said| screen.hung("- ", "  ", said)));
    lines.join("\n")
}
