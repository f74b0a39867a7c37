//! What is hardly true of what is reported, said as flags.
//!
//! Serves whoever mistyped. Nobody is refused for it: it is recorded and flagged, and whoever sits at a
//! terminal is asked before. What contradicts the levels of the book is flagged in `flags`.

use std::collections::BTreeSet;

use fettlebook_quantity::{Length, Thickness};

use super::readings::name;
use crate::book::deed::{Deed, Flag, Within};
use crate::ground::ids::{Subject, Tag};
use crate::trade::job::Car;
use crate::trade::kept::Kept;
use crate::trade::kit::{Piece, Readiness, State};
use crate::trade::make::{Figures, Make};
use crate::trade::plate::PlateFit;
use crate::{Book, Moment};

/// More sections than any car has in a step: 20.4 m² of the largest class are 252 of a spot machine's,
/// 300 mm each way and a tenth of it worked twice (geometry).
const SECTIONS_OF_A_CAR_MAX: i64 = 300;
/// Largest film reading that is paint alone, repainted and all; above it there is filler, or the gauge
/// slipped (common practice, no source).
pub(super) const FILM_OF_PAINT_UM_MAX: i64 = 500;
/// A job's liquid is far above its plan from so many times on (from memory).
const TIMES_THE_PLAN: i64 = 5;
/// A second wash within so long is the first one told twice, min (from memory).
const SAME_WASH_MIN: i64 = 15;

/// What is hardly true of the uses among these deeds.
pub(super) fn doubt_uses(book: &Book, deeds: &[Deed], done: Moment) -> Vec<Flag> {
    let came = doubt_dates(book, deeds, done);
    let amounts = deeds.iter().filter_map(doubt_amount);
    let plates = deeds.iter().flat_map(|deed| doubt_plate(book, deeds, deed));
    came.into_iter().chain(amounts).chain(plates).collect()
}

/// Uses of what came into the kit after them, each piece once.
fn doubt_dates(book: &Book, deeds: &[Deed], done: Moment) -> Vec<Flag> {
    let mut tags = BTreeSet::new();
    let used = deeds.iter().filter(|deed| deed.within().is_some());
    used.filter_map(|deed| match deed.subject() {
        Subject::Piece(tag) => Some(tag),
        _ => None,
    })
    .filter(|tag| {
        let piece = book.piece(*tag);
        piece.is_some_and(|piece| piece.received_at > done) && tags.insert(*tag)
    })
    .map(|tag| {
        doubt(
            tag,
            format!("{tag} was used before it came into the kit, by the times in the book."),
        )
    })
    .collect()
}

/// More sections than a car has, or far more liquid than a job was planned to take.
fn doubt_amount(deed: &Deed) -> Option<Flag> {
    match deed {
        Deed::PadUsed { tag, work, .. } if work.section_count > SECTIONS_OF_A_CAR_MAX => {
            let sections = work.section_count;
            Some(doubt(
                *tag,
                format!("{tag} worked {sections} sections, more than any car has."),
            ))
        }
        Deed::LiquidUsed {
            tag,
            within: Within { job: Some(_), .. },
            volume_ul,
            planned_ul,
            stated: true,
            ..
        } if planned_ul.ul() > 0
            && volume_ul.ul() > planned_ul.ul().saturating_mul(TIMES_THE_PLAN) =>
        {
            Some(doubt(
                *tag,
                format!("{volume_ul} of {tag} is far above the {planned_ul} that were planned."),
            ))
        }
        _ => None,
    }
}

/// Pads that worked on a plate that does not carry them.
fn doubt_plate(book: &Book, deeds: &[Deed], deed: &Deed) -> Vec<Flag> {
    let Deed::PlateUsed {
        tag: plate, within, ..
    } = deed
    else {
        return Vec::new();
    };
    let Some(diameter) = plate_diameter(book, *plate) else {
        return Vec::new();
    };
    let limits = book.policy().margin_limits();
    let on_it = deeds.iter().filter_map(|deed| match deed {
        Deed::PadUsed {
            tag, within: of, ..
        } if of == within => Some(*tag),
        _ => None,
    });
    on_it
        .filter_map(|pad| {
            let face = face_of(book, pad)?;
            let why = match limits.fit(face, diameter) {
                PlateFit::TooNarrow(_) => "the plate's edge reaches the paint",
                PlateFit::TooWide(_) => "the plate does not carry its edge",
                PlateFit::Ideal | PlateFit::Fits | PlateFit::Close(_) => return None,
            };
            Some(doubt(
                pad,
                format!(
                    "{pad}, {face} wide, does not go on the plate {plate} of {diameter}: {why}. Take \
                     it off before it goes on paint again."
                ),
            ))
        })
        .collect()
}

