//! One piece with its whole life: what is left, the line of its wear, and its entries.

use super::super::kit as kit_page;
use super::super::scenario::wear::coarse_foam;
use super::super::scenario::{ascii, bottle, life, pad, plain, plain_ascii, screen};
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{Deed, GetPieceLifeResponse, Inspection, WearBand};
use textwrap::core::display_width;

fn worn_pad() -> GetPieceLifeResponse {
    let damages: Vec<_> = (0..13)
        .map(|index| Some(f64::from(index) * 0.0875))
        .collect();
    let mut told = life(pad("P-07", 1.05, WearBand::Spent), &damages);
    told.left = coarse_foam().pads.into_iter().next();
    told
}

fn emptied_bottle() -> GetPieceLifeResponse {
    let mut told = life(bottle(), &[None, None, None, None]);
    let left = [1_000_000, 830_000, 560_000, 412_000];
    for (point, left) in told.points.iter_mut().zip(left) {
        point.left_ul = Some(left);
    }
    told
}

#[test]
fn a_worn_pad_at_80_columns() {
    insta::assert_snapshot!(plain(&kit_page::show(&screen(80), &worn_pad())), @r"
    Tag           P-07
    What          coarse foam 150 (coarse-foam-150)
    Where         bench
    State         ready
    Face          150 mm, coarse
    Wear          ██████████ 105 % spent
    Worked        62.4 reference sections in 5 uses
    Washes        7
    Has carried   coarse liquid at the coarsest, washed out
    What is left  in jobs: typically 1.6, nine in ten more than 0.3, one in ten more
                  than 3.9. Rests on 6 retirements here and the rating.
    Its life      ▁▁▂▂▃▄▄▅▅▆▇▇█ (a full bar is 100 % of the rating)
    Received      Fri 4 Sep 2026 01:00

    Entry  Done                   After it  What happened
       41  Thu 26 Nov 2026 13:00     105 %  worked 17 sections in 41 min; was
                                            binned: torn (flagged)
       40  Thu 26 Nov 2026 13:00      96 %  worked 17 sections in 41 min; was
                                            binned: torn (flagged)
       39  Thu 26 Nov 2026 13:00      88 %  worked 17 sections in 41 min; was
                                            binned: torn (flagged)
       38  Thu 26 Nov 2026 13:00      79 %  worked 17 sections in 41 min; was
                                            binned: torn (flagged)
       37  Thu 26 Nov 2026 13:00      70 %  worked 17 sections in 41 min; was
                                            binned: torn (flagged)
    8 more: fettle book entries --about P-07
    ");
}

#[test]
fn a_worn_pad_at_120_columns_without_line_characters() {
    insta::assert_snapshot!(plain_ascii(&kit_page::show(&ascii(120), &worn_pad())), @r"
    Tag           P-07
    What          coarse foam 150 (coarse-foam-150)
    Where         bench
    State         ready
    Face          150 mm, coarse
    Wear          [##########] 105 % spent
    Worked        62.4 reference sections in 5 uses
    Washes        7
    Has carried   coarse liquid at the coarsest, washed out
    What is left  in jobs: typically 1.6, nine in ten more than 0.3, one in ten more than 3.9. Rests on 6 retirements here
                  and the rating.
    Its life      0012334567789 (9 is 100 % of the rating)
    Received      Fri 4 Sep 2026 01:00

    Entry  Done                   After it  What happened
       41  Thu 26 Nov 2026 13:00     105 %  worked 17 sections in 41 min; was binned: torn (flagged)
       40  Thu 26 Nov 2026 13:00      96 %  worked 17 sections in 41 min; was binned: torn (flagged)
       39  Thu 26 Nov 2026 13:00      88 %  worked 17 sections in 41 min; was binned: torn (flagged)
       38  Thu 26 Nov 2026 13:00      79 %  worked 17 sections in 41 min; was binned: torn (flagged)
       37  Thu 26 Nov 2026 13:00      70 %  worked 17 sections in 41 min; was binned: torn (flagged)
    8 more: fettle book entries --about P-07
    ");
}

#[test]
fn a_bottle_shows_what_was_left() {
    insta::assert_snapshot!(plain(&kit_page::show(&screen(80), &emptied_bottle())), @r"
    Tag           B-03
    What          coarse compound 1 L (coarse-compound-1-L)
    Where         van-a
    State         ready, count it
    Left          ████░░░░░░  41 % 412 mL of 1 L
    Jobs left     7, by what the latest jobs take
    Grade         coarse
    Empty weight  62 g
    Lot           L2231
    Use by        Wed 31 Mar 2027
    Opened        Thu 5 Nov 2026 12:00
    Measured      never
    Its life      █▆▄▃ (a full bar is all 1 L)
    Received      Fri 4 Sep 2026 01:00

    Entry  Done                   After it  What happened
       41  Thu 26 Nov 2026 13:00    412 mL  gave 82 mL, as planned; weighed 412 g:
                                            318.2 mL left (flagged)
       40  Thu 26 Nov 2026 13:00    560 mL  gave 82 mL, as planned; weighed 412 g:
                                            318.2 mL left (flagged)
       39  Thu 26 Nov 2026 13:00    830 mL  gave 82 mL, as planned; weighed 412 g:
                                            318.2 mL left (flagged)
       38  Thu 26 Nov 2026 13:00       1 L  gave 82 mL, as planned; weighed 412 g:
                                            318.2 mL left (flagged)
    ");
}

#[test]
fn what_neither_wears_nor_runs_down_tells_nothing_after_its_entries() {
    let text = kit_page::show(&screen(80), &life(bottle(), &[None]));
    assert!(!text.contains("After it"), "{text}");
    assert!(text.contains("What happened"), "{text}");
}

#[test]
fn the_last_look_at_a_washed_pad_is_told_with_its_scale() {
    let mut piece = pad("P-07", 0.1, WearBand::Sound);
    if let Some(State::Pad(pad)) = &mut piece.state {
        pad.inspected = Some(Inspection {
            tag: "P-07".to_owned(),
            rebound_grade: 4,
            edge_grade: 3,
            face_grade: 5,
        });
    }
    let text = plain(&kit_page::show(&screen(80), &life(piece, &[])));
    let told = "Last look    rebound 4, edge 3, face 5 (1 bad to 5 as new)";
    assert!(text.contains(told), "{text}");
}

#[test]
fn one_time_is_no_line() {
    let text = kit_page::show(
        &screen(80),
        &life(pad("P-07", 0.1, WearBand::Sound), &[Some(0.1)]),
    );
    assert!(!text.contains("Its life"), "{text}");
}

#[test]
fn no_line_runs_over_its_page() {
    let many: Vec<_> = (0..400)
        .map(|index| Some(f64::from(index) * 0.004))
        .collect();
    let long = life(pad("P-09", 1.6, WearBand::Spent), &many);
    for width in [80, 120] {
        for told in [&worn_pad(), &emptied_bottle(), &long] {
            for line in plain(&kit_page::show(&screen(width), told)).lines() {
                assert!(display_width(line) <= width, "{width}: {line}");
            }
        }
    }
}

/// What a machine ran in two steps of a job is told step by step; of one deed its sentence is enough.
#[test]
fn what_was_done_in_two_steps_is_told_with_each() {
    let ran = |step: &str, clause: &str| Deed {
        subject: "M-02".to_owned(),
        step: step.to_owned(),
        clause: clause.to_owned(),
        ..Deed::default()
    };
    let mut told = life(pad("M-02", 0.1, WearBand::Sound), &[Some(0.1), Some(0.1)]);
    let both = [
        ran("cut-spot", "ran 47 min 28 s"),
        ran("finish-spot", "ran 47 min 28 s"),
    ];
    told.points[1].entry.as_mut().unwrap().deeds = both.to_vec();
    told.points[0].entry.as_mut().unwrap().deeds = vec![ran("cut-spot", "ran 37 min 5 s")];
    let text = plain(&kit_page::show(&screen(120), &told));
    let line = "ran 47 min 28 s (cut-spot); ran 47 min 28 s (finish-spot)";
    assert!(text.contains(line), "{text}");
    assert!(
        text.contains("ran 37 min 5 s") && !text.contains("37 min 5 s (cut-spot)"),
        "{text}"
    );
}
