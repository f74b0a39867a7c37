//! The wear of pad makes: the list, one make with its curve, and curves at their edges.

use super::super::scenario::wear::{coarse_foam, fine_foam};
use super::super::scenario::{ascii, plain, plain_ascii, screen};
use super::super::{curve, wear as wear_page};
use fettlebook_contract::v1::{LifeBelief, LifeStep, MakeWear};
use textwrap::core::display_width;

#[test]
fn the_makes_at_80_columns() {
    let text = wear_page::list(&screen(80), &[coarse_foam(), fine_foam()]);
    insta::assert_snapshot!(plain(&text), @r"
    Make             Worn out  In service  Lasts      Jobs a pad
    coarse-foam-150         6           5  108 %  6.9 – 9.8 – 13
    fine-foam-150           0           1  100 %   5.2 – 10 – 17

    coarse-foam-150: rests on 6 retirements here and the rating.
    fine-foam-150: rests on the rating only.
    Lasts: half of the pads longer, as a part of the rating. Jobs a pad: nine in ten
      do more than the first, half more than the second, one in ten more than the
      last.
    For the curve and the pads of one: fettle wear MAKE
    ");
}

#[test]
fn the_makes_at_120_columns_without_line_characters() {
    let text = wear_page::list(&ascii(120), &[coarse_foam(), fine_foam()]);
    insta::assert_snapshot!(plain_ascii(&text), @r"
    Make             Worn out  In service  Lasts      Jobs a pad
    coarse-foam-150         6           5  108 %  6.9 - 9.8 - 13
    fine-foam-150           0           1  100 %   5.2 - 10 - 17

    coarse-foam-150: rests on 6 retirements here and the rating.
    fine-foam-150: rests on the rating only.
    Lasts: half of the pads longer, as a part of the rating. Jobs a pad: nine in ten do more than the first, half more than
      the second, one in ten more than the last.
    For the curve and the pads of one: fettle wear MAKE
    ");
}

#[test]
fn no_makes_are_a_sentence() {
    let text = wear_page::list(&screen(80), &[]);
    assert!(text.contains("fettle receive"), "{text}");
}

#[test]
fn one_make_at_80_columns() {
    insta::assert_snapshot!(plain(&wear_page::show(&screen(80), &coarse_foam())), @r"
    coarse foam 150 (coarse-foam-150)
    Pads of this make last about 8 % longer here than the rating says, from 6
    retirements.

    Pads still working
    100 % ┤━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━┓     ┊
          │                 ········     ┗━━━━┓┊
     80 % ┤                         ·····     ┃┊
          │                              ···· ┗━━┓
     60 % ┤                                  ····┗━━┓
          │                                    ┊ ···┃
     40 % ┤                                    ┊    ┃····
          │                                    ┊    ┃    ····
     20 % ┤                                    ┊    ┗━━━━━━┓ ······
          │                                    ┊           ┃       ·········
      0 % ┤                                    ┊           ┗                ·······
          └┴────────┴────────┴────────┴────────┴─────────┴────────┴────────┴───────
          0 %     25 %     50 %     75 %     100 %     125 %    150 %    175 %
                                  Wear, % of the rated life
           ━ seen here   · believed of a new pad   ┊ rating

    Worn out           6
      as a precaution  1
    Left otherwise     3
    In service         5
    A pad lasts        typically 108 %, nine in ten more than 76 %, one in ten more
                       than 141 % of the rating
    In jobs            typically 9.8, nine in ten more than 6.9, one in ten more
                       than 13

    Pad   State   Wear so far             Jobs left       Range
    P-05  aside   ██████████ 104 % spent        1.6  0.3 to 3.9
    P-04  ready   █████████░  88 % tired        2.7  0.8 to 5.1
    P-02  drying  ███████░░░  71 % tired        3.9  1.5 to 6.6
    P-01  soiled  ████░░░░░░  35 % sound        6.8  3.9 to 9.8
    P-06  ready   █░░░░░░░░░   8 % sound        9.1   6.2 to 12
    Rests on 6 retirements here and the rating.

    One job        wears 11 % of the rated life. A usual job is the mean of 14 uses
                   and a wash.
    Weibull shape  4.2, fitted to this shop's retirements, 95 % limits 2.1 to 7.4

    To keep in mind
    - 6 retirements are few: a single pad moves these figures much.
    - Retiring as a precaution shortens the life that is seen; 1 of 6 went so.
    ");
}

#[test]
fn one_make_at_120_columns() {
    insta::assert_snapshot!(plain(&wear_page::show(&screen(120), &coarse_foam())), @r"
    coarse foam 150 (coarse-foam-150)
    Pads of this make last about 8 % longer here than the rating says, from 6 retirements.

    Pads still working
    100 % ┤━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━━┓        ┊
          │                        ··········        ┗━━━━━━┓ ┊
     80 % ┤                                  ·······        ┃ ┊
          │                                         ······  ┗━━┓
     60 % ┤                                               ·····┗━━━┓
          │                                                   ┊ ···┃·
     40 % ┤                                                   ┊    ┃ ·····
          │                                                   ┊    ┃      ·······
     20 % ┤                                                   ┊    ┗━━━━━━━━━━┓  ·······
          │                                                   ┊               ┃         ·············
      0 % ┤                                                   ┊               ┗                      ··········
          └┴─────────┴─────────┴─────────┴──────────┴─────────┴─────────┴─────────┴─────────┴─────────┴────────
          0 %      20 %      40 %      60 %       80 %      100 %     120 %     140 %     160 %     180 %
                                                Wear, % of the rated life
           ━ seen here   · believed of a new pad   ┊ rating

    Worn out           6
      as a precaution  1
    Left otherwise     3
    In service         5
    A pad lasts        typically 108 %, nine in ten more than 76 %, one in ten more than 141 % of the rating
    In jobs            typically 9.8, nine in ten more than 6.9, one in ten more than 13

    Pad   State   Wear so far             Jobs left       Range
    P-05  aside   ██████████ 104 % spent        1.6  0.3 to 3.9
    P-04  ready   █████████░  88 % tired        2.7  0.8 to 5.1
    P-02  drying  ███████░░░  71 % tired        3.9  1.5 to 6.6
    P-01  soiled  ████░░░░░░  35 % sound        6.8  3.9 to 9.8
    P-06  ready   █░░░░░░░░░   8 % sound        9.1   6.2 to 12
    Rests on 6 retirements here and the rating.

    One job        wears 11 % of the rated life. A usual job is the mean of 14 uses and a wash.
    Weibull shape  4.2, fitted to this shop's retirements, 95 % limits 2.1 to 7.4

    To keep in mind
    - 6 retirements are few: a single pad moves these figures much.
    - Retiring as a precaution shortens the life that is seen; 1 of 6 went so.
    ");
}

#[test]
fn one_make_at_80_columns_without_line_characters() {
    insta::assert_snapshot!(plain_ascii(&wear_page::show(&ascii(80), &coarse_foam())), @r"
    coarse foam 150 (coarse-foam-150)
    Pads of this make last about 8 % longer here than the rating says, from 6
    retirements.

    Pads still working
    100 % +###############################     :
          |                 ........     ######:
     80 % +                         .....     #:
          |                              .... ####
     60 % +                                  ....####
          |                                    : ...#
     40 % +                                    :    #....
          |                                    :    #    ....
     20 % +                                    :    ######## ......
          |                                    :           #       .........
      0 % +                                    :           #                .......
          ++--------+--------+--------+--------+---------+--------+--------+-------
          0 %     25 %     50 %     75 %     100 %     125 %    150 %    175 %
                                  Wear, % of the rated life
           # seen here   . believed of a new pad   : rating

    Worn out           6
      as a precaution  1
    Left otherwise     3
    In service         5
    A pad lasts        typically 108 %, nine in ten more than 76 %, one in ten more
                       than 141 % of the rating
    In jobs            typically 9.8, nine in ten more than 6.9, one in ten more
                       than 13

    Pad   State   Wear so far               Jobs left       Range
    P-05  aside   [##########] 104 % spent        1.6  0.3 to 3.9
    P-04  ready   [#########.]  88 % tired        2.7  0.8 to 5.1
    P-02  drying  [#######...]  71 % tired        3.9  1.5 to 6.6
    P-01  soiled  [####......]  35 % sound        6.8  3.9 to 9.8
    P-06  ready   [#.........]   8 % sound        9.1   6.2 to 12
    Rests on 6 retirements here and the rating.

    One job        wears 11 % of the rated life. A usual job is the mean of 14 uses
                   and a wash.
    Weibull shape  4.2, fitted to this shop's retirements, 95 % limits 2.1 to 7.4

    To keep in mind
    - 6 retirements are few: a single pad moves these figures much.
    - Retiring as a precaution shortens the life that is seen; 1 of 6 went so.
    ");
}

#[test]
fn a_make_of_which_none_wore_out_says_so() {
    insta::assert_snapshot!(plain(&wear_page::show(&screen(80), &fine_foam())), @r"
    fine foam 150 (fine-foam-150)
    Nothing is known yet beyond the rating.
    No pad of this make has worn out here yet: what follows is believed, not seen.

    Pads still working
    100 % ┤·················                      ┊
          │                 ········              ┊
     80 % ┤                         ·····         ┊
          │                              ····     ┊
     60 % ┤                                  ···· ┊
          │                                      ····
     40 % ┤                                       ┊  ····
          │                                       ┊      ····
     20 % ┤                                       ┊          ······
          │                                       ┊                ·········
      0 % ┤                                       ┊                         ·······
          └┴─────────┴─────────┴─────────┴────────┴─────────┴─────────┴─────────┴──
          0 %      25 %      50 %      75 %     100 %     125 %     150 %     175 %
                                  Wear, % of the rated life
           · believed of a new pad   ┊ rating

    Worn out           0
      as a precaution  0
    Left otherwise     0
    In service         1
    A pad lasts        typically 100 %, nine in ten more than 50 %, one in ten more
                       than 164 % of the rating
    In jobs            typically 10, nine in ten more than 5.2, one in ten more than
                       17

    Pad   State  Wear so far             Jobs left      Range
    P-11  ready  ██░░░░░░░░  22 % sound        8.2  3.1 to 15
    Rests on the rating only.

    One job        wears 10 % of the rated life. A usual job is the make's load and
                   a wash, as nothing was logged yet.
    Weibull shape  2.5, by the book's policy
    ");
}

#[test]
fn pads_that_rest_on_different_things_say_so_each() {
    let mut wear = coarse_foam();
    wear.pads[0].rests_on = "Rests on the rating only.".to_owned();
    let text = plain(&wear_page::show(&screen(120), &wear));
    let first = text.lines().find(|line| line.starts_with("P-05")).unwrap();
    assert!(first.ends_with("the rating only"), "{first}");
    assert!(!text.contains("Rests on 6"), "{text}");
}

fn step(damage: f64, survival: f64) -> LifeStep {
    LifeStep {
        damage,
        survival,
        at_risk_count: 1,
        failure_count: 1,
        ..LifeStep::default()
    }
}

#[test]
fn a_curve_with_one_failure_falls_once() {
    let wear = MakeWear {
        curve: vec![step(0.5, 0.0)],
        ..MakeWear::default()
    };
    insta::assert_snapshot!(plain(&curve::plot(&screen(60), &wear)), @r"
    Pads still working
    100 % ┤━━━━━━━━━━━━━━━━━━━━━┓                     ┊
          │                     ┃                     ┊
     80 % ┤                     ┃                     ┊
          │                     ┃                     ┊
     60 % ┤                     ┃                     ┊
          │                     ┃                     ┊
     40 % ┤                     ┃                     ┊
          │                     ┃                     ┊
     20 % ┤                     ┃                     ┊
          │                     ┃                     ┊
      0 % ┤                     ┗                     ┊
          └┴──────────┴─────────┴──────────┴──────────┴────────
          0 %       25 %      50 %       75 %       100 %
                        Wear, % of the rated life
           ━ seen here   ┊ rating
    ");
}

#[test]
fn a_belief_that_all_last_is_a_line_along_the_top() {
    let believed = |damage| LifeBelief {
        damage,
        survival: 1.0,
    };
    let wear = MakeWear {
        belief: vec![believed(0.0), believed(2.0)],
        ..MakeWear::default()
    };
    let text = plain_ascii(&curve::plot(&ascii(60), &wear));
    let dotted: Vec<_> = text.lines().filter(|line| line.contains("..")).collect();
    assert_eq!(dotted.len(), 1, "{text}");
    assert!(dotted[0].starts_with("100 %"), "{text}");
    assert!(!text.contains("seen here"), "{text}");
}

#[test]
fn a_plot_without_points_is_its_axes() {
    let text = plain(&curve::plot(&screen(60), &MakeWear::default()));
    assert!(
        text.contains("100 % ┤") && text.contains("  0 % ┤"),
        "{text}"
    );
    assert!(text.contains("Wear, % of the rated life"), "{text}");
}

#[test]
fn a_make_with_nothing_known_of_it_is_still_a_page() {
    let text = plain(&wear_page::show(&screen(80), &MakeWear::default()));
    assert!(
        text.contains("No pad of this make is in service."),
        "{text}"
    );
}

#[test]
fn curves_of_any_figures_keep_to_the_page() {
    let odd = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 0.0, 1e300];
    for damage in odd {
        for survival in odd {
            let wear = MakeWear {
                curve: vec![step(0.3, 0.9), step(damage, survival)],
                belief: vec![LifeBelief { damage, survival }, LifeBelief::default()],
                pads: coarse_foam().pads,
                ..MakeWear::default()
            };
            for width in [40, 80, 140] {
                let text = plain(&wear_page::show(&screen(width), &wear));
                for line in text.lines().take(18) {
                    assert!(display_width(line) <= width, "{width}: {line}");
                }
            }
        }
    }
}

#[test]
fn no_line_runs_over_its_page_and_the_plot_fits_a_small_screen() {
    for width in [80, 120] {
        for text in [
            wear_page::list(&screen(width), &[coarse_foam(), fine_foam()]),
            wear_page::show(&screen(width), &coarse_foam()),
            wear_page::show(&screen(width), &fine_foam()),
        ] {
            for line in plain(&text).lines() {
                assert!(display_width(line) <= width, "{width}: {line}");
                assert!(!line.contains("safe"), "{line}");
            }
        }
        let lines = curve::plot(&screen(width), &coarse_foam()).lines().count();
        assert!(lines <= 18, "{lines}");
    }
}

#[test]
fn without_line_characters_nothing_but_ascii_is_drawn() {
    let text = plain_ascii(&wear_page::show(&ascii(80), &coarse_foam()));
    assert!(text.is_ascii(), "{text}");
}
