//! How panels are written: measured, read, left out, and what takes them where machines share a step.

use super::{PanelOptions, differing, film, measured, reach};
use fettlebook_contract::v1::{AreaBasis, Panel, PanelPart, Reach};

#[test]
fn a_panel_is_measured_as_a_product_or_as_an_area() {
    let bonnet = Ok(("bonnet".to_owned(), 1_080_000));
    assert_eq!(measured("bonnet=1200 mm x 900 mm"), bonnet);
    assert_eq!(measured("bonnet = 1.08 m2"), bonnet);
    assert!(measured("bonnet").is_err());
    assert!(measured("bonnet=12 mm").is_err());
    assert_eq!(film("roof=3.5 mil"), Ok(("roof".to_owned(), 88)));
}

#[test]
fn what_is_told_of_one_panel_comes_together() {
    let options = PanelOptions {
        measure: vec![("bonnet".to_owned(), 1_080_000)],
        leave_out: vec!["roof".to_owned()],
        film: vec![("bonnet".to_owned(), 110)],
        reach: Vec::new(),
    };
    let mut panels = Vec::new();
    options.put_into(&mut panels);
    assert_eq!(panels.len(), 2);
    assert_eq!(
        (panels[0].measured_mm2, panels[0].film_um),
        (Some(1_080_000), Some(110))
    );
    assert!(panels[1].left_out);
}

#[test]
fn an_edit_sends_back_what_differs_and_no_estimate() {
    let estimated = Panel {
        panel: "roof".to_owned(),
        area_mm2: 1_420_000,
        basis: AreaBasis::Class.into(),
        film_um: Some(120),
        ..Panel::default()
    };
    let plain = Panel {
        panel: "bonnet".to_owned(),
        film_um: None,
        ..estimated.clone()
    };
    let sent = differing(vec![estimated, plain]);
    assert_eq!(sent.len(), 1);
    assert_eq!((sent[0].area_mm2, sent[0].film_um), (0, Some(120)));
}

fn parts(text: &str) -> Vec<(Reach, i64)> {
    let (_, parts) = reach(text).unwrap();
    let told = |part: &PanelPart| (part.reach(), part.permille);
    parts.iter().map(told).collect()
}

#[test]
fn a_panel_takes_one_machine_whole_or_several_each_a_part() {
    assert_eq!(reach("sills=hand").unwrap().0, "sills");
    assert_eq!(parts("sills=hand"), [(Reach::Hand, 1_000)]);
    let doors = "doors=big 90 % + spot 8.5% + pencil 1.5 %";
    let expected = [(Reach::Big, 900), (Reach::Spot, 85), (Reach::Pencil, 15)];
    assert_eq!(parts(doors), expected);
    assert_eq!(parts("roof=usual"), []);
}

#[test]
fn what_is_no_reach_is_refused_with_what_was_read() {
    for (text, says) in [
        ("sills", "PANEL=VALUE"),
        (
            "sills=elbow",
            "'elbow' is not one of big, spot, pencil, hand",
        ),
        ("doors=big 90 + spot x", "'x'"),
        ("doors=big 90 % +", "''"),
    ] {
        let why = reach(text).unwrap_err();
        assert!(why.contains(says), "{text}: {why}");
    }
}

#[test]
fn what_is_said_of_a_panel_takes_the_place_of_what_was() {
    let said = |text: &str| PanelOptions {
        reach: vec![reach(text).unwrap()],
        ..PanelOptions::default()
    };
    assert!(!said("roof=spot").is_empty());
    let mut panels: Vec<Panel> = Vec::new();
    for (text, reaches) in [
        ("roof=big 60 % + spot 40 %", vec![Reach::Big, Reach::Spot]),
        ("roof=pencil", vec![Reach::Pencil]),
        ("roof=usual", vec![]),
    ] {
        said(text).put_into(&mut panels);
        let of_roof: Vec<_> = panels[0].parts.iter().map(PanelPart::reach).collect();
        assert_eq!((panels.len(), of_roof), (1, reaches), "{text}");
    }
}
