//! How a field of a request is told to the person who gave it: by words for its name, and with its figure in
//! the unit that people use.
//!
//! It serves every refusal, so that nobody reads `make.machine.thread` or microlitres. The field itself goes
//! along beside the sentence, for programs.

use crate::units::{Area, Length, Mass, Seconds, Thickness, Volume};

/// Fields whose name is not said as it is written.
const NAMES: &[(&str, &str)] = &[
    ("quantity", "amount"),
    ("volume_ul", "volume"),
    ("amount", "amount"),
    ("gross_mg", "weight"),
    ("tare_mg", "empty weight"),
    ("bottle_ul", "size of the bottle"),
    ("pack_quantity", "amount in one as bought"),
    ("pack_count", "number in a pack"),
    ("pieces_per_pack", "number in a pack"),
    ("pass_count", "number of passes"),
    (
        "from_pack_count",
        "number of packs from which a price holds",
    ),
    ("max_speed_per_min", "highest speed"),
    ("work_speed_per_min", "usual speed"),
    ("weight_g_per_m2", "weight of the cloth"),
    ("vibration_mm_per_s2", "vibration"),
    ("noise_db", "noise level"),
    ("film_um", "film reading"),
    ("measured_mm2", "measured area"),
    ("left_out_panels", "panels left out"),
    ("lead_days", "lead time"),
    ("valid_days", "number of days a quote holds"),
    ("tax_permille", "tax rate"),
    ("tax_milli_percent", "tax rate"),
    ("markup_permille", "markup"),
    ("margin_permille", "margin"),
    ("overlap_permille", "overlap"),
    ("clean_count", "number of clean towels"),
    ("soiled_count", "number of soiled towels"),
    ("dropped_towel_count", "number of dropped towels"),
    ("used_count", "number of towels used"),
    ("prime_dot_count", "number of dots that prime a pad"),
    (
        "refresh_dot_count",
        "number of dots for each further section",
    ),
    (
        "cells_per_section_count",
        "number of towel cells for each section",
    ),
    (
        "inspect_wash_count",
        "number of washes before it is looked at",
    ),
    (
        "demote_wash_count",
        "number of washes before it goes down a grade",
    ),
    (
        "rated_change_count",
        "number of pad changes it is rated for",
    ),
    ("rated_wash_count", "number of washes it is rated for"),
    ("rated_run_h", "rated running time"),
    ("run_time_s", "running time"),
    ("work_micro_sections", "work so far"),
    ("done_time", "time when it happened"),
    ("start_time", "start"),
    ("utc_offset_s", "offset from UTC"),
    ("expiry_date", "last day of use"),
    ("check_due_date", "day of the next check"),
    ("seq", "number of the entry"),
    ("count", "count"),
    ("jobs", "number of jobs"),
    ("washes", "number of washes"),
    ("work", "work"),
    ("ghs_codes", "hazard codes"),
];

/// Endings of fields that say a unit, which goes with the figure.
const UNITS: &[&str] = &[
    "_per_min",
    "_mm_per_s2",
    "_mm_per_s",
    "_mg_per_ml",
    "_g_per_m2",
    "_permille",
    "_micro_sections",
    "_sections",
    "_mm2",
    "_mm",
    "_ul",
    "_mg",
    "_um",
    "_s",
    "_h",
    "_db",
    "_days",
];

/// The words for a field, from the last part of its path.
///
/// ```
/// use fettlebook_quantity::field_words;
/// assert_eq!(field_words("make.machine.thread"), "thread");
/// assert_eq!(field_words("make.pad.face_mm"), "face");
/// assert_eq!(field_words("towel_count"), "number of towels");
/// assert_eq!(field_words("steps[2].side_mm"), "side");
/// ```
#[must_use]
pub fn field_words(path: &str) -> String {
    let last = path.rsplit('.').next().unwrap_or(path);
    let last = last.split('[').next().unwrap_or(last);
    if let Some((_, words)) = NAMES.iter().find(|(name, _)| *name == last) {
        return (*words).to_owned();
    }
    if let Some(counted) = last.strip_suffix("_count") {
        return format!("number of {}s", counted.replace('_', " "));
    }
    let bare = UNITS.iter().find_map(|unit| last.strip_suffix(unit));
    bare.unwrap_or(last).replace('_', " ")
}

