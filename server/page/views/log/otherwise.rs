//! What was otherwise than planned, as the form says it.

use fettlebook_contract::v1::{AsideReason, BinReason, BundleUse, LogUseRequest, PadUse, Swap};
use fettlebook_quantity::{parse_count, parse_seconds};

use super::super::{tag_of, weigh};
use super::rows;
use crate::form::Fields;
use crate::words;

/// Name of the field for the minutes that the machines ran.
pub(super) const MINUTES: &str = "minutes";
/// Name of the field for who did it.
pub(super) const PERSON: &str = "person";
/// Name of the field for towels that fell.
pub(super) const FELL: &str = "fell";
/// Name of the ticks for panels that were left out.
pub(super) const LEFT_OUT: &str = "left_out";
/// What stands before the tag of a pad in the name of the field for what was found of it.
pub(super) const FOUND: &str = "found.";
/// The same for the pad that was used in its place.
pub(super) const SWAP: &str = "swap.";
/// The same of a bundle, for the towels that were used.
pub(super) const TOWELS: &str = "towels.";

/// Whether any of the rarer things is said, so that their part of the form stands open.
pub(super) fn is_said(sent: &Fields) -> bool {
    let typed = [FOUND, SWAP, TOWELS]
        .into_iter()
        .flat_map(|start| sent.behind(start));
    let single = [MINUTES, PERSON, FELL, LEFT_OUT, "note"].into_iter();
    typed
        .map(|(_, typed)| typed)
        .chain(single.map(|name| sent.first(name)))
        .any(|typed| !typed.is_empty())
}

/// The log of a job with what the form says, but for job, pick and id; or what is wrong with it.
pub(super) fn read(sent: &Fields) -> Result<LogUseRequest, String> {
    let wrong = |what: &str, error: String| words::wrong(what, &error);
    let mut bundles = Vec::new();
    for (tag, typed) in said(sent, TOWELS) {
        let used = parse_count(typed).map_err(|error| wrong(tag, error.to_string()))?;
        bundles.push(BundleUse {
            bundle: tag_of(tag),
            used_count: used.get(),
        });
    }
    let fell = match sent.first(FELL) {
        "" => 0,
        typed => {
            let fell = parse_count(typed);
            fell.map_err(|error| wrong("Towels that fell", error.to_string()))?
                .get()
        }
    };
    let swaps = said(sent, SWAP).map(|(planned, used)| Swap {
        planned: tag_of(planned),
        used: tag_of(used),
    });
    Ok(LogUseRequest {
        pads: pads(sent),
        swaps: swaps.collect(),
        bundles,
        dropped_towel_count: fell,
        weighings: weigh::weighings(sent)?,
        left_out_panels: sent.all(LEFT_OUT).map(str::to_owned).collect(),
        machine_time_s: minutes(sent.first(MINUTES)).map_err(|error| wrong("Minutes", error))?,
        person: sent.first(PERSON).to_owned(),
        note: sent.first("note").to_owned(),
        ..LogUseRequest::default()
    })
}

/// Fields with something in them, by what stands behind the start of their names.
fn said<'a>(sent: &'a Fields, start: &'a str) -> impl Iterator<Item = (&'a str, &'a str)> {
    sent.behind(start).filter(|(_, typed)| !typed.is_empty())
}

/// How long the machines ran, s. A bare number is minutes.
fn minutes(typed: &str) -> Result<Option<i64>, String> {
    if typed.is_empty() {
        return Ok(None);
    }
    let is_bare = typed
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let whole = if is_bare {
        format!("{typed} min")
    } else {
        typed.to_owned()
    };
    let read = parse_seconds(&whole).map_err(|error| error.to_string())?;
    Ok(Some(read.s()))
}

/// What was found of the pads: torn before anything else, and what left the kit before what only fell. What is
/// said of a pad that another stood in for is said of that one.
fn pads(sent: &Fields) -> Vec<PadUse> {
    let mut pads: Vec<PadUse> = Vec::new();
    let mut put = |tag: &str, found: Option<BinReason>, aside: Option<AsideReason>| {
        let swapped = sent.first(&format!("{SWAP}{tag}"));
        let tag = tag_of(if swapped.is_empty() { tag } else { swapped });
        if pads.iter().all(|pad| pad.tag != tag) {
            pads.push(PadUse {
                tag,
                section_count: None,
                found: found.unwrap_or_default().into(),
                aside: aside.unwrap_or_default().into(),
            });
        }
    };
    for tag in sent.all("torn") {
        put(tag, Some(BinReason::Torn), None);
    }
    for (tag, word) in said(sent, FOUND) {
        if let Some(found) = rows::found(word) {
            put(tag, Some(found), None);
        }
    }
    for tag in sent.all("dropped") {
        put(tag, None, Some(AsideReason::Dropped));
    }
    pads
}
