//! Cars, routines and jobs with nothing said of them that may be left open.

use fettlebook_model::car::CarClass;
use fettlebook_model::film::FilmReadings;
use fettlebook_model::job::{Car, Job, JobState, Routine, Step};
use fettlebook_model::{Moment, Seq};

use super::id;

/// A car of this class.
#[must_use]
pub fn car(key: &str, class: CarClass) -> Car {
    Car {
        id: id(key),
        class,
        note: String::new(),
        dimensions: None,
        panels: Vec::new(),
        film: FilmReadings::default(),
    }
}

/// A step with the orbital, this pad make and this liquid, worked as the book's policy has it.
#[must_use]
pub fn step(name: &str, pad: &str, liquid: &str) -> Step {
    Step {
        name: id(name),
        machine_make: Some(id("orbital-150")),
        pad_make: id(pad),
        liquid_make: id(liquid),
        side_mm: None,
        overlap_permille: None,
        pass_count: None,
        arm_speed_mm_per_s: None,
        press: None,
        speed_per_min: None,
        panels: Vec::new(),
        wipe_down_make: None,
        cleaning: None,
        shares: Vec::new(),
        own_panels: Vec::new(),
    }
}

/// A routine of these steps alone.
#[must_use]
pub fn routine(key: &str, steps: Vec<Step>) -> Routine {
    Routine {
        id: id(key),
        name: key.replace('-', " "),
        steps,
        towel_make: None,
        cells_per_section: None,
        sundries: Vec::new(),
        tools: Vec::new(),
    }
}

/// A job at the bench, its clock at UTC.
#[must_use]
pub fn job(key: &str, car: &str, routine: &str, starts_at: Moment) -> Job {
    Job {
        id: id(key),
        car: id(car),
        routine: id(routine),
        place: id("bench"),
        starts_at,
        utc_offset_s: 0,
        left_out: Vec::new(),
        state: JobState::Booked,
        note: String::new(),
        last_seq: Seq::default(),
        done_in: None,
        taken: None,
        person: String::new(),
        sets: Vec::new(),
        second_day: None,
        first_day_done: None,
        logged: None,
    }
}
