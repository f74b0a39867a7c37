//! Logging a use outside any job: a touched-in panel, a test patch, a favour.

use super::flags::flag_uses;
use super::log::{fates, once, parts_understood, volume_of};
use super::shares::shares;
use super::upkeep::{sort, weighed};
use super::{Decision, done_at, note, within};
use crate::command::LooseLog;
use crate::deed::{Deed, Within};
use crate::ids::Tag;
use crate::job::Step;
use crate::kit::{Piece, State};
use crate::plan::plan_sections;
use crate::refusal::Refusal;
use crate::{Book, Moment};

pub(super) fn log_loose(book: &Book, loose: &LooseLog, now: Moment) -> Result<Decision, Refusal> {
    let done = done_at(&loose.said, now)?;
    note(&loose.said.note)?;
    let nothing = loose.pads.is_empty()
        && loose.bottles.is_empty()
        && loose.bundles.is_empty()
        && loose.sundries.is_empty()
        && loose.weighings.is_empty();
    if nothing {
        return Err(Refusal::missing(
            "loose",
            "Say what was used: pads, bottles, towels or sundries.",
        ));
    }
    parts_understood(
        book,
        &loose.pads,
        &loose.bottles,
        &loose.bundles,
        &loose.sundries,
    )?;
    once(
        "weighings.bottle",
        loose.weighings.iter().map(|weighing| weighing.tag),
    )?;
    let mut deeds = worked(book, loose)?;
    let none = Within::default();
    for (tag, amount) in &loose.bottles {
        let volume_ul = volume_of(*amount, book.policy());
        deeds.push(Deed::LiquidUsed {
            tag: *tag,
            within: none.clone(),
            volume_ul,
            planned_ul: volume_ul,
            stated: true,
        });
    }
    for (tag, used_count) in &loose.bundles {
        deeds.push(Deed::TowelsUsed {
            tag: *tag,
            within: none.clone(),
            used_count: *used_count,
            dropped_count: 0,
        });
    }
    for (tag, quantity) in &loose.sundries {
        deeds.push(Deed::SundryUsed {
            tag: *tag,
            within: none.clone(),
            quantity: *quantity,
        });
    }
    let mut flags = Vec::new();
    for weighing in &loose.weighings {
        let (deed, flag) = weighed(book, *weighing, done)?;
        deeds.push(deed);
        flags.extend(flag);
    }
    flags.extend(flag_uses(book, &deeds, done));
    deeds.extend(fates(&loose.pads));
    Ok(Decision {
        deeds,
        flags,
        done_at: done,
        note: loose.said.note.clone(),
    })
}

/// The deeds of pads, plate and machine.
fn worked(book: &Book, loose: &LooseLog) -> Result<Vec<Deed>, Refusal> {
    if loose.pads.is_empty() {
        return Ok(Vec::new());
    }
    let Some(step) = &loose.step else {
        return Err(Refusal::missing(
            "loose.step",
            "Say how the pads were worked: machine, pad, liquid.",
        ));
    };
    within(
        "loose.section_count",
        loose.section_count,
        1,
        100_000,
        "sections",
    )?;
    let whole = plan_sections(book, step, loose.section_count, "loose.step")?;
    let within = Within {
        job: None,
        step: None,
    };
    let mut deeds = Vec::new();
    if let Some(tag) = tool(book, step, loose.machine, "loose.machine", |state| {
        matches!(state, State::Machine(_))
    })? {
        deeds.push(Deed::MachineUsed {
            tag,
            within: within.clone(),
            time_ms: whole.time_ms,
        });
    }
    if let Some(tag) = tool(book, step, loose.plate, "loose.plate", |state| {
        matches!(state, State::Plate(_))
    })? {
        let change_count = i64::try_from(loose.pads.len()).unwrap_or(i64::MAX);
        deeds.push(Deed::PlateUsed {
            tag,
            within: within.clone(),
            time_ms: whole.time_ms,
            change_count,
        });
    }
    let given: Vec<Option<i64>> = loose.pads.iter().map(|pad| pad.section_count).collect();
    for (pad, sections) in loose.pads.iter().zip(shares(loose.section_count, &given)) {
        deeds.push(Deed::PadUsed {
            tag: pad.tag,
            within: within.clone(),
            work: whole.share(sections),
        });
    }
    Ok(deeds)
}

/// The tag of a machine or plate, when one is named and is one.
fn tool(
    book: &Book,
    step: &Step,
    tag: Option<Tag>,
    field: &str,
    is: impl Fn(&State) -> bool,
) -> Result<Option<Tag>, Refusal> {
    let Some(tag) = tag else { return Ok(None) };
    let piece: &Piece = book.piece(tag).ok_or_else(|| Refusal::no_tag(field, tag))?;
    if is(&piece.state) {
        return Ok(Some(tag));
    }
    let needs = if field.ends_with("plate") {
        "backing plate"
    } else {
        step.machine_make.as_str()
    };
    Err(Refusal::wrong_sort(field, tag, sort(piece), needs))
}
