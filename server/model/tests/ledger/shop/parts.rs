//! Parts of commands at the invented shop: receipts, jobs, uses.

use fettlebook_model::Tag;
use fettlebook_model::command::{PadUse, Said, Weighing};
use fettlebook_model::job::Job;
use fettlebook_quantity::Mass;
use fettlebook_shed::job;

use super::{at, tag};

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

/// Done at a moment.
pub(crate) fn done(moment: &str) -> Said {
    Said {
        done_at: Some(at(moment)),
        note: String::new(),
        kept: None,
    }
}

/// The job of the story.
pub(crate) fn saloon_job(key: &str, start: &str) -> Job {
    job(key, "medium-saloon-silver", "two-step", at(start))
}
