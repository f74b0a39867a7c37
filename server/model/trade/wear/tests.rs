//! Work and damage against the reference section and hand-worked ratios.
//!
//! Published cases of the speeds and of cumulative damage are in `tests/published`.

use fettlebook_quantity::Length;

use super::{
    Action, Band, Press, PressForces, Work, WorkAsk, band, damage, force_mn_on, miner,
    plate_damage, work_of,
};

const REFERENCE: WorkAsk = WorkAsk {
    face: Length::from_mm(150),
    force_mn: 40_000,
    action: Action::Orbital,
    throw: Length::from_mm(15),
    speed_per_min: 4_500,
    time_ms: 144_000,
};

fn close(left: f64, right: f64, relative: f64) -> bool {
    (left - right).abs() <= relative * right.abs()
}

#[test]
fn the_reference_section_is_exactly_one() {
    assert_eq!(work_of(&REFERENCE), Work::from_micro_sections(1_000_000));
    assert!(close(work_of(&REFERENCE).reference_sections(), 1.0, 0.0));
}

#[test]
fn work_grows_with_force_time_speed_and_throw_in_proportion() {
    let micro = |ask: WorkAsk| work_of(&ask).micro_sections();
    assert_eq!(
        micro(WorkAsk {
            force_mn: 80_000,
            ..REFERENCE
        }),
        2_000_000
    );
    assert_eq!(
        micro(WorkAsk {
            time_ms: 72_000,
            ..REFERENCE
        }),
        500_000
    );
    assert_eq!(
        micro(WorkAsk {
            speed_per_min: 9_000,
            ..REFERENCE
        }),
        2_000_000
    );
    assert_eq!(
        micro(WorkAsk {
            throw: Length::from_mm(12),
            ..REFERENCE
        }),
        800_000
    );
}

/// Source: §5 of the model worked by hand: at the same pressure only time tells, 142.4 s / 144 s.
#[test]
fn a_small_pad_at_the_same_pressure_wears_by_its_time() {
    let face = Length::from_mm(80);
    let force_mn = Press::Moderate.force_mn(face, PressForces::default());
    assert_eq!(force_mn, 11_378);
    let work = work_of(&WorkAsk {
        face,
        force_mn,
        time_ms: 142_400,
        ..REFERENCE
    });
    assert!(close(work.reference_sections(), 142.4 / 144.0, 1e-4));
}

/// Ties the exact integers of `work_of` to the physical formulas it stands for.
#[test]
fn work_is_the_product_of_pressure_speed_and_time() {
    use std::f64::consts::PI;
    let rotary = WorkAsk {
        face: Length::from_mm(75),
        force_mn: 20_000,
        action: Action::Rotary,
        throw: Length::ZERO,
        speed_per_min: 900,
        time_ms: 60_000,
    };
    let pressure = |force_n: f64, face_m: f64| force_n / (PI * face_m * face_m / 4.0);
    let disc_m_per_s = 2.0 / 3.0 * PI * 0.075 * 900.0 / 60.0;
    let orbit_m_per_s = PI * 0.015 * 4_500.0 / 60.0;
    let expected =
        pressure(20.0, 0.075) / pressure(40.0, 0.15) * disc_m_per_s / orbit_m_per_s * 60.0 / 144.0;
    assert!(close(work_of(&rotary).reference_sections(), expected, 1e-5));
}

#[test]
fn a_figure_that_is_not_above_zero_makes_no_work() {
    assert_eq!(
        work_of(&WorkAsk {
            time_ms: 0,
            ..REFERENCE
        }),
        Work::ZERO
    );
    assert_eq!(
        work_of(&WorkAsk {
            force_mn: -1,
            ..REFERENCE
        }),
        Work::ZERO
    );
    assert_eq!(
        work_of(&WorkAsk {
            face: Length::ZERO,
            ..REFERENCE
        }),
        Work::ZERO
    );
}

#[test]
fn a_force_scales_down_with_the_face_but_not_up() {
    assert_eq!(force_mn_on(40_000, Length::from_mm(75)), 10_000);
    assert_eq!(force_mn_on(40_000, Length::from_mm(150)), 40_000);
    assert_eq!(force_mn_on(40_000, Length::from_mm(180)), 40_000);
}

/// Source: arithmetic: 65 of 130 sections and 4 of 20 washes are 0.5 + 0.2.
#[test]
fn damage_adds_work_and_washes_and_is_never_clipped() {
    let half = Work::from_micro_sections(65_000_000);
    assert!(close(damage(half, 130, 4, 20), 0.7, 1e-12));
    assert!(close(damage(half, 130, 30, 20), 2.0, 1e-12));
}

#[test]
fn a_missing_rating_leaves_its_term_out() {
    let half = Work::from_micro_sections(65_000_000);
    assert!(close(damage(half, 130, 4, 0), 0.5, 1e-12));
    assert!(close(damage(half, 0, 4, 20), 0.2, 1e-12));
}

/// Source: arithmetic: 75 of 300 hours and 100 of 1000 changes are 0.25 + 0.1.
#[test]
fn a_plate_wears_by_its_hours_and_its_changes() {
    let run_ms = 75 * 3_600_000;
    assert!(close(
        plate_damage(run_ms, Some(300), 100, Some(1_000)),
        0.35,
        1e-12
    ));
    assert!(close(
        plate_damage(run_ms, Some(300), 100, None),
        0.25,
        1e-12
    ));
    assert!(close(
        plate_damage(run_ms, Some(0), 100, Some(1_000)),
        0.1,
        1e-12
    ));
}

#[test]
fn loads_without_a_rating_are_left_out_of_the_sum() {
    assert!(close(
        miner(&[(1.0, 0.0), (3.0, 4.0), (2.0, -1.0)]),
        0.75,
        0.0
    ));
    assert_eq!(miner(&[]), 0.0);
}

#[test]
fn bands_begin_at_their_limits() {
    let of = |damage| band(damage, 0.6, 1.0);
    assert_eq!((of(0.0), of(0.599)), (Band::Sound, Band::Sound));
    assert_eq!((of(0.6), of(0.999)), (Band::Tired, Band::Tired));
    assert_eq!((of(1.0), of(3.0)), (Band::Spent, Band::Spent));
    assert_eq!(of(f64::NAN), Band::Spent);
}
