//! The small grammars of options: what is read, and how what is not is refused.

use super::{
    Kept, Poured, Towels, figure, liquid_use, look, named_stock, pad_use, panel_off, sets, stock,
    swap, towels, weighing,
};
use fettlebook_contract::v1::{AsideReason, BinReason, Unit, liquid_amount::Amount};

#[test]
fn a_weigh_in_names_its_bottle_and_its_weight() {
    let read = weighing("B-03=412g").unwrap();
    assert_eq!((read.bottle.as_str(), read.gross_mg), ("B-03", 412_000));
    for text in ["B-03=412", "b3=412", "B03:412", "B-03 412", "B-03=0,412kg"] {
        assert_eq!(weighing(text).as_ref(), Ok(&read), "{text}");
    }
    for text in [
        "B-03",
        "B-03=",
        "=412g",
        "B-03=412ml",
        "B-03=-4g",
        "B-03=1,500 kg",
    ] {
        assert!(weighing(text).is_err(), "{text}");
    }
}

#[test]
fn a_look_grades_rebound_edge_and_face_in_any_order() {
    for text in [
        "P-01=rebound 4, edge 3, face 5",
        " P-01 = face 5,edge  3 , rebound 4",
    ] {
        let read = look(text).unwrap();
        assert_eq!(read.tag, "P-01", "{text}");
        let grades = (read.rebound_grade, read.edge_grade, read.face_grade);
        assert_eq!(grades, (4, 3, 5), "{text}");
    }
}

#[test]
fn a_look_that_lacks_or_stretches_a_grade_is_refused_by_its_name() {
    let cases = [
        ("P-01=rebound 4, edge 3", "does not grade the face"),
        ("P-01=rebound 4, edge 3, face 6", "'face 6'"),
        ("P-01=rebound 0, edge 3, face 5", "'rebound 0'"),
        ("P-01=rebound 4, edge three, face 5", "'edge three'"),
        ("P-01=rebound 4, edge 3, edge 3, face 5", "the edge twice"),
        ("P-01=rebound 4, edge 3, smell 5", "'smell'"),
        ("P-01=rebound 4, edge 3, face", "'face' has no grade"),
        ("P-01=rebound 4, edge 3, face 5,", "'' has no grade"),
        ("P-01", "rebound N"),
        ("=rebound 4, edge 3, face 5", "rebound N"),
    ];
    for (text, said) in cases {
        let refused = look(text).unwrap_err();
        assert!(refused.contains(said), "{text}: {refused}");
    }
}

#[test]
fn a_pad_is_reported_by_sections_and_by_what_was_found() {
    let cases = [
        ("P-07:torn", None, BinReason::Torn, AsideReason::Unspecified),
        (
            "P-07=9",
            Some(9),
            BinReason::Unspecified,
            AsideReason::Unspecified,
        ),
        (
            "P-07=9:dropped",
            Some(9),
            BinReason::Unspecified,
            AsideReason::Dropped,
        ),
        (
            "P-07:cross-loaded",
            None,
            BinReason::Unspecified,
            AsideReason::CrossLoaded,
        ),
    ];
    for (text, sections, found, aside) in cases {
        let read = pad_use(text).unwrap();
        assert_eq!(read.tag, "P-07", "{text}");
        assert_eq!(read.section_count, sections, "{text}");
        assert_eq!((read.found(), read.aside()), (found, aside), "{text}");
    }
    assert!(pad_use("P-07:broken").unwrap_err().contains("glazed"));
    assert!(pad_use(":torn").is_err());
    assert!(pad_use("P-07=2.5").is_err());
}

#[test]
fn swaps_and_towels_are_read_in_their_forms_only() {
    let read = swap("P-02=P-09").unwrap();
    assert_eq!(
        (read.planned.as_str(), read.used.as_str()),
        ("P-02", "P-09")
    );
    assert!(swap("P-02").is_err());
    assert_eq!(towels("dropped=2"), Ok(Towels::Dropped(2)));
    let used = Towels::Used {
        bundle: "T-03".to_owned(),
        count: 9,
    };
    assert_eq!(towels("T-03=9"), Ok(used));
    let of_the_plan = Towels::Used {
        bundle: String::new(),
        count: 9,
    };
    assert_eq!(towels("9"), Ok(of_the_plan));
    assert!(towels("T-03=-9").is_err());
}

