//! Looks at washed pads: three grades from 1 to 5, kept for later use.

use fettlebook_model::command::Said;
use fettlebook_model::deed::Deed;
use fettlebook_model::kit::Inspection;
use fettlebook_model::{Command, Entry, Reason, Refusal};

use crate::shop::{Shop, done, tag, tags_of};

const fn grades(rebound_grade: i64, edge_grade: i64, face_grade: i64) -> Inspection {
    Inspection {
        rebound_grade,
        edge_grade,
        face_grade,
    }
}

fn wash<'a>(
    shop: &'a mut Shop,
    said: Said,
    tags: &str,
    looks: &[(&str, Inspection)],
) -> Result<&'a Entry, Refusal> {
    shop.try_say(Command::Wash {
        said,
        tags: tags_of(tags),
        inspections: looks
            .iter()
            .map(|(pad, found)| (tag(pad), *found))
            .collect(),
    })
}

fn inspected(shop: &Shop, pad: &str) -> Option<Inspection> {
    shop.piece(pad).pad().unwrap().inspected
}

#[test]
fn what_a_look_at_a_wash_found_stays_with_the_pad() {
    let mut shop = Shop::stocked();
    let looks = [("P-02", grades(1, 5, 3)), ("P-01", grades(5, 5, 5))];
    let entry = wash(&mut shop, Said::default(), "P-01 P-02 P-03", &looks).unwrap();
    let found = |deed: &&Deed| matches!(deed, Deed::Inspected { .. });
    assert_eq!(entry.deeds.iter().filter(found).count(), 2);
    assert_eq!(inspected(&shop, "P-02"), Some(grades(1, 5, 3)));
    assert_eq!(inspected(&shop, "P-01"), Some(grades(5, 5, 5)));
    assert_eq!(inspected(&shop, "P-03"), None);
    assert_eq!(shop.piece("P-02").pad().unwrap().wash_count, 1);
    // A wash without a look leaves what the last one found.
    shop.wash("P-02");
    assert_eq!(inspected(&shop, "P-02"), Some(grades(1, 5, 3)));
}

#[test]
fn a_look_is_reversed_with_its_wash() {
    let mut shop = Shop::stocked();
    wash(
        &mut shop,
        Said::default(),
        "P-01",
        &[("P-01", grades(4, 4, 4))],
    )
    .unwrap();
    let second = wash(
        &mut shop,
        Said::default(),
        "P-01",
        &[("P-01", grades(2, 2, 2))],
    );
    let second = second.unwrap().seq;
    assert_eq!(inspected(&shop, "P-01"), Some(grades(2, 2, 2)));
    shop.reverse(second).unwrap();
    assert_eq!(inspected(&shop, "P-01"), Some(grades(4, 4, 4)));
}

/// What only the latest decides goes by when it was done, not by when it was reported.
#[test]
fn an_older_look_that_is_reported_late_does_not_take_the_place_of_a_newer_one() {
    let mut shop = Shop::stocked();
    shop.go_to("2026-03-07 12:00");
    let newer = done("2026-03-06 18:00");
    wash(&mut shop, newer, "P-01", &[("P-01", grades(2, 2, 2))]).unwrap();
    let older = done("2026-03-05 18:00");
    wash(&mut shop, older, "P-01", &[("P-01", grades(5, 5, 5))]).unwrap();
    assert_eq!(inspected(&shop, "P-01"), Some(grades(2, 2, 2)));
    let newest = done("2026-03-06 18:00");
    wash(&mut shop, newest, "P-01", &[("P-01", grades(1, 1, 1))]).unwrap();
    assert_eq!(inspected(&shop, "P-01"), Some(grades(1, 1, 1)));
}

/// What is washed, what was found, and the reason and field it is refused with.
type Case<'a> = (&'a str, &'a [(&'a str, Inspection)], Reason, &'a str);

#[test]
fn a_look_that_cannot_be_is_refused_with_the_whole_wash() {
    let mut shop = Shop::stocked();
    let good = grades(3, 3, 3);
    let cases: [Case<'_>; 5] = [
        (
            "P-01",
            &[("P-01", good), ("P-01", good)],
            Reason::FieldInvalid,
            "tag",
        ),
        ("P-01", &[("P-02", good)], Reason::FieldInvalid, "tag"),
        ("P-01", &[("P-99", good)], Reason::TagUnknown, "tag"),
        ("P-01 T-01", &[("T-01", good)], Reason::WrongSort, "tag"),
        (
            "P-01",
            &[("P-01", grades(1, 5, 3)), ("P-01", grades(0, 0, 0))],
            Reason::FieldInvalid,
            "tag",
        ),
    ];
    let before = shop.book.clone();
    for (tags, looks, reason, field) in cases {
        let refused = wash(&mut shop, Said::default(), tags, looks).unwrap_err();
        let field = format!("inspections.{field}");
        assert_eq!(
            (refused.reason, &refused.field),
            (reason, &field),
            "{looks:?}"
        );
        assert_eq!(shop.book, before);
    }
    assert!(wash(&mut shop, Said::default(), "P-01", &[("P-01", good)]).is_ok());
}
