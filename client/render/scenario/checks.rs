//! Checks of the invented shop: one job, a crowded day, a week.

use fettlebook_contract::v1::{
    Caution, CheckJobsResponse, CheckLine, CheckLineKind, Exposure, JobCheck, Pick, Unit, Verdict,
};

use super::{at, plan};

struct Line<'a> {
    kind: CheckLineKind,
    step: &'a str,
    what: &'a str,
    quantities: [i64; 3],
    unit: Unit,
    verdict: Verdict,
    reason: &'a str,
    todos: &'a [&'a str],
}

fn line(told: &Line<'_>, picks: Vec<Pick>) -> CheckLine {
    let [need_quantity, have_quantity, short_quantity] = told.quantities;
    CheckLine {
        kind: told.kind.into(),
        step: told.step.to_owned(),
        what: told.what.to_owned(),
        need_quantity,
        have_quantity,
        short_quantity,
        unit: told.unit.into(),
        verdict: told.verdict.into(),
        reason: told.reason.to_owned(),
        todos: told.todos.iter().map(|&todo| todo.to_owned()).collect(),
        picks,
        ..CheckLine::default()
    }
}

fn pick(tag: &str, quantity: i64, spare: bool, damage: Option<f64>) -> Pick {
    Pick {
        tag: tag.to_owned(),
        quantity,
        spare,
        damage,
    }
}

fn check_lines() -> Vec<CheckLine> {
    let plate = Line {
        kind: CheckLineKind::Plate,
        step: "cut",
        what: "plate 125 M8",
        quantities: [1, 0, 1],
        unit: Unit::Piece,
        verdict: Verdict::Stop,
        reason: "PL-02 is rated 4000/min, below the 4800/min marked on M-01.",
        todos: &["Fit a plate rated 4800/min or more; never run one above its rating."],
    };
    let pads = Line {
        kind: CheckLineKind::Pad,
        step: "cut",
        what: "coarse foam 150",
        quantities: [5, 3, 2],
        unit: Unit::Piece,
        verdict: Verdict::Stop,
        reason: "P-02 and P-05 were washed and are not dry before Thu 26 Nov 2026 12:00.",
        todos: &[
            "Start after Thu 26 Nov 2026 12:00.",
            "Feel P-02 and P-05 by hand; if they are dry, say so with 'fettle kit dry P-02 P-05'.",
        ],
    };
    let compound = Line {
        kind: CheckLineKind::Liquid,
        step: "cut",
        what: "coarse compound 1 L",
        quantities: [52_500, 412_000, 0],
        unit: Unit::Microlitre,
        verdict: Verdict::Go,
        reason: "",
        todos: &[],
    };
    let towels = Line {
        kind: CheckLineKind::Towel,
        step: "",
        what: "edgeless towel 400 g",
        quantities: [9, 12, 0],
        unit: Unit::Piece,
        verdict: Verdict::Go,
        reason: "",
        todos: &[],
    };
    let vibration = Line {
        kind: CheckLineKind::Vibration,
        step: "",
        what: "hand-arm vibration",
        quantities: [0, 0, 0],
        unit: Unit::Unspecified,
        verdict: Verdict::Watch,
        reason: "Above the action value of 2.5 m/s² over 8 h.",
        todos: &["Share the work, or rest the hands between panels."],
    };
    let worn = |tag, damage| pick(tag, 1, false, Some(damage));
    vec![
        line(&plate, Vec::new()),
        line(
            &pads,
            vec![worn("P-01", 0.41), worn("P-04", 0.93), worn("P-06", 0.1)],
        ),
        line(&compound, vec![pick("B-03", 52_500, false, None)]),
        line(&towels, vec![pick("T-01", 9, false, None)]),
        line(&vibration, Vec::new()),
    ]
}

/// The caution of the check's compound.
pub(crate) const COMPOUND_CAUTION: &str = "Coarse compound 1 L carries H319: wear eye protection, and \
     follow the label and the data sheet.";

