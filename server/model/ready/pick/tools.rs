//! Which machine and which plate a step gets.
//!
//! Serves the check and the log. A plate rated below the machine's highest marked speed is offered
//! last and marked as refused; it must never be taken for work.

use std::sync::Arc;

use fettlebook_quantity::Length;

use super::Scene;
use crate::Book;
use crate::book::damage::damage_of;
use crate::ground::ids::{Id, Tag};
use crate::trade::kit::{Piece, Readiness, State};
use crate::trade::make::{Figures, MachineFigures, PlateFigures};
use crate::trade::plate::{PlateFit, SpeedFit, speed_verdict};

/// Machines of a make that are fit to run, those at the place first.
pub(crate) fn offer_machines(scene: &Scene<'_>, make: &Id) -> Vec<Arc<Piece>> {
    let free = scene.free(|piece| piece.make == *make);
    let mut machines: Vec<Arc<Piece>> = scene
        .book
        .pieces_of(make)
        .filter(|piece| piece.readiness == Readiness::Ready && free.has(piece))
        .cloned()
        .collect();
    machines.sort_by_key(|piece| {
        (
            scene.reach(piece),
            free.is_second_choice(piece.tag),
            piece.tag,
        )
    });
    machines
}

/// A plate that could carry a step's pad, and how it fits.
#[derive(Debug, Clone)]
pub(crate) struct PlateChoice {
    /// The plate.
    pub piece: Arc<Piece>,
    /// How the pad's width fits.
    pub fit: PlateFit,
    /// How its rating stands to the machine.
    pub speed: SpeedFit,
    /// Damage so far.
    pub damage: f64,
}

impl PlateChoice {
    /// Whether it is rated below the machine's highest marked speed.
    const fn is_refused(&self) -> bool {
        matches!(self.speed, SpeedFit::Refused { .. })
    }
}

const fn is_plate(piece: &Piece) -> bool {
    matches!(piece.state, State::Plate(_))
}

/// The plates of the kit, by make, each with the figures of it: a handful of some hundred pieces.
fn plates(book: &Book) -> impl Iterator<Item = (&Arc<Piece>, &PlateFigures)> {
    let makes = book.makes().filter_map(|make| match &make.figures {
        Figures::Plate(figures) => Some((&make.id, figures)),
        _ => None,
    });
    makes.flat_map(|(make, figures)| {
        let pieces = book.pieces_of(make);
        pieces.map(move |piece| (piece, figures))
    })
}

/// Plates with the machine's thread that the pad is wider than by the right measure, best first:
/// rated high enough, then unknown, then refused; a margin that is not close; at the place; the usual margin;
/// taken for no other job; least worn. One that is refused is offered wherever it is, so that it is named.
pub(crate) fn offer_plates(
    scene: &Scene<'_>,
    machine: &MachineFigures,
    face: Length,
) -> Vec<PlateChoice> {
    let free = scene.free(is_plate);
    let mut plates: Vec<PlateChoice> = plates(scene.book)
        .filter(|(piece, _)| piece.readiness == Readiness::Ready)
        .filter_map(|(piece, figures)| plate_choice(scene, piece, figures, machine, face))
        .filter(|plate| plate.is_refused() || free.has(&plate.piece))
        .collect();
    let is_close = |plate: &PlateChoice| matches!(plate.fit, PlateFit::Close(_));
    let rank = |speed: &SpeedFit| match speed {
        SpeedFit::Within => 0,
        SpeedFit::Unknown => 1,
        SpeedFit::Refused { .. } => 2,
    };
    let second_choice = |plate: &PlateChoice| free.is_second_choice(plate.piece.tag);
    plates.sort_by(|a, b| {
        rank(&a.speed)
            .cmp(&rank(&b.speed))
            .then(is_close(a).cmp(&is_close(b)))
            .then(scene.reach(&a.piece).cmp(&scene.reach(&b.piece)))
            .then(margin_rank(a.fit).cmp(&margin_rank(b.fit)))
            .then(second_choice(a).cmp(&second_choice(b)))
            .then(a.damage.total_cmp(&b.damage))
            .then(a.piece.tag.cmp(&b.piece.tag))
    });
    plates
}

const fn margin_rank(fit: PlateFit) -> u8 {
    match fit {
        PlateFit::Ideal => 0,
        PlateFit::Fits => 1,
        PlateFit::Close(_) => 2,
        PlateFit::TooNarrow(_) | PlateFit::TooWide(_) => 3,
    }
}

/// Ready plates with the machine's thread that do not go with the pad, with their diameter and how they
/// sit under it.
pub(crate) fn plates_of_other_width(
    scene: &Scene<'_>,
    machine: &MachineFigures,
    face: Length,
) -> Vec<(Tag, Length, PlateFit)> {
    let margins = scene.policy().margin_limits();
    let ready = plates(scene.book).filter(|(piece, _)| piece.readiness == Readiness::Ready);
    let mut others: Vec<_> = ready
        .filter_map(|(piece, figures)| {
            let fit = margins.fit(face, figures.diameter_mm);
            let is_other = matches!(fit, PlateFit::TooNarrow(_) | PlateFit::TooWide(_));
            (is_other && figures.thread == machine.thread).then_some((
                piece.tag,
                figures.diameter_mm,
                fit,
            ))
        })
        .collect();
    others.sort_by_key(|(tag, ..)| *tag);
    others
}

/// Ready plates that would carry the pad on this machine if they could be there at the start.
pub(crate) fn plates_away(
    scene: &Scene<'_>,
    machine: &MachineFigures,
    face: Length,
) -> Vec<Arc<Piece>> {
    let ready = plates(scene.book)
        .filter(|(piece, _)| piece.readiness == Readiness::Ready && scene.is_away(piece));
    let mut away: Vec<Arc<Piece>> = ready
        .filter_map(|(piece, figures)| plate_choice(scene, piece, figures, machine, face))
        .filter(|plate| !plate.is_refused())
        .map(|plate| plate.piece)
        .collect();
    away.sort_by_key(|piece| piece.tag);
    away
}

/// Plates that would carry the pad on this machine if they were not set aside.
pub(crate) fn plates_aside(scene: &Scene<'_>, machine: &MachineFigures, face: Length) -> Vec<Tag> {
    let mut aside: Vec<Tag> = plates(scene.book)
        .filter(|(piece, _)| matches!(piece.readiness, Readiness::Aside(_)))
        .filter_map(|(piece, figures)| plate_choice(scene, piece, figures, machine, face))
        .filter(|plate| plate.speed == SpeedFit::Within)
        .map(|plate| plate.piece.tag)
        .collect();
    aside.sort();
    aside
}

/// The plate as a choice, when thread and width fit.
fn plate_choice(
    scene: &Scene<'_>,
    piece: &Arc<Piece>,
    figures: &PlateFigures,
    machine: &MachineFigures,
    face: Length,
) -> Option<PlateChoice> {
    let margins = scene.policy().margin_limits();
    let how = margins.fit(face, figures.diameter_mm);
    let carries = matches!(how, PlateFit::Ideal | PlateFit::Fits | PlateFit::Close(_));
    let fits = carries && figures.thread == machine.thread;
    fits.then(|| PlateChoice {
        piece: Arc::clone(piece),
        fit: how,
        speed: speed_verdict(figures.rated_speed_per_min, machine.max_speed_per_min),
        damage: damage_of(scene.book, piece).unwrap_or(0.0),
    })
}
