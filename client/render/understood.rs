//! What was set, told back as it was understood, old beside new: suppliers and their prices, jobs, cars.
//!
//! The figures of makes have a table of their own.

use fettlebook_contract::v1::{Car, Job, Money, Offer, Supplier};
use fettlebook_quantity::{Length, Thickness};

use crate::render::amount::money;
use crate::render::entry::Understood;
use crate::render::screen::{Screen, several};
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
            ("Place", &|one| one.place.clone()),
            ("Left out", &|one| one.left_out_panels.join(", ")),
            ("Note", &|one| one.note.clone()),
        ],
    )
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
            ("Left out", &out),
            ("Note", &|one| one.note.clone()),
        ],
    )
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::{Money, Offer, PriceBreak, Supplier};

    use super::{offers, supplier};
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
}
