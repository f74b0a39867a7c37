//! A use outside any job, asked at a terminal: which pads worked, by which machine, with what and on how many
//! sections; or no pad, and only liquid, towels and sundries.
//!
//! Nothing is recorded by answering: the answers go into the request, which is looked at and shown.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    BottleUse, BundleUse, ListPiecesRequest, LogUseRequest, LooseUse, PadUse, Piece, Step,
};

use super::questions::{count, failed, left};
use super::{drawn, stock_used};
use crate::ask::{ask_line, ask_which};
use crate::connect::Session;
use crate::fault::Fault;
use crate::options::{self, Poured, Stock};
use crate::page;
use crate::render::tags::ranges;

/// The answer of whoever worked without a machine.
const BY_HAND: &str = "by hand";

/// Asks what was used, and puts it into the request.
///
/// # Errors
/// When it is left, the kit cannot be read, or the terminal fails.
pub(super) async fn ask(session: &Session, request: &mut LogUseRequest) -> Result<(), Fault> {
    let asked = ListPiecesRequest::default();
    let kit = page::every(session, asked).await?.pieces;
    let mut loose = LooseUse {
        pads: pads(&kit)?,
        ..LooseUse::default()
    };
    let bottle = if let Some(first) = loose.pads.first() {
        let make = make_of(&kit, &first.tag);
        let bottle = which("Which liquid?", &kit, is_bottle, None)?;
        let machine = which("Which machine?", &kit, is_machine, Some(BY_HAND))?;
        loose.step = Some(Step {
            machine_make: machine.map(|piece| piece.make.clone()).unwrap_or_default(),
            by_hand: machine.is_none(),
            pad_make: make,
            liquid_make: bottle.map(|piece| piece.make.clone()).unwrap_or_default(),
            ..Step::default()
        });
        loose.machine = machine.map(|piece| piece.tag.clone()).unwrap_or_default();
        loose.section_count = sections()?;
        bottle
    } else {
        None
    };
    request.bottles = liquids(session, bottle).await?;
    request.bundles = towels(&kit)?;
    request.sundries = stock_used(session, &sundries()?).await?;
    request.loose = Some(loose);
    Ok(())
}

const fn is_pad(state: &State) -> bool {
    matches!(state, State::Pad(_))
}

const fn is_bottle(state: &State) -> bool {
    matches!(state, State::Bottle(_))
}

const fn is_machine(state: &State) -> bool {
    matches!(state, State::Machine(_))
}

const fn is_bundle(state: &State) -> bool {
    matches!(state, State::Bundle(_))
}

/// The pieces of a sort.
fn of_sort(kit: &[Piece], is_it: fn(&State) -> bool) -> Vec<&Piece> {
    let pieces = kit.iter();
    pieces
        .filter(|piece| piece.state.as_ref().is_some_and(is_it))
        .collect()
}

fn make_of(kit: &[Piece], tag: &str) -> String {
    let piece = kit.iter().find(|piece| piece.tag == tag);
    piece.map(|piece| piece.make.clone()).unwrap_or_default()
}

/// Which pads worked, each perhaps with why it failed.
fn pads(kit: &[Piece]) -> Result<Vec<PadUse>, Fault> {
    let tags: Vec<&str> = of_sort(kit, is_pad)
        .iter()
        .map(|piece| piece.tag.as_str())
        .collect();
    if tags.is_empty() {
        return Ok(Vec::new());
    }
    let question = format!("Which pads worked? ({}; Enter: none)", ranges(&tags));
    let said = ask_line(&question, |text| failed(text, &tags).map(|_| ()))?.ok_or_else(left)?;
    let pads = failed(&said, &tags).unwrap_or_default().into_iter();
    let pads = pads.map(|(tag, why)| match why {
        Some(why) => options::pad_use(&format!("{tag}:{why}")),
        None => Ok(PadUse {
            tag,
            ..PadUse::default()
        }),
    });
    let pads: Result<Vec<PadUse>, String> = pads.collect();
    pads.map_err(|why| Fault::usage("--pad", why))
}

/// One piece of a sort: the only one there is, or the one chosen; nothing for `none` or where there is none.
fn which<'a>(
    question: &str,
    kit: &'a [Piece],
    is_it: fn(&State) -> bool,
    none: Option<&str>,
) -> Result<Option<&'a Piece>, Fault> {
    let pieces = of_sort(kit, is_it);
    let named: Vec<String> = pieces
        .iter()
        .map(|piece| format!("{} {}", piece.tag, piece.make_name))
        .collect();
    if named.is_empty() || (named.len() == 1 && none.is_none()) {
        return Ok(pieces.first().copied());
    }
    let answers: Vec<&str> = named.iter().map(String::as_str).chain(none).collect();
    let chosen = ask_which(question, &answers)?.ok_or_else(left)?;
    let at = named.iter().position(|name| name == chosen);
    Ok(at.and_then(|at| pieces.get(at).copied()))
}

