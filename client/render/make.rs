//! Makes: what can be bought, with its figures.
//!
//! It serves `make list` and `make show`. A figure that is not known says so.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{
    LiquidFigures, MachineAction, MachineFigures, Make, PadFigures, PlateFigures, SundryFigures,
    TowelFigures,
};

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, sheet, table};
use crate::render::{amount, tint};
use crate::word::word;

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
        makes.iter().map(|make| {
            vec![
                make.make.clone(),
                sort(make).to_owned(),
                brief(make),
                price(make),
            ]
        }),
    )
}

/// The sort of a make, as it is typed.
pub(crate) const fn sort(make: &Make) -> &'static str {
    match &make.figures {
        Some(Figures::Pad(_)) => "pad",
        Some(Figures::Plate(_)) => "plate",
        Some(Figures::Machine(_)) => "machine",
        Some(Figures::Towel(_)) => "towel",
        Some(Figures::Liquid(_)) => "liquid",
        Some(Figures::Sundry(_)) => "sundry",
        None => "",
    }
}

fn price(make: &Make) -> String {
    make.price.as_ref().map_or_else(String::new, amount::money)
}

fn brief(make: &Make) -> String {
    match &make.figures {
        Some(Figures::Pad(pad)) => format!(
            "{} {}, {}",
            amount::length(pad.face_mm),
            word(pad.material()),
            amount::grade(pad.grade())
        ),
        Some(Figures::Plate(plate)) => format!(
            "{}, {}, {}",
            amount::length(plate.diameter_mm),
            plate.thread,
            speed(plate.rated_speed_per_min)
        ),
        Some(Figures::Machine(machine)) => format!(
            "{}, {}, to {}/min",
            action(machine),
            machine.thread,
            machine.max_speed_per_min
        ),
        Some(Figures::Towel(towel)) => format!("{} g/m²", towel.weight_g_per_m2),
        Some(Figures::Liquid(liquid)) => format!(
            "{}, {}",
            amount::grade(liquid.grade()),
            amount::volume(liquid.bottle_ul)
        ),
        Some(Figures::Sundry(sundry)) => holds(sundry),
        None => String::new(),
    }
}

fn holds(sundry: &SundryFigures) -> String {
    format!(
        "holds {}",
        amount::quantity(sundry.pack_quantity, sundry.unit())
    )
}

fn action(machine: &MachineFigures) -> String {
    match machine.action() {
        MachineAction::Orbital => format!(
            "orbital, {} throw",
            amount::length(machine.throw_mm.unwrap_or(0))
        ),
        MachineAction::Rotary => "rotary".to_owned(),
        MachineAction::Unspecified => String::new(),
    }
}

fn speed(rated: Option<i64>) -> String {
    rated.map_or_else(
        || "rated speed not known".to_owned(),
        |speed| format!("rated {speed}/min"),
    )
}

/// One make with every figure.
pub(crate) fn show(screen: &Screen, make: &Make) -> String {
    let mut rows = vec![
        ("Make", tint::strong(&make.make)),
        ("Name", make.name.clone()),
        ("Sort", sort(make).to_owned()),
    ];
    match &make.figures {
        Some(Figures::Pad(pad)) => rows.extend(pad_rows(pad)),
        Some(Figures::Plate(plate)) => rows.extend(plate_rows(plate)),
        Some(Figures::Machine(machine)) => rows.extend(machine_rows(machine)),
        Some(Figures::Towel(towel)) => rows.extend(towel_rows(towel)),
        Some(Figures::Liquid(liquid)) => rows.extend(liquid_rows(liquid)),
        Some(Figures::Sundry(sundry)) => rows.push(("Pack", holds(sundry))),
        None => {}
    }
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

/// A rating that may be left to the book.
fn rated(value: Option<i64>, unit: &str) -> String {
    value.map_or_else(String::new, |value| format!("{value} {unit}"))
}

fn span(seconds: Option<i64>) -> String {
    seconds.map_or_else(String::new, amount::time)
}

fn pad_rows(pad: &PadFigures) -> Vec<(&'static str, String)> {
    vec![
        ("Material", word(pad.material())),
        ("Grade", amount::grade(pad.grade())),
        ("Face", amount::length(pad.face_mm)),
        (
            "Rated work",
            rated(pad.rated_work_sections, "reference sections"),
        ),
        ("Rated washes", rated(pad.rated_wash_count, "washes")),
        (
            "Works",
            rated(pad.load_sections, "sections before a change"),
        ),
        (
            "Typical life",
            rated(
                pad.typical_life_sections,
                "reference sections, as seen here",
            ),
        ),
        (
            "Least life",
            rated(
                pad.least_life_sections,
                "reference sections, which 19 in 20 exceed",
            ),
        ),
        ("Dries in", span(pad.dry_time_s)),
    ]
}

fn plate_rows(plate: &PlateFigures) -> Vec<(&'static str, String)> {
    vec![
        ("Diameter", amount::length(plate.diameter_mm)),
        ("Thread", plate.thread.clone()),
        (
            "Rated speed",
            plate.rated_speed_per_min.map_or_else(
                || "not marked; read it off the plate".to_owned(),
                |speed| format!("{speed}/min"),
            ),
        ),
        ("Rated running", rated(plate.rated_run_h, "h")),
        (
            "Rated changes",
            rated(plate.rated_change_count, "pad changes"),
        ),
    ]
}

fn machine_rows(machine: &MachineFigures) -> Vec<(&'static str, String)> {
    let vibration = machine.vibration_mm_per_s2.map_or_else(
        || "not known".to_owned(),
        |value| {
            let how = if machine.vibration_measured {
                "measured at work"
            } else {
                "declared; counted double"
            };
            format!("{} m/s² ({how})", amount::thousandths(value))
        },
    );
    vec![
        ("Action", action(machine)),
        ("Thread", machine.thread.clone()),
        (
            "Highest speed",
            format!("{}/min", machine.max_speed_per_min),
        ),
        (
            "Usual speed",
            machine
                .work_speed_per_min
                .map_or_else(String::new, |speed| format!("{speed}/min")),
        ),
        ("Vibration", vibration),
        (
            "Noise",
            machine
                .noise_db
                .map_or_else(|| "not known".to_owned(), |level| format!("{level} dB(A)")),
        ),
        (
            "Sections",
            if machine.spot {
                "spot-sized"
            } else {
                "full-sized"
            }
            .to_owned(),
        ),
    ]
}

fn towel_rows(towel: &TowelFigures) -> Vec<(&'static str, String)> {
    vec![
        ("Weight", format!("{} g/m²", towel.weight_g_per_m2)),
        ("Inspect from", rated(towel.inspect_wash_count, "washes")),
        ("Take down from", rated(towel.demote_wash_count, "washes")),
        ("Dries in", span(towel.dry_time_s)),
    ]
}

fn liquid_rows(liquid: &LiquidFigures) -> Vec<(&'static str, String)> {
    vec![
        ("Grade", amount::grade(liquid.grade())),
        ("Bottle", amount::volume(liquid.bottle_ul)),
        (
            "Density",
            liquid.density_mg_per_ml.map_or_else(String::new, |value| {
                format!("{} g/mL", amount::thousandths(value))
            }),
        ),
        (
            "Empty weight",
            liquid
                .tare_mg
                .map_or_else(|| "not known".to_owned(), amount::mass),
        ),
        ("Prime", rated(liquid.prime_dot_count, "dots by the label")),
        (
            "Refresh",
            rated(liquid.refresh_dot_count, "dots by the label"),
        ),
    ]
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
