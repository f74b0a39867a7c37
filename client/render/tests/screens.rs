//! The screens of a day at four widths, with colour and without, as they are kept beside this file.

use std::collections::BTreeSet;

use super::super::scenario::cost::{quoted, with_labour};
use super::super::scenario::{
    COMPOUND_CAUTION, at, bottle, check, check_with_chances, coloured, crowded_check, kit, life,
    pad, plain, screen, week,
};
use super::super::scenario::{entry, glance, supply, wear};
use super::super::{
    Screen, book as book_page, budget, check as check_page, clocks, kit as kit_page,
    quote as quote_page, start as start_page, today as today_page,
};
use super::super::{entry as entry_page, reorder, wear as wear_page};
use super::quote::HEAD;
use super::take::{entry as taken_entry, pick, pieces};
use fettlebook_contract::v1::{
    Basis, CheckJobsResponse, ComingOrder, Deed, DeedKind, DryingKit, DueOrder, Entry, FigureBasis,
    GetTodayResponse, Job, Make, PolicyLine, Routine, SoiledKit, StartResponse, StarterKit,
    StarterMake, Step, Verdict, WearBand,
};
use textwrap::core::display_width;

/// One screen at each width, with colour and without.
fn at_each_width(page: impl Fn(&Screen) -> String) -> String {
    let mut text = String::new();
    for width in [40, 60, 80, 120] {
        let shown = page(&screen(width));
        for line in plain(&shown).lines() {
            assert!(display_width(line) <= width, "{width}: {line}");
            assert!(!line.contains("safe"), "{line}");
        }
        text.push_str(&format!("--- {width} columns\n{}\n", plain(&shown)));
        text.push_str(&format!(
            "--- {width} columns, in colour\n{}\n",
            coloured(&shown)
        ));
    }
    text
}

fn known() -> BTreeSet<String> {
    BTreeSet::from([COMPOUND_CAUTION.to_owned()])
}

fn checked(answer: &CheckJobsResponse) -> String {
    at_each_width(|screen| check_page::short(screen, answer, &known()))
}

fn check_that_goes() -> CheckJobsResponse {
    let mut answer = check_with_chances();
    answer.verdict = Verdict::Go.into();
    for check in &mut answer.checks {
        check.verdict = Verdict::Go.into();
        check.carry_chance = Some(0.97);
        for line in &mut check.lines {
            line.verdict = Verdict::Go.into();
        }
    }
    answer
}

#[test]
fn the_check() {
    insta::assert_snapshot!("check_go", checked(&check_that_goes()));
    insta::assert_snapshot!("check_watch", checked(&check_with_chances()));
    insta::assert_snapshot!("check_stop", checked(&check()));
    insta::assert_snapshot!("check_crowded", checked(&crowded_check()));
}

#[test]
fn the_first_check_of_a_liquid() {
    let answer = check_that_goes();
    let first = |screen: &Screen| check_page::short(screen, &answer, &BTreeSet::new());
    insta::assert_snapshot!("check_first", at_each_width(first));
}

#[test]
fn the_week() {
    insta::assert_snapshot!(
        "week",
        at_each_width(|screen| check_page::week(screen, &week(4)))
    );
}

#[test]
fn the_take() {
    let taken = |screen: &Screen| {
        super::super::take::taken(screen, &taken_entry(), None, &pick(), &pieces())
    };
    insta::assert_snapshot!("take", at_each_width(taken));
}

fn tags(tags: &[&str]) -> Vec<String> {
    tags.iter().map(|tag| (*tag).to_owned()).collect()
}

