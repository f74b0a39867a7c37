//! The pieces that a person names where tags are asked for: `P-08`, `P08`, `P1,P2`, `P-01..P-09`, `8`,
//! `soiled`, `all`, a make of which there is one.
//!
//! What is written as a tag is taken as it is, without asking the book; whatever else is asked of the kit,
//! and what it came to is said. On a van, words for several pieces mean those that it carries.

use fettlebook_contract::v1::{ListPiecesRequest, MakeSort, Piece, Readiness, piece::State};

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, tags::ranges};

mod read;

pub(crate) use read::{Part, parts, spelt};

/// What `all` stands for in a command, and which pieces a make's id does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum All {
    /// Everything in the kit.
    Kit,
    /// What is soiled and can be washed.
    Soiled,
    /// What dries.
    Drying,
    /// What is set aside.
    Aside,
    /// Batteries that are empty.
    Empty,
    /// Nothing: pieces are named one by one, or as a range.
    Nothing,
}

impl All {
    /// Whether a piece is among them.
    fn holds(self, piece: &Piece) -> bool {
        match self {
            Self::Kit => true,
            Self::Soiled => stands(piece, Readiness::Soiled),
            Self::Drying => stands(piece, Readiness::Drying),
            Self::Aside => stands(piece, Readiness::Aside),
            Self::Empty => is_empty(piece),
            Self::Nothing => false,
        }
    }

    /// What they are, in a sentence.
    const fn told(self) -> &'static str {
        match self {
            Self::Kit | Self::Nothing => "of that kind",
            Self::Soiled => "soiled",
            Self::Drying => "drying",
            Self::Aside => "aside",
            Self::Empty => "empty",
        }
    }
}

/// Whether a piece, or some towels of a bundle, stand so.
fn stands(piece: &Piece, readiness: Readiness) -> bool {
    let some = match (&piece.state, readiness) {
        (Some(State::Bundle(bundle)), Readiness::Soiled) => bundle.soiled_count > 0,
        (Some(State::Bundle(bundle)), Readiness::Drying) => bundle.drying_count > 0,
        _ => false,
    };
    some || piece.readiness() == readiness
}

/// Whether it is a battery that is empty and not on the charger.
fn is_empty(piece: &Piece) -> bool {
    match &piece.state {
        Some(State::Battery(battery)) => {
            !battery.full && battery.full_time.is_none() && piece.readiness() == Readiness::Ready
        }
        _ => false,
    }
}

/// The readiness that a word names.
fn readiness(word: &str) -> Option<Readiness> {
    Some(match word {
        "soiled" | "dirty" | "used" => Readiness::Soiled,
        "drying" | "wet" | "washed" => Readiness::Drying,
        "aside" => Readiness::Aside,
        "ready" | "clean" => Readiness::Ready,
        _ => return None,
    })
}

/// The sort of kit that a word names; nothing where it names none.
pub(crate) fn sort(word: &str) -> Option<MakeSort> {
    Some(match word.strip_suffix('s').unwrap_or(word) {
        "pad" => MakeSort::Pad,
        "plate" => MakeSort::Plate,
        "machine" => MakeSort::Machine,
        "towel" | "bundle" => MakeSort::Towel,
        "bottle" | "liquid" => MakeSort::Liquid,
        "sundry" | "sundrie" => MakeSort::Sundry,
        "tool" => MakeSort::Tool,
        "battery" | "batterie" => MakeSort::Battery,
        _ => return None,
    })
}

/// The sort of a piece, as its make has it.
fn sort_of(piece: &Piece) -> MakeSort {
    match piece.state {
        Some(State::Pad(_)) => MakeSort::Pad,
        Some(State::Plate(_)) => MakeSort::Plate,
        Some(State::Machine(_)) => MakeSort::Machine,
        Some(State::Bundle(_)) => MakeSort::Towel,
        Some(State::Bottle(_)) => MakeSort::Liquid,
        Some(State::Sundry(_)) => MakeSort::Sundry,
        Some(State::Tool(_)) => MakeSort::Tool,
        Some(State::Battery(_)) => MakeSort::Battery,
        None => MakeSort::Unspecified,
    }
}

/// Whether a word says which pieces rather than naming one.
fn is_filter(word: &str) -> bool {
    is_all(word) || readiness(word).is_some() || sort(word).is_some()
}

fn is_all(word: &str) -> bool {
    matches!(word, "all" | "everything" | "every")
}

