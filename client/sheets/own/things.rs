//! What a thing is, by the words that somebody uses for it.
//!
//! Words that are missing are taken as usual and told so, where nothing goes wrong by it; what decides on
//! paint, such as a pad's grade and size, has to be said.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Grade, ToolFigures, Unit};

use super::Column;
use super::words::{plain, words};

mod sorts;
mod supplies;
mod worked;

use sorts::{SECTIONS, SORTS, Sort};
use supplies::{gloves, liquid, sundry, tape, towel, wipe};
use worked::{machine, pad, plate};

/// What a row says a thing is.
#[derive(Clone, Debug)]
pub(super) struct Said {
    /// What it is, with all words that belong to it.
    pub(super) words: Vec<String>,
    /// The same as it stands, for its numbers.
    pub(super) text: String,
    /// Its size as it stands, with the heading's unit; empty for none.
    pub(super) size: String,
    /// The sort that a heading above says, such as *pads*; empty for none.
    pub(super) section: String,
}

/// A thing as it was understood.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Thing {
    /// Its figures.
    pub(super) figures: Figures,
    /// What was taken to be so because nobody said it.
    pub(super) taken: Vec<String>,
}

/// A cell that does not say enough: the column, what is missing, and an example.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Unclear {
    /// Column.
    pub(super) column: Column,
    /// What is missing, a sentence.
    pub(super) text: String,
    /// An example, a sentence.
    pub(super) todo: String,
}

/// Whether a row is the heading of a part of the sheet and no thing.
pub(super) fn is_section(text: &str) -> bool {
    let text = plain(text);
    SECTIONS
        .iter()
        .any(|(_, words)| words.contains(&text.as_str()))
}

/// Understands a thing.
///
/// # Errors
/// What it does not say.
pub(super) fn understand(said: &Said) -> Result<Thing, Unclear> {
    let sort = sort(said).ok_or_else(|| Unclear {
        column: Column::What,
        text: "It is not clear what this is.".to_owned(),
        todo: "Say that it is a pad, plate, machine, towel, compound, polish, gloves, tape, wipe, brush, light \
               or gauge, such as: coarse foam pad."
            .to_owned(),
    })?;
    let mut taken = Vec::new();
    let figures = match sort {
        Sort::Pad => Figures::Pad(pad(said, &mut taken)?),
        Sort::Plate => Figures::Plate(plate(said, &mut taken)?),
        Sort::Machine => Figures::Machine(machine(said, &mut taken)),
        Sort::Towel => Figures::Towel(towel(said, &mut taken)),
        Sort::Liquid => Figures::Liquid(liquid(said, &mut taken)?),
        Sort::Gloves => Figures::Sundry(gloves(said, &mut taken)),
        Sort::Tape => Figures::Sundry(tape(said, &mut taken)),
        Sort::Wipe => Figures::Sundry(wipe(said, &mut taken)),
        Sort::Counted => Figures::Sundry(sundry(Unit::Piece, 1)),
        Sort::Tool(kind) => Figures::Tool(ToolFigures { kind: kind.into() }),
    };
    Ok(Thing { figures, taken })
}

fn sort(said: &Said) -> Option<Sort> {
    let found = SORTS
        .iter()
        .find(|(_, words)| words.iter().any(|word| has(&said.words, word)));
    let section = || {
        let above = plain(&said.section);
        let found = SECTIONS
            .iter()
            .find(|(_, words)| words.contains(&above.as_str()));
        found.map(|(sort, _)| *sort)
    };
    let found = found.map(|(sort, _)| *sort);
    match (found, section()) {
        // Among pads *orange polish* is a pad, and *cut compound* among plates a mistake of the sheet.
        (Some(Sort::Liquid), Some(Sort::Pad)) => Some(Sort::Pad),
        (Some(found), _) => Some(found),
        (None, section) => section,
    }
}

/// Whether words stand side by side among others.
fn has(all: &[String], wanted: &str) -> bool {
    let wanted = self::words(wanted);
    !wanted.is_empty() && all.windows(wanted.len()).any(|some| some == wanted)
}

fn any(said: &Said, wanted: &[&str]) -> bool {
    wanted.iter().any(|word| has(&said.words, word))
}

fn grade(said: &Said) -> Option<Grade> {
    const COARSE: [&str; 11] = [
        "coarse",
        "cut",
        "cutting",
        "heavy",
        "heavy cut",
        "compound",
        "compounding",
        "aggressive",
        "grob",
        "schleif",
        "grof",
    ];
    const MEDIUM: [&str; 8] = [
        "medium",
        "polishing",
        "one step",
        "1 step",
        "all in one",
        "mittel",
        "middel",
        "medio",
    ];
    const FINE: [&str; 12] = [
        "fine",
        "finish",
        "finishing",
        "ultra fine",
        "ultrafine",
        "soft",
        "jewelling",
        "jeweling",
        "refining",
        "fein",
        "fijn",
        "acabado",
    ];
    // The plain words go before those that belong to a use.
    let plain = [
        (Grade::Coarse, "coarse"),
        (Grade::Medium, "medium"),
        (Grade::Fine, "fine"),
    ];
    let plain = plain.iter().find(|(_, word)| has(&said.words, word));
    let by_use = [
        (Grade::Fine, &FINE[..]),
        (Grade::Medium, &MEDIUM),
        (Grade::Coarse, &COARSE),
    ];
    let by_use = || {
        by_use
            .iter()
            .find(|(_, words)| any(said, words))
            .map(|(grade, _)| *grade)
    };
    plain.map(|(grade, _)| *grade).or_else(by_use)
}

/// Codes of a wipe whose data sheet nobody gave: those of one with propan-2-ol. Source: its harmonised
/// classification, Regulation (EC) 1272/2008, annex VI, index 603-117-00-0.
pub(super) const WIPE_CODES: [&str; 3] = ["H225", "H319", "H336"];

/// Whether it is a wipe, which has hazards of its own until its data sheet says which.
pub(super) fn is_wipe(said: &Said) -> bool {
    sort(said) == Some(Sort::Wipe)
}

#[cfg(test)]
mod tests;
