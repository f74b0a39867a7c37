//! Files written and read back, and everything that may be wrong with them.

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

#[test]
fn what_was_exported_is_planned_as_the_same_messages() {
    let shop = shop();
    let (found, problems) = back(&shop);
    assert_eq!(problems, []);
    let plan = planned(found, &Known::default());
    let told = as_read(&shop);
    assert_eq!(whats(&plan.makes), told.makes);
    assert_eq!(whats(&plan.cars), told.cars);
    assert_eq!(whats(&plan.routines), told.routines);
    assert_eq!(whats(&plan.suppliers), told.suppliers);
    assert_eq!(whats(&plan.jobs), told.jobs);
    assert_eq!(plan.passed_over, []);
}

#[test]
fn what_was_exported_with_a_decimal_comma_is_read_in_as_the_same() {
    let shop = shop();
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &shop, Decimals::Comma);
    let offers = fs::read_to_string(folder.path().join("offers.csv")).unwrap();
    assert!(offers.contains(";18,90;EUR"), "{offers}");
    let (found, problems) = read(folder.path()).unwrap();
    assert_eq!(problems, []);
    assert_eq!(found, back(&shop).0);
    // A point with three digits behind it may be thousands, and then nothing is guessed.
    for (amount, is_read) in [("18.9", true), ("1.890", false), ("1.890,00", false)] {
        let told = wrong(&[(
            "makes.csv",
            &format!("make;pad.face_mm;price.amount;price.currency_code\na;150;{amount};EUR\n"),
        )]);
        assert_eq!(told.is_empty(), is_read, "{told:?}");
        assert!(
            told.iter()
                .all(|one| one.contains("such as 18,90, with a comma")),
            "{told:?}"
        );
    }
}

/// What the lists of values say is what an import reads: the same columns, words and times.
#[test]
fn a_list_of_values_is_read_in_again() {
    let shop = as_read(&shop());
    let folder = tempfile::tempdir().unwrap();
    let listed = |file: &str, text: Result<String, Fault>| {
        fs::write(folder.path().join(file), text.unwrap()).unwrap();
    };
    let zone = now().time_zone().clone();
    for decimals in [Decimals::Point, Decimals::Comma] {
        listed("makes.csv", csv::table(&shop.makes, &zone, decimals));
        listed("cars.csv", csv::table(&shop.cars, &zone, decimals));
        listed("routines.csv", csv::table(&shop.routines, &zone, decimals));
        listed(
            "suppliers.csv",
            csv::table(&shop.suppliers, &zone, decimals),
        );
        listed("jobs.csv", csv::table(&shop.jobs, &zone, decimals));
        let kit: Vec<Piece> = shop.kit.iter().map(|one| one.piece.clone()).collect();
        listed("kit.csv", csv::table(&kit, &zone, decimals));
        let (found, problems) = read(folder.path()).unwrap();
        assert_eq!(problems, []);
        let plan = planned(found, &Known::default());
        assert_eq!(whats(&plan.makes), shop.makes);
        assert_eq!(whats(&plan.cars), shop.cars);
        assert_eq!(whats(&plan.routines), shop.routines);
        assert_eq!(whats(&plan.jobs), shop.jobs);
        let bare = |supplier: &Supplier| Supplier {
            offers: Vec::new(),
            ..supplier.clone()
        };
        assert_eq!(
            whats(&plan.suppliers),
            shop.suppliers.iter().map(bare).collect::<Vec<_>>()
        );
        // A piece that is not aside is of the day on which it came.
        let of = |tag: &str| plan.pads.iter().find(|row| row.tag == tag).unwrap();
        assert_eq!(of("P-01").work_micro_sections, Some(62_400_000));
        let came = shop.kit[0].piece.received_time.unwrap();
        let came = jiff::Timestamp::new(came.seconds, came.nanos).unwrap();
        let came = came.to_zoned_datetime(zone.clone()).date().to_string();
        assert_eq!((&*of("P-01").date, &*of("P-03").date), (&*came, ""));
    }
}

