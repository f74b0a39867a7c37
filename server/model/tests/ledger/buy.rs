//! What to buy for a job: as few pieces as bring it its chance, and one number in check and list.

mod books;
mod first_week;

use std::collections::BTreeMap;

use fettlebook_model::Id;
use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::command::NewOrder;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::reorder::{Cause, reorder_list};

use crate::shop::{Shop, id, offer, order_of, packs, supplier};
use books::Story;

/// What a check says to buy, by make.
fn buys(checks: &[JobCheck]) -> BTreeMap<Id, i64> {
    let mut buys = BTreeMap::new();
    let lines = checks.iter().flat_map(|check| &check.lines);
    for line in lines.filter(|line| line.buy > 0) {
        *buys.entry(line.make.clone().unwrap()).or_insert(0) += line.buy;
    }
    buys
}

/// What the list says booked jobs need, by make.
fn needs(shop: &Shop) -> BTreeMap<Id, i64> {
    let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
    let lines = list.baskets.into_iter().flat_map(|basket| basket.lines);
    lines
        .filter(|line| line.cause != Cause::KeepLevel)
        .map(|line| (line.make, line.need_count))
        .collect()
}

/// The shop with all that the list says, in its packs.
fn by_packs(shop: &Shop) -> Shop {
    let mut with = shop.clone();
    let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
    for line in list.baskets.iter().flat_map(|basket| &basket.lines) {
        let pieces = line.pack_count * line.pieces_per_pack;
        take_in(&mut with, line.make.as_str(), pieces);
    }
    with
}

fn check(shop: &Shop, job: &str) -> JobCheck {
    check_jobs(&shop.book, &[id(job)], shop.now)
        .unwrap()
        .remove(0)
}

/// Takes so many pieces in; towels in one bundle.
fn take_in(shop: &mut Shop, make: &str, count: i64) {
    if make == "edgeless-towel-400g" {
        shop.receive_towels(count, 0);
    } else if count > 0 {
        shop.receive(make, count);
    }
}

/// Whether pads and liquids carry a job: with the chance that is aimed at, and none of them short.
fn goes_for_chance(check: &JobCheck) -> bool {
    let is_short = |line: &Line| {
        let is_weighed = matches!(line.kind, LineKind::Pad | LineKind::Liquid);
        is_weighed && line.short > 0
    };
    check.carry_chance.unwrap() >= check.carry_target && !check.lines.iter().any(is_short)
}

/// The bars of the issue over 200 random books: with all that is told the job goes for chance, without
/// any one piece of it not, and the list needs the same.
#[test]
fn with_all_that_is_told_a_job_goes_and_without_any_one_piece_it_does_not() {
    let (mut bought, mut for_chance_alone) = (0, 0);
    for seed in 0..200 {
        let story = Story::of(seed);
        let shop = story.shop();
        let before = check(&shop, "thursday");
        let told = buys(std::slice::from_ref(&before));
        let by_the_piece = story.clone().by_the_piece().shop();
        assert_eq!(
            needs(&by_the_piece),
            buys(&[check(&by_the_piece, "thursday")]),
            "{seed} {story:?}"
        );
        assert!(
            goes_for_chance(&check(&by_packs(&shop), "thursday")),
            "{seed} {story:?}"
        );
        if told.is_empty() {
            assert!(goes_for_chance(&before), "{seed} {story:?}");
            continue;
        }
        let with = |without: Option<&Id>| {
            let mut shop = shop.clone();
            for (make, count) in &told {
                let count = count - i64::from(without == Some(make));
                take_in(&mut shop, make.as_str(), count);
            }
            check(&shop, "thursday")
        };
        let after = with(None);
        assert!(goes_for_chance(&after), "{seed} {told:?} {story:?}");
        assert_eq!(buys(&[after]), BTreeMap::new(), "{seed} {story:?}");
        for make in told.keys() {
            let without = goes_for_chance(&with(Some(make)));
            assert!(!without, "{seed}: {make} of {told:?} {story:?}");
        }
        bought += 1;
        let short = before.lines.iter().any(|line| line.short > 0);
        for_chance_alone += usize::from(!short);
    }
    assert!(bought >= 80, "{bought}");
    assert!(for_chance_alone >= 4, "{for_chance_alone}");
}

