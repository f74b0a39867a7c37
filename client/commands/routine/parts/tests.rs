//! How steps, shares of them, sundries and tools are read, and shares put into a routine.

use super::{Shared, need, put_shares, share, step, tool};
use crate::options::Stock;
use fettlebook_contract::v1::{PadCleaning, Press, Reach, Step, StepShare, Unit};

#[test]
fn a_step_is_read_with_what_it_says_and_nothing_more() {
    let cut = step(
        "cut: machine=orbital-150, pad=coarse-foam-150, liquid=coarse-compound, press=firm, \
         side=450 mm, overlap=50 %, speed=4500/min, panels=bonnet+roof, clean=between-panels",
    )
    .unwrap();
    assert_eq!(cut.step, "cut");
    assert_eq!(cut.machine_make, "orbital-150");
    assert_eq!(cut.pad_make, "coarse-foam-150");
    assert_eq!(cut.liquid_make, "coarse-compound");
    assert_eq!(cut.press(), Press::Firm);
    assert_eq!(cut.side_mm, Some(450));
    assert_eq!(cut.overlap_permille, Some(500));
    assert_eq!(cut.speed_per_min, Some(4_500));
    assert_eq!(cut.panels, ["bonnet", "roof"]);
    assert_eq!(cut.pad_cleaning(), PadCleaning::BetweenPanels);
    assert_eq!(cut.pass_count, None);
}

#[test]
fn a_step_by_hand_names_no_machine() {
    let edges = step("edges: by=hand, pad=hand-applicator, liquid=fine-polish").unwrap();
    assert!(edges.by_hand && edges.machine_make.is_empty());
    assert!(step("edges: by=foot").unwrap_err().contains("by=hand"));
}

#[test]
fn a_step_that_is_not_understood_is_refused_with_its_form() {
    for text in [
        "machine=x",
        "cut: machine",
        "cut: wheel=x",
        "cut: side=wide",
        "cut: press=wild",
        "cut: clean=often",
    ] {
        assert!(step(text).is_err(), "{text}");
    }
    assert!(step("cut: wheel=x").unwrap_err().contains("liquid=MAKE"));
}

#[test]
fn a_tool_is_wanted_or_must_be_there() {
    let wanted = tool("film-gauge").unwrap();
    assert_eq!((wanted.make.as_str(), wanted.must), ("film-gauge", false));
    let must = tool("film-gauge = must").unwrap();
    assert_eq!((must.make.as_str(), must.must), ("film-gauge", true));
    assert!(tool("film-gauge=always").unwrap_err().contains("=must"));
}

#[test]
fn a_sundry_is_for_the_job_for_each_square_metre_or_both() {
    let stock = |quantity, unit| {
        Some(Stock {
            quantity,
            unit,
            share: None,
            is_bare: false,
        })
    };
    let gloves = need("gloves=2 pairs").unwrap();
    assert_eq!(
        (gloves.per_job, gloves.per_m2),
        (stock(2, Unit::Pair), None)
    );
    let wipe = need("wipe = 50 ml + 20 ml per m²").unwrap();
    assert_eq!(wipe.per_job, stock(50_000, Unit::Microlitre));
    assert_eq!(wipe.per_m2, stock(20_000, Unit::Microlitre));
    for text in ["wipe", "=2", "wipe=", "wipe=1 + 2", "wipe=2 per m3"] {
        assert!(need(text).is_err(), "{text}");
    }
}

fn read(text: &str) -> Shared {
    share(text).unwrap()
}

#[test]
fn a_share_names_its_step_its_reach_and_all_that_it_says_of_the_work() {
    let all = read(
        "cut spot: machine=orbital-75, pad=coarse-foam-80, liquid=compound, press=firm, side=250 mm, passes=5, \
         overlap=40 %, arm=60 mm/s, speed=4800/min, panels=front-bumper+sill-left, clean=after-sections",
    );
    assert_eq!(all.step, "cut");
    let expected = StepShare {
        reach: Reach::Spot.into(),
        machine_make: "orbital-75".to_owned(),
        pad_make: "coarse-foam-80".to_owned(),
        liquid_make: "compound".to_owned(),
        side_mm: Some(250),
        overlap_permille: Some(400),
        pass_count: Some(5),
        arm_speed_mm_per_s: Some(60),
        press: Press::Firm.into(),
        speed_per_min: Some(4_800),
        panels: ["front-bumper", "sill-left"].map(str::to_owned).to_vec(),
        by_hand: false,
        pad_cleaning: PadCleaning::AfterSections.into(),
    };
    assert_eq!(all.share, expected);
    // What it does not say is left to its step and to the book's policy.
    let least = read("cut pencil: machine=spindle-30, pad=pencil-foam-30");
    assert_eq!(least.share.liquid_make, "");
    assert_eq!(least.share.side_mm, None);
    assert_eq!(least.share.reach(), Reach::Pencil);
}

