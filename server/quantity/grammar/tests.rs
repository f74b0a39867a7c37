//! What the grammar accepts, what it refuses and how it says so, with two laws over any text.
//!
//! The customary units are checked against NIST Handbook 44, appendix C.

use proptest::prelude::{ProptestConfig, any, prop_assert, proptest};

use super::{
    Amount, parse_amount, parse_area, parse_count, parse_grams, parse_length, parse_mass,
    parse_micrometres, parse_millilitres, parse_millimetres, parse_thickness, parse_volume,
};
use crate::{
    AREA_FORMS, Area, Count, LENGTH_FORMS, Length, MASS_FORMS, Mass, SECONDS_FORMS, Seconds,
    THICKNESS_FORMS, Thickness, VOLUME_FORMS, Volume, parse_seconds,
};

fn ul(text: &str) -> i64 {
    parse_volume(text).unwrap().ul()
}

fn refusal(text: &str) -> String {
    parse_volume(text).unwrap_err().to_string()
}

#[test]
fn a_volume_is_read_in_every_form_people_write() {
    assert_eq!(ul("250 ml"), 250_000);
    assert_eq!(ul("35.5ml"), 35_500);
    assert_eq!(ul("1.5 L"), 1_500_000);
    assert_eq!(ul("250 ul"), 250);
    assert_eq!(ul("250 µL"), 250);
    assert_eq!(ul("250 μl"), 250);
    assert_eq!(ul(" 2  cl "), 20_000);
    assert_eq!(ul("3*15 ml"), 45_000);
    assert_eq!(ul("3 x 15 ml"), 45_000);
    assert_eq!(ul("0 ml"), 0);
}

/// Source: NIST Handbook 44, appendix C: 1 US fluid ounce = 29.573 529 562 5 mL,
/// 1 avoirdupois ounce = 28.349 523 125 g, 1 pound = 453.592 37 g, 1 inch = 25.4 mm.
#[test]
fn customary_units_convert_exactly() {
    assert_eq!(ul("1 fl oz"), 29_574);
    assert_eq!(ul("12 us fl oz"), 354_882);
    assert_eq!(ul("1000 fl oz"), 29_573_530);
    assert_eq!(parse_mass("12 oz").unwrap().mg(), 340_194);
    assert_eq!(parse_mass("1000 oz").unwrap().mg(), 28_349_523);
    assert_eq!(parse_mass("2 lb").unwrap().mg(), 907_185);
    assert_eq!(parse_length("6 in").unwrap().mm(), 152);
    assert_eq!(parse_length("2.5 inches").unwrap().mm(), 64);
}

#[test]
fn masses_lengths_and_areas_are_read() {
    assert_eq!(parse_mass("60.5g").unwrap(), Mass::from_mg(60_500));
    assert_eq!(parse_mass("1.2 kg").unwrap(), Mass::from_mg(1_200_000));
    assert_eq!(parse_mass("800 mg").unwrap(), Mass::from_mg(800));
    assert_eq!(parse_length("15 cm").unwrap(), Length::from_mm(150));
    assert_eq!(parse_length("50 metres").unwrap(), Length::from_mm(50_000));
    assert_eq!(parse_area("1.42 m²").unwrap(), Area::from_mm2(1_420_000));
    assert_eq!(parse_area("1200 cm2").unwrap(), Area::from_mm2(120_000));
    assert_eq!(
        parse_area("1200 mm x 900 mm").unwrap(),
        Area::from_mm2(1_080_000)
    );
    assert_eq!(
        parse_area("1.2 metres × 90cm").unwrap(),
        Area::from_mm2(1_080_000)
    );
    assert_eq!(parse_count(" 3 ").unwrap(), Count::new(3));
}