/// A figure with its unit, as people read it; `unit` is the contract's or the model's word for it.
fn told(number: i64, unit: &str) -> String {
    let parts = |of: i64, sign: &str| {
        let whole = number / of;
        let rest = (number % of).unsigned_abs();
        let width = of.unsigned_abs().ilog10();
        let width = usize::try_from(width).unwrap_or_default();
        let digits = format!("{rest:0width$}");
        let minus = if number < 0 && whole == 0 { "-" } else { "" };
        match digits.trim_end_matches('0') {
            "" => format!("{minus}{whole}{sign}"),
            digits => format!("{minus}{whole}.{digits}{sign}"),
        }
    };
    match unit {
        "µL" => Volume::from_ul(number).to_string(),
        "mm" => Length::from_mm(number).to_string(),
        "mg" => Mass::from_mg(number).to_string(),
        "µm" => Thickness::from_um(number).to_string(),
        "mm²" => Area::from_mm2(number).to_string(),
        "s" => Seconds::from_s(number).to_string(),
        "mm/s²" => parts(1_000, " m/s²"),
        "mg/mL" => parts(1_000, " g/mL"),
        "thousandths of a per cent" => parts(1_000, " %"),
        "millionths of a section" => parts(1_000_000, " sections"),
        "millionths" => parts(1_000_000, ""),
        "per minute" => format!("{number}/min"),
        "of its unit" | "" => number.to_string(),
        "h" | "dB(A)" | "g/m²" | "mm/s" => format!("{number} {unit}"),
        unit if unit.starts_with("thousandths") => {
            let of = unit.trim_start_matches("thousandths");
            parts(10, &format!(" %{of}"))
        }
        unit if number == 1 => {
            let (noun, rest) = unit
                .split_once(' ')
                .map_or((unit, ""), |(noun, rest)| (noun, rest));
            let one = noun.strip_suffix('s').unwrap_or(noun);
            format!("1 {one} {rest}").trim_end().to_owned()
        }
        unit => format!("{number} {unit}"),
    }
}

/// That a figure is not within what can be true. A unit may have behind a comma why the bounds are these.
///
/// ```
/// use fettlebook_quantity::out_of_bounds;
/// assert_eq!(
///     out_of_bounds("quantity", 5_000_000, 0, 1_000_000, "µL, the size of the bottle"),
///     "The amount is 5 L; it lies between 0 mL and 1 L, the size of the bottle."
/// );
/// ```
#[must_use]
pub fn out_of_bounds(field: &str, number: i64, least: i64, most: i64, unit: &str) -> String {
    let (unit, why) = unit.split_once(',').unwrap_or((unit, ""));
    let why = if why.is_empty() {
        String::new()
    } else {
        format!(",{why}")
    };
    let name = field_words(field);
    // A number of towels is not told in towels.
    let of_name = unit
        .split(' ')
        .next()
        .is_some_and(|noun| name.ends_with(noun));
    let unit = match unit.trim().split_once(' ') {
        Some((_, rest)) if of_name && name.starts_with("number of") => rest,
        None if of_name && name.starts_with("number of") => "",
        _ => unit.trim(),
    };
    let told = |number| told(number, unit);
    let is = told(number);
    if most == i64::MAX {
        return format!("The {name} is {is}; it is at least {}{why}.", told(least));
    }
    format!(
        "The {name} is {is}; it lies between {} and {}{why}.",
        told(least),
        told(most)
    )
}

#[cfg(test)]
mod tests {
    use super::{field_words, out_of_bounds};

    #[test]
    fn a_field_is_told_by_words_and_never_by_its_path() {
        for (path, words) in [
            ("make.machine.thread", "thread"),
            ("make.pad.face_mm", "face"),
            ("supplier.offers.breaks.price", "price"),
            ("quantity", "amount"),
            ("clean_count", "number of clean towels"),
            ("piece_count", "number of pieces"),
            ("make.plate.rated_speed_per_min", "rated speed"),
            ("make.pad.dry_time_s", "dry time"),
            ("tax_permille", "tax rate"),
            ("routine.steps[0].pass_count", "number of passes"),
        ] {
            assert_eq!(field_words(path), words, "{path}");
        }
    }

    #[test]
    fn bounds_are_told_in_the_unit_that_people_use() {
        for (told, words) in [
            (
                out_of_bounds("make.pad.face_mm", 6, 10, 400, "mm"),
                "The face is 6 mm; it lies between 10 mm and 400 mm.",
            ),
            (
                out_of_bounds("margin_permille", 1_000, 0, 990, "thousandths of the price"),
                "The margin is 100 % of the price; it lies between 0 % of the price and 99 % of the price.",
            ),
            (
                out_of_bounds("vibration_mm_per_s2", 50_500, 0, 50_000, "mm/s²"),
                "The vibration is 50.5 m/s²; it lies between 0 m/s² and 50 m/s².",
            ),
            (
                out_of_bounds("towel_count", 0, 1, i64::MAX, "towels"),
                "The number of towels is 0; it is at least 1.",
            ),
            (
                out_of_bounds("work_speed_per_min", 9_000, 0, 4_800, "per minute"),
                "The usual speed is 9000/min; it lies between 0/min and 4800/min.",
            ),
        ] {
            assert_eq!(told, words);
        }
    }
}