#[test]
fn the_hand_needs_no_word_that_it_has_no_machine() {
    assert!(read("cut hand: pad=hand-applicator").share.by_hand);
    assert!(read("cut hand: by=hand, pad=hand-applicator").share.by_hand);
    // What takes pencil pads may be done by hand too, where it is said.
    let pencil = read("cut pencil: by=hand, pad=hand-applicator");
    assert!(pencil.share.by_hand && pencil.share.reach() == Reach::Pencil);
    // A machine for what takes the hand is said, and is a machine.
    let machine = read("cut hand: machine=orbital-75, pad=coarse-foam-80").share;
    assert!(!machine.by_hand && machine.machine_make == "orbital-75");
    // Of another reach a machine that is not named is forgotten, and asked for.
    for text in [
        "cut spot: machine=orbital-75, pad=coarse-foam-80",
        "cut spot: pad=coarse-foam-80",
        "cut pencil: pad=hand-applicator",
    ] {
        assert!(!read(text).share.by_hand, "{text}");
    }
}

#[test]
fn what_is_no_share_is_refused_with_what_was_read() {
    for (text, says) in [
        ("cut spot machine=orbital-75", "names no step and reach"),
        ("cut: machine=orbital-75", "names no step and reach"),
        (
            "cut tight: machine=orbital-75",
            "'tight' is not one of big, spot, pencil, hand",
        ),
        ("cut spot: machine", "not written as KEY=VALUE"),
        ("cut spot: size=4", "'size' is no part of a step"),
        ("cut spot: pad=foam, wipe-down=towel", "of the whole step"),
        ("cut spot: pad=foam, own=sill-left", "of the whole step"),
    ] {
        let why = share(text).unwrap_err();
        assert!(why.contains(says), "{text}: {why}");
    }
}

fn routine() -> Vec<Step> {
    [
        "cut: machine=a, pad=b, liquid=c",
        "finish: machine=a, pad=d, liquid=e",
    ]
    .map(|text| step(text).unwrap())
    .to_vec()
}

fn reaches(step: &Step) -> Vec<Reach> {
    step.shares.iter().map(StepShare::reach).collect()
}

#[test]
fn shares_stand_in_place_of_those_that_the_named_step_had_and_of_no_other() {
    let mut steps = routine();
    let both = [
        read("cut spot: machine=s, pad=p"),
        read("cut pencil: machine=t, pad=q"),
        read("finish hand: pad=r"),
    ];
    put_shares(&mut steps, &both).unwrap();
    assert_eq!(reaches(&steps[0]), [Reach::Spot, Reach::Pencil]);
    assert_eq!(reaches(&steps[1]), [Reach::Hand]);
    put_shares(&mut steps, &[read("cut hand: pad=r")]).unwrap();
    assert_eq!(reaches(&steps[0]), [Reach::Hand]);
    assert_eq!(reaches(&steps[1]), [Reach::Hand]);
}

#[test]
fn a_share_of_a_step_that_is_not_there_names_those_that_are() {
    let mut steps = routine();
    let fault = put_shares(&mut steps, &[read("polish spot: machine=s, pad=p")]).unwrap_err();
    assert!(
        fault
            .message
            .contains("no step polish; its steps are cut, finish"),
        "{}",
        fault.message
    );
    assert_eq!(steps, routine());
}

#[test]
fn panels_of_its_own_are_said_of_the_step() {
    let step = step("cut: machine=a, pad=b, liquid=c, own=sill-left+sill-right").unwrap();
    assert_eq!(step.own_panels, ["sill-left", "sill-right"]);
    assert!(step.panels.is_empty());
}
