//! Goal: what must be there for a job and is not used up is looked for, and stops only a routine that
//! says so.
//!
//! Method: the two-step names a film gauge, a light and a brush; each story changes what of them is
//! there. Source of the verdicts: the design's own rule, missing is watched unless the routine says must.

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::command::{Receipt, Said};
use fettlebook_model::kit::{Readiness, State};
use fettlebook_model::tool::{ToolKind, ToolNeed};
use fettlebook_model::{Command, Entry, Reason, Refusal, Tag};

use crate::shop::{Shop, done, id, make, receipt, replayed, restored, tag, tags_of, tool};

/// The stocked shop with the makes of two gauges and a light, none of them there, and the two-step
/// booked on Thursday, which names the first gauge and the light.
fn shop(must: bool) -> Shop {
    let mut shop = Shop::stocked();
    for (key, kind) in [
        ("film-gauge", ToolKind::FilmGauge),
        ("pocket-gauge", ToolKind::FilmGauge),
        ("inspection-light", ToolKind::InspectionLight),
    ] {
        let make = make(key, tool(kind));
        shop.say(Command::CreateMake { make });
    }
    names(&mut shop, &["film-gauge", "inspection-light"], must).unwrap();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop
}

/// Edits the two-step so that it names these tools.
fn names<'a>(shop: &'a mut Shop, makes: &[&str], must: bool) -> Result<&'a Entry, Refusal> {
    let was = shop.book.routine(&id("two-step")).unwrap();
    let was = was.as_ref().clone();
    let mut routine = was.clone();
    let need = |key: &&str| ToolNeed {
        make: id(key),
        must,
    };
    routine.tools = makes.iter().map(need).collect();
    shop.try_say(Command::EditRoutine { was, routine })
}

fn checked(shop: &Shop) -> JobCheck {
    let mut checks = check_jobs(&shop.book, &[id("thursday")], shop.now).unwrap();
    checks.remove(0)
}

/// The line of the gauge.
fn gauge(shop: &Shop) -> Line {
    let check = checked(shop);
    let lines = check.lines.into_iter();
    let mut tools = lines.filter(|line| line.kind == LineKind::Tool);
    let gauge = tools.next().unwrap();
    assert_eq!(gauge.make, Some(id("film-gauge")));
    gauge
}

fn picked(line: &Line) -> Vec<Tag> {
    line.picks.iter().map(|pick| pick.tag).collect()
}

fn came(shop: &mut Shop, make: &str, check_due: Option<&str>) {
    shop.receive_as(make, 1, |receipt| {
        receipt.check_due = check_due.map(|day| day.parse().unwrap());
    });
}

fn give_back(shop: &mut Shop, tags: &str, check_due: Option<&str>) -> Result<(), Refusal> {
    let check_due = check_due.map(|day| day.parse().unwrap());
    let tags = tags_of(tags);
    let said = Said::default();
    let command = Command::Return {
        said,
        tags,
        check_due,
        is_clean: None,
    };
    shop.try_say(command).map(|_| ())
}

#[test]
fn a_tool_that_is_missing_is_watched_and_stops_only_where_it_must_be_there() {
    for (must, verdict) in [(false, Verdict::Watch), (true, Verdict::Stop)] {
        let shop = shop(must);
        let line = gauge(&shop);
        assert_eq!((line.verdict, line.need, line.have), (verdict, 1, 0));
        assert!(line.reason.starts_with("Not there"), "{}", line.reason);
        assert!(line.todos[0].contains("Borrow or buy film gauge"));
        assert_eq!(checked(&shop).verdict, verdict);
    }
}

#[test]
fn a_tool_that_is_there_goes_along_by_its_tag_and_is_not_used_up() {
    let mut shop = shop(true);
    came(&mut shop, "film-gauge", None);
    came(&mut shop, "inspection-light", None);
    let tools = |shop: &Shop| {
        let lines = checked(shop).lines.into_iter();
        let tools = lines.filter(|line| line.kind == LineKind::Tool);
        tools
            .map(|line| (line.verdict, picked(&line)))
            .collect::<Vec<_>>()
    };
    let there = vec![
        (Verdict::Go, vec![tag("TL-01")]),
        (Verdict::Go, vec![tag("TL-02")]),
    ];
    assert_eq!(tools(&shop), there);
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    assert_eq!(shop.piece("TL-01").readiness, Readiness::Ready);
    let log = shop.entries.last().unwrap();
    assert!(!format!("{:?}", log.deeds).contains("TL-"));
}