/// Two jobs on two days in a row and one a week later: the check of all of them says what the list does, and with
/// all of it bought at once all of them go.
#[test]
fn the_check_of_all_jobs_and_the_list_say_one_number() {
    let mut differ_from_the_first = 0;
    for seed in 0..60 {
        let story = Story::of(seed).by_the_piece();
        let mut shop = story.shop();
        for (job, start) in [
            ("friday", "2026-03-13 08:00"),
            ("later", "2026-03-20 08:00"),
        ] {
            story.book(&mut shop, job, start);
        }
        let ids = ["later", "thursday", "friday"].map(id);
        let told = buys(&check_jobs(&shop.book, &ids, shop.now).unwrap());
        assert_eq!(needs(&shop), told, "{seed} {story:?}");
        let after = by_packs(&shop);
        let together = check_jobs(&after.book, &ids, after.now).unwrap();
        for check in &together {
            assert!(goes_for_chance(check), "{seed} {check:?} {story:?}");
        }
        let first = buys(&[check(&shop, "thursday")]);
        differ_from_the_first += usize::from(first != told);
    }
    assert!(differ_from_the_first >= 20, "{differ_from_the_first}");
}

/// A job that nobody logged does not ask for its kit again with every job that comes after it.
#[test]
fn a_job_that_is_overdue_asks_for_its_kit_once() {
    let mut lacked = 0;
    for seed in 0..30 {
        let story = Story::of(seed).by_the_piece();
        let mut shop = story.shop();
        shop.go_to("2026-03-16 08:00");
        let alone = buys(&[check(&shop, "thursday")]);
        story.book(&mut shop, "later", "2026-03-20 08:00");
        let ids = ["thursday", "later"].map(id);
        let checks = check_jobs(&shop.book, &ids, shop.now).unwrap();
        let told = buys(&checks[..1]);
        assert!(
            told.iter()
                .all(|(make, count)| *count <= alone.get(make).unwrap_or(&0) + 1),
            "{seed} {told:?} {alone:?} {story:?}"
        );
        lacked += usize::from(!alone.is_empty());
    }
    assert!(lacked >= 10, "{lacked}");
}

/// Of books whose pads of both steps are alike worn, there are some to which a pad of either make brings the
/// chance: there the price decides, and nothing else.
#[test]
fn of_two_that_help_the_cheaper_is_bought() {
    let told = |story: &Story, coarse: &str, fine: &str| {
        let mut shop = story.shop();
        let offers = vec![
            offer("coarse-foam-150", 1, &[(1, coarse)]),
            offer("fine-foam-150", 1, &[(1, fine)]),
            offer("coarse-compound-1l", 1, &[(1, "900.00")]),
            offer("fine-polish-500ml", 1, &[(1, "900.00")]),
        ];
        shop.supply(supplier("millrace", 1, offers));
        buys(&[check(&shop, "thursday")])
    };
    let mut decided = 0;
    for (pads, torn) in [(5, 4), (6, 4), (7, 4), (6, 9), (7, 9), (8, 9)] {
        for sections in (15..165).step_by(10) {
            let story = Story::worn_alike(pads, sections, torn);
            let coarse_is_cheap = told(&story, "1.00", "300.00");
            let fine_is_cheap = told(&story, "300.00", "1.00");
            let has = |told: &BTreeMap<Id, i64>, make| told.contains_key(&id(make));
            let [coarse, fine] = ["coarse-foam-150", "fine-foam-150"];
            decided += usize::from(
                has(&coarse_is_cheap, coarse)
                    && !has(&coarse_is_cheap, fine)
                    && has(&fine_is_cheap, fine)
                    && !has(&fine_is_cheap, coarse),
            );
        }
    }
    assert!(decided > 0);
}

/// Basis: common practice, no source: thin foam dries a day. Washed today they are dry in time; washed on
/// the evening before they are not.
#[test]
fn what_washing_brings_back_in_time_is_not_bought() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    shop.book_saloon("saturday", "2026-03-07 08:00");
    let cut = |shop: &Shop| {
        let lines = check(shop, "saturday").lines;
        let mut lines = lines.into_iter();
        lines
            .find(|line| line.step == Some(id("cut")) && line.kind == LineKind::Pad)
            .unwrap()
    };
    let in_time = cut(&shop);
    assert!(
        in_time.short > 0 && in_time.verdict > Verdict::Go,
        "{in_time:?}"
    );
    assert_eq!(in_time.buy, 0, "{in_time:?}");
    assert!(
        in_time
            .todos
            .iter()
            .any(|todo| todo.starts_with("Wash P-01"))
    );
    assert!(!in_time.todos.iter().any(|todo| todo.starts_with("Buy")));
    shop.go_to("2026-03-06 18:00");
    let too_late = cut(&shop);
    assert_eq!(too_late.buy, too_late.short);
    assert!(too_late.todos.iter().any(|todo| todo.starts_with("Buy")));
}

