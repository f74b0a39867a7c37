//! Readings of film over time: what the check goes by, what a cut took, and what is odd about a reading.

use fettlebook_model::check::{LineKind, Verdict, check_jobs};
use fettlebook_model::command::{FilmRead, Said};
use fettlebook_model::film::{OfJob, PanelSpots};
use fettlebook_model::film_cut::{FilmCut, film_cut, film_cuts};
use fettlebook_model::job::PanelNote;
use fettlebook_model::panel::Panel;
use fettlebook_model::plan::panels;
use fettlebook_model::{Command, Entry, Refusal};
use fettlebook_quantity::Thickness;

use crate::shop::{Shop, at, id, replayed, restored};

mod odd;

/// The car of the shop's jobs.
const CAR: &str = "medium-saloon-silver";

/// Spots of panels by their words: `bonnet 112 115 118`.
pub(crate) fn spots(panels: &[&str]) -> Vec<PanelSpots> {
    let read = panels.iter().map(|text| {
        let mut words = text.split(' ');
        let panel = words.next().unwrap().parse().unwrap();
        let spots_um = words.map(|um| Thickness::from_um(um.parse().unwrap()));
        PanelSpots {
            panel,
            spots_um: spots_um.collect(),
        }
    });
    read.collect()
}

pub(crate) fn before(job: &str) -> Option<OfJob> {
    Some(OfJob::Before(id(job)))
}

pub(crate) fn after(job: &str) -> Option<OfJob> {
    Some(OfJob::After(id(job)))
}

impl Shop {
    pub(crate) fn try_read(
        &mut self,
        said: Said,
        of_job: Option<OfJob>,
        panels: &[&str],
    ) -> Result<&Entry, Refusal> {
        self.try_say(Command::RecordFilm(Box::new(FilmRead {
            said,
            car: id(CAR),
            of_job,
            panels: spots(panels),
        })))
    }

    pub(crate) fn read(&mut self, of_job: Option<OfJob>, panels: &[&str]) -> &Entry {
        self.try_read(Said::default(), of_job, panels).unwrap()
    }

    /// The film of a panel that a check goes by, µm.
    pub(crate) fn film_of(&self, panel: Panel) -> Option<i64> {
        let car = self.book.car(&id(CAR)).unwrap();
        let mut all = panels(car, self.book.policy()).into_iter();
        let facts = all.find(|facts| facts.panel == panel).unwrap();
        facts.film.map(|film| film.um())
    }

    pub(crate) fn cut(&self, job: &str) -> Option<FilmCut> {
        let car = self.book.car(&id(CAR)).unwrap();
        film_cut(&self.book, car, &id(job))
    }
}

fn note(panel: Panel, um: i64) -> PanelNote {
    PanelNote {
        panel,
        area_mm2: None,
        left_out: false,
        film_um: Some(Thickness::from_um(um)),
        split: None,
    }
}

/// A shop with a job that is booked for Thursday.
pub(crate) fn shop() -> Shop {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop
}

/// Source: by hand. Bonnet 115 to 111, roof 100 to 98, boot 108 to 107, wings 110 to 107 and 120 to 115: 4, 2, 1, 3
/// and 5, of which the mean is 3, s = √2.5 and the limits 3 ± 2.1318 · √(2.5/5) (t of four degrees of freedom at
/// 95 %: 2.1318, table of the NIST e-Handbook, 1.3.6.7.2), so 1.493 and 4.507; the gauge's error is 2 µm and 3 % of
/// 110.6 µm, the mean film before.
#[test]
fn what_a_cut_took_is_the_mean_over_panels_with_its_limits() {
    let mut shop = shop();
    shop.read(
        before("thursday"),
        &[
            "bonnet 112 115 118",
            "roof 98 100 102",
            "boot 107 108 109",
            "front-wing-left 110 110 110",
            "front-wing-right 119 120 121",
            "sill-left 100 101",
        ],
    );
    shop.go_to("2026-03-05 16:00");
    shop.log("thursday");
    shop.read(
        after("thursday"),
        &[
            "bonnet 109 111 113",
            "roof 97 98 99",
            "boot 106 107 108",
            "front-wing-left 106 107 108",
            "front-wing-right 114 115 116",
            "sill-left 99 99 99",
            "sill-right 99 99 99",
        ],
    );
    let cut = shop.cut("thursday").unwrap();
    let taken: Vec<f64> = cut.panels.iter().map(|one| one.removed_um()).collect();
    assert_eq!(taken, [4.0, 2.0, 1.0, 3.0, 5.0]);
    assert_eq!(
        (cut.thin, cut.unpaired),
        (vec![Panel::SillLeft], vec![Panel::SillRight])
    );
    let removed = cut.removed.unwrap();
    let (low, high) = removed.limits_um.unwrap();
    assert_eq!(removed.mean_um, 3.0);
    assert!(
        (low - 1.4926).abs() < 5e-4 && (high - 4.5074).abs() < 5e-4,
        "{low} {high}"
    );
    assert!((removed.error_um - 5.318).abs() < 1e-9);
    assert!(removed.is_within_error());
}

