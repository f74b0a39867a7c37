//! The table itself: a row for each figure, in the order in which figures are asked for and shown.

use fettlebook_contract::v1::{Grade, MachineAction, PadMaterial, ToolKind};

use super::{Figure, Held, Read, read};
use crate::render::amount;
use crate::word::numbered;

/// Not shown by itself.
fn with_another(_: &Held, _: &str) -> String {
    String::new()
}

/// A row of the table, without what most rows leave out.
macro_rules! figure {
    ($sort:literal $field:literal, --$option:literal $value:literal $read:expr, $needed:literal,
     $help:literal, $in_edit:literal, $label:literal $told:expr) => {
        Figure {
            sort: $sort,
            field: $field,
            option: $option,
            value: $value,
            read: $read,
            needed: $needed,
            help: $help,
            in_edit: $in_edit,
            label: $label,
            told: $told,
        }
    };
}

use Read::{Number, Stock, Text, Word, Yes};

/// Every figure of every sort.
pub(crate) const FIGURES: &[Figure] = &[
    figure!("pad" "material", --"material" "WORD" Word(numbered::<PadMaterial>), true,
        "Material of the face", "material of the face",
        "Material" Held::word::<PadMaterial>),
    figure!("pad" "grade", --"grade" "WORD" Word(numbered::<Grade>), true,
        "Grade of work it is for", "grade",
        "Grade" Held::grade),
    figure!("pad" "face_mm", --"face" "LENGTH" Number(read::diameter), true,
        "Diameter of the face, for example '150 mm'", "diameter of the face, for example '150 mm'",
        "Face" Held::length),
    figure!("pad" "rated_work_sections", --"rated-work" "SECTIONS" Number(read::whole), false,
        "Rated work, in reference sections", "rated work, in reference sections",
        "Rated work" |held, field| held.rated(field, "reference sections")),
    figure!("pad" "rated_wash_count", --"rated-washes" "COUNT" Number(read::whole), false,
        "Washes it is rated for", "washes it is rated for",
        "Rated washes" |held, field| held.rated(field, "washes")),
    figure!("pad" "load_sections", --"load" "SECTIONS" Number(read::whole), false,
        "Sections before it is changed in a job", "sections before it is changed in a job",
        "Works" |held, field| held.rated(field, "sections before a change")),
    figure!("pad" "typical_life_sections", --"typical-life" "SECTIONS" Number(read::whole), false,
        "Life of a typical pad as you have seen it, in reference sections; takes --least-life too",
        "life of a typical one as you have seen it, in reference sections",
        "Typical life" |held, field| held.rated(field, "reference sections, as seen here")),
    figure!("pad" "least_life_sections", --"least-life" "SECTIONS" Number(read::whole), false,
        "Life that 19 in 20 exceed, in reference sections; takes --typical-life too",
        "life that 19 in 20 exceed, in reference sections",
        "Least life" |held, field| held.rated(field, "reference sections, which 19 in 20 exceed")),
    figure!("pad" "dry_time_s", --"dry" "TIME" Number(read::seconds), false,
        "Drying time after a wash, for example '24 h'", "drying time after a wash, for example '24 h'",
        "Dries in" Held::span),
    figure!("plate" "diameter_mm", --"diameter" "LENGTH" Number(read::diameter), true,
        "Diameter, for example '125 mm'", "diameter, for example '125 mm'",
        "Diameter" Held::length),
    figure!("plate" "thread", --"thread" "THREAD" Text(read::thread), true,
        "Thread as marked, for example M8; none where it has none", "thread as marked, or none",
        "Thread" Held::text),
    figure!("plate" "rated_speed_per_min", --"rated-speed" "SPEED" Number(read::speed), false,
        "Rated speed as marked on the plate, for example 12000/min",
        "rated speed as marked on it, for example 12000/min",
        "Rated speed" |held, field| held.speed(field, "not marked; read it off the plate")),
    figure!("plate" "rated_run_h", --"rated-run" "HOURS" Number(read::hours), false,
        "Rated running time, for example '300 h'", "rated running time, for example '300 h'",
        "Rated running" |held, field| held.rated(field, "h")),
    figure!("plate" "rated_change_count", --"rated-changes" "COUNT" Number(read::whole), false,
        "Pad changes its hook face is rated for", "pad changes its hook face is rated for",
        "Rated changes" |held, field| held.rated(field, "pad changes")),
    figure!("machine" "action", --"action" "WORD" Word(numbered::<MachineAction>), true,
        "How it moves the pad", "how it moves the pad",
        "Action" Held::action),
    figure!("machine" "throw_mm", --"throw" "LENGTH" Number(read::millimetres), false,
        "Diameter of the orbit, for example '15 mm'", "diameter of the orbit, for example '15 mm'",
        "" with_another),
    figure!("machine" "thread", --"thread" "THREAD" Text(read::thread), true,
        "Thread of the spindle as marked, for example M8; none where it has none", "thread as marked, or none",
        "Thread" Held::text),
    figure!("machine" "max_speed_per_min", --"max-speed" "SPEED" Number(read::speed), true,
        "Highest speed marked on it, for example 4800/min",
        "highest speed marked on it, for example 4800/min",
        "Highest speed" |held, field| held.speed(field, "")),
    figure!("machine" "work_speed_per_min", --"work-speed" "SPEED" Number(read::speed), false,
        "Speed it is usually worked at", "speed it is usually worked at",
        "Usual speed" |held, field| held.speed(field, "")),
    figure!("machine" "vibration_mm_per_s2", --"vibration" "VALUE" Number(read::vibration), false,
        "Hand-arm vibration value, for example '5.2 m/s2'",
        "hand-arm vibration value, for example '5.2 m/s2'",
        "Vibration" Held::vibration),
    figure!("machine" "vibration_measured", --"vibration-measured" "true|false" Yes, false,
        "That value was measured at work, not declared by the maker",
        "whether that value was measured at work",
        "" with_another),
    figure!("machine" "noise_db", --"noise" "LEVEL" Number(read::noise), false,
        "Noise level at the ear, for example '82 dB'", "noise level at the ear, for example '82 dB'",
        "Noise" |held, field| held.number(field)
            .map_or_else(|| "not known".to_owned(), |level| format!("{level} dB(A)"))),
    figure!("machine" "spot", --"spot" "true|false" Yes, false,
    "A small machine that works spot-sized sections", "whether it works spot-sized sections",
    "Sections" |held, field| {
        if held.is(field) { "spot-sized" } else { "full-sized" }.to_owned()
    }),
    figure!("towel" "weight_g_per_m2", --"weight" "WEIGHT" Number(read::cloth), true,
        "Weight of the cloth, for example '400 g/m2'", "weight of the cloth, for example '400 g/m2'",
        "Weight" |held, field| held.rated(field, "g/m²")),
    figure!("towel" "inspect_wash_count", --"inspect-from" "COUNT" Number(read::whole), false,
        "Washes from which to inspect it", "washes from which to inspect it",
        "Inspect from" |held, field| held.rated(field, "washes")),
    figure!("towel" "demote_wash_count", --"demote-from" "COUNT" Number(read::whole), false,
        "Washes from which to take it down a grade", "washes from which to take it down a grade",
        "Take down from" |held, field| held.rated(field, "washes")),
    figure!("towel" "dry_time_s", --"dry" "TIME" Number(read::seconds), false,
        "Drying time after a wash, for example '24 h'", "drying time after a wash, for example '24 h'",
        "Dries in" Held::span),
    figure!("liquid" "grade", --"grade" "WORD" Word(numbered::<Grade>), true,
        "Coarse for compound, fine for finishing polish", "grade",
        "Grade" Held::grade),
    figure!("liquid" "bottle_ul", --"bottle" "VOLUME" Number(read::microlitres), true,
        "Volume of a new bottle, for example '500 ml'", "volume of a new bottle, for example '500 ml'",
        "Bottle" |held, field| amount::volume(held.number(field).unwrap_or_default())),
    figure!("liquid" "density_mg_per_ml", --"density" "DENSITY" Number(read::density), false,
        "Density, for example '1.05 g/ml'", "density, for example '1.05 g/ml'",
        "Density" |held, field| held.number(field)
            .map_or_else(String::new, |value| format!("{} g/mL", amount::thousandths(value)))),
    figure!("liquid" "tare_mg", --"tare" "WEIGHT" Number(read::milligrams), false,
        "Weight of the empty bottle with its cap, for example '45 g'",
        "weight of the empty bottle with its cap, for example '45 g'",
        "Empty weight" |held, field| held.number(field)
            .map_or_else(|| "not known".to_owned(), amount::mass)),
    figure!("liquid" "prime_dot_count", --"prime" "DOTS" Number(read::whole), false,
        "Dots that prime a pad, by the label", "dots that prime a pad, by the label",
        "Prime" |held, field| held.rated(field, "dots by the label")),
    figure!("liquid" "refresh_dot_count", --"refresh" "DOTS" Number(read::whole), false,
        "Dots for each further section, by the label", "dots for each further section, by the label",
        "Refresh" |held, field| held.rated(field, "dots by the label")),
    figure!("sundry" "pack_quantity", --"holds" "AMOUNT" Stock, true,
        "What one piece holds as bought, for example '50 pairs', '50 m', '1 l'",
        "what one piece holds as bought, for example '50 pairs'",
        "Pack" Held::holds),
    figure!("tool" "kind", --"kind" "WORD" Word(numbered::<ToolKind>), true,
        "What it is for", "what it is for",
        "For" Held::word::<ToolKind>),
];