#[test]
fn pieces_come_back_as_they_stand() {
    let (found, _) = back(&shop());
    let plan = planned(found, &Known::default());
    let row = |tag: &str| plan.pads.iter().find(|row| row.tag == tag).unwrap();
    let first = row("P-01");
    assert_eq!(
        (first.work_micro_sections, first.wash_count),
        (Some(62_400_000), 7)
    );
    assert_eq!(
        (first.place.as_str(), first.date.as_str()),
        ("bench", "2026-09-03")
    );
    // What is drying comes in soiled, until it is dry.
    assert_eq!(row("P-02").readiness(), Readiness::Soiled);
    assert_eq!(row("P-03").readiness(), Readiness::Aside);
    let receipt = |tag: &str| {
        let found = plan
            .receipts
            .iter()
            .find(|one| one.what.receive.tags == [tag]);
        found.unwrap().what.clone()
    };
    let bottle = receipt("B-03").receive;
    assert_eq!(
        (bottle.volume_ul, bottle.tare_mg),
        (Some(412_000), Some(62_000))
    );
    assert_eq!(
        (bottle.lot.as_str(), bottle.expiry_date.as_str()),
        ("L2231", "2027-03-31")
    );
    // Noon of the day it came, an hour ahead of UTC in winter and two in summer.
    assert_eq!(bottle.done_time.unwrap().seconds, 1_788_429_600);
    let towels = receipt("T-01");
    assert_eq!(
        (towels.receive.towel_count, towels.receive.wash_count),
        (18, Some(9))
    );
    let count = towels.count.unwrap();
    assert_eq!((count.clean_count, count.soiled_count), (Some(12), Some(6)));
    assert_eq!(receipt("S-01").receive.quantity, Some(23));
    assert_eq!(first.landed_cost, eur("38.00"));
    let (plate, machine) = (receipt("PL-01").receive, receipt("M-01").receive);
    assert_eq!(
        (plate.run_time_s, plate.change_count, machine.run_time_s),
        (Some(90_000), Some(40), Some(123_000))
    );
    assert_eq!(
        (bottle.landed_cost, bottle.landed_quantity),
        (eur("18.90"), Some(1_000_000))
    );
    assert_eq!(plan.left_behind, [""; 0]);
}

#[test]
fn a_tare_that_was_worked_out_comes_along_where_none_was_said() {
    let mut shop = shop();
    for dated in &mut shop.kit {
        if let Some(State::Bottle(bottle)) = &mut dated.piece.state {
            (bottle.tare_mg, bottle.found_tare_mg) = (None, Some(61_500));
        }
    }
    let (found, problems) = back(&shop);
    assert_eq!(problems, []);
    let plan = planned(found, &Known::default());
    let receipts = whats(&plan.receipts);
    let bottle = receipts.iter().find(|one| one.receive.tags == ["B-03"]);
    assert_eq!(bottle.unwrap().receive.tare_mg, Some(61_500));
}

#[test]
fn a_bottle_below_nothing_comes_in_empty_and_a_plate_that_is_aside_is_set_aside() {
    let mut shop = shop();
    for dated in &mut shop.kit {
        match &mut dated.piece.state {
            Some(State::Bottle(bottle)) => bottle.left_ul = -4_000,
            Some(State::Plate(_)) => {
                dated.piece.readiness = Readiness::Aside.into();
                dated.piece.aside_reason = 3;
            }
            _ => {}
        }
    }
    let (found, problems) = back(&shop);
    assert_eq!(problems, []);
    let plan = planned(found, &Known::default());
    let receipts = whats(&plan.receipts);
    let bottle = receipts.iter().find(|one| one.receive.tags == ["B-03"]);
    assert_eq!(bottle.unwrap().receive.volume_ul, Some(0));
    let plate = receipts.iter().find(|one| one.receive.tags == ["PL-01"]);
    let aside = plate.unwrap().aside.clone().unwrap();
    assert_eq!((aside.tags, aside.reason), (vec!["PL-01".to_owned()], 3));
    assert!(aside.done_time.is_some() && aside.done_time == plate.unwrap().receive.done_time);
}

#[test]
fn what_is_there_already_is_passed_over_and_said() {
    let (found, _) = back(&shop());
    let mut known = Known::default();
    known
        .makes
        .insert("coarse-foam-150".to_owned(), Some(Sort::Pad));
    known.cars.insert("city-car-red".to_owned());
    known.routines.insert("two-step".to_owned());
    known.suppliers.insert("tern-quay".to_owned());
    known.tags.insert("P-01".to_owned());
    known.jobs.insert("saloon-thursday".to_owned());
    let plan = planned(found, &known);
    let passed: Vec<_> = plan
        .passed_over
        .iter()
        .map(|one| (one.file, one.id.as_str()))
        .collect();
    assert_eq!(
        passed,
        [
            ("makes.csv", "coarse-foam-150"),
            ("cars.csv", "city-car-red"),
            ("routines.csv", "two-step"),
            ("suppliers.csv", "tern-quay"),
            ("offers.csv", "tern-quay coarse-foam-150"),
            ("offers.csv", "tern-quay fine-polish-500ml"),
            ("kit.csv", "P-01"),
            ("jobs.csv", "saloon-thursday"),
        ]
    );
    assert!(plan.jobs.is_empty() && plan.pads.iter().all(|row| row.tag != "P-01"));
}

