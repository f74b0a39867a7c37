//! Files written and read back, and everything that may be wrong with them.

mod again;
mod wrong;

use std::fs;
use std::path::Path;

use super::plan::{Known, PassedOver, Plan, Sort, plan};
use super::{Contents, Dated, FILES, Found, README, Read, read, written};
use crate::columns::Decimals;
use crate::fault::{Fault, Problem};
use crate::json::from_json;
use crate::render::csv;
use crate::render::folder::LEFT_OUT;
use crate::render::scenario::supply::{eur, millrace, tern_quay};
use crate::render::scenario::{at, kit};
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    BinReason, Car, Job, JobState, Make, PadRow, Panel, PanelPart, Piece, Reach, Readiness,
    Routine, StepSets, StepShare, Supplier,
};
use jiff::ZonedDateTime;
use jiff::civil::date;
use jiff::tz::TimeZone;
use prost::{Message, Name};
use serde_json::Value;

/// Wednesday 25 November 2026, the day before the job of the scenario.
fn now() -> ZonedDateTime {
    let zone = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap();
    date(2026, 11, 25)
        .at(14, 30, 0, 0)
        .to_zoned_datetime(zone)
        .unwrap()
}

fn stock<M: Message + Name + Default>(text: &str) -> Vec<M> {
    let rows: Vec<Value> = serde_json::from_str(text).unwrap();
    rows.iter()
        .map(|row| from_json(&row.to_string()).unwrap())
        .collect()
}

fn booked(job: &str, note: &str) -> Job {
    Job {
        job: job.to_owned(),
        car: "medium-saloon-silver".to_owned(),
        routine: "two-step".to_owned(),
        place: "van-a".to_owned(),
        start_time: at(0),
        utc_offset_s: 3_600,
        left_out_panels: vec!["roof".to_owned(), "bonnet".to_owned()],
        state: JobState::Booked.into(),
        note: note.to_owned(),
        sets: vec![StepSets {
            step: "cut".to_owned(),
            set_count: 2,
        }],
        second_start_time: at(24),
        second_from_step: "finish".to_owned(),
        ..Job::default()
    }
}

/// The pieces of the scenario, as if they were of the makes of the demo.
fn pieces() -> Vec<Dated> {
    let mut kit = kit();
    for piece in &mut kit {
        let make = match &piece.state {
            Some(State::Bottle(_)) => "coarse-compound-1l",
            Some(State::Machine(_)) => "orbital-150",
            Some(State::Plate(_)) => "plate-125-m8",
            Some(State::Sundry(_)) => "nitrile-gloves-50",
            Some(State::Bundle(_)) => "edgeless-towel-400g",
            _ => "coarse-foam-150",
        };
        make.clone_into(&mut piece.make);
    }
    for piece in &mut kit {
        if piece.tag == "P-01" {
            piece.landed_cost = eur("38.00");
        }
        if let Some(State::Bottle(_)) = piece.state {
            piece.landed_cost = eur("18.90");
            piece.landed_quantity = Some(1_000_000);
        }
    }
    let day = "2026-09-03".to_owned();
    let dated = |piece| Dated {
        date: day.clone(),
        piece,
        ..Dated::default()
    };
    kit.into_iter().map(dated).collect()
}

/// The invented shop, with text that spreadsheets and parsers trip over.
fn shop() -> Contents {
    let mut suppliers = vec![millrace(), tern_quay()];
    suppliers[1].note = "=HYPERLINK(\"x\"), \"quoted\"\nand a second line".to_owned();
    let mut cars: Vec<Car> = stock(include_str!("../../demo-stock/cars.json"));
    cars[0].note = "-silver; 'thin' boot".to_owned();
    cars[0].panels[0].parts = [(Reach::Big, 900), (Reach::Spot, 100)]
        .map(|(reach, permille)| PanelPart {
            reach: reach.into(),
            permille,
        })
        .to_vec();
    cars[0].panels.push(Panel {
        panel: "spoiler".to_owned(),
        measured_mm2: Some(0),
        left_out: true,
        ..Panel::default()
    });
    let mut makes: Vec<Make> = stock(include_str!("../../demo-stock/makes.json"));
    makes[0].note = "'@quoted already".to_owned();
    let mut routines: Vec<Routine> = stock(include_str!("../../demo-stock/routines.json"));
    routines[0].steps[1].own_panels = vec!["roof".to_owned()];
    routines[0].steps[1].shares = vec![StepShare {
        reach: Reach::Spot.into(),
        machine_make: "cordless-75".to_owned(),
        pad_make: "fine-foam-80".to_owned(),
        liquid_make: "fine-polish-500ml".to_owned(),
        pass_count: Some(3),
        ..StepShare::default()
    }];
    Contents {
        makes,
        cars,
        routines,
        suppliers,
        kit: pieces(),
        jobs: vec![booked("saloon-thursday", "+bring the ladder, é µ ²")],
    }
}

fn write(folder: &Path, contents: &Contents, decimals: Decimals) {
    for (name, text, _) in written(contents, decimals).unwrap() {
        fs::write(folder.join(name), text).unwrap();
    }
}

fn back(contents: &Contents) -> (Found, Vec<Problem>) {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), contents, Decimals::Point);
    read(folder.path()).unwrap()
}

fn whats<T: Clone>(list: &[Read<T>]) -> Vec<T> {
    list.iter().map(|read| read.what.clone()).collect()
}

/// The messages as they are read: without what the service works out.
fn as_read(contents: &Contents) -> Contents {
    let mut told = contents.clone();
    for supplier in &mut told.suppliers {
        supplier.delivery_count = 0;
        supplier.planned_lead_days = 0;
        supplier.lead_sd_days = 0.0;
    }
    told
}

fn planned(found: Found, known: &Known) -> Plan {
    plan(found, known, &now()).unwrap()
}

/// The problems of a folder with these files.
fn problems_of(files: &[(&str, &str)]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let (found, problems) = read(folder.path()).unwrap();
    let more = plan(found, &Known::default(), &now()).err();
    let all = problems.into_iter().chain(more.into_iter().flatten());
    all.map(|problem| problem.told()).collect()
}

#[test]
fn the_readme_names_every_file_and_in_its_head_what_is_left_out() {
    let (_, text) = README;
    for said in FILES.iter().chain(&LEFT_OUT) {
        assert!(text.contains(said), "{said}");
    }
    let head = text.split("Cells\n").next().unwrap();
    assert!(LEFT_OUT.iter().all(|said| head.contains(said)));
    let widest = text.lines().map(str::len).max();
    assert!(widest.is_some_and(|width| width <= 100));
    let contents = Contents::default();
    // Every file is written, with its header, when there is nothing in it.
    let files = written(&contents, Decimals::Point).unwrap();
    assert_eq!(files.len(), FILES.len());
    assert!(
        files
            .iter()
            .all(|(_, text, count)| *count == 0 && text.lines().count() == 1)
    );
}
