//! Where the shop stands, each line with the view where something can be done about it.

use axum::http::StatusCode;
use fettlebook_contract::v1::{DueOrder, GetTodayRequest, GetTodayResponse, Job, SoiledKit};
use minijinja::{Value, context};

use super::Answer;
use crate::asker::Asker;
use crate::templates;
use crate::words::{self, Clock};

/// The view.
pub(crate) async fn show(asker: Asker) -> Answer {
    let here = asker.here().await?;
    let place = here.place.clone();
    let today = asker.call(GetTodayRequest { place }).await?;
    let offset_s = today.next_job.as_ref().map(|job| job.utc_offset_s);
    let clock = offset_s.map_or_else(Clock::own, Clock::of_job);
    let told = context! {
        now => clock.moment_or_none(today.as_of_time.as_ref()),
        empty => today.empty,
        unlogged => today.unlogged.iter().map(job).collect::<Value>(),
        next => next(&today),
        to_wash => today.to_wash.iter().map(|one| soiled(one, &clock)).collect::<Value>(),
        to_order => today.to_order.iter().map(due).collect::<Value>(),
        order_trouble => today.order_trouble,
        drying => today.drying.iter().map(|one| context! {
            tags => one.tags.join(", "),
            place => one.place.as_str(),
            until => clock.moment_or_none(one.dry_time.as_ref()),
        }).collect::<Value>(),
        coming => today.coming.iter().map(|one| context! {
            order => one.order.as_str(),
            names => one.make_names.join(", "),
            due => words::day(&one.due_date),
            late => one.late,
        }).collect::<Value>(),
    };
    let page = templates::page(StatusCode::OK, "today.html", Some(&here), "Today", told);
    Ok(page)
}

/// A job, with its start as it is where the job is.
fn job(job: &Job) -> Value {
    let clock = Clock::of_job(job.utc_offset_s);
    context! {
        job => job.job.as_str(),
        place => job.place.as_str(),
        start => clock.moment_or_none(job.start_time.as_ref()),
    }
}

/// The next job, with what its check says in a word.
fn next(today: &GetTodayResponse) -> Option<Value> {
    let next = today.next_job.as_ref()?;
    let check = today.next_check.as_ref();
    let chance = check.and_then(|check| {
        let chance = check.carry_chance?;
        Some(words::chance(chance, check.carry_target))
    });
    Some(context! {
        chance => chance.unwrap_or_default(),
        verdict => check.map_or_else(String::new, |check| words::verdict(check.verdict())),
        taken => check.is_some_and(|check| check.taken.is_some()),
        unchecked => today.next_unchecked.as_str(),
        ..job(next)
    })
}

fn soiled(one: &SoiledKit, clock: &Clock) -> Value {
    context! {
        place => one.place.as_str(),
        tags => one.tags.join(", "),
        towel_count => one.towel_count,
        by => clock.moment_or_none(one.wash_by_time.as_ref()),
    }
}

fn due(order: &DueOrder) -> Value {
    context! {
        what => order.make_name.as_str(),
        count => order.need_count,
        by => words::day(&order.order_by_date),
        late => order.late,
    }
}