/// Source: 1 mil = 25.4 µm by definition, so 3.5 mil = 88.9 µm.
#[test]
fn a_thickness_goes_down_to_the_cautious_whole_micrometre() {
    assert_eq!(parse_thickness("90 µm").unwrap(), Thickness::from_um(90));
    assert_eq!(parse_thickness("3.5 mil").unwrap(), Thickness::from_um(88));
    assert_eq!(parse_thickness("99.9 um").unwrap(), Thickness::from_um(99));
    assert_eq!(parse_thickness("0.1 mm").unwrap(), Thickness::from_um(100));
    assert_eq!(parse_thickness("0.0999mm").unwrap(), Thickness::from_um(99));
}

#[test]
fn other_decimals_round_half_away_from_zero() {
    assert_eq!(ul("0.0005 ml"), 1);
    assert_eq!(ul("0.0004999999999999999999 ml"), 0);
    assert_eq!(parse_length("0.5 mm").unwrap().mm(), 1);
}

#[test]
fn an_amount_is_told_by_its_unit() {
    assert_eq!(parse_amount("8 dots"), Ok(Amount::Dots(Count::new(8))));
    assert_eq!(parse_amount("3"), Ok(Amount::Pieces(Count::new(3))));
    assert_eq!(parse_amount("3 pcs"), Ok(Amount::Pieces(Count::new(3))));
    assert_eq!(
        parse_amount("12 fl oz"),
        Ok(Amount::Volume(Volume::from_ul(354_882)))
    );
    assert_eq!(
        parse_amount("3*15 ml"),
        Ok(Amount::Volume(Volume::from_ul(45_000)))
    );
    assert_eq!(
        parse_amount("412 g"),
        Ok(Amount::Mass(Mass::from_mg(412_000)))
    );
    assert_eq!(
        parse_amount("2 metres"),
        Ok(Amount::Length(Length::from_mm(2_000)))
    );
    assert!(
        parse_amount("2.5 dots")
            .unwrap_err()
            .to_string()
            .contains("whole number")
    );
    assert!(
        parse_amount("90 um")
            .unwrap_err()
            .to_string()
            .contains("a thickness")
    );
    assert!(parse_amount("3*4").is_err());
}

#[test]
fn a_comma_before_three_digits_is_refused_naming_both_readings() {
    assert!(refusal("1,500 ml").contains("1500 ml or 1.500 ml"));
    for text in [
        "1,50,0 ml",
        "1,500.50.0 ml",
        "1.500,5,5 ml",
        "1, ml",
        ",5 l",
    ] {
        assert!(refusal(text).contains("plain number"), "{text}");
    }
}

#[test]
fn a_comma_that_can_only_be_one_thing_is_read() {
    assert_eq!(ul("1,5 l"), 1_500_000);
    assert_eq!(ul("0,75l"), 750_000);
    assert_eq!(ul("1.500,5 ml"), 1_500_500);
    assert_eq!(ul("1,500.5 ml"), 1_500_500);
    assert_eq!(ul("1,000,000 ul"), 1_000_000);
    assert_eq!(parse_area("1,2 cm x 3 cm"), Ok(Area::from_mm2(360)));
}

#[test]
fn a_fraction_is_read() {
    assert_eq!(ul("1/2 l"), 500_000);
    assert_eq!(ul("½ l"), 500_000);
    assert_eq!(ul("3/4l"), 750_000);
    assert!(
        parse_count("1/2")
            .unwrap_err()
            .to_string()
            .contains("whole")
    );
    assert!(refusal("1/0 l").contains("plain number") || refusal("1/0 l").contains("unit"));
}

#[test]
fn a_number_without_its_unit_is_read_where_one_unit_is_meant() {
    assert_eq!(parse_grams("431"), Ok(Mass::from_mg(431_000)));
    assert_eq!(parse_grams("1.2 kg"), Ok(Mass::from_mg(1_200_000)));
    assert_eq!(parse_grams("330gr"), Ok(Mass::from_mg(330_000)));
    assert_eq!(parse_millilitres("500"), Ok(Volume::from_ul(500_000)));
    assert_eq!(parse_millimetres("150"), Ok(Length::from_mm(150)));
    assert_eq!(parse_millimetres("6\""), Ok(Length::from_mm(152)));
    assert_eq!(parse_micrometres("112"), Ok(Thickness::from_um(112)));
    assert_eq!(parse_micrometres("3.5 mil"), Ok(Thickness::from_um(88)));
    assert_eq!(parse_micrometres("9 um"), Ok(Thickness::from_um(9)));
    // Mils or micrometres.
    assert!(
        parse_micrometres("4.5")
            .unwrap_err()
            .to_string()
            .contains("no unit")
    );
}

