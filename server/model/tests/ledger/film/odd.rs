//! Readings that are odd are recorded and flagged; those that cannot be understood are refused.

use fettlebook_model::command::Said;
use fettlebook_model::film::OfJob;
use fettlebook_model::kept::{Kept, KeptMark};
use fettlebook_model::panel::Panel;
use fettlebook_model::{Command, Reason, Refusal, Seq};

use super::{after, before, shop};
use crate::shop::{Shop, at, id, saloon_job};

/// What is flagged of these readings, as one text.
fn flagged(shop: &mut Shop, of_job: Option<OfJob>, panels: &[&str]) -> String {
    let entry = shop.read(of_job, panels);
    assert_eq!(entry.deeds.len(), 1);
    let texts: Vec<&str> = entry.flags.iter().map(|flag| flag.text.as_str()).collect();
    texts.join("\n")
}

fn refused(shop: &mut Shop, of_job: Option<OfJob>, panels: &[&str]) -> Refusal {
    let before = shop.book.clone();
    let refused = shop.try_read(Said::default(), of_job, panels).unwrap_err();
    assert_eq!(shop.book, before, "nothing is changed");
    refused
}

#[test]
fn paint_that_grew_after_a_cut_is_flagged_panel_by_panel() {
    let mut shop = shop();
    shop.read(
        before("thursday"),
        &["bonnet 110 110 110", "roof 110 110 110"],
    );
    shop.go_to("2026-03-05 16:00");
    // 2 µm and 3 % of 116 are 5.48.
    let within = flagged(&mut shop, after("thursday"), &["roof 115 115 115"]);
    assert_eq!(within, "");
    let said = flagged(&mut shop, after("thursday"), &["bonnet 116 116 116"]);
    assert!(said.starts_with("The bonnet reads 116.0 µm"), "{said}");
    assert!(
        said.contains("no cut adds film") && !said.contains("roof"),
        "{said}"
    );
    assert_eq!(
        shop.film_of(Panel::Bonnet),
        Some(110),
        "and it raises nothing"
    );
}

#[test]
fn panels_that_all_grew_a_little_were_perhaps_changed_about() {
    let mut shop = shop();
    let read = |um: i64| {
        let panels = ["bonnet", "roof", "boot", "sill-left", "sill-right"];
        let told = panels.iter().enumerate();
        let told = told.map(|(at, panel)| {
            let um = um + i64::try_from(at).unwrap() % 2;
            format!("{panel} {um} {um} {um}")
        });
        told.collect::<Vec<_>>()
    };
    let (first, last) = (read(110), read(113));
    let first: Vec<&str> = first.iter().map(String::as_str).collect();
    let last: Vec<&str> = last.iter().map(String::as_str).collect();
    shop.read(before("thursday"), &first);
    shop.go_to("2026-03-05 16:00");
    let said = flagged(&mut shop, after("thursday"), &last);
    assert!(said.contains("The 5 panels read 3.0 µm more"), "{said}");
    assert!(said.contains("changed about"), "{said}");
}

#[test]
fn thicker_than_ever_is_flagged_beside_no_job_too_and_says_what_to_do() {
    let mut shop = shop();
    assert_eq!(flagged(&mut shop, None, &["roof 95 96 97"]), "");
    let said = flagged(&mut shop, None, &["roof 180 182 184"]);
    assert!(
        said.contains("180 µm at its lowest, and was 95 µm"),
        "{said}"
    );
    assert!(
        said.contains("painted anew") && said.contains("goes on with 95 µm"),
        "{said}"
    );
}

#[test]
fn what_no_paint_reads_is_flagged() {
    for (read, named) in [
        ("roof 1200 1190 1180", "1200 µm, more than paint alone has"),
        ("roof 501", "501 µm, more than paint alone has"),
        ("roof 0", "0 µm, less than any paint has"),
        ("roof 112 5", "5 µm, less than any paint has"),
        ("roof 60 121", "reads from 60 µm to 121 µm"),
    ] {
        let said = flagged(&mut shop(), None, &[read]);
        assert!(said.contains(named), "{read}: {said}");
    }
    assert_eq!(flagged(&mut shop(), None, &["roof 500 251 250"]), "");
    assert_eq!(flagged(&mut shop(), None, &["roof 40 41 80"]), "");
}

#[test]
fn what_stands_beside_the_wrong_time_of_its_job_is_flagged() {
    let mut shop = shop();
    let said = flagged(&mut shop, after("thursday"), &["roof 95 96 97"]);
    assert!(said.contains("before thursday starts"), "{said}");
    shop.say(Command::CallOff {
        said: Said::default(),
        job: id("thursday"),
    });
    let said = flagged(&mut shop, before("thursday"), &["roof 95 96 97"]);
    assert!(said.contains("thursday was called off"), "{said}");
}

#[test]
fn what_cannot_be_understood_is_refused_and_changes_nothing() {
    let mut shop = shop();
    shop.say(Command::CreateCar {
        car: fettlebook_shed::car("red-van", fettlebook_model::car::CarClass::Van),
    });
    let mut other = saloon_job("of-the-van", "2026-03-06 08:00");
    other.car = id("red-van");
    shop.say(Command::BookJob { job: other });
    for (of_job, panels, reason, field) in [
        (None, vec![], Reason::FieldMissing, "panels"),
        (None, vec!["roof"], Reason::FieldMissing, "panels.spots_um"),
        (
            None,
            vec!["roof 95", "roof 96"],
            Reason::FieldInvalid,
            "panels.panel",
        ),
        (before("friday"), vec!["roof 95"], Reason::JobUnknown, "job"),
        (
            after("of-the-van"),
            vec!["roof 95"],
            Reason::FieldInvalid,
            "job",
        ),
    ] {
        let refused = refused(&mut shop, of_job, &panels);
        assert_eq!((refused.reason, refused.field.as_str()), (reason, field));
    }
    let many = format!("roof{}", " 95".repeat(21));
    assert!(refused(&mut shop, None, &[&many]).what.contains("21 spots"));
    let of_van = Command::RecordFilm(Box::new(fettlebook_model::command::FilmRead {
        said: Said::default(),
        car: id("red-van"),
        of_job: None,
        panels: super::spots(&["rear-door-left 95"]),
    }));
    let refused = shop.try_say(of_van).unwrap_err();
    assert_eq!(refused.reason, Reason::PanelUnknown);
    assert!(refused.todo.contains("bonnet"), "{}", refused.todo);
}

/// Two devices read one car without signal: the newest by when it was read counts, in whatever order they tell it.
#[test]
fn devices_may_tell_their_readings_in_any_order() {
    let kept = |number, hour: &str| Said {
        kept: Some(Kept {
            mark: KeptMark {
                number,
                seen: Seq(1),
                kept_at: at(hour),
            },
            by: "van-a".to_owned(),
            tag_letter: None,
        }),
        ..Said::default()
    };
    let first = (kept(1, "2026-03-05 10:00"), ["roof 98 99 100"]);
    let last = (kept(2, "2026-03-05 12:00"), ["roof 96 97 98"]);
    let mut seen = Vec::new();
    for order in [[&first, &last], [&last, &first]] {
        let mut shop = shop();
        shop.go_to("2026-03-05 18:00");
        for (said, panels) in order {
            shop.try_read(said.clone(), None, panels).unwrap();
        }
        assert_eq!(shop.film_of(Panel::Roof), Some(96));
        seen.push(shop.book.car(&id("medium-saloon-silver")).unwrap().clone());
    }
    assert_eq!(seen[0], seen[1]);
}