#[test]
fn liquid_used_is_a_volume_or_dots_and_a_weight_is_pointed_to_weighing() {
    let amount = |text| match liquid_use(text).unwrap().1 {
        Poured::Amount(poured) => poured.amount,
        Poured::All => None,
    };
    assert_eq!(amount("B-03=35ml"), Some(Amount::VolumeUl(35_000)));
    assert_eq!(amount("B-03=8 dots"), Some(Amount::DotCount(8)));
    assert!(liquid_use("B-03=35g").unwrap_err().contains("--weigh"));
    assert_eq!(amount("b3=35"), Some(Amount::VolumeUl(35_000)));
    assert_eq!(amount("B-03 35 ml"), Some(Amount::VolumeUl(35_000)));
    assert_eq!(liquid_use("B-03=empty").unwrap().1, Poured::All);
    let more = liquid_use("B-03=+10ml").unwrap_err();
    assert!(
        more.contains("'+10ml'") && more.contains("B-03=35ml"),
        "{more}"
    );
}

#[test]
fn a_panel_left_out_carries_a_minus() {
    assert_eq!(panel_off("-roof"), Ok("roof".to_owned()));
    assert!(panel_off("roof").is_err());
    assert!(panel_off("--roof").is_err());
    assert!(panel_off("-").is_err());
}

#[test]
fn stock_is_read_with_its_unit_and_refused_in_another() {
    let read = |text| stock(text).map(|stock| (stock.quantity, stock.unit));
    assert_eq!(read("50 pairs"), Ok((50, Unit::Pair)));
    assert_eq!(read("300 ml"), Ok((300_000, Unit::Microlitre)));
    assert_eq!(read("20 metres"), Ok((20_000, Unit::Millimetre)));
    assert_eq!(read("3"), Ok((3, Unit::Piece)));
    assert!(read("3 dots").is_err());
    let stock_of = |text| stock(text).unwrap();
    let kept = |unit| Kept {
        unit,
        full: Some(500_000),
    };
    let three = stock_of("3");
    assert_eq!(three.in_unit(kept(Unit::Pair), "--left", "S-01"), Ok(3));
    assert_eq!(
        three.in_unit(kept(Unit::Microlitre), "--left", "B-01"),
        Ok(3_000)
    );
    assert_eq!(
        three.in_unit(kept(Unit::Millimetre), "--left", "S-04"),
        Ok(3_000)
    );
    assert_eq!(
        stock_of("half").in_unit(kept(Unit::Microlitre), "--left", "B-01"),
        Ok(250_000)
    );
    assert_eq!(
        stock_of("¾").in_unit(kept(Unit::Microlitre), "--left", "B-01"),
        Ok(375_000)
    );
    let unknown = Kept {
        unit: Unit::Pair,
        full: None,
    };
    assert!(stock_of("half").in_unit(unknown, "--left", "S-01").is_err());
    let fault = stock_of("20 pairs")
        .in_unit(kept(Unit::Microlitre), "--left", "S-02")
        .unwrap_err();
    assert!(fault.message.contains("300 ml"));
    assert!(stock("250 g").unwrap_err().contains("fettle weigh"));
    assert_eq!(named_stock("S-02=30 ml").unwrap().0, "S-02");
}

#[test]
fn a_figure_is_exact_to_its_places() {
    assert_eq!(figure("1.05", &["g/ml"], 3), Ok(1_050));
    assert_eq!(figure("1.05 g/mL", &["g/ml"], 3), Ok(1_050));
    assert_eq!(figure("5.2 m/s²", &["m/s2"], 3), Ok(5_200));
    assert_eq!(figure("4500", &["/min"], 0), Ok(4_500));
    assert_eq!(figure("4500/min", &["/min"], 0), Ok(4_500));
    assert_eq!(figure("12,000/min", &["/min"], 0), Ok(12_000));
    assert_eq!(figure("1,05 g/ml", &["g/ml"], 3), Ok(1_050));
    for text in [
        "",
        "1,055",
        "-1",
        "1.0555",
        "1e3",
        "1.",
        "4500 kg",
        "99999999999999999999",
    ] {
        assert!(figure(text, &["g/ml"], 3).is_err(), "{text}");
    }
}

#[test]
fn sets_are_a_step_and_a_whole_number_of_them() {
    for text in ["cut=2", "cut = 2", "cut=2 sets"] {
        let read = sets(text).unwrap();
        assert_eq!((read.step.as_str(), read.set_count), ("cut", 2), "{text}");
    }
    for text in ["2", "=2", "cut=", "cut=two", "cut=1.5"] {
        let why = sets(text).unwrap_err();
        assert!(why.contains("cut=2"), "{text}: {why}");
    }
}
