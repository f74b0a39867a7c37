//! What people say for the words of the contract: `cut` for coarse, `dual action` for an orbital.
//!
//! A word stands for one value of an enum only. What may be several is not here, so that nobody is taken at a
//! word he did not say. Common practice, no source.

/// What is said, and the word of the contract it stands for, by the enum's prefix.
const SYNONYMS: &[(&str, &[(&str, &str)])] = &[
    (
        "GRADE_",
        &[
            ("cut", "coarse"),
            ("cutting", "coarse"),
            ("heavy", "coarse"),
            ("heavy-cut", "coarse"),
            ("heavy-cutting", "coarse"),
            ("rough", "coarse"),
            ("hard", "coarse"),
            ("compound", "coarse"),
            ("compounding", "coarse"),
            ("polish", "medium"),
            ("polishing", "medium"),
            ("mid", "medium"),
            ("middle", "medium"),
            ("medium-cut", "medium"),
            ("one-step", "medium"),
            ("finish", "fine"),
            ("finishing", "fine"),
            ("final", "fine"),
            ("soft", "fine"),
            ("ultra-fine", "fine"),
            ("refine", "fine"),
            ("refining", "fine"),
        ],
    ),
    (
        "PAD_MATERIAL_",
        &[
            ("foam", "thin-foam"),
            ("sponge", "thin-foam"),
            ("microfiber", "microfibre"),
            ("micro-fibre", "microfibre"),
            ("micro-fiber", "microfibre"),
            ("mf", "microfibre"),
            ("lambswool", "wool"),
            ("lamb-wool", "wool"),
            ("hybrid-wool", "wool"),
            ("hand", "applicator"),
            ("hand-pad", "applicator"),
        ],
    ),
    (
        "MACHINE_ACTION_",
        &[
            ("dual-action", "orbital"),
            ("da", "orbital"),
            ("random-orbital", "orbital"),
            ("random", "orbital"),
            ("free-spinning", "orbital"),
            ("eccentric", "orbital"),
            ("gear-driven", "orbital"),
            ("geared", "orbital"),
            ("forced", "orbital"),
            ("forced-rotation", "orbital"),
            ("forced-action", "orbital"),
            ("spindle", "rotary"),
            ("rotation", "rotary"),
            ("rotating", "rotary"),
        ],
    ),
    (
        "CAR_CLASS_",
        &[
            ("city-car", "city"),
            ("small", "city"),
            ("small-car", "city"),
            ("mini", "city"),
            ("small-hatchback", "small-hatch"),
            ("supermini", "small-hatch"),
            ("hatchback", "medium-hatch"),
            ("hatch", "medium-hatch"),
            ("medium-hatchback", "medium-hatch"),
            ("saloon", "medium-saloon"),
            ("sedan", "medium-saloon"),
            ("medium-sedan", "medium-saloon"),
            ("large-sedan", "large-saloon"),
            ("wagon", "estate"),
            ("station-wagon", "estate"),
            ("touring", "estate"),
            ("sport", "sports"),
            ("sports-car", "sports"),
            ("coupe", "sports"),
            ("roadster", "sports"),
            ("suv", "medium-suv"),
            ("crossover", "medium-suv"),
            ("small-suv", "medium-suv"),
            ("big-suv", "large-suv"),
            ("pick-up-truck", "pickup"),
            ("truck", "pickup"),
            ("panel-van", "van"),
            ("transporter", "van"),
        ],
    ),
    (
        "BIN_REASON_",
        &[
            ("old", "worn"),
            ("worn-out", "worn"),
            ("done", "worn"),
            ("spent", "worn"),
            ("ripped", "torn"),
            ("tear", "torn"),
            ("split", "torn"),
            ("peeled", "peeling"),
            ("delaminated", "peeling"),
            ("delaminating", "peeling"),
            ("glazing", "glazed"),
            ("clogged", "glazed"),
            ("gone", "lost"),
            ("missing", "lost"),
            ("stolen", "lost"),
            ("contaminated", "cross-loaded"),
            ("given-away", "sold"),
            ("broken", "accident"),
            ("damaged", "accident"),
            ("used-up", "empty"),
            ("finished", "empty"),
            ("out-of-date", "expired"),
            ("past-its-date", "expired"),
            ("retired", "precaution"),
        ],
    ),
    (
        "ASIDE_REASON_",
        &[
            ("fell", "dropped"),
            ("floor", "dropped"),
            ("drop", "dropped"),
            ("contaminated", "cross-loaded"),
            ("look", "inspect"),
            ("check", "inspect"),
            ("inspection", "inspect"),
            ("lent", "other"),
            ("away", "other"),
        ],
    ),
    (
        "TOWEL_GRADE_",
        &[
            ("final-wipe", "final"),
            ("finish", "final"),
            ("polish", "residue"),
            ("glass", "shuts-and-glass"),
            ("shuts", "shuts-and-glass"),
            ("door-shuts", "shuts-and-glass"),
            ("wheel", "wheels"),
            ("cleaning-rag", "rag"),
        ],
    ),
    (
        "READINESS_",
        &[
            ("clean", "ready"),
            ("dry", "ready"),
            ("dirty", "soiled"),
            ("used", "soiled"),
            ("wet", "drying"),
            ("washed", "drying"),
        ],
    ),
    (
        "JOB_STATE_",
        &[
            ("open", "booked"),
            ("planned", "booked"),
            ("finished", "done"),
            ("logged", "done"),
            ("cancelled", "called-off"),
            ("canceled", "called-off"),
        ],
    ),
    (
        "PRESS_",
        &[
            ("soft", "light"),
            ("medium", "moderate"),
            ("normal", "moderate"),
            ("hard", "firm"),
            ("heavy", "firm"),
        ],
    ),
    (
        "PAD_CLEANING_",
        &[
            ("never", "none"),
            ("no", "none"),
            ("panel", "between-panels"),
            ("each-panel", "between-panels"),
            ("sections", "after-sections"),
        ],
    ),
    (
        "TOOL_KIND_",
        &[
            ("gauge", "film-gauge"),
            ("paint-gauge", "film-gauge"),
            ("light", "inspection-light"),
            ("lamp", "inspection-light"),
            ("brush", "pad-brush"),
            ("extension", "extension-shaft"),
            ("shaft", "extension-shaft"),
        ],
    ),
];