/// The tags of the pieces that were named, in the order in which they were, each once. What was not
/// written as tags is asked of the kit and said.
///
/// # Errors
/// When a word names no piece, or could name several.
pub(crate) async fn named(
    session: &Session,
    words: &[String],
    all: All,
    printer: &mut Printer,
) -> Result<Vec<String>, Fault> {
    let parts = parts(words);
    let plain = plain(&parts);
    if let Some(tags) = plain {
        return Ok(tags);
    }
    let kit = kit(session).await?;
    let tags = meant(&parts, &kit, all, session.van().as_deref())?;
    let shown: Vec<&str> = tags.iter().map(String::as_str).collect();
    let told = format!("Understood: {}.", ranges(&shown));
    printer.remark(&printer.screen().hung("", "  ", &told));
    Ok(tags)
}

/// The tag of the one piece that was named.
///
/// # Errors
/// When the word names no piece, or could name several.
pub(crate) async fn one(session: &Session, word: &str) -> Result<String, Fault> {
    let parts = parts(&[word.to_owned()]);
    if let [Part::Tag(tag)] = parts.as_slice() {
        return Ok(tag.clone());
    }
    let tags = meant(&parts, &kit(session).await?, All::Nothing, None)?;
    match tags.as_slice() {
        [tag] => Ok(tag.clone()),
        several => Err(unclear(word, several)),
    }
}

/// The pieces of the kit that are not binned.
async fn kit(session: &Session) -> Result<Vec<Piece>, Fault> {
    let asked = ListPiecesRequest::default();
    Ok(page::every(session, asked).await?.pieces)
}

/// The tags, where nothing but tags was written.
fn plain(parts: &[Part]) -> Option<Vec<String>> {
    let mut tags = Vec::new();
    for part in parts {
        match part {
            Part::Tag(tag) => put(&mut tags, tag),
            Part::Range { .. } | Part::Number(_) | Part::Word(_) => return None,
        }
    }
    (!tags.is_empty()).then_some(tags)
}

fn put(tags: &mut Vec<String>, tag: &str) {
    if !tags.iter().any(|known| known == tag) {
        tags.push(tag.to_owned());
    }
}

/// What was named, in a kit; of what words choose only what is in the van, where there is one.
fn meant(parts: &[Part], kit: &[Piece], all: All, van: Option<&str>) -> Result<Vec<String>, Fault> {
    let words = parts.iter().filter_map(|part| match part {
        Part::Word(word) if is_filter(word) => Some(word.as_str()),
        _ => None,
    });
    let filters: Vec<&str> = words.collect();
    if all == All::Nothing
        && let Some(word) = filters.first()
    {
        return Err(not_at_once(word));
    }
    let is_here = |piece: &Piece| van.is_none_or(|van| piece.place == van);
    let here: Vec<&Piece> = kit.iter().filter(|piece| is_here(piece)).collect();
    let mut tags = Vec::new();
    let mut filtered = false;
    for part in parts {
        match part {
            Part::Tag(tag) => put(&mut tags, tag),
            Part::Range { letters, from, to } => {
                let found = within(kit, letters, *from, *to);
                if found.is_empty() {
                    return Err(empty_range(letters, *from, *to));
                }
                found.iter().for_each(|tag| put(&mut tags, tag));
            }
            Part::Number(number) => put(&mut tags, &numbered(kit, *number)?),
            Part::Word(word) if is_filter(word) => {
                if !filtered {
                    filtered = true;
                    let found = chosen(&filters, &here, all);
                    found.iter().for_each(|tag| put(&mut tags, tag));
                }
            }
            Part::Word(word) => {
                let found = of_make(kit, &here, word, all)?;
                found.iter().for_each(|tag| put(&mut tags, tag));
            }
        }
    }
    if tags.is_empty() {
        return Err(nothing(&filters, all, van));
    }
    Ok(tags)
}

/// The pieces that words such as `all`, `soiled` and `pads` choose together.
fn chosen(filters: &[&str], here: &[&Piece], all: All) -> Vec<String> {
    let said: Vec<Readiness> = filters.iter().filter_map(|word| readiness(word)).collect();
    let sorts: Vec<MakeSort> = filters.iter().filter_map(|word| sort(word)).collect();
    let is_meant = |piece: &&&Piece| {
        let stands_so = if said.is_empty() {
            all.holds(piece)
        } else {
            said.iter().any(|readiness| stands(piece, *readiness))
        };
        stands_so && (sorts.is_empty() || sorts.contains(&sort_of(piece)))
    };
    let found = here.iter().filter(is_meant);
    found.map(|piece| piece.tag.clone()).collect()
}

