//! Weighing bottles, with and without a known tare.
//!
//! Serves the weigh-in at the bench and after a job. A weight is taken in whatever is known of its
//! bottle: without a tare it waits, and the weight of a full bottle of that make and size says the tare
//! of all of them, with a deed for each, so that a reversal of that weighing takes all of it back.

use std::collections::BTreeMap;
use std::sync::Arc;

use fettlebook_quantity::{Mass, Volume};

use super::Decision;
use super::named_kit::{flag_binned, once, part, piece};
use crate::book::command::{Said, Weighing};
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::ground::refusal::Refusal;
use crate::trade::dose::volume_left;
use crate::trade::kit::{BottleState, Piece};
use crate::trade::make::{Figures, LiquidFigures, Make};
use crate::{Book, Moment};

/// The most that an empty bottle weighs beyond what it holds, mg: a small one of glass weighs more than
/// its liquid. What would be heavier was not full of this liquid, or was mistyped.
const TARE_ABOVE_LIQUID_MG_MAX: i64 = 100_000;

pub(super) fn weigh(
    book: &Book,
    said: &Said,
    weighings: &[Weighing],
    now: Moment,
) -> Result<Decision, Refusal> {
    let mut decision = Decision::of(said, now)?;
    if weighings.is_empty() {
        return Err(Refusal::missing(
            "weighings",
            "Give at least one, such as B-03=412g.",
        ));
    }
    weigh_in(book, weighings, &mut decision)?;
    Ok(decision)
}

/// Adds weigh-ins to what is decided, each with a flag where it contradicts the book.
pub(super) fn weigh_in(
    book: &Book,
    weighings: &[Weighing],
    decision: &mut Decision,
) -> Result<(), Refusal> {
    once(
        "weighings.bottle",
        weighings.iter().map(|weighing| weighing.tag),
    )?;
    let mut scales = Vec::new();
    for weighing in weighings {
        let scale = Scale::of(book, weighing)?;
        decision.flags.extend(flag_binned(&[scale.piece]));
        if let Some(tare) = scale.said_tare() {
            scale.weigh(tare, decision)?;
        }
        if scale.liquid.tare_mg.is_none() {
            scales.push(scale);
        }
    }
    weigh_without_tare(book, &scales, decision);
    Ok(())
}

/// The tare that was said of a make, for each of its bottles whose weight waits for it.
pub(super) fn tare_said(book: &Book, make: &Make) -> Vec<Deed> {
    let Figures::Liquid(LiquidFigures {
        tare_mg: Some(tare_mg),
        ..
    }) = &make.figures
    else {
        return Vec::new();
    };
    let waits = |piece: &&Arc<Piece>| {
        let bottle = piece.bottle();
        piece.make == make.id && bottle.is_some_and(|bottle| bottle.waiting.is_some())
    };
    let found = |piece: &Arc<Piece>| Deed::TareFound {
        tag: piece.tag,
        tare_mg: *tare_mg,
    };
    book.pieces().filter(waits).map(found).collect()
}

/// A bottle on the scale.
struct Scale<'a> {
    piece: &'a Piece,
    bottle: &'a BottleState,
    liquid: &'a LiquidFigures,
    gross_mg: Mass,
    density: i64,
}

impl<'a> Scale<'a> {
    fn of(book: &'a Book, weighing: &Weighing) -> Result<Self, Refusal> {
        let Weighing { tag, gross_mg } = *weighing;
        let bottle = part(book, "weighings.bottle", tag, "bottle", Piece::bottle)?;
        let piece = piece(book, "weighings.bottle", tag)?;
        let make = book.make(&piece.make).map(|make| &make.figures);
        let Some(Figures::Liquid(liquid)) = make else {
            return Err(Refusal::invalid(
                "weighings.bottle",
                format!("The make of {tag} is not in the book."),
                "Set it up again, or read the volume off and count it.",
            ));
        };
        let density = liquid.density_mg_per_ml;
        Ok(Self {
            piece,
            bottle,
            liquid,
            gross_mg,
            density: density.unwrap_or_else(|| book.policy().value(liquid.density_key())),
        })
    }

    /// The tare that somebody said, of this bottle or of its make.
    fn said_tare(&self) -> Option<Mass> {
        self.bottle.tare_mg.or(self.liquid.tare_mg)
    }

    /// A weigh-in by a tare that was said.
    fn weigh(&self, tare_mg: Mass, decision: &mut Decision) -> Result<(), Refusal> {
        let (tag, gross_mg) = (self.piece.tag, self.gross_mg);
        let left = volume_left(gross_mg, tare_mg, self.density).ok_or_else(|| {
            Refusal::quantity(
                "weighings.gross_mg",
                format!("{tag} at {gross_mg} is lighter than empty, {tare_mg}."),
                "Weigh it again with its cap, or correct the tare.",
            )
        })?;
        let flag = self.contradicts(left);
        decision.flags.extend(flag);
        decision.deeds.push(Deed::Weighed {
            tag,
            gross_mg,
            tare_mg,
            density_mg_per_ml: self.density,
        });
        Ok(())
    }

    /// Whether it was full when it was weighed: not opened by then, nor used in the same breath.
    fn is_full(&self, decision: &Decision) -> bool {
        let BottleState {
            opened_at, left_ul, ..
        } = self.bottle;
        let sealed = opened_at.map_or(*left_ul == self.bottle.full_ul, |opened| {
            decision.done_at < opened
        });
        let used =
            |deed: &Deed| matches!(deed, Deed::LiquidUsed { tag, .. } if *tag == self.piece.tag);
        sealed && !decision.deeds.iter().any(used)
    }