#[test]
fn a_bare_m_is_metres_where_a_length_may_be_and_is_refused_elsewhere() {
    let readings = "metres, millilitres or minutes";
    assert!(refusal("3 m").contains(readings));
    for unclear in [
        parse_mass("3 m").map(Mass::get),
        parse_thickness("3 m").map(Thickness::get),
        parse_area("3 m").map(Area::get),
        parse_seconds("3 m").map(Seconds::get),
    ] {
        assert!(unclear.unwrap_err().to_string().contains(readings));
    }
    assert_eq!(parse_length("17.4 m"), Ok(Length::from_mm(17_400)));
    assert_eq!(parse_length("3 M"), Ok(Length::from_mm(3_000)));
    assert_eq!(parse_length("10000m"), Ok(Length::from_mm(10_000_000)));
    assert!(parse_length("10001 m").is_err());
    let tape = Amount::Length(Length::from_mm(17_400));
    assert_eq!(parse_amount("17.4 m"), Ok(tape));
    assert_eq!(parse_area("1.2 m x 90 cm"), Ok(Area::from_mm2(1_080_000)));
}

#[test]
fn what_is_no_plain_number_is_refused_saying_why() {
    assert!(refusal("").contains("missing"));
    assert!(refusal("-5 ml").contains("negative"));
    assert!(refusal("1e3 ml").contains("exponent"));
    for text in [
        "NaN ml", "inf ml", "ml", ".5 ml", "5. ml", "1.2.3 ml", "+5 ml", "٣ ml",
    ] {
        assert!(refusal(text).contains("plain number"), "{text}");
    }
    for text in ["1 500 ml", "5 ml 3 ml", "5 uk fl oz"] {
        assert!(refusal(text).contains("not a known unit"), "{text}");
    }
    assert!(refusal("5").contains("no unit"));
    assert!(refusal("2.5*15 ml").contains("whole number"));
}

#[test]
fn a_unit_of_another_kind_is_refused_saying_what_was_expected() {
    let said = refusal("412 g");
    assert!(
        said.contains("a unit of a mass, but a volume was expected"),
        "{said}"
    );
    assert!(said.contains(VOLUME_FORMS), "{said}");
    assert!(
        parse_thickness("9 cm")
            .unwrap_err()
            .to_string()
            .contains("a length")
    );
    assert!(
        parse_count("3 ml")
            .unwrap_err()
            .to_string()
            .contains("a volume")
    );
    assert!(
        parse_count("2.5")
            .unwrap_err()
            .to_string()
            .contains("whole number")
    );
}

#[test]
fn absurd_sizes_are_refused_at_their_limits() {
    assert!(parse_volume("1000 l").is_ok() && refusal("1001 l").contains("at most 1000 l"));
    assert!(parse_mass("1000 kg").is_ok() && parse_mass("1001 kg").is_err());
    assert!(parse_length("2000 cm").is_ok() && parse_length("2001 cm").is_err());
    assert!(parse_length("10000 metres").is_ok() && parse_length("10001 metres").is_err());
    assert!(parse_thickness("10000 um").is_ok() && parse_thickness("10001 um").is_err());
    assert!(parse_area("1000 m2").is_ok() && parse_area("1001 m2").is_err());
    assert!(parse_area("1000 metres x 1000 metres").is_err());
    assert!(parse_count("1000000").is_ok() && parse_count("1000001").is_err());
    assert!(refusal("99999999999999999999999999999999999999999999 ml").contains("at most"));
    assert!(refusal("999999999999*999999999999 l").contains("at most"));
}

