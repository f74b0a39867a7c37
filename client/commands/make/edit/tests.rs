//! Edits of makes as they are typed, and the fields that each names.

use super::Edit;
use crate::args::Cli;
use crate::commands::Command;
use crate::commands::make::MakeCommand;
use clap::Parser as _;
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{LiquidFigures, Make, PadFigures};

fn edit(words: &[&str]) -> Edit {
    let line = ["fettle", "make", "edit", "fine-foam-150"]
        .iter()
        .chain(words);
    match Cli::try_parse_from(line).unwrap().command {
        Some(Command::Make(make)) => match make {
            MakeCommand::Edit(edit) => *edit,
            other => panic!("{other:?}"),
        },
        other => panic!("{other:?}"),
    }
}

fn known(figures: Figures) -> Make {
    Make {
        make: "fine-foam-150".to_owned(),
        figures: Some(figures),
        ..Make::default()
    }
}

#[test]
fn only_what_is_given_is_changed_and_named_in_the_mask() {
    let pad = PadFigures {
        face_mm: 150,
        load_sections: Some(25),
        ..PadFigures::default()
    };
    let (make, paths) = edit(&["--load", "20", "--price", "19.50 EUR"])
        .change(&known(Figures::Pad(pad)))
        .unwrap();
    assert_eq!(paths, ["price", "pad.load_sections"]);
    let Some(Figures::Pad(pad)) = make.figures else {
        panic!("not a pad")
    };
    assert_eq!((pad.face_mm, pad.load_sections), (150, Some(20)));
}

#[test]
fn an_option_of_another_sort_is_refused_by_its_name() {
    let fault = edit(&["--face", "150 mm"])
        .change(&known(Figures::Liquid(LiquidFigures::default())))
        .unwrap_err();
    assert_eq!(&*fault.field, "--face");
    assert!(fault.message.contains("is a liquid"), "{}", fault.message);
}

#[test]
fn an_edit_of_nothing_is_refused() {
    let pad = Figures::Pad(PadFigures::default());
    assert_eq!(edit(&[]).change(&known(pad)).unwrap_err().exit.code(), 2);
}

#[test]
fn the_life_seen_is_named_in_the_mask_and_belongs_to_pads_only() {
    let words = ["--typical-life", "320", "--least-life", "180"];
    let (make, paths) = edit(&words)
        .change(&known(Figures::Pad(PadFigures::default())))
        .unwrap();
    assert_eq!(
        paths,
        ["pad.typical_life_sections", "pad.least_life_sections"]
    );
    let Some(Figures::Pad(pad)) = make.figures else {
        panic!("not a pad")
    };
    let seen = (pad.typical_life_sections, pad.least_life_sections);
    assert_eq!(seen, (Some(320), Some(180)));
    for option in ["--typical-life", "--least-life"] {
        let fault = edit(&[option, "320"])
            .change(&known(Figures::Liquid(LiquidFigures::default())))
            .unwrap_err();
        assert_eq!(&*fault.field, option);
    }
}
