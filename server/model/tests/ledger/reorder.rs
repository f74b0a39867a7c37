//! The reorder list: what a careful person would work out by hand, and what it promises.

mod from_whom;
mod kept;
mod on_its_way;
mod promise;

use fettlebook_model::job::PanelNote;
use fettlebook_model::make::{Figures, Grade, LiquidFigures};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::reorder::{Basket, Cause, ReorderLine, ReorderList, reorder_list};
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::{Thickness, Volume};

use crate::shop::{Shop, eur, id, make, money, noted, routine, saloon_job, step, tern_quay};

/// Two two-steps, on Monday the 16th and Wednesday the 18th of March 2026, seen on Wednesday the 4th.
///
/// By hand. Each job takes five coarse pads, four fine ones, 61.5 mL of compound, 60.75 mL of polish, six
/// towels and two pairs of gloves.
/// * Coarse pads: three are there, five are needed on Monday: two short. Washed on Monday, they are dry
///   for Wednesday, so no more; nor for the chance, which is to be seven in ten.
/// * Fine pads: five are there. Polish: half a litre is. Nothing to do.
/// * Compound: 130 mL are there, of which 30 are the heel of the litre. Monday leaves 38.5, which is
///   short of 61.5 on Wednesday: one bottle.
/// * Towels: one is clean and five are soiled; washed, all six carry Monday, and again Wednesday.
/// * Gloves: three pairs are there. Monday leaves one; Wednesday wants two: one box.
fn two_jobs() -> Shop {
    let mut shop = Shop::new();
    shop.set_policy(PolicyKey::CarryTargetPermille, 700);
    shop.receive("coarse-foam-150", 3);
    shop.receive("fine-foam-150", 5);
    shop.receive("coarse-compound-1l", 1);
    shop.receive("fine-polish-500ml", 1);
    shop.receive_towels(24, 0);
    shop.receive("nitrile-gloves", 1);
    shop.count("B-01", 130_000);
    shop.count_towels("T-01", 1, 5);
    shop.count("S-01", 3);
    shop.book_saloon("monday", "2026-03-16 08:00");
    shop.book_saloon("wednesday", "2026-03-18 08:00");
    shop
}

/// The same with Tern Quay Supplies.
fn supplied() -> Shop {
    let mut shop = two_jobs();
    shop.supply(tern_quay());
    shop
}

fn list(shop: &Shop) -> ReorderList {
    reorder_list(&shop.book, None, None, shop.now).unwrap()
}

/// Make, pieces needed, packs and day to order by of each line, basket by basket.
fn told(list: &ReorderList) -> Vec<(&str, i64, i64, String)> {
    let lines = list.baskets.iter().flat_map(|basket| &basket.lines);
    lines
        .map(|line| {
            let by = line.order_by.to_string();
            (line.make.as_str(), line.need_count, line.pack_count, by)
        })
        .collect()
}

fn line<'a>(list: &'a ReorderList, make: &str) -> Option<&'a ReorderLine> {
    let mut lines = list.baskets.iter().flat_map(|basket| &basket.lines);
    lines.find(|line| line.make == id(make))
}

/// The basket a make is in.
fn basket<'a>(list: &'a ReorderList, make: &str) -> &'a Basket {
    let of = |basket: &&Basket| basket.lines.iter().any(|line| line.make == id(make));
    list.baskets.iter().find(of).unwrap()
}

fn by(day: &str) -> String {
    format!("2026-03-{day}")
}

/// Source: by hand, above; needed on the 16th and 18th, less three days on the way and one to have it
/// ready: by the 12th and 14th. One pack of two pads, a bottle and a box are 52.40.
#[test]
fn what_two_jobs_lack_is_what_a_careful_person_works_out() {
    let list = list(&supplied());
    assert_eq!(
        told(&list),
        [
            ("coarse-foam-150", 2, 1, by("12")),
            ("coarse-compound-1l", 1, 1, by("14")),
            ("nitrile-gloves", 1, 1, by("14")),
        ]
    );
    let [basket] = list.baskets.as_slice() else {
        panic!("{:?}", list.baskets);
    };
    assert_eq!(basket.supplier, Some(id("tern-quay")));
    assert_eq!(basket.supplier_name, "Tern Quay Supplies");
    assert_eq!(
        (basket.goods, basket.freight),
        (Some(eur("52.40")), Some(eur("4.95")))
    );
    assert_eq!(basket.total, Some(eur("57.35")));
    assert_eq!(basket.to_free_delivery, Some(eur("27.60")));
    assert_eq!(basket.to_min_order, None);
    assert_eq!(basket.order_by.map(|day| day.to_string()), Some(by("12")));
    assert!(list.assumptions.iter().all(|said| said.ends_with('.')));
    assert_eq!(list.assumptions.len(), 3, "{:?}", list.assumptions);
    assert_eq!(list.job_count, 2);
}

