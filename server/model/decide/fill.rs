//! Pouring from one bottle into another.
//!
//! Serves whoever tops up a working bottle. Only a liquid of the same make goes in, so that what a bottle holds
//! and what that costs stays what its make says; what contradicts the levels of the book is recorded and flagged.

use fettlebook_quantity::Volume;

use super::Decision;
use super::named_kit::{flag_binned, part, piece};
use super::receive::LOT_CHARS_MAX;
use crate::book::command::Said;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::kit::{BottleState, Piece};
use crate::{Book, Moment};

pub(super) fn fill(
    book: &Book,
    said: &Said,
    (tag, from): (Tag, Tag),
    volume: Option<Volume>,
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let bottle = part(book, "bottle", tag, "bottle", Piece::bottle)?;
    let source = part(book, "from", from, "bottle", Piece::bottle)?;
    let (piece, of) = (piece(book, "bottle", tag)?, piece(book, "from", from)?);
    if tag == from {
        return Err(Refusal::invalid(
            "from",
            format!("{tag} cannot be filled from itself."),
            "Name two bottles, such as B-06 from B-01.",
        ));
    }
    if piece.make != of.make {
        return Err(other_liquid(book, piece, of));
    }
    let done = decision.done_at;
    let (held, there) = (level(bottle, done), level(source, done));
    let volume_ul = match volume {
        Some(volume) => volume,
        None => as_much_as_fits(tag, from, (bottle, held), there)?,
    };
    let into = Pouring {
        bottle,
        held,
        source,
        done,
    };
    let deeds = vec![
        Deed::PouredOut {
            tag: from,
            into: tag,
            volume_ul,
        },
        Deed::PouredIn {
            tag,
            from,
            volume_ul,
            lot: into.lot(),
            expiry: into.expiry(),
            opened_at: into.opened_at(),
        },
    ];
    let mut flags = flag_binned(&[piece, of]);
    if volume_ul > there {
        let text =
            format!("{from} held {there} in the book, less than the {volume_ul} poured from it.");
        flags.push(to_count(from, text));
    }
    let full = held.saturating_add(volume_ul);
    if full > bottle.brim() {
        let text = format!(
            "{tag} would hold {full}, more than a full bottle of {}.",
            bottle.full_ul
        );
        flags.push(to_count(tag, text));
    }
    Ok(decision.with(deeds, flags))
}

/// What is in a bottle by the book when it is poured; never below zero.
fn level(bottle: &BottleState, done: Moment) -> Volume {
    bottle
        .left_at(done)
        .unwrap_or(bottle.left_ul)
        .max(Volume::ZERO)
}

fn other_liquid(book: &Book, piece: &Piece, of: &Piece) -> Refusal {
    let name = |piece: &Piece| {
        book.make(&piece.make)
            .map_or_else(|| piece.make.to_string(), |make| make.name.clone())
    };
    Refusal::invalid(
        "from",
        format!(
            "{} is {} and {} is {}; a bottle holds one liquid.",
            of.tag,
            name(of),
            piece.tag,
            name(piece)
        ),
        "Name two bottles of the same make. What was mixed all the same is not for paint: bin it.",
    )
}

/// As much as fits into a bottle and is in the other.
fn as_much_as_fits(
    tag: Tag,
    from: Tag,
    (bottle, held): (&BottleState, Volume),
    there: Volume,
) -> Result<Volume, Refusal> {
    let room = bottle.full_ul.saturating_sub(held);
    let refused = |what: String| {
        let todo = "Say how much was poured, or weigh both first.";
        Err(Refusal::new(Reason::FieldMissing, "volume_ul", what, todo))
    };
    if there <= Volume::ZERO {
        return refused(format!("{from} holds nothing in the book."));
    }
    if room <= Volume::ZERO {
        return refused(format!("{tag} is full in the book, with {held}."));
    }
    Ok(room.min(there))
}

/// What is known of two bottles when one is poured into the other.
struct Pouring<'a> {
    bottle: &'a BottleState,
    held: Volume,
    source: &'a BottleState,
    done: Moment,
}

impl Pouring<'_> {
    fn is_into_empty(&self) -> bool {
        self.held <= Volume::ZERO
    }

    /// The lot of what is in it then: of both where it was not empty.
    fn lot(&self) -> String {
        let (old, new) = (&self.bottle.lot, &self.source.lot);
        if self.is_into_empty() || old.is_empty() || old.split(", ").any(|lot| lot == new) {
            return if self.is_into_empty() || old.is_empty() {
                new
            } else {
                old
            }
            .clone();
        }
        if new.is_empty() {
            return old.clone();
        }
        let both = format!("{old}, {new}");
        if both.chars().count() > LOT_CHARS_MAX {
            return new.clone();
        }
        both
    }

    /// Its last day of use: the earlier of both where it was not empty.
    fn expiry(&self) -> Option<jiff::civil::Date> {
        if self.is_into_empty() {
            return self.source.expiry;
        }
        let both = self.bottle.expiry.into_iter().chain(self.source.expiry);
        both.min()
    }

    /// When the first of what is in it was opened.
    fn opened_at(&self) -> Moment {
        let opened = self
            .source
            .opened_at
            .into_iter()
            .chain(self.bottle.opened_at);
        opened.chain([self.done]).min().unwrap_or(self.done)
    }
}

fn to_count(tag: Tag, text: String) -> Flag {
    Flag {
        subject: Subject::Piece(tag),
        text,
        count: true,
    }
}