fn sections() -> Result<i64, Fault> {
    let read = |text: &str| match count(text)? {
        Some(sections) if sections > 0 => Ok(sections),
        _ => Err("write how many sections were worked, for example 6".to_owned()),
    };
    let said = ask_line("How many sections?", |text| read(text).map(|_| ()))?;
    let said = said.ok_or_else(left)?;
    read(&said).map_err(|why| Fault::usage("--sections", why))
}

/// Liquid used: of the bottle that was worked with, or of any.
async fn liquids(session: &Session, worked: Option<&Piece>) -> Result<Vec<BottleUse>, Fault> {
    let (question, head) = match worked {
        Some(bottle) => (
            format!(
                "How much of {}? (35 ml, 8 dots; Enter: not said)",
                bottle.tag
            ),
            format!("{}=", bottle.tag),
        ),
        None => (
            "Liquid used, as B-01=35ml (Enter: none)".to_owned(),
            String::new(),
        ),
    };
    let read = |text: &str| poured(&head, text);
    let said = ask_line(&question, |text| read(text).map(|_| ()))?.ok_or_else(left)?;
    let poured = read(&said).map_err(|why| Fault::usage("--used", why))?;
    drawn(session, &poured).await
}

/// Amounts by bottle, one behind the other; nothing for an empty answer.
fn poured(head: &str, text: &str) -> Result<Vec<(String, Poured)>, String> {
    let text = text.trim();
    if !head.is_empty() && !text.is_empty() {
        return Ok(vec![options::liquid_use(&format!("{head}{text}"))?]);
    }
    let parts = text.split(',').map(str::trim);
    let parts = parts.filter(|part| !part.is_empty());
    parts.map(options::liquid_use).collect()
}

/// Towels used, of the bundle there is or of the one chosen.
fn towels(kit: &[Piece]) -> Result<Vec<BundleUse>, Fault> {
    if of_sort(kit, is_bundle).is_empty() {
        return Ok(Vec::new());
    }
    let said = ask_line("Towels used (Enter: none)", |text| count(text).map(|_| ()))?;
    let said = said.ok_or_else(left)?;
    let Some(used_count) = count(&said).ok().flatten().filter(|count| *count > 0) else {
        return Ok(Vec::new());
    };
    let bundle = which("Of which bundle?", kit, is_bundle, None)?;
    Ok(Vec::from_iter(bundle.map(|bundle| BundleUse {
        bundle: bundle.tag.clone(),
        used_count,
    })))
}

/// Sundries used, by tag.
fn sundries() -> Result<Vec<(String, Stock)>, Fault> {
    let read = |text: &str| -> Result<Vec<(String, Stock)>, String> {
        let parts = text.split(',').map(str::trim);
        let parts = parts.filter(|part| !part.is_empty());
        parts.map(options::named_stock).collect()
    };
    let question = "Sundries used, as S-01=2 (Enter: none)";
    let said = ask_line(question, |text| read(text).map(|_| ()))?.ok_or_else(left)?;
    read(&said).map_err(|why| Fault::usage("--sundry", why))
}

#[cfg(test)]
mod tests {
    use super::{is_bottle, is_pad, of_sort, poured};
    use crate::render::scenario::kit;

    #[test]
    fn pieces_are_offered_by_their_sort() {
        let kit = kit();
        let tags = |is_it| {
            let pieces = of_sort(&kit, is_it);
            pieces
                .iter()
                .map(|piece| piece.tag.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(tags(is_pad), ["P-01", "P-02", "P-03"]);
        assert_eq!(tags(is_bottle), ["B-03"]);
    }

    #[test]
    fn an_amount_is_of_the_bottle_worked_with_or_names_its_own() {
        let named = |head: &str, text: &str| {
            let read = poured(head, text)?;
            Ok::<_, String>(
                read.into_iter()
                    .map(|(bottle, _)| bottle)
                    .collect::<Vec<_>>(),
            )
        };
        assert_eq!(named("B-03=", "35 ml"), Ok(vec!["B-03".to_owned()]));
        assert_eq!(
            named("", "B-01=35ml, B-02=8 dots"),
            Ok(vec!["B-01".to_owned(), "B-02".to_owned()])
        );
        assert_eq!(named("B-03=", " "), Ok(Vec::new()));
        assert!(named("B-03=", "much").is_err());
    }
}