#[test]
fn each_line_says_for_which_jobs_why_what_it_costs_and_what_happens_without_it() {
    let list = list(&supplied());
    let pads = line(&list, "coarse-foam-150").unwrap();
    assert_eq!(pads.make_name, "coarse foam 150");
    assert_eq!(
        (pads.cause, pads.jobs.first() == Some(&id("monday"))),
        (Cause::BookedJob, true)
    );
    assert!(
        pads.reason.starts_with("Short by 2 for monday"),
        "{}",
        pads.reason
    );
    assert!(
        pads.if_skipped.starts_with("The check of monday"),
        "{}",
        pads.if_skipped
    );
    assert_eq!((pads.pieces_per_pack, pads.price), (2, Some(eur("18.90"))));
    assert_eq!((pads.cost, pads.is_late), (Some(eur("18.90")), false));
    assert_eq!(pads.need_on.to_string(), by("16"));
    let gloves = line(&list, "nitrile-gloves").unwrap();
    assert_eq!(gloves.jobs, [id("wednesday")]);
    assert_eq!(gloves.need_on.to_string(), by("18"));
}

/// Source: by hand: with five pairs of gloves and without any pad more, both jobs lack some of the same.
#[test]
fn what_two_jobs_lack_of_one_make_is_one_line_for_the_earlier_day() {
    let mut shop = two_jobs();
    shop.count("S-01", 1);
    shop.set_policy(PolicyKey::HandlingDays, 0);
    let small = make(
        "gloves-by-the-pair",
        Figures::Sundry(fettlebook_model::make::SundryFigures {
            unit: fettlebook_model::make::Unit::Pair,
            pack_quantity: 1,
        }),
    );
    shop.say(Command::CreateMake { make: small });
    let was = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    let mut changed = was.clone();
    changed.sundries[0].make = id("gloves-by-the-pair");
    shop.say(Command::EditRoutine {
        was,
        routine: changed,
    });
    let list = list(&shop);
    let gloves = line(&list, "gloves-by-the-pair").unwrap();
    assert_eq!(
        (gloves.need_count, gloves.need_on.to_string()),
        (4, by("16"))
    );
    assert_eq!(gloves.jobs, [id("monday"), id("wednesday")]);
    assert_eq!(gloves.reason, "Short by 4 for monday and wednesday.");
}

/// Six coarse pads that have their whole rated life behind them carry Monday, but not well; none of
/// them is dry on Tuesday, which is short of six.
#[test]
fn what_is_short_is_graver_than_a_small_chance_and_goes_with_it_in_one_line() {
    let mut shop = two_jobs();
    shop.set_policy(PolicyKey::CarryTargetPermille, 950);
    shop.lose("P-01 P-02 P-03");
    shop.import(
        (21..27)
            .map(|pad| noted(&format!("P-{pad}"), "coarse-foam-150", 150_000_000))
            .collect(),
    );
    shop.book_saloon("tuesday", "2026-03-17 08:00");
    let monday = "2026-03-16".parse().unwrap();
    let weak = reorder_list(&shop.book, Some(monday), None, shop.now).unwrap();
    let pads = line(&weak, "coarse-foam-150").unwrap();
    assert_eq!(
        (pads.cause, pads.jobs.clone()),
        (Cause::CarryChance, vec![id("monday")])
    );
    let count = pads.need_count;
    assert!((1..=6).contains(&count), "{pads:?}");
    let bring = if count == 1 { "brings" } else { "bring" };
    assert_eq!(
        pads.reason,
        format!("{count} more {bring} monday to the chance you aim at.")
    );
    assert_eq!(pads.if_skipped, "The check of monday says watch.");
    let list = list(&shop);
    let pads = line(&list, "coarse-foam-150").unwrap();
    assert_eq!(
        (pads.cause, pads.need_on.to_string()),
        (Cause::BookedJob, by("16"))
    );
    assert!(pads.need_count > count, "{pads:?}");
    assert!(pads.reason.starts_with("Short by "), "{}", pads.reason);
}

#[test]
fn only_jobs_up_to_a_day_are_looked_at_where_one_is_named() {
    let shop = supplied();
    for (through, lines) in [("2026-03-15", 0), ("2026-03-16", 1), ("2026-03-18", 3)] {
        let through = through.parse().unwrap();
        let list = reorder_list(&shop.book, Some(through), None, shop.now).unwrap();
        assert_eq!(told(&list).len(), lines, "{through}");
    }
}

#[test]
fn a_list_changes_nothing_and_a_shop_that_has_all_gets_none() {
    let mut shop = Shop::stocked();
    shop.supply(tern_quay());
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let before = shop.book.clone();
    assert_eq!(list(&shop).baskets, []);
    assert_eq!(shop.book, before);
    let empty = list(&Shop::new());
    assert_eq!((empty.baskets, empty.job_count), (Vec::new(), 0));
}

#[test]
fn a_job_that_was_or_is_called_off_needs_nothing() {
    let mut shop = supplied();
    shop.go_to("2026-03-16 08:01");
    let list = list(&shop);
    assert!(line(&list, "coarse-foam-150").is_none_or(|line| line.jobs == [id("wednesday")]));
    for job in ["monday", "wednesday"] {
        shop.say(Command::CallOff {
            said: fettlebook_model::command::Said::default(),
            job: id(job),
        });
    }
    assert_eq!(self::list(&shop).baskets, []);
}

