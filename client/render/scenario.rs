//! Canned answers from the invented shop, and pages to put them on.
//!
//! They serve the tests of the screens. Nothing here is worked out; it only has to look like what
//! the service sends.

use std::cell::RefCell;
use std::io::{self, Write};
use std::rc::Rc;

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    AreaBasis, AsideReason, BottleState, BundleState, Caution, CheckJobsResponse, CheckLine,
    CheckLineKind, Deed, Entry, Exposure, Flag, GetPieceLifeResponse, Grade, JobCheck, LifePoint,
    LiquidNeed, MachineState, PadState, Pick, Piece, Plan, PlateState, Readiness, StepPlan,
    SundryState, TowelGrade, Unit, Verdict, WearBand,
};
use jiff::tz::TimeZone;
use prost_types::Timestamp;

use super::{Screen, tint};

pub(crate) mod cost;
pub(crate) mod glance;
pub(crate) mod hours;
pub(crate) mod supply;
pub(crate) mod wear;

/// Thursday 26 November 2026, 08:00 in the harbour town, one hour ahead of UTC.
const THURSDAY_EIGHT_S: i64 = 1_795_676_400;

/// An entry in a list at 80 columns.
pub(crate) fn listed(one: &Entry) -> String {
    entries_listed(80, std::slice::from_ref(one))
}

/// Entries in a list.
pub(crate) fn entries_listed(width: usize, entries: &[Entry]) -> String {
    let screen = screen(width);
    let mut list = super::entry::List::default();
    entries.iter().for_each(|one| list.push(&screen, one));
    let mut text = String::new();
    list.each_part(&screen, |part| text.push_str(part));
    text
}

pub(crate) fn screen(width: usize) -> Screen {
    Screen {
        width,
        unicode: true,
        zone: TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap(),
    }
}

/// The page as it is printed without colour.
pub(crate) fn plain(text: &str) -> String {
    tint::finish(text, false, true)
}

/// What is written to a printer.
pub(crate) fn heard(write: impl FnOnce(Heard)) -> String {
    let heard = Heard::default();
    write(heard.clone());
    heard.text()
}

/// Takes down what is written to it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Heard(Rc<RefCell<Vec<u8>>>);

impl Heard {
    /// What was written so far.
    pub(crate) fn text(&self) -> String {
        String::from_utf8(self.0.borrow().clone()).unwrap()
    }
}

