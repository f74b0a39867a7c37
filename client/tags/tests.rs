//! What tags may be written as, and what a kit makes of it.

use fettlebook_contract::v1::{BundleState, PadState, Piece, Readiness, piece::State};

use super::{All, Part, meant, parts, plain, spelt};

fn words(text: &str) -> Vec<String> {
    text.split('|').map(str::to_owned).collect()
}

fn pad(tag: &str, make: &str, readiness: Readiness) -> Piece {
    Piece {
        tag: tag.to_owned(),
        make: make.to_owned(),
        make_name: make.replace('-', " "),
        readiness: readiness.into(),
        state: Some(State::Pad(PadState::default())),
        ..Piece::default()
    }
}

/// Four pads, of which two are soiled, a bundle with soiled towels and a bottle.
fn kit() -> Vec<Piece> {
    let bundle = BundleState {
        soiled_count: 3,
        clean_count: 5,
        ..BundleState::default()
    };
    vec![
        pad("P-01", "coarse-foam-150", Readiness::Ready),
        pad("P-02", "coarse-foam-150", Readiness::Soiled),
        pad("P-04", "fine-foam-80", Readiness::Soiled),
        pad("P-08", "coarse-foam-150", Readiness::Aside),
        Piece {
            tag: "T-08".to_owned(),
            make: "edgeless-towel".to_owned(),
            readiness: Readiness::Ready.into(),
            state: Some(State::Bundle(bundle)),
            ..Piece::default()
        },
        Piece {
            tag: "B-03".to_owned(),
            make: "fine-polish".to_owned(),
            state: Some(State::Bottle(Default::default())),
            ..Piece::default()
        },
    ]
}

fn found(text: &str, all: All) -> Result<String, String> {
    found_in(text, all, None)
}

/// What is found from a van, which carries P-04 and P-08.
fn found_in(text: &str, all: All, van: Option<&str>) -> Result<String, String> {
    let mut kit = kit();
    for piece in &mut kit {
        let is_carried = ["P-04", "P-08"].contains(&piece.tag.as_str());
        piece.place = if is_carried { "van-a" } else { "bench" }.to_owned();
    }
    meant(&parts(&words(text)), &kit, all, van)
        .map(|tags| tags.join(" "))
        .map_err(|fault| fault.message)
}

#[test]
fn a_tag_is_read_however_it_is_typed() {
    for text in [
        "P-08",
        "p8",
        "P08",
        "P 08",
        "p-8",
        "P_08",
        "P#8",
        " P-008 ",
        "https://192.168.1.7:7420/t/P-08",
        "HTTPS://BENCH.EXAMPLE:7420/T/P-08\n",
    ] {
        assert_eq!(spelt(text).as_deref(), Some("P-08"), "{text}");
    }
    assert_eq!(spelt("BP-123").as_deref(), Some("BP-123"));
    for text in [
        "",
        "8",
        "P",
        "P-",
        "PADS-1",
        "P-0",
        "P-1234567",
        "P-08x",
        "P-8 9",
    ] {
        assert_eq!(spelt(text), None, "{text}");
    }
}

#[test]
fn several_tags_are_read_with_commas_blanks_or_as_words() {
    for text in [
        "P1,P2",
        "P-01, P-02",
        "P-01|P-02",
        "P-01 P-02",
        "p1;p2",
        "P|1|P|2",
        "P1|and|P2",
        "P1+P2,",
    ] {
        let tags = plain(&parts(&words(text)));
        assert_eq!(tags.unwrap_or_default(), ["P-01", "P-02"], "{text}");
    }
    assert_eq!(plain(&parts(&words("P1,P1"))).unwrap(), ["P-01"]);
    let scanned = "https://[fd00::7]:7420/t/P-01|https://[fd00::7]:7420/t/P-02,P3";
    let tags = plain(&parts(&words(scanned)));
    assert_eq!(tags.unwrap(), ["P-01", "P-02", "P-03"]);
}