#[test]
fn history_that_cannot_be_booked_is_passed_over_and_only_pads_keep_what_is_binned() {
    let mut shop = shop();
    let stands = |job: &str, state: JobState, hours| Job {
        job: job.to_owned(),
        state: state.into(),
        start_time: at(hours),
        ..booked("", "")
    };
    shop.jobs = vec![
        stands("done", JobState::Done, -90),
        stands("off", JobState::CalledOff, 90),
        stands("late", JobState::Booked, -90),
        stands("next", JobState::Booked, 90),
    ];
    for dated in &mut shop.kit {
        if ["P-01", "B-03"].contains(&dated.piece.tag.as_str()) {
            dated.piece.readiness = Readiness::Binned.into();
            dated.piece.bin_reason = BinReason::Torn.into();
        }
    }
    let (found, _) = back(&shop);
    let plan = planned(found, &Known::default());
    let passed = |id: &str, file, why| PassedOver {
        file,
        id: id.to_owned(),
        why,
    };
    assert_eq!(
        plan.passed_over,
        [
            passed(
                "B-03",
                "kit.csv",
                "is binned, and only pads keep their history"
            ),
            passed("done", "jobs.csv", "is done"),
            passed("off", "jobs.csv", "is called off"),
            passed("late", "jobs.csv", "should have started before now"),
        ]
    );
    let binned: Vec<&PadRow> = plan
        .pads
        .iter()
        .filter(|row| row.readiness() == Readiness::Binned)
        .collect();
    assert_eq!((binned.len(), binned[0].bin_reason()), (1, BinReason::Torn));
}

/// Source: OWASP, CSV Injection, the list of characters that begin a formula.
#[test]
fn text_that_would_be_a_formula_is_guarded_in_the_file_and_back_without_it() {
    for note in [
        "=1+1", "+a", "-a", "@a", "\t=a", "\r=a", "'=a", "''+", "-5", "'it", "a\r\nb",
    ] {
        let contents = Contents {
            jobs: vec![booked("saloon-thursday", note)],
            ..Contents::default()
        };
        let (_, text, _) = written(&contents, Decimals::Point).unwrap().pop().unwrap();
        let cell = text.lines().nth(1).unwrap();
        for begins in [",=", ",+", ",@", ",\"=", ",\"\t", ",\"\r"] {
            assert!(!cell.contains(begins), "{note:?}: {cell}");
        }
        let (found, problems) = back(&contents);
        assert_eq!(problems, []);
        assert_eq!(found.jobs[0].what.note, note);
    }
}