impl Write for Heard {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A page without line characters.
pub(super) fn ascii(width: usize) -> Screen {
    Screen {
        unicode: false,
        ..screen(width)
    }
}

/// The page as it is printed without colour and line characters.
pub(super) fn plain_ascii(text: &str) -> String {
    tint::finish(text, false, false)
}

/// The page as it is printed with colour, its escapes made visible.
pub(super) fn coloured(text: &str) -> String {
    tint::finish(text, true, true).replace('\u{1b}', "^")
}

pub(crate) fn at(hours: i64) -> Option<Timestamp> {
    Some(Timestamp {
        seconds: THURSDAY_EIGHT_S + hours * 3_600,
        nanos: 0,
    })
}

fn piece(tag: &str, make_name: &str, state: State) -> Piece {
    Piece {
        tag: tag.to_owned(),
        make: make_name.replace(' ', "-"),
        make_name: make_name.to_owned(),
        place: "bench".to_owned(),
        readiness: Readiness::Ready.into(),
        received_time: at(-2_000),
        last_seq: 41,
        state: Some(state),
        ..Piece::default()
    }
}

pub(super) fn pad(tag: &str, damage: f64, band: WearBand) -> Piece {
    let state = PadState {
        work_micro_sections: 62_400_000,
        wash_count: 7,
        use_count: 5,
        coarsest_liquid: Grade::Coarse.into(),
        unwashed_liquid: Grade::Unspecified.into(),
        damage,
        band: band.into(),
        face_mm: 150,
        grade: Grade::Coarse.into(),
        inspected: None,
    };
    piece(tag, "coarse foam 150", State::Pad(state))
}

pub(crate) fn bottle() -> Piece {
    let state = BottleState {
        left_ul: 412_000,
        full_ul: 1_000_000,
        tare_mg: Some(62_000),
        lot: "L2231".to_owned(),
        expiry_date: "2027-03-31".to_owned(),
        opened_time: at(-500),
        measured_time: None,
        grade: Grade::Coarse.into(),
        jobs_left_count: Some(7),
        ..BottleState::default()
    };
    let mut bottle = piece("B-03", "coarse compound 1 L", State::Bottle(state));
    bottle.place = "van-a".to_owned();
    bottle.needs_count = true;
    bottle
}

/// A bit of everything.
pub(crate) fn kit() -> Vec<Piece> {
    let mut drying = pad("P-02", 0.71, WearBand::Tired);
    drying.readiness = Readiness::Drying.into();
    drying.ready_time = at(4);
    let mut fallen = pad("P-03", 1.04, WearBand::Spent);
    fallen.readiness = Readiness::Aside.into();
    fallen.aside_reason = AsideReason::Dropped.into();
    let plate = PlateState {
        run_time_s: 90_000,
        change_count: 40,
        damage: 0.22,
        band: WearBand::Sound.into(),
        rated_speed_per_min: None,
    };
    let bundle = BundleState {
        clean_count: 12,
        soiled_count: 6,
        wash_count: 9,
        grade: TowelGrade::Residue.into(),
        inspect_wash_count: 25,
        demote_wash_count: 50,
        ..BundleState::default()
    };
    let gloves = SundryState {
        left_quantity: 23,
        unit: Unit::Pair.into(),
    };
    vec![
        bottle(),
        piece(
            "M-01",
            "150 mm orbital, 15 mm throw",
            State::Machine(MachineState {
                run_time_s: 123_000,
            }),
        ),
        pad("P-01", 0.41, WearBand::Sound),
        drying,
        fallen,
        piece("PL-01", "plate 125 M8", State::Plate(plate)),
        piece(
            "S-01",
            "nitrile gloves, box of 50 pairs",
            State::Sundry(gloves),
        ),
        piece("T-01", "edgeless towel 400 g", State::Bundle(bundle)),
    ]
}

pub(super) fn entry() -> Entry {
    let deed = |subject: &str, text: &str| {
        let said = text.strip_prefix(subject).unwrap();
        Deed {
            subject: subject.to_owned(),
            text: text.to_owned(),
            apart: said.starts_with(':'),
            clause: said.trim_matches([':', ' ', '.']).to_owned(),
            ..Deed::default()
        }
    };
    let in_cut = |deed| Deed {
        step: "cut".to_owned(),
        ..deed
    };
    Entry {
        seq: 41,
        recorded_time: at(6),
        done_time: at(5),
        request_id: "01990000-0000-7000-8000-000000000001".to_owned(),
        by: "solo".to_owned(),
        deeds: vec![
            deed("saloon-thursday", "saloon-thursday: done."),
            in_cut(deed("P-07", "P-07 worked 17 sections in 41 min.")),
            in_cut(deed("P-08", "P-08 worked 17 sections in 41 min.")),
            deed("P-07", "P-07 was binned: torn."),
            in_cut(deed("B-03", "B-03 gave 82 mL, as planned.")),
            deed("B-03", "B-03 weighed 412 g: 318.2 mL left."),
        ],
        flags: vec![Flag {
            tag: "B-03".to_owned(),
            text: "the weight says 31 mL less than the book.".to_owned(),
            tagged_text: "B-03: the weight says 31 mL less than the book.".to_owned(),
        }],
        note: "hot day, pads changed early".to_owned(),
        reversed_by_seq: None,
        kept: None,
    }
}

/// A piece with an entry for each of the damages after it, numbered up to 41; what is left of it is
/// not told.
pub(super) fn life(piece: Piece, damages: &[Option<f64>]) -> GetPieceLifeResponse {
    let first = 42 - i64::try_from(damages.len()).unwrap();
    let points = (first..).zip(damages).map(|(seq, damage)| LifePoint {
        entry: Some(Entry { seq, ..entry() }),
        damage: *damage,
        ..LifePoint::default()
    });
    GetPieceLifeResponse {
        piece: Some(piece),
        points: points.collect(),
        ..GetPieceLifeResponse::default()
    }
}

fn step(name: &str, pads: i64, volume_ul: i64) -> StepPlan {
    StepPlan {
        step: name.to_owned(),
        section_count: 66,
        area_mm2: 12_210_000,
        pad_count: pads,
        spare_count: 1,
        prime_dot_count: 6,
        refresh_dot_count: 3,
        volume_ul,
        machine_time_s: 9_504,
        stroke_count: 5,
        work_micro_sections: 66_000_000,
        section_time_ms: 144_000,
        ..StepPlan::default()
    }
}

pub(super) fn plan() -> Plan {
    Plan {
        steps: vec![step("cut", 4, 52_500), step("finish", 3, 51_750)],
        towel_count: 9,
        sundries: Vec::new(),
        area_mm2: 12_210_000,
        area_basis: AreaBasis::Class.into(),
        liquids: Vec::new(),
        times: Vec::new(),
    }
}

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
pub(super) fn check_with_chances() -> CheckJobsResponse {
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

/// The plan with what this shop really uses of its liquids.
pub(super) fn plan_with_liquids() -> Plan {
    let liquid = |make: &str, planned_ul: i64, rests_on: &str| LiquidNeed {
        make: make.to_owned(),
        planned_ul,
        expected_ul: planned_ul * 118 / 100,
        low_ul: planned_ul * 9 / 10,
        high_ul: planned_ul * 15 / 10,
        rests_on: rests_on.to_owned(),
    };
    Plan {
        liquids: vec![
            liquid(
                "coarse-compound-1-l",
                52_500,
                "You use 18 % more than planned, from 7 jobs.",
            ),
            liquid(
                "fine-polish-500-ml",
                51_750,
                "Taken as coarse-compound-1-l, which you weigh; no weigh-in of this one yet.",
            ),
        ],
        ..plan()
    }
}
