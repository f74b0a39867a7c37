//! What is told of steps that machines share, of deeper cuts and of jobs of two days.

use std::collections::BTreeMap;

use fettlebook_contract::v1::{
    CheckLine, CheckLineKind, Job, JobCheck, Panel, PanelPart, Plan, Reach, Routine, Step,
    StepPlan, StepSets, StepShare, Verdict,
};

use super::super::check::not_go;
use super::super::picks::{self, Goes, Sort};
use super::super::scenario::{at, check as checked, plain, screen};
use super::super::{car, check as check_page, job as job_page, plan as plan_page, routine};

fn cut() -> Step {
    let by = |reach: Reach, machine: &str, pad: &str| StepShare {
        reach: reach.into(),
        machine_make: machine.to_owned(),
        pad_make: pad.to_owned(),
        by_hand: machine.is_empty(),
        ..StepShare::default()
    };
    Step {
        step: "cut".to_owned(),
        machine_make: "orbital-150".to_owned(),
        pad_make: "coarse-foam-150".to_owned(),
        liquid_make: "coarse-compound-1l".to_owned(),
        own_panels: vec!["sill-left".to_owned()],
        shares: vec![
            StepShare {
                panels: vec!["front-bumper".to_owned()],
                ..by(Reach::Spot, "cordless-75", "coarse-foam-80")
            },
            by(Reach::Hand, "", "hand-applicator"),
        ],
        ..Step::default()
    }
}

#[test]
fn a_routine_shows_each_share_below_its_step_and_in_its_line() {
    let shared = Routine {
        routine: "two-step".to_owned(),
        steps: vec![cut()],
        ..Routine::default()
    };
    let text = plain(&routine::show(&screen(80), &shared, &BTreeMap::new()));
    let order = [
        "Step          cut",
        "Itself whole  sill-left",
        "Step     cut-spot",
        "Machine  cordless-75",
        "Panels   front-bumper",
        "Step     cut-hand",
        "Machine  none, by hand",
    ];
    let places: Vec<_> = order.iter().map(|part| text.find(part)).collect();
    assert!(
        places.iter().all(Option::is_some) && places.is_sorted(),
        "{text}"
    );
    let line = routine::in_a_line(&cut());
    for part in [
        "itself whole sill-left",
        "; spot: machine cordless-75, pad coarse-foam-80",
        "panels front-bumper",
        "; hand: machine none, by hand, pad hand-applicator",
    ] {
        assert!(line.contains(part), "{line}");
    }
}

fn part(step: &str, of: &str, seconds: i64) -> StepPlan {
    StepPlan {
        step: step.to_owned(),
        of_step: of.to_owned(),
        section_count: 10,
        set_count: 1,
        machine_time_s: seconds,
        ..StepPlan::default()
    }
}

#[test]
fn a_plan_counts_shares_to_their_step_and_says_how_deep_and_on_which_day() {
    let mut plan = Plan {
        steps: vec![
            part("cut", "cut", 3_600),
            part("cut-spot", "cut", 1_800),
            part("finish", "finish", 3_600),
        ],
        ..Plan::default()
    };
    let shallow = plain(&plan_page::show(&screen(80), "saloon", &plan));
    assert!(shallow.contains("2 steps · 2 h 30 min"), "{shallow}");
    assert!(
        !shallow.contains("Each section gets") && !shallow.contains("second day"),
        "{shallow}"
    );
    for of_cut in &mut plan.steps[..2] {
        of_cut.set_count = 2;
    }
    plan.steps[2].second_day = true;
    let deep = plain(&plan_page::show(&screen(80), "saloon", &plan));
    assert!(
        deep.contains("Each section gets: cut 2 sets, cut-spot 2 sets."),
        "{deep}"
    );
    assert!(deep.contains("On the second day: finish."), "{deep}");
    assert!(plan_page::step_line(&plan.steps[0]).starts_with("10 sections in 2 sets"));
    assert!(plan_page::step_line(&plan.steps[2]).ends_with("second day"));
}

