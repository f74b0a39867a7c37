//! The lines of what runs out: liquids and sundries.
//!
//! Serves the check. What is short is never called enough because it could be washed or bought in
//! time: the line says so and stands until it has been done.

use std::collections::BTreeMap;
use std::sync::Arc;

use fettlebook_quantity::Volume;
use jiff::civil::Date;

use super::line::{Line, LineKind, Verdict, quantity, tags_where};
use crate::ground::exact::ceil_div;
use crate::ground::ids::list;
use crate::ground::ids::{Id, Tag};
use crate::ready::pick::{Old, Scene, is_old, offer_bottles, offer_sundries};
use crate::ready::plan::Plan;
use crate::ready::real_use::LikelyUse;
use crate::trade::kit::Piece;
use crate::trade::make::{Figures, Unit};
use crate::trade::policy::PolicyKey;

/// One line a liquid make, for all the steps that use it, by what each will likely be used of: as
/// [`likely_use`](super::likely_use) has it, in the order of the plan.
pub(super) fn liquid_lines(
    scene: &Scene<'_>,
    plan: &Plan,
    liquids: &[(Id, LikelyUse, String)],
) -> Vec<Line> {
    let needs = plan.liquid_needs().into_iter();
    needs
        .zip(liquids)
        .map(|((_, first_step, need), liquid)| liquid_line(scene, first_step, need, liquid))
        .collect()
}

fn liquid_line(
    scene: &Scene<'_>,
    step: &Id,
    need: Volume,
    (make, likely, rests_on): &(Id, LikelyUse, String),
) -> Line {
    let name = scene.book.make(make).map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Liquid, Some(step), name);
    line.make = Some(make.clone());
    let bottles = offer_bottles(scene, make);
    let expected = likely.expected;
    let picked = line.draws_as(
        scene,
        &bottles.usable,
        expected,
        Unit::Microlitre,
        |need, short| gravity(likely.at_most(need.saturating_sub(short))),
    );
    let held = quantity(bottles.usable.iter());
    line.chance = Some(likely.at_most(held));
    line.rests_on.clone_from(rests_on);
    line.planned = Some(need.ul());
    say_expiry(&mut line, scene, &bottles.expired, &picked);
    say_old(&mut line, scene, &picked);
    line.ask_to_measure("Weigh", &picked);
    line.ask_to_move(scene, &picked);
    if line.short > 0 {
        say_heels(&mut line, &bottles.heels);
    }
    line
}

/// How grave it is that what a job will likely use is not there: it stops where the liquid will more
/// likely run out than not.
fn gravity(chance: f64) -> Verdict {
    if chance < 0.5 {
        Verdict::Stop
    } else {
        Verdict::Watch
    }
}

/// Names the bottles past their date on the day, and those picked that will soon be.
fn say_expiry(line: &mut Line, scene: &Scene<'_>, expired: &[Tag], picked: &[Arc<Piece>]) {
    if !expired.is_empty() {
        let expired = list(expired);
        line.raise(
            Verdict::Watch,
            format!("Past the date on the day: {expired}."),
        );
        line.todo(format!("Bin {expired} by local rules."));
    }
    let notice = scene.policy().value(PolicyKey::ExpiryNoticeDays);
    let soon = tags_where(picked, |piece| {
        let last = piece.bottle().and_then(|bottle| bottle.expiry);
        last.is_some_and(|last| days_between(scene.day, last) <= notice)
    });
    if !soon.is_empty() {
        line.raise(Verdict::Watch, format!("Expires soon: {}.", list(&soon)));
    }
}

/// Watches picked bottles that bear no date and are older than such a one keeps.
fn say_old(line: &mut Line, scene: &Scene<'_>, picked: &[Arc<Piece>]) {
    let mut old: BTreeMap<Old, Vec<Tag>> = BTreeMap::new();
    for piece in picked {
        if let Some(why) = is_old(scene, piece) {
            old.entry(why).or_default().push(piece.tag);
        }
    }
    for (why, tags) in old {
        let tags = list(&tags);
        let why = match why {
            Old::Opened(days) => format!("opened more than {days} days ago"),
            Old::Received(days) => format!("here for more than {days} days"),
        };
        line.raise(
            Verdict::Watch,
            format!("Without a date, and {why}: {tags}."),
        );
        line.todo(format!(
            "Shake {tags} and look for grains on a test spot, and follow the label; when in doubt, bin it by \
             local rules."
        ));
    }
}

/// Says which bottles hold no more than their heel.
fn say_heels(line: &mut Line, heels: &[Tag]) {
    if !heels.is_empty() {
        let heels = list(heels);
        line.raise(
            Verdict::Watch,
            format!("Only the heel is left, which is not planned with: {heels}."),
        );
    }
}

fn days_between(from: Date, to: Date) -> i64 {
    from.until(to)
        .map_or(i64::MAX, |span| i64::from(span.get_days()))
}

/// One line a sundry make, by what each will likely be used of.
pub(super) fn sundry_lines(scene: &Scene<'_>, sundries: &[(Id, LikelyUse, String)]) -> Vec<Line> {
    let lines = sundries.iter();
    lines.filter_map(|one| sundry_line(scene, one)).collect()
}

fn sundry_line(
    scene: &Scene<'_>,
    (id, likely, rests_on): &(Id, LikelyUse, String),
) -> Option<Line> {
    let make = scene.book.make(id)?;
    let Figures::Sundry(figures) = &make.figures else {
        return None;
    };
    let mut line = Line::new(LineKind::Sundry, None, make.name.clone());
    line.make = Some(id.clone());
    let packs = offer_sundries(scene, id);
    let need = likely.expected;
    let picked = line.draws_as(scene, &packs, need, figures.unit, |_, _| Verdict::Watch);
    if !rests_on.is_empty() {
        line.rests_on.clone_from(rests_on);
        line.planned = Some(likely.planned);
    }
    line.ask_to_measure("Count", &picked);
    line.ask_to_move(scene, &picked);
    if line.short > 0 {
        line.buy = ceil_div(i128::from(line.short), i128::from(figures.pack_quantity));
    }
    Some(line)
}
