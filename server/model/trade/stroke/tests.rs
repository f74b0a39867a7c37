//! Strokes, travel, time and sections against geometry worked by hand.

use fettlebook_quantity::{Area, Length, Ratio};
use proptest::prelude::{prop_assert, proptest};

use super::{Lane, StrokeError, contour_time_ms, section_time_ms, sections_for, strokes};

fn mm(value: i64) -> Length {
    Length::from_mm(value)
}

fn lane(side_mm: i64, face_mm: i64) -> Lane {
    Lane::new(mm(side_mm), mm(face_mm), Ratio::from_permille(500), 4, 50).unwrap()
}

/// Travel of one pass: what the time of the whole set says at the arm's speed.
fn travel_mm(lane: &Lane) -> Length {
    let set_mm = section_time_ms(lane) * lane.arm_speed_mm_per_s();
    mm((set_mm + 500 * lane.passes()) / (1_000 * lane.passes()))
}

/// Source: geometry. Side 450 mm, pad 150 mm, half overlap: pitch 75 mm, five strokes of 300 mm and
/// four steps of 75 mm make 1800 mm; four passes at 50 mm/s take 144 s.
#[test]
fn the_reference_section_takes_five_strokes_and_144_seconds() {
    let lane = lane(450, 150);
    assert_eq!(strokes(&lane), 5);
    assert_eq!(travel_mm(&lane), mm(1_800));
    assert_eq!(section_time_ms(&lane), 144_000);
}

/// Source: geometry. Side 300 mm, pad 80 mm, half overlap: 220 mm over a 40 mm pitch is 5.5, so
/// seven strokes; 7 × 220 + 6 × 40 = 1780 mm; 4 × 1780 / 50 = 142.4 s.
#[test]
fn a_narrow_pad_on_a_small_section_takes_seven_strokes() {
    let lane = lane(300, 80);
    assert_eq!(strokes(&lane), 7);
    assert_eq!(travel_mm(&lane), mm(1_780));
    assert_eq!(section_time_ms(&lane), 142_400);
}

/// Source: arithmetic. 300 mm over a pitch of exactly 75 mm is 4 steps; an overlap of 3/10 that a
/// float would hold as 0.29999… or 0.30000…4 must not add a stroke either: 210 / (100 × 7/10) = 3.
#[test]
fn an_exact_number_of_pitches_does_not_add_a_stroke() {
    assert_eq!(strokes(&lane(450, 150)), 5);
    let thirds = Lane::new(mm(310), mm(100), Ratio::new(3, 10).unwrap(), 4, 50).unwrap();
    assert_eq!(strokes(&thirds), 4);
}

#[test]
fn a_fractional_pitch_is_carried_exactly() {
    // Pitch 75 × 1/2 = 37.5 mm; run 225 mm is exactly six pitches; 7 × 225 + 6 × 37.5 = 1800.
    let lane = lane(300, 75);
    assert_eq!((strokes(&lane), travel_mm(&lane)), (7, mm(1_800)));
    // A third: pitch 200/3 mm, run 200 mm, four strokes, 4 × 200 + 3 × 200/3 = 1000.
    let third = Lane::new(mm(300), mm(100), Ratio::new(1, 3).unwrap(), 1, 7).unwrap();
    assert_eq!((strokes(&third), travel_mm(&third)), (4, mm(1_000)));
    assert_eq!(section_time_ms(&third), 142_857);
}

#[test]
fn a_pad_that_covers_the_side_needs_one_stroke_and_no_travel() {
    for side_mm in [100, 150] {
        assert_eq!(strokes(&lane(side_mm, 150)), 1);
        assert_eq!(travel_mm(&lane(side_mm, 150)), mm(0));
    }
}

/// Sections of 450 mm, of which neighbours work a tenth again.
fn sections(areas_mm2: &[i64]) -> i64 {
    let areas = areas_mm2.iter().map(|area| Area::from_mm2(*area));
    sections_for(areas, mm(450), 100)
}

