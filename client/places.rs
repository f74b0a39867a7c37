//! The places that kit is at, as a person names them: one that was never seen before is asked about, and none
//! comes into the book by a slip of the finger.

use fettlebook_contract::v1::{GetBookRequest, ListJobsRequest};

use crate::ask::{is_it_so, somebody_is_there};
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::ids::id_of;
use crate::mistyped::nearest;
use crate::render::Printer;
use crate::tags;

/// The places where kit is; none where nobody knows.
pub(crate) async fn all(session: &Session) -> Vec<String> {
    let answer = session.once(GetBookRequest::default()).await;
    answer.map(|book| book.places).unwrap_or_default()
}

/// The place that an option names, if it was given.
///
/// # Errors
/// As [`meant`].
pub(crate) async fn asked(
    session: &Session,
    option: &str,
    place: Option<&str>,
    is_new: bool,
    printer: &mut Printer,
) -> Result<Option<String>, Fault> {
    match place {
        Some(place) => meant(session, option, place, is_new, printer)
            .await
            .map(Some),
        None => Ok(None),
    }
}

/// The place that was named. One that the book does not know is asked about, unless it was said to be new or
/// there is no kit yet.
///
/// # Errors
/// When it is a tag, or is not known and not new.
pub(crate) async fn meant(
    session: &Session,
    option: &str,
    place: &str,
    is_new: bool,
    printer: &mut Printer,
) -> Result<String, Fault> {
    if let Some(tag) = tags::spelt(place) {
        return Err(is_a_tag(option, place, &tag));
    }
    let id = id_of(place);
    let known = all(session).await;
    let without_article = id.strip_prefix("the-").unwrap_or(&id);
    for name in [id.as_str(), without_article] {
        if known.iter().any(|one| one == name) {
            return Ok(name.to_owned());
        }
    }
    if known.is_empty() || is_new {
        return Ok(id);
    }
    let there = which(&known);
    if somebody_is_there(printer)
        && is_it_so(&format!("{id} is no place yet; {there}. A new one?"))?
    {
        return Ok(id);
    }
    Err(unknown(option, place, &id, known))
}

/// That a place which nothing is at is one at all.
///
/// # Errors
/// When the book knows no such place.
pub(crate) async fn must_be(
    session: &Session,
    place: &str,
    printer: &Printer,
) -> Result<(), Fault> {
    let known = all(session).await;
    if known.is_empty()
        || known.iter().any(|one| one == place)
        || printer.form() == crate::render::Form::Json
        || has_jobs(session, place).await
    {
        return Ok(());
    }
    let mut fault = unknown("--place", place, place, known);
    "Name one of them.".clone_into(&mut fault.todo);
    fault.exit = Exit::NotFound;
    fault.reason = "PLACE_UNKNOWN";
    Err(fault)
}

/// Whether there are jobs at a place, which makes it one before any kit is there.
async fn has_jobs(session: &Session, place: &str) -> bool {
    let asked = ListJobsRequest {
        place: place.to_owned(),
        page_size: 1,
        ..ListJobsRequest::default()
    };
    let answer = session.once(asked).await;
    answer.is_ok_and(|answer| !answer.jobs.is_empty())
}

fn is_a_tag(option: &str, place: &str, tag: &str) -> Fault {
    let mut fault = Fault::usage(option, format!("'{place}' is a tag and no place."));
    fault.todo = "A place is where kit is, for example bench or van-a.".to_owned();
    tag.clone_into(&mut fault.hints.name);
    "bench".clone_into(&mut fault.hints.meant);
    fault
}

fn unknown(option: &str, place: &str, id: &str, known: Vec<String>) -> Fault {
    let there = which(&known);
    let mut fault = Fault::usage(option, format!("'{place}' is no place yet; {there}."));
    fault.todo = "Name one of them, or say that it is a new one with --new-place.".to_owned();
    place.clone_into(&mut fault.hints.name);
    let near = nearest(id, known.clone());
    fault.hints.meant = near
        .or_else(|| known.into_iter().next())
        .unwrap_or_default();
    fault
}

/// Which places there are, within a sentence.
fn which(known: &[String]) -> String {
    match known {
        [only] => format!("there is {only}"),
        several => format!("there are {}", several.join(", ")),
    }
}