#[test]
fn a_range_is_read_in_every_form_and_either_way_round() {
    let range = |from, to| Part::Range {
        letters: "P".to_owned(),
        from,
        to,
    };
    for text in [
        "P-01..P-09",
        "P-01...P-09",
        "P-01…P-09",
        "P-01–P-09",
        "P01-P09",
        "P-01-P-09",
        "P-01..09",
        "P1-9",
        "p1..p9",
        "P-09..P-01",
        "P-01|to|P-09",
        "P-01 .. P-09",
        "P-01|-|P-09",
    ] {
        assert_eq!(parts(&words(text)), [range(1, 9)], "{text}");
    }
    assert_ne!(parts(&words("P-01..T-09")), [range(1, 9)]);
}

#[test]
fn a_range_takes_what_is_there() {
    assert_eq!(
        found("P-01..P-04", All::Nothing),
        Ok("P-01 P-02 P-04".to_owned())
    );
    assert_eq!(
        found("P-02..P-03,P-08", All::Nothing),
        Ok("P-02 P-08".to_owned())
    );
    let none = found("P-20..P-30", All::Kit).unwrap_err();
    assert!(none.contains("P-20 to P-30"), "{none}");
}

#[test]
fn a_word_stands_for_what_the_command_is_about() {
    assert_eq!(found("all", All::Soiled), Ok("P-02 P-04 T-08".to_owned()));
    assert_eq!(
        found("soiled", All::Soiled),
        Ok("P-02 P-04 T-08".to_owned())
    );
    assert_eq!(found("all|pads", All::Soiled), Ok("P-02 P-04".to_owned()));
    assert_eq!(found("towels", All::Soiled), Ok("T-08".to_owned()));
    assert_eq!(found("all", All::Aside), Ok("P-08".to_owned()));
    assert_eq!(found("bottles", All::Kit), Ok("B-03".to_owned()));
    assert_eq!(
        found("P-01|towels", All::Soiled),
        Ok("P-01 T-08".to_owned())
    );
    assert!(found("all", All::Drying).unwrap_err().contains("drying"));
    assert!(found("all", All::Nothing).unwrap_err().contains("'all'"));
}

#[test]
fn a_number_or_a_make_is_taken_where_it_can_be_one_piece_only() {
    assert_eq!(found("4", All::Nothing), Ok("P-04".to_owned()));
    assert_eq!(found("fine-polish", All::Nothing), Ok("B-03".to_owned()));
    let which = found("8", All::Soiled).unwrap_err();
    assert!(which.contains("P-08") && which.contains("T-08"), "{which}");
    let which = found("coarse-foam-150", All::Nothing).unwrap_err();
    assert!(which.contains("P-01"), "{which}");
    assert_eq!(found("coarse-foam-150", All::Soiled), Ok("P-02".to_owned()));
    for word in ["77", "velvet"] {
        let unknown = found(word, All::Soiled).unwrap_err();
        assert!(unknown.contains(&format!("'{word}'")), "{unknown}");
    }
}

/// Whoever washes everything on the road does not wash what lies at the bench.
#[test]
fn on_a_van_words_for_several_pieces_mean_those_that_it_carries() {
    let found = |text, all| found_in(text, all, Some("van-a"));
    assert_eq!(found("all", All::Soiled), Ok("P-04".to_owned()));
    assert_eq!(found("pads", All::Kit), Ok("P-04 P-08".to_owned()));
    assert_eq!(found("coarse-foam-150", All::Aside), Ok("P-08".to_owned()));
    let none = found("towels", All::Soiled).unwrap_err();
    assert!(none.contains("of the kit in van-a is soiled"), "{none}");
    // What is named is meant, wherever it is.
    assert_eq!(
        found("P-02|P-01..P-02|fine-polish", All::Soiled),
        Ok("P-02 P-01 B-03".to_owned())
    );
}
