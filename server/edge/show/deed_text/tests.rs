//! What is said of deeds.

use super::*;
use fettlebook_model::Seq;
use fettlebook_model::deed::Within;
use fettlebook_model::kit::PlateState;
use fettlebook_model::tool::ToolState;
use fettlebook_model::wear::BinReason;
use fettlebook_quantity::{Mass, Volume};

/// A plate that came in so.
fn came(state: State) -> Deed {
    Deed::Received {
        tag: "BP-01".parse().unwrap(),
        make: "plate-125-m8".parse().unwrap(),
        place: "bench".parse().unwrap(),
        state,
        readiness: None,
        at: None,
        cost: None,
    }
}

/// The whole sentence, which is put together from its parts as a client does.
fn said(deed: &Deed) -> String {
    let (said, subject) = (super::said(deed, None), deed.subject().word());
    let text = said.text(&subject);
    let colon = if said.is_apart() { ":" } else { "" };
    match said.clause().as_str() {
        "" => assert!(!text.starts_with(&subject), "{text}"),
        clause => assert_eq!(format!("{subject}{colon} {clause}."), text),
    }
    text
}

#[test]
fn a_deed_is_told_with_its_subject_first() {
    let tag = |text: &str| text.parse().unwrap();
    let within = Within::default;
    let cases = [
        (
            Deed::Weighed {
                tag: tag("B-03"),
                gross_mg: Mass::from_mg(121_000),
                tare_mg: Mass::from_mg(60_500),
                density_mg_per_ml: 1_100,
            },
            "B-03 weighed 121 g: 55 mL left.",
        ),
        (
            Deed::TowelsUsed {
                tag: tag("T-01"),
                within: within(),
                used_count: 6,
                dropped_count: 2,
                wiped_mm2: None,
            },
            "T-01: 6 towels used, 2 of them dropped.",
        ),
        (
            Deed::LiquidUsed {
                tag: tag("B-03"),
                within: within(),
                volume_ul: Volume::from_ul(35_000),
                planned_ul: Volume::from_ul(35_000),
                stated: false,
                rules: 1,
            },
            "B-03 gave 35 mL, as planned.",
        ),
        (
            came(State::Plate(PlateState {
                run_time_ms: 90_000_000,
                change_count: 40,
            })),
            "BP-01 came in as plate-125-m8 with 25 h and 40 pad changes behind it, to bench.",
        ),
        (
            came(State::Plate(PlateState::default())),
            "BP-01 came in as plate-125-m8, to bench.",
        ),
        (
            Deed::PlateUsed {
                tag: tag("BP-01"),
                within: within(),
                time_ms: 3_900_000,
                change_count: 1,
            },
            "BP-01 ran 1 h 5 min with 1 pad change.",
        ),
        (
            Deed::Binned {
                tag: tag("P-07"),
                reason: BinReason::Torn,
            },
            "P-07: binned, torn.",
        ),
        (
            Deed::PolicySet {
                key: PolicyKey::DotUl,
                value: None,
            },
            "policy: dot_ul is back to its default, 250 µL.",
        ),
        (Deed::Reversed { seq: Seq(12) }, "Entry 12 is reversed."),
    ];
    for (deed, expected) in cases {
        assert_eq!(said(&deed), expected);
    }
}

#[test]
fn weights_without_a_tare_and_tools_are_told_with_what_is_known() {
    let tag = |text: &str| text.parse().unwrap();
    let cases = [
        (
            Deed::GrossWeighed {
                tag: tag("B-03"),
                gross_mg: Mass::from_mg(121_000),
                density_mg_per_ml: 1_100,
                tare_mg: None,
            },
            "B-03 weighed 121 g; what is left follows once its empty weight is known.",
        ),
        (
            Deed::GrossWeighed {
                tag: tag("B-03"),
                gross_mg: Mass::from_mg(121_000),
                density_mg_per_ml: 1_100,
                tare_mg: Some(Mass::from_mg(60_500)),
            },
            "B-03 weighed 121 g: 55 mL left.",
        ),
        (
            Deed::Returned {
                tag: tag("TL-01"),
                check_due_on: Some("2027-06-30".parse().unwrap()),
                is_clean: None,
            },
            "TL-01: checked, due again by 2027-06-30.",
        ),
        (
            Deed::Returned {
                tag: tag("P-07"),
                check_due_on: None,
                is_clean: Some(true),
            },
            "P-07 came back from aside, clean.",
        ),
        (
            Deed::Received {
                tag: tag("TL-01"),
                make: "film-gauge".parse().unwrap(),
                place: "bench".parse().unwrap(),
                state: State::Tool(ToolState {
                    check_due_on: Some("2027-06-30".parse().unwrap()),
                }),
                readiness: None,
                at: None,
                cost: None,
            },
            "TL-01 came in as film-gauge, to bench, to be checked by 2027-06-30.",
        ),
        (
            Deed::TareFound {
                tag: tag("B-03"),
                tare_mg: Mass::from_mg(60_500),
            },
            "B-03: weighs 60.5 g empty, as worked out.",
        ),
    ];
    for (deed, expected) in cases {
        assert_eq!(said(&deed), expected);
    }
}

#[test]
fn a_sundry_is_told_in_its_own_unit() {
    let used = Deed::SundryUsed {
        tag: "S-03".parse().unwrap(),
        within: Within::default(),
        quantity: 14_980,
        planned_quantity: None,
        stated: true,
    };
    assert_eq!(
        text(&used, "S-03", Some(Unit::Millimetre)),
        "S-03: 14.98 m used."
    );
    assert_eq!(text(&used, "S-03", None), "S-03: 14980 used.");
}

#[test]
fn words_are_listed_as_people_do() {
    assert_eq!(list(["cut"]), "cut");
    assert_eq!(list(["cut", "refine", "finish"]), "cut, refine and finish");
}