/// The word of the contract that a word stands for in an enum, where it is known to.
pub(super) fn of(prefix: &str, said: &str) -> Option<&'static str> {
    let (_, words) = SYNONYMS.iter().find(|(of, _)| *of == prefix)?;
    let mut words = words.iter();
    words.find_map(|(known, word)| (*known == said).then_some(*word))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::SYNONYMS;
    use crate::word::{Worded, find, values, word};
    use fettlebook_contract::v1::{
        AsideReason, BinReason, CarClass, Grade, JobState, MachineAction, PadCleaning, PadMaterial,
        Press, Readiness, ToolKind, TowelGrade,
    };

    /// Each synonym of an enum that leads to no value, or is a word of it already.
    fn astray<T: Worded>() -> Vec<&'static str> {
        let own: BTreeSet<String> = values::<T>().map(word).collect();
        let lists = SYNONYMS.iter().filter(|(prefix, _)| *prefix == T::PREFIX);
        let all = lists.flat_map(|(_, words)| words.iter());
        all.filter(|(said, _)| find::<T>(said).is_none() || own.contains(*said))
            .map(|(said, _)| *said)
            .collect()
    }

    #[test]
    fn every_synonym_leads_to_a_word_and_none_is_one() {
        for astray in [
            astray::<Grade>(),
            astray::<PadMaterial>(),
            astray::<MachineAction>(),
            astray::<CarClass>(),
            astray::<BinReason>(),
            astray::<AsideReason>(),
            astray::<TowelGrade>(),
            astray::<Readiness>(),
            astray::<JobState>(),
            astray::<Press>(),
            astray::<PadCleaning>(),
            astray::<ToolKind>(),
        ] {
            assert!(astray.is_empty(), "{astray:?}");
        }
    }

    #[test]
    fn a_word_is_said_for_one_value_of_an_enum_only() {
        for (prefix, words) in SYNONYMS {
            let said: BTreeSet<_> = words.iter().map(|(said, _)| said).collect();
            assert_eq!(said.len(), words.len(), "{prefix}");
        }
    }
}
