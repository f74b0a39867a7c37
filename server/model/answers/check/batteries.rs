//! The batteries line: how many a job's cordless machines need, and which are full by its start.
//!
//! It watches and never stops: work goes on with what is charged, while the charger fills the rest.

use fettlebook_quantity::{exact_f64, round_to_i64};
use jiff::SignedDuration;

use super::line::{Line, LineKind, Pick, Verdict, local, tags_where};
use crate::book::damage::{band_of, damage_of};
use crate::ground::ids::list;
use crate::ready::batteries::{
    ChargeUse, Drawn, charge_time, drawn_really, rated_of_make_ms, rated_run_ms,
};
use crate::ready::pick::{BatteryChoice, BatteryOffer, Reach, Scene, offer_batteries};
use crate::ready::plan::Plan;
use crate::trade::make::Unit;
use crate::trade::wear::Band;

/// Milliseconds of a minute.
const MINUTE_MS: f64 = 60_000.0;

/// A line for the machines that share batteries; none for those with a cord.
pub(super) fn battery_lines(scene: &Scene<'_>, plan: &Plan) -> Vec<Line> {
    let all = drawn_really(scene.book, plan, &[]);
    all.iter().map(|one| battery_line(scene, one)).collect()
}

fn battery_line(scene: &Scene<'_>, drawn: &Drawn<'_>) -> Line {
    let names = drawn.machines.iter().filter_map(|id| scene.book.make(id));
    let names: Vec<&str> = names.map(|make| make.name.as_str()).collect();
    let mut line = Line::new(
        LineKind::Battery,
        None,
        format!("batteries of {}", list(&names)),
    );
    let Some(make) = drawn.batteries.first() else {
        line.raise(
            Verdict::Watch,
            "The book has no make of batteries for it, so nobody knows how long a charge lasts.",
        );
        line.todo("Set up its batteries, and have them charged.");
        return line;
    };
    line.make = Some(make.id.clone());
    let offer = offer_batteries(scene, drawn);
    let here = |choice: &&BatteryChoice| scene.reach(&choice.piece) == Reach::Here;
    line.need = offer.need;
    line.unit = Some(Unit::Piece);
    line.have = count(offer.full.iter().filter(here).count());
    let full = count(offer.full.len());
    line.short = offer.need.saturating_sub(full).max(0);
    say_why(&mut line, scene, drawn, &offer);
    let go = offer.go();
    line.picks = go
        .iter()
        .map(|choice| Pick {
            damage: damage_of(scene.book, &choice.piece),
            ..Pick::of(choice.piece.tag, 1)
        })
        .collect();
    if count(go.len()) < offer.need {
        say_short(&mut line, scene, &offer);
    }
    line.ask_to_move(scene, go.iter().map(|choice| &choice.piece));
    let spent = tags_where(go.iter().map(|choice| &choice.piece), |piece| {
        let damage = damage_of(scene.book, piece).unwrap_or_default();
        band_of(scene.policy(), damage) == Band::Spent
    });
    if !spent.is_empty() {
        let tags = list(&spent);
        line.raise(
            Verdict::Watch,
            format!("{tags}: past the rated charges, and weaker than new."),
        );
    }
    line
}

/// Time on paint, a charge, and what that comes to in charges: of the battery that goes first, as old as it is, or
/// of a new one where there is none.
fn say_why(line: &mut Line, scene: &Scene<'_>, drawn: &Drawn<'_>, offer: &BatteryOffer) {
    let book = scene.book;
    let there = offer.full.iter().chain(&offer.in_time).chain(&offer.late);
    let first = there.map(|choice| &choice.piece).next();
    let make = match first {
        Some(piece) => book.make(&piece.make).map(AsRef::as_ref),
        None => drawn.batteries.first().copied(),
    };
    let Some(make) = make else { return };
    let rated_ms = match first {
        Some(piece) => rated_run_ms(book, piece),
        None => rated_of_make_ms(book, make, 0),
    };
    let rated_ms = rated_ms.unwrap_or_default();
    let planned = exact_f64(drawn.time_ms) / exact_f64(rated_ms.max(1));
    let charge_use = ChargeUse::of(book, &make.id, planned);
    let lasts_ms = charge_use.run_ms(rated_ms);
    let likely = charge_use.predict(planned);
    line.raise(
        Verdict::Go,
        format!(
            "{} min on paint at {} min a charge: {:.1} charges, {:.1} to {:.1} in eight of ten jobs.",
            minutes(drawn.time_ms),
            minutes(lasts_ms),
            likely.mean,
            likely.quantile(0.1),
            likely.quantile(0.9),
        ),
    );
    line.rests_on = charge_use.rests_on();
}

/// What is not charged, and what can be done about it.
fn say_short(line: &mut Line, scene: &Scene<'_>, offer: &BatteryOffer) {
    let full = offer.full.len();
    let missing = offer.need.saturating_sub(count(full));
    line.raise(
        Verdict::Watch,
        format!("Charged by the start: {full} of {}.", offer.need),
    );
    let missing = usize::try_from(missing).unwrap_or(usize::MAX);
    let by_now: Vec<&BatteryChoice> = offer.in_time.iter().take(missing).collect();
    if !by_now.is_empty() {
        let longest = by_now
            .iter()
            .map(|choice| charge_time(scene.book, &choice.piece).s())
            .max()
            .unwrap_or_default();
        let tags: Vec<_> = by_now.iter().map(|choice| choice.piece.tag).collect();
        let by = scene
            .starts_at
            .checked_sub(SignedDuration::from_secs(longest));
        let by = by.map_or_else(|_| String::new(), |by| format!(" by {}", local(scene, by)));
        line.todo(format!("Put {} on the charger{by}.", list(&tags)));
    }
    if by_now.len() < missing {
        let late: Vec<_> = offer.late.iter().map(|choice| choice.piece.tag).collect();
        line.todo(if late.is_empty() {
            "Charge again while you work, or bring more batteries.".to_owned()
        } else {
            format!(
                "Have {} on the charger while you work with the others.",
                list(&late)
            )
        });
    }
}

fn minutes(ms: i64) -> i64 {
    round_to_i64(exact_f64(ms) / MINUTE_MS)
}

fn count(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
