//! The check on paper: the verdict, what to do, what to take with room for weights, every caution in full.

use fettlebook_contract::v1::{CheckJobsResponse, JobCheck};
use minijinja::{Value, context};

use super::{Ground, cleaned};
use crate::fault::Fault;
use crate::render::check::{Along, not_go, sentence, take_list, taken};
use crate::render::picks::Sort;
use crate::render::screen::verdict_of;
use crate::render::tint::clean;
use crate::render::{plan, tags};
use crate::word::word;

const TEMPLATE: (&str, &str) = ("check.html", include_str!("check.html"));

/// The check of one or several jobs, each on a page of its own; `nothing` is what stands in their place where there
/// is none.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn html(
    ground: &Ground<'_>,
    answer: &CheckJobsResponse,
    nothing: &str,
) -> Result<String, Fault> {
    let named: Vec<&str> = answer.checks.iter().map(|one| one.job.as_str()).collect();
    let title = format!("Check: {}", named.join(", "));
    let jobs = answer.checks.iter().map(|check| job(ground, check));
    let told = context! {
        nothing => clean(nothing),
        jobs => jobs.collect::<Value>(),
        assumption => clean(&answer.assumption),
    };
    ground.sheet(TEMPLATE, title.trim_end_matches(": "), told)
}

fn job(ground: &Ground<'_>, check: &JobCheck) -> Value {
    let screen = ground.screen;
    let items = not_go(check);
    let items = items.iter().map(|item| {
        context! {
            verdict => word(item.verdict()),
            about => clean(&item.about()),
            reasons => item.reasons().into_iter().map(clean).collect::<Value>(),
            todos => cleaned(item.todos()),
        }
    });
    let list = take_list(check);
    let rows = list.chunk_by(goes_together);
    context! {
        job => clean(&check.job),
        when => screen.moment_or(check.start_time.as_ref(), "no start"),
        place => clean(&check.place),
        verdict => word(verdict_of(check.verdict)),
        sentence => clean(&sentence(check)),
        taken => cleaned(&taken(screen, check)),
        plan => check.plan.as_ref().map(|needed| clean(&plan::summary(needed))),
        todo => items.collect::<Value>(),
        take => rows.filter_map(row).collect::<Value>(),
        cautions => cleaned(&check.cautions),
    }
}

/// Whether of pieces of a sort nothing is written down afterwards: they stand in one row, each with its name.
const fn has_no_room(sort: Sort) -> bool {
    matches!(
        sort,
        Sort::Plates | Sort::Machines | Sort::Batteries | Sort::Tools
    )
}

/// Whether two pieces stand in one row: pads of a make for the same steps, and what is only taken along.
fn goes_together(one: &Along<'_>, other: &Along<'_>) -> bool {
    let are_pads = one.sort == Sort::Pads && is_alike(one, other);
    one.sort == other.sort && (are_pads || has_no_room(one.sort))
}

/// Whether two pieces have the same name, and are for the same steps.
fn is_alike(one: &Along<'_>, other: &Along<'_>) -> bool {
    one.what == other.what && one.steps() == other.steps()
}

/// Pieces that go, each with a box, and what is to be written down of them afterwards.
fn row(group: &[Along<'_>]) -> Option<Value> {
    let first = group.first()?;
    let room = match first.sort {
        Sort::Liquids => "weight",
        Sort::Towels | Sort::Sundries => "count",
        Sort::Pads => "tags",
        Sort::Plates | Sort::Machines | Sort::Batteries | Sort::Tools | Sort::Others => "",
    };
    let mut pieces: Vec<&Along<'_>> = group.iter().collect();
    pieces.sort_by_key(|one| (one.is_spare(), tags::order(one.tag)));
    let told = pieces.iter().enumerate().map(|(at, one)| {
        // Of several alike the name stands behind the last.
        let next = pieces.get(at.saturating_add(1));
        let goes_on = next.is_some_and(|next| is_alike(one, next));
        context! {
            tag => clean(one.tag),
            worn => one.worn(),
            spare => one.is_spare(),
            what => if goes_on { String::new() } else { clean(&one.what) },
            steps => if goes_on { String::new() } else { clean(one.steps()) },
        }
    });
    Some(context! {
        pieces => told.collect::<Value>(),
        wide => has_no_room(first.sort),
        what => clean(&first.what),
        steps => clean(first.steps()),
        use => first.rounded(),
        room => room,
    })
}

#[cfg(test)]
mod tests;
