//! Goal: nothing absurd goes into the book without a word, and nobody is refused for it; what has no
//! meaning is refused.
//!
//! Method: what a person mistypes at the invented shop, and the same as it would be right beside it.
//! Source of the bounds: geometry for the sections of a car, common practice without a source for film,
//! the figures of the makes for pads and plates, from memory for how soon a wash is told twice.

use fettlebook_model::command::LiquidAmount;
use fettlebook_model::job::{JobState, PanelNote};
use fettlebook_model::make::Grade;
use fettlebook_model::{Command, Entry, Reason, Subject};
use fettlebook_quantity::{Thickness, Volume};

use crate::kept::kept;
use crate::shop::{Shop, at, done, flags, foam, id, make, pad_use, plate, step, tag};

/// The worked shop with one 85 mm pad, P-13, beside the plate BP-01, which is 135 mm wide with its rim.
fn shop() -> Shop {
    let mut shop = Shop::worked();
    let spot = make("fine-foam-85", foam(Grade::Fine, 85));
    shop.say(Command::CreateMake { make: spot });
    shop.receive("fine-foam-85", 1);
    shop
}

/// Works a pad of a make so many sections on the plate, outside any job.
fn work<'a>(shop: &'a mut Shop, pad: &str, make: &str, sections: i64) -> &'a Entry {
    let entry = shop.log_loose(|loose| {
        loose.step = Some(step("finish", make, "fine-polish-500ml"));
        loose.section_count = sections;
        loose.plate = Some(tag("BP-01"));
        loose.pads = vec![pad_use(pad)];
    });
    entry.unwrap()
}

#[test]
fn more_sections_than_any_car_has_are_recorded_and_flagged() {
    let mut shop = shop();
    let entry = work(&mut shop, "P-08", "fine-foam-150", 100_000);
    assert_eq!(
        flags(entry),
        ["P-08 worked 100000 sections, more than any car has."]
    );
    assert!(shop.work("P-08") > 0);
    let entry = work(&mut shop, "P-09", "fine-foam-150", 300);
    assert_eq!(flags(entry), [""; 0]);
}

#[test]
fn a_pad_on_a_plate_that_reaches_over_it_is_flagged_with_both_diameters() {
    let mut shop = shop();
    let entry = work(&mut shop, "P-13", "fine-foam-85", 1);
    let [said] = flags(entry)[..] else {
        panic!("{:?}", flags(entry))
    };
    for word in ["P-13", "85 mm", "BP-01", "135 mm", "edge reaches the paint"] {
        assert!(said.contains(word), "{word}: {said}");
    }
    let entry = work(&mut shop, "P-08", "fine-foam-150", 1);
    assert_eq!(flags(entry), [""; 0]);
}

#[test]
fn a_pad_that_hangs_over_its_plate_is_flagged_with_both_diameters() {
    let mut shop = shop();
    let small = make("small-plate", plate(75, Some(12_000)));
    shop.say(Command::CreateMake { make: small });
    shop.receive("small-plate", 1);
    let entry = shop.log_loose(|loose| {
        loose.step = Some(step("finish", "fine-foam-150", "fine-polish-500ml"));
        loose.section_count = 1;
        loose.plate = Some(tag("BP-02"));
        loose.pads = vec![pad_use("P-08")];
    });
    let said = flags(entry.unwrap()).join("\n");
    for word in [
        "P-08",
        "150 mm",
        "BP-02",
        "75 mm",
        "does not carry its edge",
    ] {
        assert!(said.contains(word), "{word}: {said}");
    }
}

#[test]
fn sixty_of_twenty_four_towels_are_recorded_and_flagged() {
    let mut shop = shop();
    let entry = shop.log_as("thursday", |log| log.bundles = vec![(tag("T-01"), 60)]);
    assert_eq!(
        flags(entry.unwrap()),
        ["T-01 had 24 clean towels in the book, fewer than the 60 used."]
    );
    assert!(shop.piece("T-01").needs_count);
}

/// The two-step takes 61.5 mL of compound: five times that is 307.5.
#[test]
fn far_more_liquid_than_a_job_was_planned_to_take_is_flagged() {
    for (ml, is_odd) in [(307, false), (308, true)] {
        let mut shop = shop();
        let poured = LiquidAmount::Volume(Volume::from_ul(ml * 1_000));
        let entry = shop.log_as("thursday", |log| log.bottles = vec![(tag("B-01"), poured)]);
        let flags = flags(entry.unwrap());
        assert_eq!(flags.len(), usize::from(is_odd), "{ml}: {flags:?}");
        assert!(
            flags.iter().all(|flag| flag.contains("61.5 mL")),
            "{flags:?}"
        );
    }
}

#[test]
fn film_that_no_paint_has_is_flagged_once_and_no_warning_is_lost() {
    let mut shop = shop();
    let read = |film_um| PanelNote {
        panel: "bonnet".parse().unwrap(),
        area_mm2: None,
        left_out: false,
        split: None,
        film_um: Some(Thickness::from_um(film_um)),
    };
    let entry = shop.edit_saloon(|car| car.panels = vec![read(1_200)]);
    let said = flags(entry);
    assert!(
        said.len() == 1 && said[0].contains("bonnet reads 1200 µm"),
        "{said:?}"
    );
    assert_eq!(
        entry.flags[0].subject,
        Subject::Car(id("medium-saloon-silver"))
    );
    let entry = shop.edit_saloon(|car| car.note = "silver, filled".into());
    assert_eq!(flags(entry), [""; 0]);
    for film_um in [500, 75] {
        let entry = shop.edit_saloon(|car| car.panels = vec![read(film_um)]);
        assert_eq!(flags(entry), [""; 0], "{film_um}");
    }
}