fn evening() -> GetTodayResponse {
    let job = |job: &str, hours| Job {
        job: job.to_owned(),
        place: "van-a".to_owned(),
        start_time: at(hours),
        ..Job::default()
    };
    let soiled = |place: &str, by| SoiledKit {
        place: place.to_owned(),
        tags: tags(&["P-01", "P-02", "P-03", "P-07", "T-01"]),
        towel_count: 7,
        dry_time: at(10),
        wash_by_time: by,
    };
    let due = |make: &str, date: &str, late| DueOrder {
        make_name: make.to_owned(),
        need_count: 5,
        order_by_date: date.to_owned(),
        late,
        ..DueOrder::default()
    };
    let order = |order: &str, late| ComingOrder {
        order: order.to_owned(),
        make_names: tags(&["coarse foam 150", "masking tape 50 m"]),
        due_date: "2026-11-25".to_owned(),
        late,
    };
    GetTodayResponse {
        as_of_time: at(-14),
        unlogged: (1..=5)
            .map(|number| job(&format!("job-{number}"), -38))
            .collect(),
        next_job: Some(job("saloon-thursday", 0)),
        next_check: check().checks.into_iter().next(),
        to_wash: vec![soiled("bench", None), soiled("van-a", at(-24))],
        to_order: vec![
            due("edgeless towel 400 g", "2026-11-24", true),
            due("coarse compound 1 L", "2026-11-27", false),
            due("nitrile gloves, box of 50 pairs", "2026-11-27", false),
            due("masking tape 50 m", "2026-11-27", false),
            due("panel wipe 1 L", "2026-11-27", false),
            due("fine polish 500 mL", "2026-11-27", false),
        ],
        drying: vec![DryingKit {
            place: "bench".to_owned(),
            tags: tags(&["P-11", "P-12"]),
            dry_time: at(10),
        }],
        coming: vec![order("order-1", false), order("order-2", true)],
        ..GetTodayResponse::default()
    }
}

#[test]
fn today() {
    // As a van is told it: what is there comes first.
    let mut answer = evening();
    answer.to_wash.reverse();
    let text = plain(&today_page::show(&screen(80), &answer, 3));
    assert!(text.lines().count() <= 22, "{text}");
    insta::assert_snapshot!(
        "today",
        at_each_width(|screen| today_page::show(screen, &answer, 3))
    );
}

/// More of everything than is told one by one: it is a page still.
#[test]
fn a_day_with_much_of_everything_is_a_page_too() {
    let mut full = evening();
    let first = full.to_wash[0].clone();
    let soiled = ["van-a", "van-b", "van-c", "van-d"].map(|place| SoiledKit {
        place: place.to_owned(),
        ..first.clone()
    });
    full.to_wash = soiled.into();
    for (at, due) in full.to_order.iter_mut().enumerate() {
        due.order_by_date = format!("2026-11-{:02}", 24 + at);
    }
    let (dries, comes) = (full.drying[0].clone(), full.coming[0].clone());
    full.drying = vec![dries; 5];
    full.coming = vec![comes; 5];
    let text = plain(&today_page::show(&screen(80), &full, 3));
    assert!(text.lines().count() <= 22, "{text}");
    for told in ["Log ", "Next ", "Wash ", "Order ", "Drying ", "On its way "] {
        assert!(text.contains(told), "{told}: {text}");
    }
}

#[test]
fn an_empty_book_says_how_to_begin() {
    let empty = GetTodayResponse {
        as_of_time: at(0),
        empty: true,
        ..GetTodayResponse::default()
    };
    let text = plain(&today_page::show(&screen(80), &empty, 0));
    assert!(
        text.contains("This book is empty.") && text.contains("fettle start"),
        "{text}"
    );
}

#[test]
fn nothing_to_do_says_that_nothing_is_booked() {
    let idle = GetTodayResponse {
        as_of_time: at(0),
        ..GetTodayResponse::default()
    };
    let text = plain(&today_page::show(&screen(80), &idle, 0));
    assert_eq!(text.lines().count(), 2, "{text}");
    assert!(text.contains("no job is booked: fettle job add"), "{text}");
}

