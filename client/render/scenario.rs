//! Canned answers from the invented shop, and pages to put them on.
//!
//! They serve the tests of the screens. Nothing here is worked out; it only has to look like what
//! the service sends.

use std::cell::RefCell;
use std::io::{self, Write};
use std::rc::Rc;

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    AreaBasis, AsideReason, BottleState, BundleState, Deed, Entry, Flag, GetPieceLifeResponse,
    Grade, LifePoint, LiquidNeed, MachineState, PadState, Piece, Plan, PlateState, Readiness,
    StepPlan, SundryState, TowelGrade, Unit, WearBand,
};
use jiff::tz::TimeZone;
use prost_types::Timestamp;

use super::{Screen, tint};

mod checks;
pub(crate) mod cost;
pub(crate) mod glance;
pub(crate) mod hours;
pub(crate) mod supply;
pub(crate) mod wear;

pub(crate) use checks::{COMPOUND_CAUTION, check, check_with_chances, crowded_check, week};

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