#[test]
fn a_panel_tells_what_it_takes() {
    let of = |reach: Reach, permille| PanelPart {
        reach: reach.into(),
        permille,
    };
    let mut panel = Panel {
        usual_reach: Reach::Big.into(),
        ..Panel::default()
    };
    assert_eq!(car::takes(&panel), "big");
    panel.parts = vec![of(Reach::Pencil, 1_000)];
    assert_eq!(car::takes(&panel), "pencil");
    panel.parts = vec![of(Reach::Big, 915), of(Reach::Spot, 85)];
    assert_eq!(car::takes(&panel), "big 91.5 %, spot 8.5 %");
}

/// Starts a day and a half after the scenario's evening.
fn two_days() -> Job {
    Job {
        job: "saloon".to_owned(),
        start_time: at(13),
        second_start_time: at(37),
        second_from_step: "finish".to_owned(),
        sets: vec![StepSets {
            step: "cut".to_owned(),
            set_count: 2,
        }],
        ..Job::default()
    }
}

#[test]
fn a_job_of_two_days_says_when_it_goes_on_wherever_it_is_told() {
    let goes_on = screen(80).moment_or(at(37).as_ref(), "");
    let shown = plain(&job_page::show(&screen(80), &two_days()));
    assert!(
        shown.contains(&format!("{goes_on}, from finish on")),
        "{shown}"
    );
    assert!(shown.contains("cut 2"), "{shown}");
    let listed = plain(&job_page::list(&screen(120), &[two_days()]));
    assert!(listed.contains(&format!("goes on {goes_on}")), "{listed}");
    let mut answer = checked();
    let pages = |answer: &_| {
        let known = std::collections::BTreeSet::new();
        [
            plain(&check_page::short(&screen(80), answer, &known)),
            plain(&check_page::full(&screen(80), answer)),
        ]
    };
    for page in pages(&answer) {
        assert!(!page.contains("goes on"), "{page}");
    }
    answer.checks[0].second_start_time = at(37);
    for page in pages(&answer) {
        assert!(page.contains(&format!("goes on {goes_on}")), "{page}");
    }
}

#[test]
fn what_goes_for_shares_is_told_after_its_step_and_by_its_reach() {
    let goes = |tag: &'static str, sort, step: &'static str, spare| Goes {
        tag,
        sort,
        step,
        amount: None,
        spare,
        what: "",
    };
    let pads = [
        goes("P-01", Sort::Pads, "cut", false),
        goes("P-02", Sort::Pads, "cut", false),
        goes("P-04", Sort::Pads, "cut", true),
        goes("P-17", Sort::Pads, "cut-spot", false),
        goes("P-18", Sort::Pads, "cut-spot", true),
        goes("P-11", Sort::Pads, "finish", false),
        goes("P-19", Sort::Pads, "finish-spot", false),
        goes("M-01", Sort::Machines, "cut", false),
        goes("M-02", Sort::Machines, "cut-spot", false),
        goes("M-01", Sort::Machines, "finish", false),
        goes("M-02", Sort::Machines, "finish-spot", false),
    ];
    let text = plain(&picks::lines(&screen(120), &pads));
    let expected = "  pads      cut P-01, P-02; spare P-04; spot P-17; spare P-18 · finish P-11; spot P-19\n  \
                    machines  cut, finish M-01 · spot M-02";
    assert_eq!(text, expected);
}

/// What is said alike of both days stands once, whole; figures that differ stand apart.
#[test]
fn what_is_alike_on_both_days_is_told_once() {
    let line = |what: &str, reason: &str| CheckLine {
        kind: CheckLineKind::Vibration.into(),
        what: what.to_owned(),
        verdict: Verdict::Watch.into(),
        reason: reason.to_owned(),
        ..CheckLine::default()
    };
    let told = |second: &str| {
        let lines = vec![
            line("hand-arm vibration", "2.6 m/s²: above the action value."),
            line("hand-arm vibration, second day", second),
        ];
        let check = JobCheck {
            lines,
            ..JobCheck::default()
        };
        let items = not_go(&check);
        items.iter().map(|item| item.about()).collect::<Vec<_>>()
    };
    assert_eq!(
        told("2.6 m/s²: above the action value."),
        ["hand-arm vibration, both days"]
    );
    assert_eq!(
        told("2.7 m/s²: above the action value."),
        ["hand-arm vibration", "hand-arm vibration, second day"]
    );
}
