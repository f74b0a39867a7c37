//! Logging a use outside any job: a touched-in panel, a test patch, a favour.
//!
//! Serves whoever used kit without booking anything. Nothing is picked or planned for them: only
//! what they name is worn and used.

use super::Decision;
use super::define::routines::speed_can_be;
use super::log::{Parts, close, volume_of};
use super::named_kit::part;
use super::shares::shares;
use crate::book::command::LooseLog;
use crate::book::deed::{Deed, Within};
use crate::ground::refusal::Refusal;
use crate::ready::plan::{Setup, plan_sections};
use crate::ready::real_use::PLAN_RULES;
use crate::trade::kit::State;
use crate::{Book, Moment};

/// What runs while pads work: a machine and a plate.
const RUN_COUNT_MAX: usize = 2;

pub(super) fn log_loose(book: &Book, loose: &LooseLog, now: Moment) -> Result<Decision, Refusal> {
    let decision = Decision::of(&loose.said, now)?;
    let parts = Parts::from(loose);
    if parts.is_empty() {
        return Err(Refusal::missing(
            "loose",
            "Say what was used: pads, bottles, towels or sundries.",
        ));
    }
    parts.understood(book)?;
    // Grown step by step, so large a list would be moved twice.
    let mut deeds = Vec::with_capacity(parts.count().saturating_add(RUN_COUNT_MAX));
    worked(book, loose, &mut deeds)?;
    deeds.extend(drawn(book, parts));
    close(book, decision.with(deeds, Vec::new()), parts)
}

/// Puts the deeds of pads, plate and machine to the others.
fn worked(book: &Book, loose: &LooseLog, deeds: &mut Vec<Deed>) -> Result<(), Refusal> {
    if loose.pads.is_empty() {
        return Ok(());
    }
    let Some(step) = &loose.step else {
        return Err(Refusal::missing(
            "loose.step",
            "Say how the pads were worked: machine, pad, liquid.",
        ));
    };
    let sections = loose.section_count;
    if sections == 0 {
        return Err(Refusal::missing(
            "loose.section_count",
            "Say how many sections the pads were worked on.",
        ));
    }
    speed_can_be(&Setup::of(book, step, "loose.step")?, step, "loose.step")?;
    let whole = plan_sections(book, step, sections, "loose.step")?;
    let runs = [
        ("loose.machine", loose.machine),
        ("loose.plate", loose.plate),
    ];
    if let Some((field, Some(tag))) = runs.iter().find(|(_, tag)| whole.by_hand && tag.is_some()) {
        return Err(Refusal::invalid(
            field,
            format!("{tag} cannot have run: the pads were worked by hand."),
            "Leave it out, or name the machine in the step.",
        ));
    }
    if let Some(tag) = loose.machine {
        part(book, "loose.machine", tag, "machine", |piece| {
            matches!(piece.state, State::Machine(_)).then_some(())
        })?;
        deeds.push(Deed::MachineUsed {
            tag,
            within: Within::default(),
            time_ms: whole.time_ms,
        });
    }
    if let Some(tag) = loose.plate {
        part(book, "loose.plate", tag, "backing plate", |piece| {
            matches!(piece.state, State::Plate(_)).then_some(())
        })?;
        deeds.push(Deed::PlateUsed {
            tag,
            within: Within::default(),
            time_ms: whole.time_ms,
            change_count: i64::try_from(loose.pads.len()).unwrap_or(i64::MAX),
        });
    }
    let given: Vec<Option<i64>> = loose.pads.iter().map(|pad| pad.section_count).collect();
    for (pad, sections) in loose.pads.iter().zip(shares(sections, &given)) {
        deeds.push(Deed::PadUsed {
            tag: pad.tag,
            within: Within::default(),
            work: whole.share(sections),
        });
    }
    Ok(())
}

/// The deeds of bottles, bundles and sundries, all as stated.
fn drawn<'a>(book: &'a Book, parts: Parts<'a>) -> impl Iterator<Item = Deed> + 'a {
    let within = Within::default;
    let bottles = parts.bottles.iter().map(move |(tag, amount)| {
        let volume_ul = volume_of(*amount, book.policy());
        Deed::LiquidUsed {
            tag: *tag,
            within: within(),
            volume_ul,
            planned_ul: volume_ul,
            stated: true,
            rules: PLAN_RULES,
        }
    });
    let bundles = parts
        .bundles
        .iter()
        .map(move |(tag, used_count)| Deed::TowelsUsed {
            tag: *tag,
            within: within(),
            used_count: *used_count,
            dropped_count: 0,
            wiped_mm2: None,
        });
    let sundries = parts
        .sundries
        .iter()
        .map(move |(tag, quantity)| Deed::SundryUsed {
            tag: *tag,
            within: within(),
            quantity: *quantity,
            planned_quantity: None,
            stated: true,
        });
    bottles.chain(bundles).chain(sundries)
}