/// Source: by hand; four panels of 9, 8, 10 and 9 µm, of which the mean is 9: beyond 2 µm and 3 % of 120 µm.
#[test]
fn below_five_panels_the_mean_is_told_without_limits() {
    let mut shop = shop();
    let panels = ["bonnet", "roof", "boot", "sill-left"];
    let read = |um: [i64; 4]| {
        let told = panels.iter().zip(um);
        let told = told.map(|(panel, um)| format!("{panel} {um} {um} {um}"));
        told.collect::<Vec<_>>()
    };
    let (first, last) = (read([120; 4]), read([111, 112, 110, 111]));
    let first: Vec<&str> = first.iter().map(String::as_str).collect();
    let last: Vec<&str> = last.iter().map(String::as_str).collect();
    shop.read(before("thursday"), &first);
    shop.go_to("2026-03-05 16:00");
    shop.read(after("thursday"), &last);
    let removed = shop.cut("thursday").unwrap().removed.unwrap();
    assert_eq!((removed.mean_um, removed.limits_um), (9.0, None));
    assert!(!removed.is_within_error());
}

#[test]
fn the_check_goes_by_the_lowest_of_the_newest_and_never_by_a_mean() {
    let mut shop = shop();
    let film = |shop: &Shop| {
        let check = check_jobs(&shop.book, &[id("thursday")], shop.now)
            .unwrap()
            .remove(0);
        let line = check
            .lines
            .into_iter()
            .find(|line| line.kind == LineKind::Film);
        line.unwrap().verdict
    };
    shop.edit_saloon(|car| {
        car.panels = Panel::ALL.iter().map(|panel| note(*panel, 120)).collect();
    });
    assert_eq!(film(&shop), Verdict::Go);
    shop.read(None, &["roof 130 125 89"]);
    assert_eq!(shop.film_of(Panel::Roof), Some(89));
    assert_eq!(
        film(&shop),
        Verdict::Stop,
        "80 to 90 µm, and a coarse liquid"
    );
    shop.read(None, &["roof 95 96 97"]);
    assert_eq!(
        shop.film_of(Panel::Roof),
        Some(89),
        "more than the gauge errs"
    );
    shop.read(None, &["roof 92 93 94"]);
    assert_eq!(shop.film_of(Panel::Roof), Some(92));
    assert_eq!(film(&shop), Verdict::Watch);
    shop.read(None, &["roof 69"]);
    assert_eq!(film(&shop), Verdict::Stop, "one spot is enough to stop");
}

#[test]
fn a_job_without_readings_before_it_goes_by_those_after_the_last() {
    let mut shop = shop();
    shop.book_saloon("friday", "2026-03-06 08:00");
    shop.go_to("2026-03-05 16:00");
    shop.read(after("thursday"), &["bonnet 110 111 112"]);
    shop.go_to("2026-03-06 16:00");
    shop.read(after("friday"), &["bonnet 107 108 109"]);
    let cut = shop.cut("friday").unwrap();
    assert_eq!(cut.removed.unwrap().mean_um, 3.0);
    let thursday = shop.cut("thursday").unwrap();
    assert_eq!(
        (thursday.removed, thursday.unpaired),
        (None, vec![Panel::Bonnet])
    );
    let car = shop.book.car(&id(CAR)).unwrap();
    let jobs: Vec<String> = film_cuts(&shop.book, car)
        .iter()
        .map(|cut| cut.job.to_string())
        .collect();
    assert_eq!(jobs, ["friday", "thursday"]);
}

/// What was read before the work and is told after it, without a time, is read before it.
#[test]
fn readings_from_before_a_job_that_is_done_stand_at_its_start() {
    let mut shop = shop();
    shop.go_to("2026-03-05 16:00");
    shop.log("thursday");
    shop.read(after("thursday"), &["bonnet 107 108 109"]);
    let told = shop
        .read(before("thursday"), &["bonnet 110 111 112"])
        .clone();
    assert_eq!(
        (told.done_at, told.flags.len()),
        (at("2026-03-05 08:00"), 0)
    );
    assert_eq!(shop.film_of(Panel::Bonnet), Some(107));
    shop.go_to("2026-03-05 18:00");
    let late = Said {
        done_at: Some(at("2026-03-05 17:00")),
        ..Said::default()
    };
    let told = shop
        .try_read(late, before("thursday"), &["roof 110 111 112"])
        .unwrap();
    assert!(
        told.flags[0].text.contains("after thursday was done"),
        "{:?}",
        told.flags
    );
}

#[test]
fn an_edit_of_the_car_leaves_what_was_read_and_a_reversal_takes_it_back() {
    let mut shop = shop();
    let read = shop.read(None, &["bonnet 96 97 98"]).seq;
    shop.edit_saloon(|car| car.note = "dull".to_owned());
    assert_eq!(shop.film_of(Panel::Bonnet), Some(96));
    assert_eq!(replayed(&shop.entries), shop.book);
    assert_eq!(restored(&shop.book), shop.book);
    shop.reverse(read).unwrap();
    assert_eq!(shop.film_of(Panel::Bonnet), None);
    assert_eq!(shop.book.car(&id(CAR)).unwrap().note, "dull");
}

#[test]
fn what_is_read_is_of_the_fourth_format() {
    let mut shop = shop();
    let read = shop.read(None, &["bonnet 96 97 98"]).clone();
    assert_eq!(read.format.to_string(), "4");
    let edited = shop.edit_saloon(|car| car.note = "dull".to_owned()).clone();
    assert_eq!(edited.format.to_string(), "1");
    let back = shop.reverse(edited.seq).unwrap();
    assert_eq!(
        back.format.to_string(),
        "4",
        "the car that is restated has readings"
    );
}
