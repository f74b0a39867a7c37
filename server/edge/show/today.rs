//! Where the shop stands, on the wire.
//!
//! It serves `GetToday`. It says no prices, so that every role may be told.

use fettlebook_contract::v1;
use fettlebook_model::reorder::ReorderLine;
use fettlebook_model::today::{Drying, Next, OnItsWay, ToBring, ToCharge, ToWash, Today};
use fettlebook_model::{Book, Moment, Tag};

use super::{check, job, moment};

pub(in crate::edge) fn today(book: &Book, today: Today, now: Moment) -> v1::GetTodayResponse {
    let (to_order, order_trouble) = match today.to_order {
        Ok(lines) => (lines.into_iter().map(due).collect(), String::new()),
        Err(refusal) => (Vec::new(), refusal.what),
    };
    let (next_job, next_check, next_unchecked) = next(book, today.next, now);
    let coming = today.on_their_way.iter();
    v1::GetTodayResponse {
        as_of_time: Some(moment(now)),
        unlogged: today
            .unlogged
            .iter()
            .map(|held| job::job_at(held, now))
            .collect(),
        next_job,
        next_check,
        next_unchecked,
        to_wash: today.to_wash.iter().map(soiled).collect(),
        to_order,
        order_trouble,
        drying: today.drying.iter().map(drying).collect(),
        coming: coming.map(|one| on_its_way(book, one)).collect(),
        empty: book.makes().next().is_none(),
        to_charge: today.to_charge.iter().map(empty).collect(),
        to_bring: today.to_bring.iter().map(bring).collect(),
    }
}

fn next(
    book: &Book,
    next: Option<Next>,
    now: Moment,
) -> (Option<v1::Job>, Option<v1::JobCheck>, String) {
    let Some(next) = next else {
        return (None, None, String::new());
    };
    let shown = Some(job::job_at(&next.job, now));
    match next.check {
        Ok(found) => {
            let check = check::job_check(book, found, now);
            (shown, Some(check), String::new())
        }
        Err(refusal) => (shown, None, refusal.what),
    }
}

fn soiled(soiled: &ToWash) -> v1::SoiledKit {
    v1::SoiledKit {
        place: soiled.place.to_string(),
        tags: tags(&soiled.tags),
        towel_count: soiled.towel_count,
        dry_time: Some(moment(soiled.dry_at)),
        wash_by_time: soiled.wash_by.map(moment),
    }
}

fn empty(empty: &ToCharge) -> v1::EmptyBatteries {
    v1::EmptyBatteries {
        place: empty.place.to_string(),
        tags: tags(&empty.tags),
        full_time: Some(moment(empty.full_at)),
        charge_by_time: empty.charge_by.map(moment),
    }
}

fn bring(bring: &ToBring) -> v1::KitToBring {
    v1::KitToBring {
        job: bring.job.to_string(),
        place: bring.place.to_string(),
        from_place: bring.from.to_string(),
        tags: tags(&bring.tags),
        bring_by_time: bring.bring_by.map(moment),
        taken: bring.is_taken,
    }
}

fn due(line: ReorderLine) -> v1::DueOrder {
    v1::DueOrder {
        make: line.make.to_string(),
        make_name: line.make_name,
        need_count: line.need_count,
        order_by_date: line.order_by.to_string(),
        late: line.is_late,
        jobs: line.jobs.iter().map(ToString::to_string).collect(),
    }
}

fn drying(drying: &Drying) -> v1::DryingKit {
    v1::DryingKit {
        place: drying.place.to_string(),
        tags: tags(&drying.tags),
        dry_time: Some(moment(drying.until)),
    }
}

/// An order with what is still to come of it, by name.
fn on_its_way(book: &Book, one: &OnItsWay) -> v1::ComingOrder {
    let lines = one.order.lines.iter();
    let open = lines.filter(|line| line.open_pack_count() > 0);
    let name = |id: &fettlebook_model::Id| {
        let make = book.make(id);
        make.map_or_else(|| id.to_string(), |make| make.name.clone())
    };
    v1::ComingOrder {
        order: one.order.id.to_string(),
        make_names: open.map(|line| name(&line.make)).collect(),
        due_date: one
            .order
            .due_on
            .map(|day| day.to_string())
            .unwrap_or_default(),
        late: one.is_late,
    }
}

fn tags(tags: &[Tag]) -> Vec<String> {
    tags.iter().map(ToString::to_string).collect()
}