/// Basis: common practice, no source: a towel goes down a grade at fifty washes. A bundle that has 48 behind it
/// wipes two more cars, and the third one's towels are bought before it.
#[test]
fn towels_that_will_have_had_their_washes_are_bought_for_the_job_after() {
    let towels_for = |washes: i64| {
        let mut shop = Shop::new();
        for (make, count) in [("coarse-foam-150", 9), ("fine-foam-150", 9)] {
            shop.receive(make, count);
        }
        shop.receive_towels(24, washes);
        for (job, start) in [
            ("first", "2026-03-09 08:00"),
            ("second", "2026-03-12 08:00"),
            ("third", "2026-03-16 08:00"),
        ] {
            shop.book_saloon(job, start);
        }
        let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
        let lines = list.baskets.into_iter().flat_map(|basket| basket.lines);
        let lines = lines.filter(|line| line.make == id("edgeless-towel-400g"));
        let jobs: Vec<Id> = lines.flat_map(|line| line.jobs).collect();
        jobs
    };
    assert_eq!(towels_for(47), []);
    assert_eq!(towels_for(48), [id("third")]);
}

/// Source: by hand: due on the 8th and a day to have it ready, it is there on Monday the 9th and not on
/// Sunday.
#[test]
fn what_comes_before_the_job_is_told_and_not_bought() {
    let mut shop = Shop::stocked();
    shop.lose("B-01");
    let offers = vec![offer("coarse-compound-1l", 1, &[(1, "24.50")])];
    shop.supply(supplier("millrace", 4, offers));
    shop.book_saloon("sunday", "2026-03-08 08:00");
    shop.book_saloon("monday", "2026-03-09 08:00");
    let compound = |shop: &Shop, job: &str| {
        let lines = check(shop, job).lines;
        let mut lines = lines.into_iter();
        lines
            .find(|line| line.make == Some(id("coarse-compound-1l")))
            .unwrap()
    };
    assert_eq!(compound(&shop, "monday").buy, 1);
    shop.order(NewOrder {
        ..order_of("millrace", vec![packs("coarse-compound-1l", 1)])
    });
    let monday = compound(&shop, "monday");
    assert_eq!(
        (monday.buy, monday.verdict),
        (0, Verdict::Stop),
        "{monday:?}"
    );
    assert!(
        monday.reason.contains("On their way: 1."),
        "{}",
        monday.reason
    );
    let todo = "See that what is on its way comes before the start, or leave panels out.";
    assert!(
        monday.todos.iter().any(|said| said == todo),
        "{:?}",
        monday.todos
    );
    let sunday = compound(&shop, "sunday");
    assert_eq!(sunday.buy, 1, "{sunday:?}");
}

/// What protects skin and eyes is asked for whether or not it is on its way.
#[test]
fn gloves_on_their_way_are_not_done_without() {
    let mut shop = Shop::stocked();
    shop.count("S-01", 1);
    shop.supply(supplier(
        "millrace",
        1,
        vec![offer("nitrile-gloves", 1, &[(1, "9.00")])],
    ));
    shop.book_saloon("monday", "2026-03-09 08:00");
    let gloves = |shop: &Shop| {
        let lines = check(shop, "monday").lines;
        lines
            .into_iter()
            .find(|line| line.kind == LineKind::Sundry)
            .unwrap()
    };
    let protects = |todos: &[String]| {
        todos
            .iter()
            .any(|todo| todo.contains("do not do without what protects skin, eyes or paint"))
    };
    let lacking = gloves(&shop);
    assert!(lacking.buy == 1 && protects(&lacking.todos), "{lacking:?}");
    shop.order(NewOrder {
        ..order_of("millrace", vec![packs("nitrile-gloves", 1)])
    });
    let coming = gloves(&shop);
    assert!(coming.buy == 0 && coming.short == 1, "{coming:?}");
    assert!(
        coming.verdict == Verdict::Watch && protects(&coming.todos),
        "{coming:?}"
    );
}

/// A target that no number of new pads reaches: only pads that are worth their trouble are told, and the
/// job stays below it.
#[test]
fn a_target_beyond_reach_does_not_buy_for_ever() {
    let mut shop = Shop::stocked();
    shop.set_policy(PolicyKey::CarryTargetPermille, 999);
    shop.edit_pad("coarse-foam-150", |figures| {
        figures.rated_work_sections = Some(20)
    });
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let before = check(&shop, "thursday");
    let told = buys(std::slice::from_ref(&before));
    let pads = told.get(&id("coarse-foam-150")).copied().unwrap_or(0);
    assert!(pads <= 12, "{told:?}");
    for (make, count) in &told {
        take_in(&mut shop, make.as_str(), *count);
    }
    let after = check(&shop, "thursday");
    assert!(after.carry_chance.unwrap() < 0.999);
    assert!(after.carry_chance >= before.carry_chance);
}