    /// The tare that follows from its being full; none where the weight cannot be that of a full one.
    fn tare_when_full(&self) -> Option<Mass> {
        let full = i128::from(self.bottle.full_ul.ul());
        let liquid = full
            .checked_mul(self.density.into())?
            .checked_div(1_000)
            .and_then(|mg| i64::try_from(mg).ok())?;
        let tare = self.gross_mg.mg().checked_sub(liquid)?;
        let most = liquid.saturating_add(TARE_ABOVE_LIQUID_MG_MAX);
        (0..=most).contains(&tare).then(|| Mass::from_mg(tare))
    }

    /// What a weigh-in contradicts: a bottle fuller than full.
    fn contradicts(&self, left: Volume) -> Option<Flag> {
        let (tag, gross_mg, bottle) = (self.piece.tag, self.gross_mg, self.bottle);
        (left > bottle.brim()).then(|| {
            let text = format!("{tag} at {gross_mg} would hold {left}, more than a full bottle.");
            doubt(tag, text)
        })
    }

    /// The flag of a weight lighter than the tare that was worked out; else what it contradicts.
    fn contradicts_found(&self, tare: Mass) -> Option<Flag> {
        let (tag, gross_mg) = (self.piece.tag, self.gross_mg);
        match volume_left(gross_mg, tare, self.density) {
            Some(left) => self.contradicts(left),
            None => Some(lighter(tag, gross_mg, tare)),
        }
    }

    fn is_like(&self, piece: &Piece) -> bool {
        let size = piece.bottle().map(|bottle| bottle.full_ul);
        piece.make == self.piece.make && size == Some(self.bottle.full_ul)
    }
}

/// Weigh-ins of bottles of makes without a tare. A full one among them says it for all like it, even
/// where its own was said.
fn weigh_without_tare(book: &Book, scales: &[Scale<'_>], decision: &mut Decision) {
    let mut found = tares_of_full(book, scales, decision);
    for scale in scales.iter().filter(|scale| scale.said_tare().is_none()) {
        let tag = scale.piece.tag;
        if scale.bottle.known_tare().is_none()
            && !found.contains_key(&tag)
            && let Some(tare) = found_of_another(book, scale)
        {
            found.insert(tag, tare);
        }
        let tare = found.get(&tag).copied().or(scale.bottle.found_tare_mg);
        let flag = tare.and_then(|tare| scale.contradicts_found(tare));
        decision.flags.extend(flag);
        decision.deeds.push(Deed::GrossWeighed {
            tag,
            gross_mg: scale.gross_mg,
            density_mg_per_ml: scale.density,
            tare_mg: tare,
        });
    }
    for (tag, tare_mg) in found {
        let bottle = book.piece(tag).and_then(|piece| piece.bottle());
        let waiting = bottle.and_then(|bottle| bottle.waiting.as_deref());
        if let Some(weight) = waiting
            && !scales.iter().any(|scale| scale.piece.tag == tag)
            && volume_left(weight.gross_mg, tare_mg, weight.density_mg_per_ml).is_none()
        {
            decision.flags.push(lighter(tag, weight.gross_mg, tare_mg));
        }
        decision.deeds.push(Deed::TareFound { tag, tare_mg });
    }
}

/// The tares that full bottles say: each its own where nobody said it, and those of all like it that
/// want one.
fn tares_of_full(
    book: &Book,
    scales: &[Scale<'_>],
    decision: &mut Decision,
) -> BTreeMap<Tag, Mass> {
    let mut found = BTreeMap::new();
    let mut of_others = Vec::new();
    for scale in scales
        .iter()
        .filter(|scale| scale.is_full(decision))
        .collect::<Vec<_>>()
    {
        match scale.tare_when_full() {
            Some(tare) => {
                if scale.said_tare().is_none() {
                    found.insert(scale.piece.tag, tare);
                }
                let like = book.pieces().filter(|piece| scale.is_like(piece));
                of_others.extend(
                    like.filter(|piece| wants_tare(piece))
                        .map(|one| (one.tag, tare)),
                );
            }
            None if scale.bottle.known_tare().is_none() => decision.flags.push(not_full(scale)),
            None => {}
        }
    }
    for (tag, tare) in of_others {
        found.entry(tag).or_insert(tare);
    }
    found
}

/// Whether the tare of a bottle is open: it is in the kit, or its weight waits.
fn wants_tare(piece: &Piece) -> bool {
    piece.bottle().is_some_and(|bottle| {
        bottle.known_tare().is_none() && (!piece.is_binned() || bottle.waiting.is_some())
    })
}

/// The tare as it was worked out of another bottle of this make and size, which came earlier.
fn found_of_another(book: &Book, scale: &Scale<'_>) -> Option<Mass> {
    let mut like = book.pieces().filter(|piece| scale.is_like(piece));
    like.find_map(|piece| piece.bottle()?.found_tare_mg)
}

fn not_full(scale: &Scale<'_>) -> Flag {
    let (tag, gross_mg) = (scale.piece.tag, scale.gross_mg);
    let full = scale.bottle.full_ul;
    doubt(
        tag,
        format!(
            "{tag} was never opened in the book, but {gross_mg} is not the weight of a bottle with \
             {full}. Weigh it again, or say what is left."
        ),
    )
}

fn lighter(tag: Tag, gross_mg: Mass, tare_mg: Mass) -> Flag {
    doubt(
        tag,
        format!(
            "{tag} at {gross_mg} is lighter than an empty bottle, {tare_mg} as it was worked out. \
             Weigh it again with its cap."
        ),
    )
}

fn doubt(tag: Tag, text: String) -> Flag {
    Flag {
        subject: Subject::Piece(tag),
        text,
        count: true,
    }
}
