//! Makes: what can be bought, with its figures.
//!
//! It serves `make list` and `make show`. A figure that is not known says so.

use fettlebook_contract::v1::{Make, PadMaterial, ToolKind};

use crate::figures::read::thread_told;
use crate::figures::{Figure, Held, from_policy, sort};
use crate::render::screen::{Screen, several};
use crate::render::table::{Column, sheet, table};
use crate::render::{amount, tint};

/// Makes, a line each.
pub(crate) fn list(screen: &Screen, makes: &[Make]) -> String {
    if makes.is_empty() {
        return "No makes yet. 'fettle make add' sets one up.".to_owned();
    }
    table(
        screen,
        &[
            ("Make", Column::Text),
            ("Sort", Column::Whole),
            ("Figures", Column::Text),
            ("Price", Column::Right),
        ],
        makes
            .iter()
            .map(|make| vec![make.make.clone(), sort(make), brief(make), price(make)]),
    )
}

fn price(make: &Make) -> String {
    make.price.as_ref().map_or_else(String::new, amount::money)
}

/// What tells a make from another of its sort.
fn brief(make: &Make) -> String {
    let Ok(held) = Held::of(make) else {
        return String::new();
    };
    match held.sort() {
        "pad" => format!(
            "{} {}, {}",
            held.length("face_mm"),
            held.word::<PadMaterial>("material"),
            held.grade("grade")
        ),
        "plate" => format!(
            "{}, {}, {}",
            held.length("diameter_mm"),
            thread_told(&held.text("thread")),
            held.number("rated_speed_per_min").map_or_else(
                || "rated speed not known".to_owned(),
                |speed| format!("rated {speed}/min")
            )
        ),
        "machine" => format!(
            "{}, {}, to {}",
            held.action("action"),
            thread_told(&held.text("thread")),
            held.speed("max_speed_per_min", "")
        ),
        "towel" => held.rated("weight_g_per_m2", "g/m²"),
        "liquid" => format!(
            "{}, {}",
            held.grade("grade"),
            amount::volume(held.number("bottle_ul").unwrap_or_default())
        ),
        "sundry" => held.holds("pack_quantity"),
        "tool" => held.word::<ToolKind>("kind"),
        "battery" => format!(
            "{} a charge, for {}",
            held.number("run_time_s")
                .map_or_else(String::new, amount::time),
            held.ids("machine_makes")
        ),
        _ => String::new(),
    }
}

/// One make with every figure.
pub(crate) fn show(screen: &Screen, make: &Make) -> String {
    let Ok(held) = Held::of(make) else {
        return String::new();
    };
    let mut rows = vec![
        ("Make", tint::strong(&make.make)),
        ("Name", make.name.clone()),
        ("Sort", held.sort().to_owned()),
    ];
    let figures = held.rows().filter(|figure| !figure.label.is_empty());
    rows.extend(figures.map(|figure| {
        let told = (figure.told)(&held, figure.field);
        (figure.label, told + by_policy(make, figure))
    }));
    let packs = several(make.pack_count.max(1), "piece", "pieces");
    let price = price(make);
    rows.push((
        "Price",
        if price.is_empty() {
            "not known".to_owned()
        } else {
            format!("{price} for {packs}")
        },
    ));
    rows.push(("Hazards", make.ghs_codes.join(", ")));
    rows.push(("Note", make.note.clone()));
    sheet(screen, rows)
}

/// That a figure is from the policy, and whether the policy gives another today.
fn by_policy(make: &Make, figure: &Figure) -> &'static str {
    let mut figures = from_policy(make);
    let from = figures.find(|(row, _)| row.field == figure.field);
    match from {
        None => "",
        Some((_, from)) if from.value == from.policy_value => ", by policy",
        Some(_) => ", by an earlier policy",
    }
}

#[cfg(test)]
mod tests {
    use super::show;
    use crate::render::scenario::{plain, screen};
    use fettlebook_contract::v1::make::Figures;
    use fettlebook_contract::v1::{Make, PadFigures};

    #[test]
    fn the_life_that_was_seen_stands_among_the_figures_of_a_pad() {
        let figures = |typical, least| {
            Some(Figures::Pad(PadFigures {
                typical_life_sections: typical,
                least_life_sections: least,
                ..PadFigures::default()
            }))
        };
        let page = |figures| {
            let make = Make {
                figures,
                ..Make::default()
            };
            plain(&show(&screen(80), &make))
        };
        let text = page(figures(Some(320), Some(180)));
        assert!(
            text.contains("Typical life  320 reference sections"),
            "{text}"
        );
        assert!(
            text.contains("Least life    180 reference sections"),
            "{text}"
        );
        assert!(!page(figures(None, None)).contains("life"));
    }
}
