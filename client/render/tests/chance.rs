//! The check and the plan with the chances and expectations that the service worked out.

use super::super::scenario::{check_with_chances, plain, plan_with_liquids, screen};
use super::super::{check as check_page, plan as plan_page};
use fettlebook_contract::v1::{SundryQuantity, Unit, Verdict};
use textwrap::core::display_width;

#[test]
fn the_check_with_chances_at_80_columns() {
    let text = check_page::full(&screen(80), &check_with_chances());
    insta::assert_snapshot!(plain(&text), @r"
    saloon-thursday  Thu 26 Nov 2026 08:00  van-a
    12.2 m² of paint (by class) · 2 steps · 5 h 17 min on the machine

                                       Need      Have     Short  Chance
    cut · 66 sections · 4 pads and 1 spare · 52.5 mL · 2 h 38 min
    watch  coarse foam 150                5         5         -    89 %
           P-04 is tired.
           Rests on 5 retirements here and the rating.
           → Take P-09 along as a further spare.
    go     coarse compound 1 L        62 mL    412 mL         -   >99 %
           planned 52.5 mL
    The whole job
    go     edgeless towel 400 g           9        12         -
    watch  hand-arm vibration
           Above the action value of 2.5 m/s² over 8 h.
           → Share the work, or rest the hands between panels.

    Take  What                  For                Use  Wear so far
    B-03  coarse compound 1 L   cut            52.5 mL
    P-01  coarse foam 150       cut                            41 %
    P-04  coarse foam 150       cut                            93 %
    P-06  coarse foam 150       cut                            10 %
    T-01  edgeless towel 400 g  the whole job        9

    Caution: Coarse compound 1 L carries H319: wear eye protection, and follow the
      label and the data sheet.

    watch: the kit carries saloon-thursday, carry chance 88 % (you aim at 95 %);
      keep an eye on: coarse foam 150; hand-arm vibration.
    ");
}

#[test]
fn the_check_with_chances_at_120_columns() {
    let text = check_page::full(&screen(120), &check_with_chances());
    insta::assert_snapshot!(plain(&text), @r"
    saloon-thursday  Thu 26 Nov 2026 08:00  van-a
    12.2 m² of paint (by class) · 2 steps · 5 h 17 min on the machine

                                       Need      Have     Short  Chance
    cut · 66 sections · 4 pads and 1 spare · 52.5 mL · 2 h 38 min
    watch  coarse foam 150                5         5         -    89 %
           P-04 is tired.
           Rests on 5 retirements here and the rating.
           → Take P-09 along as a further spare.
    go     coarse compound 1 L        62 mL    412 mL         -   >99 %
           planned 52.5 mL
    The whole job
    go     edgeless towel 400 g           9        12         -
    watch  hand-arm vibration
           Above the action value of 2.5 m/s² over 8 h.
           → Share the work, or rest the hands between panels.

    Take  What                  For                Use  Wear so far
    B-03  coarse compound 1 L   cut            52.5 mL
    P-01  coarse foam 150       cut                            41 %
    P-04  coarse foam 150       cut                            93 %
    P-06  coarse foam 150       cut                            10 %
    T-01  edgeless towel 400 g  the whole job        9

    Caution: Coarse compound 1 L carries H319: wear eye protection, and follow the label and the data sheet.

    watch: the kit carries saloon-thursday, carry chance 88 % (you aim at 95 %); keep an eye on: coarse foam 150; hand-arm
      vibration.
    ");
}

#[test]
fn what_a_chance_rests_on_is_told_below_the_aim_even_when_the_line_goes() {
    let mut answer = check_with_chances();
    for check in &mut answer.checks {
        check.carry_target = 0.998;
        for line in &mut check.lines {
            line.verdict = Verdict::Go.into();
        }
    }
    let text = plain(&check_page::full(&screen(80), &answer));
    assert!(text.contains("You use 18 % more than planned"), "{text}");
    for check in &mut answer.checks {
        check.carry_target = 0.5;
    }
    let text = plain(&check_page::full(&screen(80), &answer));
    assert!(!text.contains("from 7 jobs"), "{text}");
}

#[test]
fn the_last_sentence_tells_the_carry_chance_beside_the_aim() {
    let mut answer = check_with_chances();
    for (verdict, told) in [
        (
            Verdict::Go,
            "go: the kit carries saloon-thursday, carry chance 88 % (you aim at 95 %).",
        ),
        (Verdict::Stop, "  stands: 88 % (you aim at 95 %)."),
        (
            Verdict::Unspecified,
            "unspecified: nothing is said about saloon-thursday.",
        ),
    ] {
        for check in &mut answer.checks {
            check.verdict = verdict.into();
        }
        let text = plain(&check_page::full(&screen(80), &answer));
        assert_eq!(text.lines().last(), Some(told));
    }
}

#[test]
fn the_plan_with_liquids_at_80_columns() {
    let text = plan_page::show(&screen(80), "saloon-thursday", &plan_with_liquids());
    insta::assert_snapshot!(plain(&text), @r"
    saloon-thursday
    12.2 m² of paint (by class) · 2 steps · 5 h 17 min on the machine

    Step    Sections  Pads  Spare  Dots        Liquid  Machine time
    cut           66     4      1  6, then 3  52.5 mL    2 h 38 min
    finish        66     3      1  6, then 3  51.8 mL    2 h 38 min

    Dots: to prime a pad, then for each further section.
    Each section of cut: 5 strokes to cover it, 2 min 24 s on paint.
    Each section of finish: 5 strokes to cover it, 2 min 24 s on paint.
    Beside them: 9 towels.

    Liquid               Planned  Expected  Range
    coarse-compound-1-l  52.5 mL     62 mL  47.3 mL – 78.8 mL
    fine-polish-500-ml   51.8 mL   61.1 mL  46.6 mL – 77.6 mL

    Range: one job in ten uses less than the first, one in ten more than the last.
    coarse-compound-1-l: You use 18 % more than planned, from 7 jobs.
    fine-polish-500-ml: Taken as coarse-compound-1-l, which you weigh; no weigh-in
      of this one yet.
    ");
}

#[test]
fn the_plan_with_liquids_at_120_columns() {
    let text = plan_page::show(&screen(120), "saloon-thursday", &plan_with_liquids());
    insta::assert_snapshot!(plain(&text), @r"
    saloon-thursday
    12.2 m² of paint (by class) · 2 steps · 5 h 17 min on the machine

    Step    Sections  Pads  Spare  Dots        Liquid  Machine time
    cut           66     4      1  6, then 3  52.5 mL    2 h 38 min
    finish        66     3      1  6, then 3  51.8 mL    2 h 38 min

    Dots: to prime a pad, then for each further section.
    Each section of cut: 5 strokes to cover it, 2 min 24 s on paint.
    Each section of finish: 5 strokes to cover it, 2 min 24 s on paint.
    Beside them: 9 towels.

    Liquid               Planned  Expected  Range
    coarse-compound-1-l  52.5 mL     62 mL  47.3 mL – 78.8 mL
    fine-polish-500-ml   51.8 mL   61.1 mL  46.6 mL – 77.6 mL

    Range: one job in ten uses less than the first, one in ten more than the last.
    coarse-compound-1-l: You use 18 % more than planned, from 7 jobs.
    fine-polish-500-ml: Taken as coarse-compound-1-l, which you weigh; no weigh-in of this one yet.
    ");
}

/// The same, of a shop that counted its tape; of the gloves, which nobody counts, there is nothing to tell.
#[test]
fn a_plan_tells_what_is_really_used_of_tape_once_it_was_counted() {
    let sundry = |make: &str, quantity: i64, unit: Unit, rests_on: &str| SundryQuantity {
        make: make.to_owned(),
        quantity,
        unit: unit.into(),
        expected_quantity: quantity * 118 / 100,
        low_quantity: quantity,
        high_quantity: quantity * 14 / 10,
        rests_on: rests_on.to_owned(),
    };
    let mut plan = plan_with_liquids();
    plan.sundries = vec![
        sundry("nitrile-gloves-50", 2, Unit::Pair, ""),
        sundry(
            "masking-tape-50",
            15_000,
            Unit::Millimetre,
            "You use 18 % more than planned, from 7 jobs.",
        ),
    ];
    let text = plain(&plan_page::show(&screen(80), "saloon-thursday", &plan));
    for line in [
        "Beside them: 9 towels, 2 pairs of nitrile-gloves-50, 15 m of masking-tape-50.",
        "Used up              Planned  Expected  Range",
        "masking-tape-50         15 m    17.7 m  15 m – 21 m",
        "masking-tape-50: You use 18 % more than planned, from 7 jobs.",
    ] {
        assert!(text.lines().any(|told| told == line), "{line}\n{text}");
    }
    assert!(!text.contains("\nnitrile-gloves-50"), "{text}");
}

#[test]
fn no_line_runs_over_its_page() {
    for width in [80, 120] {
        for text in [
            check_page::full(&screen(width), &check_with_chances()),
            plan_page::show(&screen(width), "saloon-thursday", &plan_with_liquids()),
        ] {
            for line in plain(&text).lines() {
                assert!(display_width(line) <= width, "{width}: {line}");
            }
        }
    }
}
