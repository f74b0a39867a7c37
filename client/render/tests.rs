//! The main screens as a person sees them, at 80 and 120 columns, with colour and without.

use super::scenario::{
    at, bottle, check as checked, coloured, entry, kit, life, listed, pad, plain, plan, screen,
    supply as supplies,
};
use super::{check as check_page, entry as entry_page, job, kit as kit_page, plan as plan_page};
use fettlebook_contract::v1::{Job, JobState, Verdict, WearBand};
use textwrap::core::display_width;

mod chance;
mod check;
mod either;
mod folder;
mod hours;
mod keep;
mod life;
mod notebook;
mod quote;
mod reorder;
mod screens;
mod shared;
mod shop;
mod shops;
mod supply;
mod take;
mod telephone;
mod wear;

#[test]
fn the_check_at_80_columns() {
    insta::assert_snapshot!(plain(&check_page::full(&screen(80), &checked())), @r"
    saloon-thursday  Thu 26 Nov 2026 08:00  van-a
    12.2 m² of paint (by class) · 2 steps · 5 h 17 min on the machine

                                       Need      Have     Short
    cut · 66 sections · 4 pads and 1 spare · 52.5 mL · 2 h 38 min
    stop   plate 125 M8                   1         0         1
           PL-02 is rated 4000/min, below the 4800/min marked on M-01.
           → Fit a plate rated 4800/min or more; never run one above its rating.
    stop   coarse foam 150                5         3         2
           P-02 and P-05 were washed and are not dry before Thu 26 Nov 2026 12:00.
           → Start after Thu 26 Nov 2026 12:00.
           → Feel P-02 and P-05 by hand; if they are dry, say so with 'fettle kit
             dry P-02 P-05'.
    go     coarse compound 1 L      52.5 mL    412 mL         -
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

    stop: do not start saloon-thursday before this is mended: plate 125 M8; coarse
      foam 150.
    ");
}

#[test]
fn the_check_at_120_columns() {
    insta::assert_snapshot!(plain(&check_page::full(&screen(120), &checked())), @r"
    saloon-thursday  Thu 26 Nov 2026 08:00  van-a
    12.2 m² of paint (by class) · 2 steps · 5 h 17 min on the machine

                                       Need      Have     Short
    cut · 66 sections · 4 pads and 1 spare · 52.5 mL · 2 h 38 min
    stop   plate 125 M8                   1         0         1
           PL-02 is rated 4000/min, below the 4800/min marked on M-01.
           → Fit a plate rated 4800/min or more; never run one above its rating.
    stop   coarse foam 150                5         3         2
           P-02 and P-05 were washed and are not dry before Thu 26 Nov 2026 12:00.
           → Start after Thu 26 Nov 2026 12:00.
           → Feel P-02 and P-05 by hand; if they are dry, say so with 'fettle kit dry P-02 P-05'.
    go     coarse compound 1 L      52.5 mL    412 mL         -
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

    stop: do not start saloon-thursday before this is mended: plate 125 M8; coarse foam 150.
    ");
}

#[test]
fn the_check_in_colour_says_the_same() {
    let text = check_page::full(&screen(80), &checked());
    insta::assert_snapshot!(coloured(&text).lines().take(12).collect::<Vec<_>>().join("\n"), @r"
    ^[1msaloon-thursday^[0m  Thu 26 Nov 2026 08:00  van-a
    12.2 m² of paint (by class) · 2 steps · 5 h 17 min on the machine

                                 ^[1m      Need      Have     Short^[0m
    ^[1mcut^[0m · 66 sections · 4 pads and 1 spare · 52.5 mL · 2 h 38 min
    ^[1m^[31mstop^[0m   plate 125 M8                   1         0         1
           PL-02 is rated 4000/min, below the 4800/min marked on M-01.
           → Fit a plate rated 4800/min or more; never run one above its rating.
    ^[1m^[31mstop^[0m   coarse foam 150                5         3         2
           P-02 and P-05 were washed and are not dry before Thu 26 Nov 2026 12:00.
           → Start after Thu 26 Nov 2026 12:00.
           → Feel P-02 and P-05 by hand; if they are dry, say so with 'fettle kit
    ");
}

#[test]
fn a_check_that_goes_ends_with_one_plain_sentence() {
    let mut answer = checked();
    answer.verdict = Verdict::Go.into();
    for check in &mut answer.checks {
        check.verdict = Verdict::Go.into();
        check.lines.retain(|line| line.verdict() == Verdict::Go);
    }
    let text = plain(&check_page::full(&screen(80), &answer));
    assert_eq!(
        text.lines().last(),
        Some("go: the kit carries saloon-thursday.")
    );
}

#[test]
fn the_kit_at_80_columns() {
    insta::assert_snapshot!(plain(&kit_page::list(&screen(80), &kit())), @r"
    Tag    What                    Where  State          Wear                   Left
    B-03   coarse compound 1 L     van-a  ready, count                412 mL, 7 jobs
                                          it
    M-01   150 mm orbital, 15 mm   bench  ready          34 h 10 min
           throw
    P-01   coarse foam 150         bench  ready          ██░░░  41 %
    P-02   coarse foam 150         bench  dry Thu 12:00  ████░  71 %
                                          tired
    P-03   coarse foam 150         bench  aside:         █████ 104 %
                                          dropped,
                                          spent
    PL-01  plate 125 M8            bench  ready          █░░░░  22 %
    S-01   nitrile gloves, box of  bench  ready                             23 pairs
           50 pairs
    T-01   edgeless towel 400 g    bench  12 clean, 6    9 washes
                                          soiled,
                                          residue
    ");
}

#[test]
fn the_kit_at_120_columns() {
    insta::assert_snapshot!(plain(&kit_page::list(&screen(120), &kit())), @r"
    Tag    What                             Where  State                                 Wear                   Left
    B-03   coarse compound 1 L              van-a  ready, count it                                    412 mL, 7 jobs
    M-01   150 mm orbital, 15 mm throw      bench  ready                                 34 h 10 min
    P-01   coarse foam 150                  bench  ready                                 ██░░░  41 %
    P-02   coarse foam 150                  bench  drying until Thu 26 Nov 12:00, tired  ████░  71 %
    P-03   coarse foam 150                  bench  aside: dropped, spent                 █████ 104 %
    PL-01  plate 125 M8                     bench  ready                                 █░░░░  22 %
    S-01   nitrile gloves, box of 50 pairs  bench  ready                                                    23 pairs
    T-01   edgeless towel 400 g             bench  12 clean, 6 soiled, residue           9 washes
    ");
}

#[test]
fn one_pad_with_its_entries() {
    let piece = pad("P-07", 0.41, WearBand::Sound);
    insta::assert_snapshot!(plain(&kit_page::show(&screen(80), &life(piece, &[Some(0.41)]))), @r"
    Tag          P-07
    What         coarse foam 150 (coarse-foam-150)
    Where        bench
    State        ready
    Face         150 mm, coarse
    Wear         ████░░░░░░  41 % sound
    Worked       62.4 reference sections in 5 uses
    Washes       7
    Has carried  coarse liquid at the coarsest, washed out
    Received     Fri 4 Sep 2026 01:00

    Entry  Done                   After it  What happened
       41  Thu 26 Nov 2026 13:00      41 %  worked 17 sections in 41 min; was
                                            binned: torn (flagged)
    ");
}

#[test]
fn a_piece_whose_cost_is_known_says_it() {
    let mut piece = pad("P-07", 0.41, WearBand::Sound);
    let page = |piece: &_| {
        plain(&kit_page::show(
            &screen(80),
            &life(Clone::clone(piece), &[]),
        ))
    };
    assert!(!page(&piece).contains("Landed cost"));
    piece.landed_cost = supplies::eur("10.23");
    let text = page(&piece);
    assert!(
        text.contains("Landed cost  10.23 EUR, with its share of the freight"),
        "{text}"
    );
}

#[test]
fn one_bottle() {
    insta::assert_snapshot!(plain(&kit_page::show(&screen(80), &life(bottle(), &[]))), @r"
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
    Received      Fri 4 Sep 2026 01:00
    ");
}

#[test]
fn an_entry_that_was_recorded() {
    insta::assert_snapshot!(plain(&entry_page::recorded(&screen(80), &entry())), @r"
    Entry 41  Thu 26 Nov 2026 13:00
      saloon-thursday  done.
      P-07, P-08       worked 17 sections in 41 min (cut).
      P-07             was binned: torn.
      B-03             gave 82 mL, as planned (cut).
      B-03             weighed 412 g: 318.2 mL left.
      Flagged: B-03: the weight says 31 mL less than the book.
      Note: hot day, pads changed early
    To take it back: fettle undo 41
    ");
}

#[test]
fn entries_in_a_list() {
    let mut reversed = entry();
    reversed.reversed_by_seq = Some(43);
    insta::assert_snapshot!(plain(&listed(&reversed)), @r"
    Entry                   Done  What happened
       41  Thu 26 Nov 2026 13:00  saloon-thursday: done; P-07, P-08 worked 17
                                  sections in 41 min (cut); P-07 was binned: torn;
                                  and 2 more (reversed by 43) (flagged)
    ");
}

#[test]
fn a_plan() {
    let text = plan_page::show(&screen(80), "saloon-thursday", &plan());
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
    ");
}

#[test]
fn the_diary() {
    let jobs = [Job {
        job: "saloon-thursday".to_owned(),
        car: "medium-saloon-silver".to_owned(),
        routine: "two-step".to_owned(),
        place: "van-a".to_owned(),
        start_time: at(0),
        state: JobState::Booked.into(),
        ..Job::default()
    }];
    insta::assert_snapshot!(plain(&job::list(&screen(80), &jobs)), @r"
    Job              Start                  Where  Work                  State
    saloon-thursday  Thu 26 Nov 2026 08:00  van-a  two-step on           booked
                                                   medium-saloon-silver
    ");
}

#[test]
fn no_screen_runs_over_its_page_and_none_promises_safety() {
    for width in [80, 120] {
        let page = screen(width);
        for text in [
            check_page::full(&page, &checked()),
            kit_page::list(&page, &kit()),
            kit_page::show(&page, &life(bottle(), &[None, None])),
            entry_page::recorded(&page, &entry()),
            plan_page::show(&page, "saloon-thursday", &plan()),
        ] {
            for line in plain(&text).lines() {
                assert!(display_width(line) <= width, "{width}: {line}");
                assert!(!line.contains("safe"), "{line}");
            }
        }
    }
}