#[test]
fn the_kit_and_a_piece() {
    insta::assert_snapshot!(
        "kit",
        at_each_width(|screen| kit_page::list(screen, &kit()))
    );
    let pad = life(pad("P-07", 0.41, WearBand::Sound), &[Some(0.1), Some(0.41)]);
    insta::assert_snapshot!(
        "kit_show",
        at_each_width(|screen| kit_page::show(screen, &pad))
    );
    let bottle = life(bottle(), &[]);
    insta::assert_snapshot!(
        "kit_bottle",
        at_each_width(|screen| kit_page::show(screen, &bottle))
    );
}

#[test]
fn the_policy_stands_in_groups_with_what_matters_first() {
    let line = |key: &str, group: &str, rank, value, unit: &str| PolicyLine {
        key: key.to_owned(),
        group: group.to_owned(),
        rank,
        value,
        default_value: value,
        unit: unit.to_owned(),
        basis: Basis::CommonPractice.into(),
        meaning: "What it is for.".to_owned(),
    };
    let lines = [
        line("big_side_mm", "sections and strokes", 2, 450, "mm"),
        line("dot_ul", "dots and densities", 1, 250, "µL"),
        line("dry_thin_foam_s", "drying", 0, 86_400, "s"),
        line(
            "carry_target_permille",
            "lives and chances",
            0,
            950,
            "thousandths",
        ),
    ];
    insta::assert_snapshot!(plain(&book_page::policy(&screen(80), &lines)), @r"
    What to look at first
    Key           Value  Meaning
    dot_ul       250 µL  What it is for (common practice, no source)
    big_side_mm  450 mm  What it is for (common practice, no source)

    Sections and strokes
    Key           Value  Meaning
    big_side_mm  450 mm  What it is for (common practice, no source)

    Dots and densities
    Key      Value  Meaning
    dot_ul  250 µL  What it is for (common practice, no source)

    Drying
    Key              Value  Meaning
    dry_thin_foam_s   24 h  What it is for (common practice, no source)

    Lives and chances
    Key                    Value  Meaning
    carry_target_permille   95 %  What it is for (common practice, no source)

    Change one with 'fettle book set KEY=VALUE', a whole number in the unit at the
    end of its name, or back with KEY=default.
    ");
}

#[test]
fn what_to_order() {
    let list = supply::to_reorder();
    let page = |screen: &Screen| reorder::show(screen, &list, "");
    insta::assert_snapshot!("reorder", at_each_width(page));
}

#[test]
fn a_quote() {
    let page = |screen: &Screen| quote_page::show(screen, &quoted(), HEAD);
    insta::assert_snapshot!("quote", at_each_width(page));
    let page = |screen: &Screen| quote_page::show(screen, &with_labour(), HEAD);
    insta::assert_snapshot!("quote_with_labour", at_each_width(page));
}

/// What is shown of a start: the kit that is offered, what it would set up, what it set up.
#[test]
fn a_start() {
    let make = |name: &str, usual_count, held_count| StarterMake {
        make: Some(Make {
            name: name.to_owned(),
            ..Make::default()
        }),
        usual_count,
        held_count,
        bases: vec![FigureBasis {
            figure: "pad.face_mm".to_owned(),
            basis: Basis::CommonPractice.into(),
        }],
    };
    let step = |step: &str| Step {
        step: step.to_owned(),
        ..Step::default()
    };
    let offered = StarterKit {
        starter_kit: "big".to_owned(),
        name: "one big orbital".to_owned(),
        text: "One orbital for the whole car, with coarse and fine pads.".to_owned(),
        makes: vec![make("coarse foam 150", 5, 0), make("fine foam 150", 6, 2)],
        routines: vec![Routine {
            name: "two-step: cut, then finish".to_owned(),
            steps: vec![step("cut"), step("finish")],
            ..Routine::default()
        }],
    };
    let page = |screen: &Screen| start_page::kit(screen, &offered);
    insta::assert_snapshot!("start_kit", at_each_width(page));
    let deed = |kind: DeedKind| Deed {
        kind: kind.into(),
        ..Deed::default()
    };
    let set_up = Entry {
        seq: 1,
        deeds: vec![
            deed(DeedKind::MakeSet),
            deed(DeedKind::RoutineSet),
            deed(DeedKind::Received),
            deed(DeedKind::Received),
            deed(DeedKind::CarSet),
            deed(DeedKind::JobSet),
        ],
        flags: Vec::new(),
        ..entry()
    };
    let answer = StartResponse {
        entry: Some(set_up),
        ..StartResponse::default()
    };
    let page = |screen: &Screen| {
        [
            start_page::looked(screen, &answer),
            start_page::begun(screen, &answer),
            start_page::to_write(screen, &kit()),
            start_page::what_now(screen, &answer),
        ]
        .join("\n\n")
    };
    insta::assert_snapshot!("start", at_each_width(page));
}

/// The screens that a day hangs on fit a small terminal whole.
#[test]
fn a_check_with_twelve_lines_that_stop_a_week_a_take_and_today_fit_22_lines() {
    let page = screen(80);
    for (name, text) in [
        (
            "check",
            check_page::short(&page, &crowded_check(), &known()),
        ),
        ("week", check_page::week(&page, &week(4))),
        ("today", today_page::show(&page, &evening(), 0)),
        (
            "take",
            super::super::take::taken(&page, &taken_entry(), None, &pick(), &pieces()),
        ),
    ] {
        let lines = plain(&text).lines().count();
        assert!(lines <= 22, "{name}: {lines} lines\n{}", plain(&text));
    }
    let stops = crowded_check()
        .checks
        .into_iter()
        .flat_map(|check| check.lines);
    let stops = stops.filter(|line| line.verdict() == Verdict::Stop);
    assert!(stops.count() >= 12);
}

#[test]
fn the_kit_by_its_own_clocks_and_what_is_to_be_replaced() {
    let pieces = glance::pieces();
    let page = |screen: &Screen| clocks::list(screen, &pieces);
    insta::assert_snapshot!("clocks", at_each_width(page));
    let ahead = glance::budget();
    let page = |screen: &Screen| {
        let others = clocks::by_make(screen, &pieces);
        format!("{others}\n\n{}", budget::totals(screen, &ahead))
    };
    insta::assert_snapshot!("clocks_by_make", at_each_width(page));
    let page = |screen: &Screen| budget::show(screen, &ahead);
    insta::assert_snapshot!("budget", at_each_width(page));
}

#[test]
fn a_bottle_with_what_it_gave() {
    let life = glance::bottle_life();
    let page = |screen: &Screen| kit_page::show(screen, &life);
    insta::assert_snapshot!("bottle_life", at_each_width(page));
}

#[test]
fn a_battery_with_what_it_gave() {
    let life = glance::battery_life();
    let page = |screen: &Screen| kit_page::show(screen, &life);
    insta::assert_snapshot!("battery_life", at_each_width(page));
}

#[test]
fn what_wears() {
    let makes = [wear::coarse_foam(), wear::fine_foam()];
    let page = |screen: &Screen| wear_page::list(screen, &makes);
    insta::assert_snapshot!("wear", at_each_width(page));
    let page = |screen: &Screen| wear_page::show(screen, &makes[0]);
    insta::assert_snapshot!("wear_of_a_make", at_each_width(page));
}

#[test]
fn what_there_is_to_wash() {
    let soiled = evening().to_wash;
    let page = |screen: &Screen| today_page::soiled(screen, &soiled);
    insta::assert_snapshot!("wash", at_each_width(page));
}

#[test]
fn a_log_as_it_is_understood() {
    let logged = entry();
    let page = |screen: &Screen| entry_page::preview(screen, &logged);
    insta::assert_snapshot!("log", at_each_width(page));
}
