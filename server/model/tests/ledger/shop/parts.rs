//! Parts of commands at the invented shop: receipts, jobs, uses.

use fettlebook_model::command::{LooseLog, PadUse, Receipt, Said, Weighing};
use fettlebook_model::job::{Job, JobState, Routine, Step};
use fettlebook_model::{Seq, Tag};
use fettlebook_quantity::Mass;

use super::{at, id, tag};

/// Tags in a test: `tags_of("P-01 P-02")`.
pub(crate) fn tags_of(text: &str) -> Vec<Tag> {
    text.split(' ').map(tag).collect()
}

/// A pad that was in a use, with nothing more to say of it.
pub(crate) fn pad_use(pad: &str) -> PadUse {
    PadUse {
        tag: tag(pad),
        section_count: None,
        found: None,
        aside: None,
    }
}

/// A weigh-in, g on the scale.
pub(crate) fn weighing(bottle: &str, gross_g: i64) -> Weighing {
    Weighing {
        tag: tag(bottle),
        gross_mg: Mass::from_mg(gross_g * 1000),
    }
}

/// A loose use of nothing yet.
pub(super) fn loose() -> LooseLog {
    LooseLog {
        said: Said::default(),
        step: None,
        machine: None,
        plate: None,
        section_count: 0,
        pads: Vec::new(),
        bottles: Vec::new(),
        bundles: Vec::new(),
        sundries: Vec::new(),
        weighings: Vec::new(),
    }
}

/// A routine of these steps alone.
pub(crate) fn routine(key: &str, steps: Vec<Step>) -> Routine {
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

/// Done at a moment.
pub(crate) fn done(moment: &str) -> Said {
    Said {
        done_at: Some(at(moment)),
        note: String::new(),
        kept: None,
    }
}

/// A receipt of whole pieces on the bench.
pub(crate) fn receipt(make: &str, count: i64) -> Receipt {
    Receipt {
        said: Said::default(),
        make: id(make),
        place: id("bench"),
        piece_count: count,
        tags: Vec::new(),
        towel_count: 0,
        lot: String::new(),
        expiry: None,
        volume_ul: None,
        tare_mg: None,
        quantity: None,
        towel_grade: None,
        work: None,
        wash_count: None,
        check_due: None,
    }
}

/// The job of the story.
pub(crate) fn saloon_job(job: &str, start: &str) -> Job {
    Job {
        id: id(job),
        car: id("medium-saloon-silver"),
        routine: id("two-step"),
        place: id("bench"),
        starts_at: at(start),
        utc_offset_s: 0,
        left_out: Vec::new(),
        state: JobState::Booked,
        note: String::new(),
        last_seq: Seq::default(),
        done_in: None,
        taken: None,
        person: String::new(),
    }
}