#[test]
fn another_of_the_same_sort_does_as_well_and_is_named() {
    let mut shop = shop(true);
    came(&mut shop, "pocket-gauge", None);
    let line = gauge(&shop);
    assert_eq!(
        (line.verdict, picked(&line)),
        (Verdict::Go, vec![tag("TL-01")])
    );
    assert!(
        line.reason.contains("pocket gauge, does for it"),
        "{}",
        line.reason
    );
    came(&mut shop, "film-gauge", None);
    assert_eq!(picked(&gauge(&shop)), [tag("TL-02")]);
}

/// Of tools of no sort nobody knows whether one does for another.
#[test]
fn a_tool_of_no_sort_does_for_none_but_its_own_make() {
    let mut shop = shop(true);
    for name in ["trim-clips", "wheel-stand"] {
        let make = make(name, tool(ToolKind::Other));
        shop.say(Command::CreateMake { make });
    }
    names(&mut shop, &["trim-clips"], true).unwrap();
    came(&mut shop, "wheel-stand", None);
    let check = checked(&shop);
    let line = check.lines.iter().find(|line| line.kind == LineKind::Tool);
    let line = line.unwrap();
    assert_eq!((line.verdict, picked(line)), (Verdict::Stop, Vec::new()));
}

/// The job is on 5 March: a check due that day holds on it, one due the day before does not.
#[test]
fn a_gauge_past_its_check_is_watched_and_one_that_is_not_is_taken_first() {
    let mut shop = shop(true);
    came(&mut shop, "film-gauge", Some("2026-03-05"));
    assert_eq!(gauge(&shop).verdict, Verdict::Go);
    give_back(&mut shop, "TL-01", Some("2026-03-04")).unwrap();
    let line = gauge(&shop);
    assert_eq!(line.verdict, Verdict::Watch);
    assert!(line.reason.contains("2026-03-04"), "{}", line.reason);
    assert!(line.todos[0].contains("Have TL-01 checked"));
    came(&mut shop, "pocket-gauge", Some("2026-12-31"));
    assert_eq!(picked(&gauge(&shop)), [tag("TL-02")]);
}

#[test]
fn a_tool_is_set_aside_brought_back_with_its_next_check_moved_and_binned_like_other_kit() {
    let mut shop = shop(true);
    came(&mut shop, "film-gauge", Some("2026-03-01"));
    shop.set_aside("TL-01");
    let line = gauge(&shop);
    assert_eq!(line.verdict, Verdict::Stop);
    assert!(line.reason.contains("Set aside: TL-01"), "{}", line.reason);
    give_back(&mut shop, "TL-01", Some("2027-03-01")).unwrap();
    let piece = shop.piece("TL-01");
    let State::Tool(tool) = &piece.state else {
        panic!("a tool")
    };
    let due = tool.check_due_on.unwrap();
    assert_eq!(
        (piece.readiness, due.to_string()),
        (Readiness::Ready, "2027-03-01".into())
    );
    shop.move_to("TL-01", "van-a");
    let line = gauge(&shop);
    assert_eq!(line.verdict, Verdict::Watch);
    assert!(line.todos[0].contains("Move TL-01 from van-a to bench"));
    shop.lose("TL-01");
    assert_eq!(gauge(&shop).have, 0);
    assert_eq!(replayed(&shop.entries), shop.book);
    assert_eq!(restored(&shop.book), shop.book);
}

#[test]
fn a_check_of_what_is_no_tool_and_a_tool_that_is_no_tool_are_refused() {
    let mut shop = shop(false);
    shop.set_aside("P-01");
    let refused = give_back(&mut shop, "P-01", Some("2027-03-01")).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::WrongSort, "check_due_date")
    );
    let stray = Receipt {
        said: done("2026-03-04 10:00"),
        check_due: Some("2027-03-01".parse().unwrap()),
        ..receipt("coarse-foam-150", 1)
    };
    let refused = shop.try_say(Command::Receive(Box::new(stray))).unwrap_err();
    assert_eq!(refused.field, "check_due_date");
    let refused = names(&mut shop, &["coarse-foam-150"], true).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::WrongSort, "routine.tools.make")
    );
    let refused = names(&mut shop, &["film-gauge", "film-gauge"], true).unwrap_err();
    assert!(refused.what.contains("named twice"));
}

#[test]
fn what_a_routine_names_is_not_taken_back() {
    let mut shop = shop(false);
    let made = shop.entries.iter().find(|entry| {
        let deeds = format!("{:?}", entry.deeds);
        deeds.contains("MakeSet") && deeds.contains("film-gauge")
    });
    let seq = made.unwrap().seq;
    let refused = shop.reverse(seq).unwrap_err();
    assert_eq!(refused.reason, Reason::NotReversible);
    assert!(refused.what.contains("two-step"), "{}", refused.what);
}