/// Source: arithmetic. 12 m² over 0.45² × 0.9 = 0.18225 m² is 65.8; over 0.6² × 0.9 it is 37.04.
#[test]
fn a_surface_is_worked_in_whole_sections() {
    assert_eq!(sections(&[12_000_000]), 66);
    let car = [Area::from_mm2(12_000_000)];
    assert_eq!(sections_for(car, mm(600), 100), 38);
    // Exactly two sections stay two, in one panel or in two.
    assert_eq!(sections(&[364_500]), 2);
    assert_eq!(sections(&[182_500, 182_000]), 2);
}

/// Source: arithmetic. 0.27 m² are 1.48 sections and 0.24 m² 1.32, together 2.80: 3, not 2 and 2.
#[test]
fn fractions_of_panels_are_added_up_and_rounded_up_once() {
    assert_eq!(sections(&[270_000, 240_000]), 3);
}

/// Source: arithmetic. A quarter of 0.18225 m² is 0.0455625 m²: three smaller panels are 0.75 and five
/// 1.25, and one of just that size counts for what it has.
#[test]
fn the_smallest_panel_counts_for_a_quarter_of_a_section() {
    assert_eq!((sections(&[1]), sections(&[])), (1, 0));
    assert_eq!(sections(&[10_000, 10_000, 10_000]), 1);
    assert_eq!(sections(&[10_000; 5]), 2);
    assert_eq!(sections(&[45_563; 4]), 2);
    assert_eq!(sections(&[45_562; 4]), 1);
    assert_eq!(sections(&[0, -5]), 0);
}

/// Source: arithmetic. 0.05 m² with a 30 mm pad at 50 mm/s: 50 000 / 1500 = 33.3 s a pass.
#[test]
fn a_pencil_pad_follows_the_contour() {
    assert_eq!(
        contour_time_ms(Area::from_mm2(50_000), mm(30), 50, 4),
        133_333
    );
}

#[test]
fn a_figure_outside_its_limits_is_refused_by_name() {
    let half = Ratio::from_permille(500);
    let refusal = |side, face, overlap, passes, speed| {
        Lane::new(mm(side), mm(face), overlap, passes, speed).unwrap_err()
    };
    assert_eq!(refusal(5, 150, half, 4, 50), StrokeError::Side(mm(5)));
    assert_eq!(refusal(450, 9, half, 4, 50), StrokeError::Face(mm(9)));
    assert_eq!(refusal(450, 301, half, 4, 50), StrokeError::Face(mm(301)));
    let most = Ratio::from_permille(901);
    assert_eq!(refusal(450, 150, most, 4, 50), StrokeError::Overlap(most));
    assert_eq!(refusal(450, 150, half, 0, 50), StrokeError::Passes(0));
    assert_eq!(refusal(450, 150, half, 4, 301), StrokeError::ArmSpeed(301));
    assert_eq!(refusal(450, 150, half, 4, 0), StrokeError::ArmSpeed(0));
    let said = refusal(450, 9, half, 4, 50).to_string();
    assert!(said.contains("9 mm is outside 10 to 300 mm"), "{said}");
}

proptest! {
    /// The edge strokes reach the edge: n strokes at the pitch cover the side, n − 1 do not.
    #[test]
    fn the_strokes_just_cover_the_side(
        side_mm in 10_i64..2_000, face_mm in 10_i64..300, overlap_permille in 0_i64..=900,
    ) {
        let overlap = Ratio::from_permille(overlap_permille);
        let n = strokes(&Lane::new(mm(side_mm), mm(face_mm), overlap, 1, 50).unwrap());
        let pitch_um = face_mm * (1_000 - overlap_permille);
        prop_assert!(face_mm * 1_000 + (n - 1) * pitch_um >= side_mm * 1_000);
        prop_assert!(n == 1 || face_mm * 1_000 + (n - 2) * pitch_um < side_mm * 1_000);
    }
}
