//! The first car and its job: an id for each that a person would give, and one that is free.

use fettlebook_contract::v1::{Car, CarClass, Job, StartRequest, StarterKit};

use jiff::ZonedDateTime;

use crate::connect::Session;
use crate::fault::Fault;
use crate::when::{self, Toward, stamp};
use crate::word;

/// When a car comes whose owner did not say: early on the next day.
pub(super) const USUALLY_WHEN: &str = "tomorrow 08:00";
/// Ids that are tried before it is given up.
const TRIES_MAX: usize = 20;

/// The class that a word names.
pub(super) fn class(text: &str) -> Result<CarClass, Fault> {
    let wanted = slug(text);
    let in_words = |class: &CarClass| word::word(*class).split('-').any(|part| part == wanted);
    // Of several sizes the middle one is meant.
    let is_middle = |class: &CarClass| word::word(*class).starts_with("medium");
    let near = || {
        let mut near: Vec<CarClass> = word::values().filter(in_words).collect();
        near.sort_by_key(|class| !is_middle(class));
        near.first().copied()
    };
    word::find(&wanted).or_else(near).ok_or_else(|| {
        Fault::usage(
            "--car",
            format!(
                "'{text}' is not a class of car; write one of {}.",
                word::list::<CarClass>()
            ),
        )
    })
}

/// Puts a car of a class and its job into a request; the routine is the kit's first.
pub(super) fn put(
    now: &ZonedDateTime,
    request: &mut StartRequest,
    kit: &StarterKit,
    class: CarClass,
    colour: &str,
    when: Option<&str>,
) -> Result<(), Fault> {
    let start = when::moment(when.unwrap_or(USUALLY_WHEN), now, Toward::Ahead);
    let start = start.map_err(|why| Fault::usage("--when", why))?;
    let routine = kit.routines.first().map(|routine| routine.routine.clone());
    let class_word = word::word(class);
    let car = slug(&format!("{class_word} {colour}"));
    request.car = Some(Car {
        car: car.clone(),
        class: class.into(),
        note: colour.trim().to_owned(),
        ..Car::default()
    });
    request.job = Some(Job {
        job: slug(&format!("{class_word} {}", start.strftime("%A"))),
        car,
        routine: routine.unwrap_or_default(),
        start_time: Some(stamp(&start)),
        utc_offset_s: i64::from(start.offset().seconds()),
        ..Job::default()
    });
    Ok(())
}

/// The request with a job id that the book takes: an id is given once, also to what was taken back.
pub(super) async fn with_free_id(
    session: &Session,
    mut request: StartRequest,
) -> Result<StartRequest, Fault> {
    let Some(first) = request.job.as_ref().map(|job| job.job.clone()) else {
        return Ok(request);
    };
    for number in 2..TRIES_MAX {
        let looked = super::look(session, &request).await?;
        let is_taken = looked
            .problems
            .iter()
            .any(|problem| problem.column == "job.job");
        if !is_taken {
            break;
        }
        if let Some(job) = &mut request.job {
            job.job = format!("{first}-{number}");
        }
    }
    Ok(request)
}

/// Words as an id: lower case, joined by hyphens.
fn slug(text: &str) -> String {
    let lower = text.to_lowercase();
    let words = lower.split(|letter: char| !letter.is_ascii_alphanumeric());
    let words = words.filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-")
}