#[test]
fn every_form_shown_in_help_is_accepted() {
    let all_parse = |forms: &str, parses: &dyn Fn(&str) -> bool| {
        forms
            .split(", ")
            .for_each(|form| assert!(parses(form), "{form}"));
    };
    all_parse(VOLUME_FORMS, &|form| parse_volume(form).is_ok());
    all_parse(MASS_FORMS, &|form| parse_mass(form).is_ok());
    all_parse(LENGTH_FORMS, &|form| parse_length(form).is_ok());
    all_parse(THICKNESS_FORMS, &|form| parse_thickness(form).is_ok());
    all_parse(AREA_FORMS, &|form| parse_area(form).is_ok());
    all_parse(SECONDS_FORMS, &|form| parse_seconds(form).is_ok());
    all_parse(crate::AMOUNT_FORMS, &|form| parse_amount(form).is_ok());
}

#[test]
fn a_refusal_quotes_only_a_short_printable_piece() {
    let said = refusal(&format!("{}\u{7}", "z".repeat(10_000)));
    assert!(
        said.chars().count() < 200 && !said.contains('\u{7}'),
        "{said}"
    );
}

/// Whether `read` is `value` to within half of the last place printed, `step`.
fn within(read: i64, value: i64, step: i64) -> bool {
    (read - value).abs() * 2 <= step
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn no_text_makes_a_parser_panic_or_accept_a_negative(
        any_text in any::<String>(),
        near_miss in "[-+0-9., eExX*×µμ²a-z]{0,24}",
        near_unit in "[0-9]{1,40}\\.?[0-9]{0,40} ?(ml|fl oz|lb|in|mil|m2|h|dots|x|\\*3 l)?",
    ) {
        for text in [&any_text, &near_miss, &near_unit] {
            prop_assert!(!parse_volume(text).is_ok_and(|v| v.get() < 0));
            prop_assert!(!parse_mass(text).is_ok_and(|v| v.get() < 0));
            prop_assert!(!parse_length(text).is_ok_and(|v| v.get() < 0));
            prop_assert!(!parse_thickness(text).is_ok_and(|v| v.get() < 0));
            prop_assert!(!parse_area(text).is_ok_and(|v| v.get() < 0));
            prop_assert!(!parse_seconds(text).is_ok_and(|v| v.get() < 0));
            prop_assert!(!parse_count(text).is_ok_and(|v| v.get() < 0));
            let _ = parse_amount(text);
        }
    }

    #[test]
    fn what_is_printed_reads_back_to_the_precision_printed(
        value in proptest::prop_oneof![0_i64..1_000, 0_i64..1_000_000, 0_i64..999_000_000],
    ) {
        let step = if value < 999_950 { 100 } else { 10_000 };
        prop_assert!(within(parse_volume(&Volume::new(value).to_string()).unwrap().get(), value, step));
        prop_assert!(within(parse_mass(&Mass::new(value).to_string()).unwrap().get(), value, step));
        let area_step = match value {
            0..1_000 => 1,
            1_000..99_995 => 10,
            99_995..10_000_000 => 10_000,
            _ => 100_000,
        };
        prop_assert!(within(parse_area(&Area::new(value).to_string()).unwrap().get(), value, area_step));
        let s = value % (9 * 366 * 86_400);
        let time_step = if s < 3_600 { 1 } else if s < 3 * 86_400 { 60 } else { 3_600 };
        prop_assert!(within(parse_seconds(&Seconds::new(s).to_string()).unwrap().get(), s, time_step));
        let tape = Length::new(value % 10_000_001);
        prop_assert!(parse_length(&tape.to_string()) == Ok(tape));
        prop_assert!(parse_amount(&tape.to_string()) == Ok(Amount::Length(tape)));
        let mm = value % 10_000;
        prop_assert!(parse_thickness(&Thickness::new(mm).to_string()) == Ok(Thickness::new(mm)));
        let count = value % 1_000_001;
        prop_assert!(parse_count(&Count::new(count).to_string()) == Ok(Count::new(count)));
    }
}