/// The problems of a folder with these files.
fn wrong(files: &[(&str, &str)]) -> Vec<String> {
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
fn every_cell_that_cannot_be_read_is_named_by_file_line_and_column() {
    let told = wrong(&[
        (
            "makes.csv",
            "make,name,price.amount,price.currency_code,pad.material,pad.face_mm,plate.thread,\
             machine.spot\n\
             a,A,18.90,EUR,velvet,150,,\n\
             \n\
             b,\"B,\nin two lines\",\"18,90\",Euro,wool,150 mm,,\n\
             c,C,18.90,,wool,150,M8,\n\
             d,D,,,,,,maybe\n\
             ,E,,,wool,150,,\n\
             a,A,,,wool,150,,\n\
             f,F,,,,,,\n\
             g,G\n",
        ),
        (
            "kit.csv",
            "date,tag,make,bottle.expiry_date\n2.10.2026,P-01,a,\n2026-10-02,B-01,a,2027-13-01\n",
        ),
    ]);
    insta::assert_snapshot!(told.join("\n"), @r"
    makes.csv line 11: The line has 2 cells and the header 8; see its commas and quotes.
    makes.csv line 2, column pad.material: 'velvet' is not one of thin-foam, thick-foam, microfibre, wool, applicator.
    makes.csv line 4, column price.amount: '18,90' is not an amount such as 18.90, with a point and no thousands mark.
    makes.csv line 4, column price.currency_code: 'Euro' is not a currency by its ISO 4217 code, such as EUR.
    makes.csv line 4, column pad.face_mm: '150 mm' is not a whole number such as 12, without a unit or a thousands mark.
    makes.csv line 6, column price.currency_code: It is empty beside price.amount; give both or neither.
    makes.csv line 6, column plate.thread: The line is of a pad, which has no plate.thread.
    makes.csv line 7, column machine.spot: 'maybe' is not yes or no.
    makes.csv line 8, column make: The cell is empty; every line begins with its id.
    makes.csv line 9, column make: a is there twice.
    kit.csv line 2, column date: '2.10.2026' is not a date such as 2026-10-02.
    kit.csv line 3, column bottle.expiry_date: '2027-13-01' is not a date such as 2026-10-02.
    makes.csv line 7: The line has no figures; fill in those of its sort, such as pad.face_mm.
    makes.csv line 10: The line has no figures; fill in those of its sort, such as pad.face_mm.
    kit.csv line 3, column make: a is a pad; the line has figures of another sort.
    ");
}

#[test]
fn a_name_that_leads_nowhere_is_named_where_it_stands() {
    let told = wrong(&[
        (
            "makes.csv",
            "make,pad.material,pad.face_mm\nfoam,wool,150\n",
        ),
        (
            "routines.csv",
            "routine,towel_make,steps.step,steps.pad_make,sundries.make\n\
             two,towle,cut,foam,gloves\n\
             two,,finish,faom,\n",
        ),
        ("offers.csv", "supplier,make,pack_count\ntern,foam,2\n"),
        (
            "kit.csv",
            "tag,make,bottle.left_ul\nP-01,foam,5\nP-02,faom,\nP-03,,\n",
        ),
        (
            "jobs.csv",
            "start_time,job,car,routine\n2026-12-01T08:00:00+01:00,a,car,two\nthu 08:00,b,,\n",
        ),
    ]);
    insta::assert_snapshot!(told.join("\n"), @r"
    jobs.csv line 3, column start_time: 'thu 08:00' is not a time with its offset from UTC, such as 2026-11-26T08:00:00+01:00.
    routines.csv line 2, column towel_make: No make goes by towle, neither in makes.csv nor in the book.
    routines.csv line 3, column steps.pad_make: No make goes by faom, neither in makes.csv nor in the book.
    routines.csv line 2, column sundries.make: No make goes by gloves, neither in makes.csv nor in the book.
    offers.csv line 2, column supplier: No supplier goes by tern, neither in suppliers.csv nor in the book.
    kit.csv line 2, column make: foam is a pad; the line has figures of another sort.
    kit.csv line 3, column make: No make goes by faom, neither in makes.csv nor in the book.
    kit.csv line 4, column make: The cell is empty; every piece is of a make.
    jobs.csv line 2, column car: No car goes by car, neither in cars.csv nor in the book.
    ");
}

#[test]
fn a_header_that_is_not_understood_is_named_and_a_column_may_be_left_out() {
    assert_eq!(wrong(&[("cars.csv", "car,class\na,city\n")]), [""; 0]);
    let told = wrong(&[
        ("cars.csv", "car|class\na|city\n"),
        ("jobs.csv", "name,car,car\n"),
        ("suppliers.csv", "supplier,lead days\n"),
    ]);
    insta::assert_snapshot!(told.join("\n"), @r"
    cars.csv line 1, column car|class: There is no such column. README.txt of an export says what there is; the first are car, class, note, length_mm.
    cars.csv line 1, column car: The column is missing.
    suppliers.csv line 1, column lead days: There is no such column. README.txt of an export says what there is; the first are supplier, name, lead_days, min_order.amount.
    jobs.csv line 1, column name: There is no such column. README.txt of an export says what there is; the first are start_time, second_start_time, job, car.
    jobs.csv line 1, column car: The column is there twice.
    jobs.csv line 1, column job: The column is missing.
    ");
}

#[test]
fn a_further_line_holds_the_next_of_a_list_and_nothing_else() {
    let cars = "car,class,note,panels.panel,panels.left_out\n\
                a,city,red,roof,yes\n\
                b,van,,,\n\
                a,,,bonnet,no\n";
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("cars.csv"), cars).unwrap();
    let (found, problems) = read(folder.path()).unwrap();
    assert_eq!(problems, []);
    let panels: Vec<_> = found.cars[0]
        .what
        .panels
        .iter()
        .map(|panel| (panel.panel.as_str(), panel.left_out))
        .collect();
    assert_eq!(panels, [("roof", true), ("bonnet", false)]);
    assert_eq!(found.cars[0].within, [[2, 4]]);
    let told = wrong(&[("cars.csv", &cars.replace("a,,,bonnet", "a,van,,bonnet"))]);
    assert_eq!(told.len(), 1);
    assert!(
        told[0].starts_with("cars.csv line 4, column class:"),
        "{told:?}"
    );
}

#[test]
fn a_folder_without_any_of_the_files_is_refused_and_one_with_some_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let fault = read(folder.path()).unwrap_err();
    assert!(fault.message.contains("makes.csv"), "{}", fault.message);
    assert!(read(&folder.path().join("none")).is_err());
    fs::write(folder.path().join("kit.csv"), b"tag\xff\n").unwrap();
    let fault = read(folder.path()).unwrap_err();
    assert!(fault.message.contains("UTF-8"), "{}", fault.message);
    fs::write(folder.path().join("kit.csv"), "tag,make\n").unwrap();
    assert_eq!(read(folder.path()).unwrap().0, Found::default());
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