/// The pieces of a range that are there.
fn within(kit: &[Piece], letters: &str, from: u32, to: u32) -> Vec<String> {
    let mut found: Vec<(u32, &str)> = kit
        .iter()
        .filter_map(|piece| {
            let (of, number) = piece.tag.split_once('-')?;
            let number: u32 = number.parse().ok()?;
            let inside = of == letters && (from..=to).contains(&number);
            inside.then_some((number, piece.tag.as_str()))
        })
        .collect();
    found.sort_unstable();
    found.into_iter().map(|(_, tag)| tag.to_owned()).collect()
}

/// The one piece with a number on its tag.
fn numbered(kit: &[Piece], number: u32) -> Result<String, Fault> {
    let found: Vec<String> = kit
        .iter()
        .filter(|piece| {
            let digits = piece.tag.split_once('-').map(|(_, digits)| digits);
            digits.and_then(|digits| digits.parse().ok()) == Some(number)
        })
        .map(|piece| piece.tag.clone())
        .collect();
    match found.as_slice() {
        [one] => Ok(one.clone()),
        [] => Err(not_a_tag(&number.to_string())),
        several => Err(unclear(&number.to_string(), several)),
    }
}

/// The pieces of a make: the only one there is, or those here that the command is about.
fn of_make(kit: &[Piece], here: &[&Piece], word: &str, all: All) -> Result<Vec<String>, Fault> {
    let is_of_make = |piece: &&Piece| {
        piece.make.eq_ignore_ascii_case(word) || piece.make_name.eq_ignore_ascii_case(word)
    };
    let of: Vec<&Piece> = kit.iter().filter(is_of_make).collect();
    match of.as_slice() {
        [] => Err(not_a_tag(word)),
        [one] => Ok(vec![one.tag.clone()]),
        several if all == All::Nothing || all == All::Kit => {
            let tags: Vec<String> = several.iter().map(|piece| piece.tag.clone()).collect();
            Err(unclear(word, &tags))
        }
        _ => {
            let here = here.iter().copied().filter(is_of_make);
            let meant = here.filter(|piece| all.holds(piece));
            let meant: Vec<String> = meant.map(|piece| piece.tag.clone()).collect();
            if meant.is_empty() {
                return Err(nothing(&[word], all, None));
            }
            Ok(meant)
        }
    }
}

/// How pieces are named.
const FORMS: &str = "A piece goes by the tag on it, for example P-08; several are written P-01..P-09 or \
     P-01,P-04. See 'fettle kit list' for every tag.";

fn fault(message: String, todo: impl Into<String>) -> Fault {
    let mut fault = Fault::usage("TAG", message);
    fault.todo = todo.into();
    fault
}

fn not_a_tag(word: &str) -> Fault {
    let mut fault = fault(
        format!("'{word}' is not a tag, and no make in the kit."),
        FORMS,
    );
    fault.hints.example = "fettle kit list".into();
    fault
}

fn unclear(word: &str, tags: &[String]) -> Fault {
    let shown: Vec<&str> = tags.iter().map(String::as_str).collect();
    let mut fault = fault(
        format!("'{word}' could be {}; say which.", ranges(&shown)),
        "",
    );
    fault.hints.example = match tags.first() {
        Some(tag) => format!("fettle kit show {tag}"),
        None => "fettle kit list".into(),
    };
    fault
}

fn not_at_once(word: &str) -> Fault {
    fault(
        format!("'{word}' is too much at once for this; name the pieces."),
        FORMS,
    )
}

fn empty_range(letters: &str, from: u32, to: u32) -> Fault {
    let mut fault = Fault::own(
        "TAG_UNKNOWN",
        Exit::NotFound,
        format!("No piece of kit has a tag from {letters}-{from:02} to {letters}-{to:02}."),
        "See 'fettle kit list' for every tag.",
    );
    fault.hints.example = "fettle kit list".into();
    fault
}

fn nothing(filters: &[&str], all: All, van: Option<&str>) -> Fault {
    let said = filters.join(" ");
    let carried = van.map_or_else(String::new, |van| format!(" in {van}"));
    let mut fault = Fault::own(
        "NOTHING",
        Exit::NotFound,
        format!(
            "'{said}' names nothing: no such piece of the kit{carried} is {}.",
            all.told()
        ),
        "See 'fettle kit list' for how everything stands.",
    );
    fault.hints.example = "fettle kit list".into();
    fault
}

#[cfg(test)]
mod tests;