/// Source: by hand: the five soiled towels are needed; without a wash they would be bought.
#[test]
fn what_is_soiled_is_washed_first_but_what_is_aside_stays_aside() {
    let mut shop = supplied();
    assert!(line(&list(&shop), "edgeless-towel-400g").is_none());
    shop.set_aside("T-01");
    let list = list(&shop);
    let towels = line(&list, "edgeless-towel-400g").unwrap();
    // Six for Monday, which are clean again for Wednesday: a pack of twelve.
    assert_eq!((towels.need_count, towels.pack_count), (6, 1));
    assert_eq!(towels.cost, Some(eur("30.00")));
}

/// Source: by hand: jobs on two days in a row cannot share pads and towels that dry for a day.
#[test]
fn what_is_not_dry_by_the_next_morning_is_not_there() {
    let mut shop = Shop::stocked();
    shop.count_towels("T-01", 10, 0);
    shop.supply(tern_quay());
    shop.book_saloon("monday", "2026-03-16 08:00");
    shop.book_saloon("tuesday", "2026-03-17 08:00");
    let needs: Vec<(&str, i64)> = Vec::new();
    let list = list(&shop);
    let told: Vec<(&str, i64)> = (list.baskets.iter())
        .flat_map(|basket| &basket.lines)
        .map(|line| (line.make.as_str(), line.need_count))
        .collect();
    assert_ne!(told, needs);
    // Two of seven coarse pads and one of five fine ones are left clean, and four of ten towels.
    assert_eq!(
        told,
        [
            ("coarse-foam-150", 3),
            ("edgeless-towel-400g", 2),
            ("fine-foam-150", 3)
        ]
    );
}

/// Source: by hand: twice 61.5 mL at dots of 250 µL are 246 at 500, as many samples of one.
#[test]
fn as_many_bottles_are_listed_as_a_job_empties() {
    let mut shop = Shop::stocked();
    let sample = Figures::Liquid(LiquidFigures {
        grade: Grade::Coarse,
        bottle_ul: Volume::from_ul(1_000),
        density_mg_per_ml: None,
        tare_mg: None,
        prime_dot_count: None,
        refresh_dot_count: None,
    });
    shop.say(Command::CreateMake {
        make: make("compound-sample", sample),
    });
    let steps = ["cut", "again"].map(|name| step(name, "coarse-foam-150", "compound-sample"));
    shop.say(Command::CreateRoutine {
        routine: routine("by-sample", steps.to_vec()),
    });
    shop.set_policy(PolicyKey::DotUl, 500);
    shop.say(Command::BookJob {
        job: fettlebook_model::job::Job {
            routine: id("by-sample"),
            ..saloon_job("monday", "2026-03-16 08:00")
        },
    });
    let list = list(&shop);
    let samples = line(&list, "compound-sample").unwrap();
    assert_eq!(samples.cause, Cause::BookedJob);
    // Some more are for the chance that it takes more than on average.
    assert!((246..=450).contains(&samples.need_count), "{samples:?}");
    shop.receive("compound-sample", samples.need_count);
    let checked =
        fettlebook_model::check::check_jobs(&shop.book, &[id("monday")], shop.now).unwrap();
    let liquid = (checked[0].lines.iter())
        .find(|line| line.kind == fettlebook_model::check::LineKind::Liquid)
        .unwrap();
    assert_eq!((liquid.short, liquid.buy), (0, 0), "{}", liquid.reason);
}

#[test]
fn what_stops_a_job_and_cannot_be_bought_here_is_said() {
    let mut shop = supplied();
    shop.lose("BP-01");
    shop.edit_saloon(|car| {
        car.panels.push(PanelNote {
            panel: "roof".parse().unwrap(),
            area_mm2: None,
            left_out: false,
            split: None,
            film_um: Some(Thickness::from_um(60)),
        });
    });
    let list = list(&shop);
    let says = |what: &str| list.assumptions.iter().any(|said| said.starts_with(what));
    for job in ["monday", "wednesday"] {
        assert!(
            says(&format!("{job} stops on plate M8")),
            "{:?}",
            list.assumptions
        );
        assert!(
            says(&format!("{job} stops on paint film")),
            "{:?}",
            list.assumptions
        );
    }
    assert_eq!(told(&list).len(), 3);
}

#[test]
fn a_book_with_two_currencies_has_no_list() {
    let mut shop = supplied();
    let was = shop
        .book
        .make(&id("nitrile-gloves"))
        .unwrap()
        .as_ref()
        .clone();
    let make = fettlebook_model::make::Make {
        price: Some(money("9", "USD")),
        ..was.clone()
    };
    if shop.try_say(Command::EditMake { was, make }).is_ok() {
        let refusal = reorder_list(&shop.book, None, None, shop.now).unwrap_err();
        assert_eq!(refusal.reason, Reason::CurrencyMismatch);
    }
}
