//! Whether what was said of a use can be understood: tags that exist, sorts that fit, figures that
//! can be true.
//!
//! Serves the log of a job and of a loose use. It must not refuse what only contradicts the book.

use super::volume_of;
use crate::Book;
use crate::book::command::{JobLog, LiquidAmount, LooseLog, PadUse, Weighing};
use crate::decide::bounds::within;
use crate::decide::named_kit::{once, part};
use crate::ground::ids::Tag;
use crate::ground::refusal::Refusal;
use crate::trade::kit::Piece;

/// Most corrections of one kind in a log.
const LINES_MAX: usize = 200;

/// What was said of the kit in a use, in a job or outside any.
#[derive(Debug, Clone, Copy)]
pub(in crate::decide) struct Parts<'a> {
    /// Pads.
    pub(in crate::decide) pads: &'a [PadUse],
    /// Liquid by bottle.
    pub(in crate::decide) bottles: &'a [(Tag, LiquidAmount)],
    /// Towels by bundle.
    pub(in crate::decide) bundles: &'a [(Tag, i64)],
    /// Sundries by tag.
    pub(in crate::decide) sundries: &'a [(Tag, i64)],
    /// Weigh-ins after it.
    pub(in crate::decide) weighings: &'a [Weighing],
}

impl<'a> From<&'a JobLog> for Parts<'a> {
    fn from(log: &'a JobLog) -> Self {
        Self {
            pads: &log.pads,
            bottles: &log.bottles,
            bundles: &log.bundles,
            sundries: &log.sundries,
            weighings: &log.weighings,
        }
    }
}

impl<'a> From<&'a LooseLog> for Parts<'a> {
    fn from(loose: &'a LooseLog) -> Self {
        Self {
            pads: &loose.pads,
            bottles: &loose.bottles,
            bundles: &loose.bundles,
            sundries: &loose.sundries,
            weighings: &loose.weighings,
        }
    }
}

/// Refuses corrections of a job that cannot be understood.
pub(super) fn job_log(book: &Book, log: &JobLog) -> Result<(), Refusal> {
    not_too_many("swaps", log.swaps.len())?;
    for (planned, used) in &log.swaps {
        part(book, "swaps.planned", *planned, "pad", Piece::pad)?;
        part(book, "swaps.used", *used, "pad", Piece::pad)?;
    }
    not_too_many("machines", log.machine_times.len())?;
    not_too_many("batteries", log.batteries.len())?;
    for (tag, _) in &log.batteries {
        part(book, "batteries.battery", *tag, "battery", Piece::battery)?;
    }
    once(
        "batteries.battery",
        log.batteries.iter().map(|(tag, _)| *tag),
    )?;
    Parts::from(log).understood(book)
}

impl Parts<'_> {
    /// Whether nothing was said at all.
    pub(in crate::decide) const fn is_empty(&self) -> bool {
        self.pads.is_empty()
            && self.bottles.is_empty()
            && self.bundles.is_empty()
            && self.sundries.is_empty()
            && self.weighings.is_empty()
    }

    /// How many pads, bottles, bundles and sundries were named.
    pub(in crate::decide) const fn count(&self) -> usize {
        self.pads
            .len()
            .saturating_add(self.bottles.len())
            .saturating_add(self.bundles.len())
            .saturating_add(self.sundries.len())
    }

    /// Refuses what cannot be understood.
    pub(in crate::decide) fn understood(&self, book: &Book) -> Result<(), Refusal> {
        self.pads_understood(book)?;
        self.bottles_understood(book)?;
        self.bundles_understood(book)?;
        self.sundries_understood(book)?;
        not_too_many("weighings", self.weighings.len())
    }

    fn pads_understood(&self, book: &Book) -> Result<(), Refusal> {
        not_too_many("pads", self.pads.len())?;
        for pad in self.pads {
            part(book, "pads.tag", pad.tag, "pad", Piece::pad)?;
        }
        once("pads.tag", self.pads.iter().map(|pad| pad.tag))
    }

    fn bottles_understood(&self, book: &Book) -> Result<(), Refusal> {
        not_too_many("bottles", self.bottles.len())?;
        for (tag, amount) in self.bottles {
            let bottle = part(book, "bottles.bottle", *tag, "bottle", Piece::bottle)?;
            let (volume, full) = (volume_of(*amount, book.policy()), bottle.full_ul);
            let unit = "µL, what a full bottle holds";
            within("bottles.amount", volume.ul(), 0, full.ul(), unit)?;
        }
        once("bottles.bottle", self.bottles.iter().map(|(tag, _)| *tag))
    }

    fn bundles_understood(&self, book: &Book) -> Result<(), Refusal> {
        not_too_many("bundles", self.bundles.len())?;
        for (tag, _) in self.bundles {
            let needs = "bundle of towels";
            part(book, "bundles.bundle", *tag, needs, Piece::bundle)?;
        }
        once("bundles.bundle", self.bundles.iter().map(|(tag, _)| *tag))
    }

    fn sundries_understood(&self, book: &Book) -> Result<(), Refusal> {
        not_too_many("sundries", self.sundries.len())?;
        for (tag, _) in self.sundries {
            part(book, "sundries.tag", *tag, "sundry", Piece::sundry_left)?;
        }
        once("sundries.tag", self.sundries.iter().map(|(tag, _)| *tag))
    }
}

fn not_too_many(field: &str, count: usize) -> Result<(), Refusal> {
    if count <= LINES_MAX {
        return Ok(());
    }
    Err(Refusal::invalid(
        field,
        format!("More than {LINES_MAX} lines."),
        "Split the log.",
    ))
}