fn plate_diameter(book: &Book, tag: Tag) -> Option<Length> {
    match &book.make(&book.piece(tag)?.make)?.figures {
        Figures::Plate(plate) => Some(plate.diameter_mm),
        _ => None,
    }
}

fn face_of(book: &Book, tag: Tag) -> Option<Length> {
    match &book.make(&book.piece(tag)?.make)?.figures {
        Figures::Pad(pad) => Some(pad.face_mm),
        _ => None,
    }
}

/// Washes of what was clean, or was washed just before, by whichever device.
pub(super) fn doubt_washes(held: &[&Piece], done: Moment, kept: Option<&Kept>) -> Vec<Flag> {
    let washed = held.iter().filter_map(|piece| {
        let twice = kept.and_then(|kept| washed_by_another(piece, done, kept));
        let text = twice.or_else(|| doubt_wash(piece, done))?;
        Some(doubt(piece.tag, text))
    });
    washed.collect()
}

/// That another device told a wash within minutes of this one, which the device had not seen: perhaps the same.
fn washed_by_another(piece: &Piece, done: Moment, kept: &Kept) -> Option<String> {
    let mut others = piece.washes.met(&kept.by, kept.mark.seen);
    others.find_map(|other| {
        let later_min = done
            .as_second()
            .checked_sub(other.done_at.as_second())?
            .checked_div(60)?;
        let when = match later_min {
            0 => "at the same time".to_owned(),
            1..=SAME_WASH_MIN => format!("{later_min} min before"),
            _ if (-SAME_WASH_MIN..0).contains(&later_min) => {
                format!("{} min after", later_min.unsigned_abs())
            }
            _ => return None,
        };
        let (tag, seq, by) = (piece.tag, other.told.seq, name(&other.told.by));
        Some(format!(
            "{tag} was washed in entry {seq} by {by} too, {when}, which this device had not seen. If it \
             was one wash, reverse one."
        ))
    })
}

fn doubt_wash(piece: &Piece, done: Moment) -> Option<String> {
    let tag = piece.tag;
    // What turned after this wash says nothing of how it was then.
    let since_min = done
        .as_second()
        .checked_sub(piece.since.as_second())
        .filter(|seconds| *seconds >= 0)?
        .div_euclid(60);
    let is_clean = match &piece.state {
        State::Bundle(bundle) => bundle.soiled_count <= 0,
        State::Pad(_) => !matches!(piece.readiness, Readiness::Soiled),
        _ => false,
    };
    match piece.readiness {
        Readiness::Aside(_) | Readiness::Binned(_) => None,
        _ if !is_clean => None,
        Readiness::Drying(_) if since_min <= SAME_WASH_MIN => Some(match since_min {
            0 => format!("{tag} was washed just before."),
            1 => format!("{tag} was washed a minute before."),
            minutes => format!("{tag} was washed {minutes} minutes before."),
        }),
        _ if piece.bundle().is_some() => Some(format!("{tag} had no soiled towels in the book.")),
        _ => Some(format!("{tag} was clean in the book.")),
    }
}

/// More counted of a sundry than one as sold holds, and than the book has of it.
pub(super) fn doubt_count(piece: &Piece, make: &Make, counted: i64, done: Moment) -> Option<Flag> {
    let (Figures::Sundry(figures), State::Sundry(sundry)) = (&make.figures, &piece.state) else {
        return None;
    };
    let (unit, pack, tag) = (figures.unit, figures.pack_quantity, piece.tag);
    let is_more = counted > pack && sundry.left_at(done).is_some_and(|left| counted > left);
    is_more.then(|| {
        let (counted, pack) = (unit.show(counted), unit.show(pack));
        doubt(
            tag,
            format!("{counted} of {tag} is more than one holds, {pack}. Look at the figure."),
        )
    })
}

/// Film readings that no paint has, of those that are new.
pub(super) fn doubt_film(car: &Car, was: Option<&Car>) -> Vec<Flag> {
    let most = Thickness::from_um(FILM_OF_PAINT_UM_MAX);
    let held = |note| was.is_some_and(|was| was.panels.contains(note));
    let odd = car.panels.iter().filter(|note| !held(*note));
    odd.filter_map(|note| {
        let film = note.film_um.filter(|film| *film > most)?;
        Some(Flag {
            subject: Subject::Car(car.id.clone()),
            text: format!(
                "The {} reads {film}, more than paint alone has: there is filler, or the gauge \
                 slipped. Measure it again.",
                note.panel
            ),
            count: false,
        })
    })
    .collect()
}

fn doubt(tag: Tag, text: String) -> Flag {
    Flag {
        subject: Subject::Piece(tag),
        text,
        count: false,
    }
}
