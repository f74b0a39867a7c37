//! When pieces of a make come to their end, by how much of it jobs take.
//!
//! Pads end by what the shop's own retirements say, everything else where its rating, its content or its washes
//! are used up. What works side by side shares the work; bottles and sundries are used up one after the other.

use fettlebook_quantity::exact_f64;

use crate::Book;
use crate::answers::job_takes::{bundles_of, in_use};
use crate::book::damage::damage_of;
use crate::maths::chance::worn_out;
use crate::maths::life::{Belief, count_f64};
use crate::maths::moments::Moments;
use crate::maths::supply::used_up;
use crate::ready::lives::MakeLife;
use crate::ready::pick::heel_ul;
use crate::trade::kit::{Piece, State};
use crate::trade::make::{Figures, LiquidFigures, Make, SundryFigures};
use crate::trade::policy::{Policy, PolicyKey, permille};

/// Most ends that are looked at.
const ENDS_MOST: usize = 1_000;
/// Spreads beyond the mean up to which ends are looked at.
const SPREADS: f64 = 8.0;

/// When pieces of a make come to their end.
pub(super) enum Ends {
    /// By the lives that the shop has seen: what is believed, and the damage of each pad.
    Lives(Belief, Vec<f64>),
    /// Side by side: what each has left of its life, in lives of one, and what a life is.
    Shared(Vec<f64>, f64),
    /// One after the other: what is used when each is empty, and what a new one holds.
    InTurn(Vec<f64>, f64),
}

impl Ends {
    /// Of the pieces of a make that work; `None` where there is none, or nothing says when they end.
    pub(super) fn of(book: &Book, make: &Make) -> Option<Self> {
        let ends = match &make.figures {
            Figures::Pad(figures) => {
                let life = MakeLife::of(book, &make.id, figures).ok()?;
                Self::Lives(life.belief, damages(book, make))
            }
            Figures::Plate(_) | Figures::Battery(_) => {
                let left = damages(book, make).into_iter().map(|damage| 1.0 - damage);
                Self::Shared(left.collect(), 1.0)
            }
            Figures::Towel(towel) => {
                let washes = exact_f64(towel.demote_wash_count.filter(|washes| *washes > 0)?);
                let bundles = bundles_of(book, &make.id).filter_map(Piece::wash_count);
                let left = bundles.map(|count| washes - exact_f64(count));
                Self::Shared(left.collect(), washes)
            }
            Figures::Liquid(liquid) => bottles(book, make, liquid),
            Figures::Sundry(sundry) => sundries(book, make, sundry),
            Figures::Machine(_) | Figures::Tool(_) => return None,
        };
        (ends.count() > 0).then_some(ends)
    }

    fn count(&self) -> usize {
        match self {
            Self::Lives(_, pieces) | Self::Shared(pieces, _) | Self::InTurn(pieces, _) => {
                pieces.len()
            }
        }
    }

    /// How many come to their end when jobs take so much.
    pub(super) fn by(&self, taken: Moments) -> Moments {
        let most = taken.mean + SPREADS * taken.variance.sqrt();
        match self {
            Self::Lives(belief, ages) => worn_out(belief, ages, taken.mean / count_f64(ages.len())),
            Self::Shared(left, life) => {
                let pieces = count_f64(left.len());
                let ends = left
                    .iter()
                    .flat_map(|left| again(left * pieces, life * pieces, most));
                let mut ends: Vec<f64> = ends.take(ENDS_MOST).collect();
                ends.sort_by(f64::total_cmp);
                used_up(taken, &ends)
            }
            Self::InTurn(empty_at, holds) => {
                let last = empty_at.last().copied().unwrap_or(0.0);
                let further = again(last + holds, *holds, most);
                let ends: Vec<f64> = empty_at
                    .iter()
                    .copied()
                    .chain(further)
                    .take(ENDS_MOST)
                    .collect();
                used_up(taken, &ends)
            }
        }
    }
}

/// The first end and those that follow it, as far as they are looked at; the first in any case.
fn again(first: f64, life: f64, most: f64) -> impl Iterator<Item = f64> {
    let ends = std::iter::successors(Some(first), move |end| (life > 0.0).then_some(end + life));
    ends.take(ENDS_MOST)
        .take_while(move |end| *end <= most || *end <= first)
}

/// Damage of the pieces of a make that work.
fn damages(book: &Book, make: &Make) -> Vec<f64> {
    in_use(book, &make.id)
        .filter_map(|piece| damage_of(book, piece))
        .collect()
}

/// Bottles down to their heel, those that are opened first.
fn bottles(book: &Book, make: &Make, figures: &LiquidFigures) -> Ends {
    let mut bottles: Vec<(bool, f64)> = in_use(book, &make.id)
        .filter_map(Piece::bottle)
        .map(|bottle| {
            let usable = bottle
                .left_ul
                .ul()
                .saturating_sub(heel_ul(book.policy(), bottle));
            (bottle.opened_at.is_none(), exact_f64(usable.max(0)))
        })
        .collect();
    bottles.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let holds = exact_f64(figures.bottle_ul.ul()) * usable_share(book.policy());
    Ends::InTurn(
        in_turn(bottles.into_iter().map(|(_, usable)| usable)),
        holds,
    )
}

/// The part of a bottle above its heel.
fn usable_share(policy: &Policy) -> f64 {
    1.0 - permille(policy, PolicyKey::HeelPermille)
}

/// Packs of a sundry, the emptiest first.
fn sundries(book: &Book, make: &Make, figures: &SundryFigures) -> Ends {
    let left = in_use(book, &make.id).filter_map(|piece| match &piece.state {
        State::Sundry(sundry) => Some(exact_f64(sundry.left_quantity.max(0))),
        _ => None,
    });
    let mut left: Vec<f64> = left.collect();
    left.sort_by(f64::total_cmp);
    Ends::InTurn(in_turn(left.into_iter()), exact_f64(figures.pack_quantity))
}

/// What has been used when each is used up. What is empty already is waiting for nothing but the bin; where all
/// is, one has to come at once.
fn in_turn(contents: impl Iterator<Item = f64>) -> Vec<f64> {
    let running = contents
        .filter(|content| *content > 0.0)
        .scan(0.0, |sum, content| {
            *sum += content;
            Some(*sum)
        });
    let ends: Vec<f64> = running.collect();
    if ends.is_empty() { vec![0.0] } else { ends }
}
