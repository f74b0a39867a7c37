//! Work and damage against the reference section and hand-worked ratios.
//!
//! Published cases of the speeds and of cumulative damage are in `tests/published.rs`.

use fettlebook_quantity::Length;

use super::{
    Action, Band, Press, PressForces, Work, WorkAsk, band, damage, disc_mean_speed_m_per_s,
    force_mn_on, miner, miner_remaining, orbit_speed_m_per_s, pressure_pa, work_of,
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
    let rotary = WorkAsk {
        face: Length::from_mm(75),
        force_mn: 20_000,
        action: Action::Rotary,
        throw: Length::ZERO,
        speed_per_min: 900,
        time_ms: 60_000,
    };
    let expected = pressure_pa(20.0, 0.075) / pressure_pa(40.0, 0.15)
        * disc_mean_speed_m_per_s(0.075, 900.0)
        / orbit_speed_m_per_s(0.015, 4_500.0)
        * 60.0
        / 144.0;
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

#[test]
fn miner_refuses_a_life_that_is_not_above_zero() {
    assert_eq!(miner(&[(1.0, 0.0)]), None);
    assert_eq!(miner(&[(-1.0, 10.0)]), None);
    assert_eq!(miner(&[(f64::NAN, 10.0)]), None);
    assert_eq!(miner(&[(1.0, f64::NAN)]), None);
    assert_eq!(miner(&[]), Some(0.0));
}

#[test]
fn nothing_is_left_once_the_damage_is_one() {
    assert!(close(miner_remaining(0.5, 100.0), 50.0, 1e-12));
    assert_eq!(
        miner_remaining(1.5, 100.0).total_cmp(&0.0),
        std::cmp::Ordering::Equal
    );
}

#[test]
fn bands_begin_at_their_limits() {
    let of = |damage| band(damage, 0.6, 1.0);
    assert_eq!((of(0.0), of(0.599)), (Band::Sound, Band::Sound));
    assert_eq!((of(0.6), of(0.999)), (Band::Tired, Band::Tired));
    assert_eq!((of(1.0), of(3.0)), (Band::Spent, Band::Spent));
    assert_eq!(of(f64::NAN), Band::Spent);
}
