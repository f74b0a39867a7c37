//! Files that were written come back as what they were written from.

use super::*;

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
        let told = problems_of(&[(
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