#[test]
fn a_wash_told_twice_and_one_of_what_was_clean_are_flagged() {
    let mut shop = shop();
    shop.log("thursday");
    assert_eq!(flags(shop.wash("P-01 T-01")), [""; 0]);
    shop.go_to("2026-03-05 15:03");
    assert_eq!(
        flags(shop.wash("P-01 T-01")),
        [
            "P-01 was washed 3 minutes before.",
            "T-01 was washed 3 minutes before."
        ]
    );
    shop.go_to("2026-03-05 20:00");
    assert_eq!(
        flags(shop.wash("P-01 P-06 T-01")),
        [
            "P-01 was clean in the book.",
            "P-06 was clean in the book.",
            "T-01 had no soiled towels in the book."
        ]
    );
    // What was reported late, or dropped and set aside, may well have been washed.
    let late = Command::Wash {
        said: done("2026-03-04 20:00"),
        tags: vec![tag("P-02")],
        inspections: Vec::new(),
    };
    assert_eq!(flags(shop.say(late)), [""; 0]);
    shop.set_aside("P-07");
    assert_eq!(flags(shop.wash("P-07")), [""; 0]);
    // One that was done before the wash of three o'clock, and is told after it.
    let before = Command::Wash {
        said: done("2026-03-05 14:30"),
        tags: vec![tag("P-01")],
        inspections: Vec::new(),
    };
    assert_eq!(flags(shop.say(before)), [""; 0]);
}

#[test]
fn a_use_before_its_piece_came_is_flagged_for_each_piece_once() {
    let mut shop = shop();
    let entry = shop.log_loose(|loose| {
        loose.said = done("2026-03-04 15:59");
        let amount = LiquidAmount::Volume(Volume::from_ul(1_000));
        loose.bottles = vec![(tag("B-01"), amount)];
        loose.bundles = vec![(tag("T-01"), 1)];
    });
    let words = "was used before it came into the kit, by the times in the book.";
    assert_eq!(
        flags(entry.unwrap()),
        [format!("B-01 {words}"), format!("T-01 {words}")]
    );
    // The machine of both steps, too.
    let entry = shop.log_as("thursday", |log| log.said = done("2026-03-04 15:59"));
    let of_machine = format!("M-01 {words}");
    let said = flags(entry.unwrap()).into_iter();
    assert_eq!(said.filter(|flag| **flag == of_machine).count(), 1);
}

#[test]
fn what_a_device_kept_is_flagged_just_so() {
    let mut shop = shop();
    let said = kept("van-a", shop.book.head(), at("2026-03-05 14:00"));
    let wash = Command::Wash {
        said,
        tags: vec![tag("P-06")],
        inspections: Vec::new(),
    };
    assert_eq!(flags(shop.say(wash)), ["P-06 was clean in the book."]);
}

#[test]
fn only_what_has_no_meaning_is_refused() {
    let mut shop = shop();
    let nothing = shop.log_loose(|loose| {
        loose.step = Some(step("finish", "fine-foam-150", "fine-polish-500ml"));
        loose.pads = vec![pad_use("P-08")];
    });
    assert_eq!(nothing.unwrap_err().reason, Reason::FieldMissing);
}

/// By the shop's own clock: the job is of the fifth in the harbour town, also where it is the fourth in UTC.
#[test]
fn a_log_of_a_day_before_that_of_its_job_is_recorded_and_flagged() {
    let why = "is booked for Thu 5 Mar 2026, and said to be done on Wed 4 Mar 2026. See that no other job was meant.";
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.book_saloon("other", "2026-03-05 13:00");
    shop.go_to("2026-03-04 23:59");
    let entry = shop.log_as("thursday", |_| {}).unwrap();
    assert_eq!(flags(entry), [format!("thursday {why}")]);
    let job = shop.book.job(&id("thursday")).unwrap();
    assert!(matches!(job.state, JobState::Done(_)), "{:?}", job.state);
    // From midnight on it is its day, early as that is.
    shop.go_to("2026-03-05 00:00");
    let entry = shop.log_as("other", |log| {
        log.pads = vec![pad_use("P-06"), pad_use("P-07")];
    });
    let said = flags(entry.unwrap()).into_iter();
    assert_eq!(said.filter(|flag| flag.contains("booked for")).count(), 0);
}

/// What a device kept is flagged by when it was done, and what is only looked at says so too.
#[test]
fn a_kept_log_of_a_day_before_that_of_its_job_is_flagged() {
    let mut shop = Shop::worked();
    let said = kept("van-a", shop.book.head(), at("2026-03-04 18:00"));
    let entry = shop.log_as("thursday", |log| log.said = said).unwrap();
    assert!(
        flags(entry)
            .iter()
            .any(|flag| flag.contains("said to be done on Wed 4 Mar 2026")),
        "{:?}",
        flags(entry)
    );
}

/// Gloves are sold by so many pairs (common practice, no source): of a box more is not there, unless the book has more.
#[test]
fn more_than_one_holds_is_recorded_and_flagged() {
    let mut shop = Shop::stocked();
    let pack = shop.piece("S-01").sundry_left().unwrap();
    assert_eq!(flags(shop.count("S-01", pack)), [""; 0]);
    let entry = shop.count("S-01", pack * 8);
    let told = flags(entry).concat();
    assert!(told.contains("of S-01 is more than one holds"), "{told}");
    assert_eq!(shop.piece("S-01").sundry_left(), Some(pack * 8));
    // By then the book has more: the same figure again is no surprise.
    assert_eq!(flags(shop.count("S-01", pack * 8)), [""; 0]);
}
