//! What was set, told back as it was understood, old beside new: suppliers and their prices, jobs, cars,
//! routines.
//!
//! The figures of makes have a table of their own.

use std::collections::BTreeMap;

use fettlebook_contract::v1::{Car, Job, Money, Offer, Routine, Supplier, Unit};
use fettlebook_quantity::{Length, Thickness};

use crate::render::amount::money;
use crate::render::entry::Understood;
use crate::render::screen::{Screen, several};
use crate::render::{car, routine};
use crate::word::word;

/// What a thing is called, and how it is told.
type Row<'a, T> = (&'a str, &'a dyn Fn(&T) -> String);

/// What differs, each with what it is called; of something new all that is set.
fn differing<T>(old: Option<&T>, new: &T, rows: &[Row<'_, T>]) -> Vec<Understood> {
    let told = rows.iter().map(|(name, told)| Understood {
        name: (*name).to_owned(),
        old: old.map(told).unwrap_or_default(),
        new: told(new),
    });
    told.filter(|one| one.old != one.new).collect()
}

fn sum(sum: Option<&Money>) -> String {
    sum.map(money).unwrap_or_default()
}

/// A supplier with its terms.
pub(crate) fn supplier(old: Option<&Supplier>, new: &Supplier) -> Vec<Understood> {
    let days = |one: &Supplier| {
        let days: Vec<String> = one.order_days().map(word).collect();
        days.join(", ")
    };
    differing(
        old,
        new,
        &[
            ("Name", &|one| one.name.clone()),
            ("Lead time", &|one| several(one.lead_days, "day", "days")),
            ("Least order", &|one| sum(one.min_order.as_ref())),
            ("Free from", &|one| sum(one.free_delivery_from.as_ref())),
            ("Freight", &|one| sum(one.freight.as_ref())),
            ("Order days", &days),
            ("Note", &|one| one.note.clone()),
        ],
    )
}

/// The offers that differ between two price lists.
pub(crate) fn offers(old: &[Offer], new: &[Offer]) -> Vec<Understood> {
    let of = |list: &[Offer], make: &str| {
        let mut list = list.iter();
        list.find(|one| one.make == make)
            .map(offer)
            .unwrap_or_default()
    };
    let gone = old
        .iter()
        .filter(|one| new.iter().all(|other| other.make != one.make));
    let makes = new.iter().chain(gone).map(|one| one.make.clone());
    let told = makes.map(|make| Understood {
        old: of(old, &make),
        new: of(new, &make),
        name: make,
    });
    told.filter(|one| one.old != one.new).collect()
}

/// An offer as it can be typed.
fn offer(offer: &Offer) -> String {
    let breaks = offer.breaks.iter().map(|one| {
        let price = sum(one.price.as_ref());
        match one.from_pack_count {
            0 | 1 => price,
            count => format!("from {} {price}", several(count, "pack", "packs")),
        }
    });
    let breaks = breaks.collect::<Vec<_>>().join(", ");
    match offer.pack_count {
        0 | 1 => format!("each: {breaks}"),
        count => format!("{count} per pack: {breaks}"),
    }
}

/// A job as it is booked.
pub(crate) fn job(screen: &Screen, old: Option<&Job>, new: &Job) -> Vec<Understood> {
    differing(
        old,
        new,
        &[
            ("Car", &|one| one.car.clone()),
            ("Routine", &|one| one.routine.clone()),
            ("Start", &|one| {
                screen.moment_or(one.start_time.as_ref(), "")
            }),
            ("Second day", &|one| second_day(screen, one)),
            ("Sets", &|one| sets(one)),
            ("Place", &|one| one.place.clone()),
            ("Left out", &|one| one.left_out_panels.join(", ")),
            ("Worked by", &|one| one.person.clone()),
            ("Note", &|one| one.note.clone()),
        ],
    )
}

/// When a job goes on, on a second day, and with what.
pub(crate) fn second_day(screen: &Screen, job: &Job) -> String {
    let mut text = screen.moment_or(job.second_start_time.as_ref(), "");
    if !job.second_from_step.is_empty() {
        text.push_str(&format!(", from {} on", job.second_from_step));
    }
    text
}

/// How deep a job goes, where a step gets more sets than one.
pub(crate) fn sets(job: &Job) -> String {
    let each = job
        .sets
        .iter()
        .map(|sets| format!("{} {}", sets.step, sets.set_count));
    each.collect::<Vec<_>>().join(", ")
}

/// A routine with its steps, a line for each.
pub(crate) fn routine(
    old: Option<&Routine>,
    new: &Routine,
    units: &BTreeMap<String, Unit>,
) -> Vec<Understood> {
    let mut told = differing(
        old,
        new,
        &[
            ("Name", &|one| one.name.clone()),
            ("Towels", &|one| routine::towels(one)),
            ("Sundries", &|one| routine::sundries(one, units)),
            ("Tools", &|one| routine::tools(one)),
        ],
    );
    let of = |one: Option<&Routine>, name: &str| {
        let step = one.and_then(|one| one.steps.iter().find(|step| step.step == name));
        step.map(routine::in_a_line).unwrap_or_default()
    };
    let gone = old.into_iter().flat_map(|old| old.steps.iter());
    let gone = gone.filter(|step| new.steps.iter().all(|other| other.step != step.step));
    let steps = new.steps.iter().chain(gone).map(|step| Understood {
        name: format!("Step {}", step.step),
        old: of(old, &step.step),
        new: of(Some(new), &step.step),
    });
    told.extend(steps.filter(|one| one.old != one.new));
    told
}

/// A car with what is known of it.
pub(crate) fn car(old: Option<&Car>, new: &Car) -> Vec<Understood> {
    let length = |mm: Option<i64>| {
        mm.map(|mm| Length::from_mm(mm).to_string())
            .unwrap_or_default()
    };
    let film = |one: &Car| {
        let read = one.panels.iter().filter_map(|panel| {
            let um = panel.film_um?;
            Some(format!("{} {}", panel.panel, Thickness::from_um(um)))
        });
        read.collect::<Vec<_>>().join(", ")
    };
    let takes = |one: &Car| {
        let said = one.panels.iter().filter(|panel| !panel.parts.is_empty());
        said.map(|panel| format!("{} {}", panel.panel, car::takes(panel)))
            .collect::<Vec<_>>()
            .join("; ")
    };
    let out = |one: &Car| {
        let out = one.panels.iter().filter(|panel| panel.left_out);
        out.map(|panel| panel.panel.clone())
            .collect::<Vec<_>>()
            .join(", ")
    };
    differing(
        old,
        new,
        &[
            ("Class", &|one| word(one.class())),
            ("Length", &|one| length(one.length_mm)),
            ("Width", &|one| length(one.width_mm)),
            ("Height", &|one| length(one.height_mm)),
            ("Film", &film),
            ("Takes", &takes),
            ("Left out", &out),
            ("Note", &|one| one.note.clone()),
        ],
    )
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use fettlebook_contract::v1::{
        Money, Offer, PriceBreak, Routine, Step, SundryNeed, Supplier, Unit,
    };

    use super::{offers, routine, supplier};
    use crate::render::entry::Understood;

    fn told(all: &[Understood]) -> Vec<String> {
        let one = |one: &Understood| format!("{}: {} -> {}", one.name, one.old, one.new);
        all.iter().map(one).collect()
    }

    #[test]
    fn what_changed_is_told_old_beside_new_and_the_rest_is_not() {
        let old = Supplier {
            name: "Tern Quay".to_owned(),
            lead_days: 3,
            ..Supplier::default()
        };
        let new = Supplier {
            lead_days: 1,
            ..old.clone()
        };
        assert_eq!(
            told(&supplier(Some(&old), &new)),
            ["Lead time: 3 days -> 1 day"]
        );
        let all = told(&supplier(None, &old));
        assert_eq!(all, ["Name:  -> Tern Quay", "Lead time:  -> 3 days"]);
    }

    #[test]
    fn an_offer_is_told_as_it_can_be_typed() {
        let price = |from_pack_count, amount: &str| PriceBreak {
            from_pack_count,
            price: Some(Money {
                amount: amount.to_owned(),
                currency_code: "EUR".to_owned(),
            }),
        };
        let offer = |pack_count, breaks| Offer {
            make: "a".to_owned(),
            pack_count,
            breaks,
        };
        let old = [offer(1, vec![price(1, "9")])];
        let new = [offer(2, vec![price(1, "16"), price(5, "15")])];
        assert_eq!(
            told(&offers(&old, &new)),
            ["a: each: 9 EUR -> 2 per pack: 16 EUR, from 5 packs 15 EUR"]
        );
        assert_eq!(told(&offers(&old, &[])), ["a: each: 9 EUR -> "]);
        assert!(offers(&old, &old).is_empty());
    }

    #[test]
    fn a_routine_is_told_step_by_step_and_an_edit_by_what_differs() {
        let step = |step: &str, pad: &str| Step {
            step: step.to_owned(),
            machine_make: "orbital-150".to_owned(),
            pad_make: pad.to_owned(),
            liquid_make: "coarse-compound-1l".to_owned(),
            pass_count: Some(4),
            ..Step::default()
        };
        let need = |make: &str, per_job_quantity| SundryNeed {
            make: make.to_owned(),
            per_job_quantity,
            ..SundryNeed::default()
        };
        let old = Routine {
            name: "two-step".to_owned(),
            steps: vec![
                step("cut", "coarse-foam-150"),
                step("finish", "fine-foam-150"),
            ],
            sundries: vec![need("nitrile-gloves-50", 2)],
            ..Routine::default()
        };
        let units = BTreeMap::from([("nitrile-gloves-50".to_owned(), Unit::Pair)]);
        assert_eq!(
            told(&routine(None, &old, &units)),
            [
                "Name:  -> two-step",
                "Sundries:  -> 2 pairs a job of nitrile-gloves-50",
                "Step cut:  -> machine orbital-150, pad coarse-foam-150, liquid coarse-compound-1l, 4 passes",
                "Step finish:  -> machine orbital-150, pad fine-foam-150, liquid coarse-compound-1l, 4 passes",
            ]
        );
        let new = Routine {
            steps: vec![step("cut", "coarse-microfibre-150")],
            ..old.clone()
        };
        let steps = told(&routine(Some(&old), &new, &units));
        assert_eq!(steps.len(), 2, "{steps:?}");
        assert!(steps[0].contains("-> machine orbital-150, pad coarse-microfibre-150"));
        assert!(steps[1].starts_with("Step finish:") && steps[1].ends_with("-> "));
    }
}