/// A check that says stop.
pub(crate) fn check() -> CheckJobsResponse {
    let check = JobCheck {
        taken: None,
        job: "saloon-thursday".to_owned(),
        verdict: Verdict::Stop.into(),
        lines: check_lines(),
        plan: Some(plan()),
        exposure: Some(Exposure {
            machine_time_s: 19_008,
            vibration_a8_m_per_s2: 3.06,
            vibration_points: 150.0,
            noise_lex_db: Some(79.4),
            vibration_declared: false,
            vibration_unknown: false,
        }),
        cautions: vec![COMPOUND_CAUTION.to_owned()],
        hazards: vec![Caution {
            what: "coarse compound 1 L".to_owned(),
            make: "coarse-compound-1l".to_owned(),
            hazard: "harms skin or eyes".to_owned(),
            text: COMPOUND_CAUTION.to_owned(),
        }],
        start_time: at(0),
        place: "van-a".to_owned(),
        carry_chance: None,
        carry_target: 0.95,
        ..JobCheck::default()
    };
    CheckJobsResponse {
        verdict: Verdict::Stop.into(),
        checks: vec![check],
        ..CheckJobsResponse::default()
    }
}

/// A check of twelve lines that stop, four of them about what can hurt somebody.
pub(crate) fn crowded_check() -> CheckJobsResponse {
    let mut answer = check();
    let check = answer.checks.first_mut().unwrap();
    for line in &mut check.lines {
        line.verdict = Verdict::Stop.into();
    }
    let film = Line {
        kind: CheckLineKind::Film,
        step: "",
        what: "paint film",
        quantities: [0, 0, 0],
        unit: Unit::Unspecified,
        verdict: Verdict::Stop,
        reason: "Lowest reading: 71 µm, roof.",
        todos: &["Leave the roof out, or work it by hand with the finest liquid."],
    };
    check.lines.push(line(&film, Vec::new()));
    let short = |what: &'static str, kind| Line {
        kind,
        step: "",
        what,
        quantities: [4, 1, 3],
        unit: Unit::Piece,
        verdict: Verdict::Stop,
        reason: "Short by 3. None is on its way, and none that is soiled would be dry in time.",
        todos: &[
            "Buy 3 by Wed 25 Nov 2026, or start a day later.",
            "Leave out what needs it.",
        ],
    };
    let sundries = ["nitrile gloves", "masking tape 50 m", "panel wipe 1 L"];
    for what in sundries {
        let line = line(&short(what, CheckLineKind::Sundry), Vec::new());
        check.lines.push(line);
    }
    for what in ["paint film gauge", "inspection light"] {
        let line = line(&short(what, CheckLineKind::Tool), Vec::new());
        check.lines.push(line);
    }
    let liquid = short("fine polish 500 mL", CheckLineKind::Liquid);
    check.lines.push(line(&liquid, Vec::new()));
    answer
}

/// So many jobs, one a day; the first is that of the check.
pub(crate) fn week(jobs: i64) -> CheckJobsResponse {
    let mut answer = check();
    let first = answer.checks.remove(0);
    answer.assumption =
        "What a job soils is taken to be washed at its end, and to dry its time.".to_owned();
    for number in 1..=jobs {
        let mut check = first.clone();
        check.job = format!("job-{number}");
        check.start_time = at(24 * (number - 1));
        check.carry_chance = Some(0.96);
        if number % 2 == 0 {
            check.lines.retain(|line| line.verdict() == Verdict::Go);
            check.verdict = Verdict::Go.into();
        }
        answer.checks.push(check);
    }
    answer
}

/// The same check with what the shop's own figures say of it.
pub(crate) fn check_with_chances() -> CheckJobsResponse {
    let mut answer = check();
    answer.verdict = Verdict::Watch.into();
    for check in &mut answer.checks {
        check.verdict = Verdict::Watch.into();
        check.carry_chance = Some(0.884);
        for line in &mut check.lines {
            match line.kind() {
                CheckLineKind::Pad => {
                    line.have_quantity = 5;
                    line.short_quantity = 0;
                    line.verdict = Verdict::Watch.into();
                    line.reason = "P-04 is tired.".to_owned();
                    line.todos = vec!["Take P-09 along as a further spare.".to_owned()];
                    line.carry_chance = Some(0.887);
                    line.rests_on = "Rests on 5 retirements here and the rating.".to_owned();
                }
                CheckLineKind::Liquid => {
                    line.need_quantity = 62_000;
                    line.planned_quantity = Some(52_500);
                    line.carry_chance = Some(0.997);
                    line.rests_on = "You use 18 % more than planned, from 7 jobs.".to_owned();
                }
                _ => line.planned_quantity = Some(line.need_quantity),
            }
        }
        check.lines.retain(|line| line.verdict() != Verdict::Stop);
    }
    answer
}
