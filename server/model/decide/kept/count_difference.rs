//! A count as the difference from what its device had seen, by the sort of what was counted.
//!
//! Serves the taking in of kept deeds. It says what was found, what had been seen and what the book
//! makes of it; whether to ask for another count is for others to say.

use fettlebook_quantity::{Mass, Volume};

use crate::Book;
use crate::book::change::counted;
use crate::book::deed::Deed;
use crate::ground::ids::Tag;
use crate::trade::dose::volume_left;
use crate::trade::kept::SeenLevel;
use crate::trade::kit::{BottleState, BundleState, Piece};
use crate::trade::make::{Figures, Unit};

/// What a count met.
pub(super) struct CountDifference {
    /// Whether the book has what the device had seen.
    pub(super) is_seen: bool,
    /// The count as a difference.
    pub(super) difference: Deed,
    /// What was counted, as a clause.
    pub(super) found: String,
    /// What the device had seen.
    pub(super) seen: String,
    /// What the book makes of it.
    pub(super) makes: String,
}

/// A level of a bottle that was weighed or read off. `own_ul` is what the same entry took of it, which
/// the device had not taken off what it had seen yet.
pub(super) fn bottle_difference(
    tag: Tag,
    bottle: &BottleState,
    level: &SeenLevel,
    deed: &Deed,
    own_ul: Volume,
) -> Option<CountDifference> {
    let (held, seen) = (bottle.left_ul, Volume::from_ul(level.quantity?));
    let weighed = |gross: Mass, left: Volume| (left, format!("{tag} weighed {gross}, {left} left"));
    let (left_ul, found) = match deed {
        Deed::Weighed {
            gross_mg,
            tare_mg,
            density_mg_per_ml,
            ..
        } => {
            let left = volume_left(*gross_mg, *tare_mg, *density_mg_per_ml)?;
            weighed(*gross_mg, left)
        }
        Deed::GrossWeighed {
            gross_mg,
            density_mg_per_ml,
            ..
        } => {
            let left = volume_left(*gross_mg, bottle.known_tare()?, *density_mg_per_ml)?;
            weighed(*gross_mg, left)
        }
        Deed::VolumeRead { left_ul, .. } => (*left_ul, format!("{tag} was read at {left_ul}")),
        _ => return None,
    };
    let makes = counted(held.ul(), left_ul.ul(), Some(seen.ul()));
    Some(CountDifference {
        is_seen: held == seen,
        difference: Deed::VolumeRead {
            tag,
            left_ul,
            seen_ul: Some(seen.saturating_sub(own_ul)),
        },
        found,
        seen: seen.to_string(),
        makes: Volume::from_ul(makes).to_string(),
    })
}

pub(super) fn sundry_difference(
    tag: Tag,
    held: i64,
    level: &SeenLevel,
    deed: &Deed,
    unit: Unit,
) -> Option<CountDifference> {
    let seen = level.quantity?;
    let Deed::SundryCounted { left_quantity, .. } = deed else {
        return None;
    };
    Some(CountDifference {
        is_seen: held == seen,
        difference: Deed::SundryCounted {
            tag,
            left_quantity: *left_quantity,
            seen_quantity: Some(seen),
        },
        found: format!("{tag} was counted at {}", unit.show(*left_quantity)),
        seen: unit.show(seen),
        makes: unit.show(counted(held, *left_quantity, Some(seen))),
    })
}

/// Towels of a bundle. What dries is among the clean, unless the device does not say what it had seen
/// drying: then only what has dried by now is.
pub(super) fn towels_difference(
    tag: Tag,
    bundle: &BundleState,
    has_dried: bool,
    level: &SeenLevel,
    deed: &Deed,
) -> Option<CountDifference> {
    let seen = (level.clean_count?, level.soiled_count?);
    let with_drying = has_dried || level.drying_count.is_some();
    let clean = if with_drying {
        bundle.clean_once_dry()
    } else {
        bundle.clean_count
    };
    let held = (clean, bundle.soiled_count);
    let Deed::TowelsCounted {
        clean_count,
        soiled_count,
        ..
    } = deed
    else {
        return None;
    };
    let found = (*clean_count, *soiled_count);
    let seen_clean = seen.0.saturating_add(level.drying_count.unwrap_or(0));
    let makes = (
        counted(held.0, found.0, Some(seen_clean)).max(0),
        counted(held.1, found.1, Some(seen.1)).max(0),
    );
    Some(CountDifference {
        // Nobody is shown less than no towels.
        is_seen: (held.0.max(0), held.1.max(0)) == (seen_clean, seen.1),
        difference: Deed::TowelsCounted {
            tag,
            clean_count: *clean_count,
            soiled_count: *soiled_count,
            seen: Some(seen),
            seen_drying: level.drying_count,
        },
        found: format!("{tag} was counted at {}", towels(found)),
        seen: towels((seen_clean, seen.1)),
        makes: towels(makes),
    })
}

/// A wash of just the towels that the device had seen soiled, where others used or counted the bundle
/// meanwhile; what it comes to, as a sentence.
pub(super) fn wash_difference(
    tag: Tag,
    bundle: &BundleState,
    level: &SeenLevel,
    deed: &Deed,
) -> Option<(Deed, String)> {
    let seen = level.soiled_count?;
    let Deed::Washed { dry_s, .. } = deed else {
        return None;
    };
    let left = bundle.soiled_count.saturating_sub(seen).max(0);
    let washed = Deed::Washed {
        tag,
        dry_s: *dry_s,
        soiled_count: Some(seen),
    };
    let text = format!(
        "{tag} was washed with {seen} soiled towels in it as the device had seen it; others used or \
         counted it meanwhile, and the book leaves {left} soiled. Count it again."
    );
    Some((washed, text))
}

fn towels((clean, soiled): (i64, i64)) -> String {
    format!("{clean} clean and {soiled} soiled")
}

pub(super) fn unit_of(book: &Book, piece: &Piece) -> Unit {
    match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Sundry(sundry)) => sundry.unit,
        _ => Unit::Piece,
    }
}
