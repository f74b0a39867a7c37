//! From the contract's messages to the model's types: parsed once, or refused with the field.
//!
//! It serves the handlers. What is parsed here is not checked again further in; whether it makes
//! sense in the trade is for the model to say, and no rule of the trade may stand here.

pub(super) mod access;
pub(super) mod book;
pub(super) mod car;
pub(super) mod film;
pub(super) mod job;
pub(super) mod kept;
pub(super) mod kit;
pub(super) mod log;
pub(super) mod make;
pub(super) mod notebook;
pub(super) mod order;
pub(super) mod quote;
pub(super) mod routine;
pub(super) mod start;
pub(super) mod supplier;
pub(super) mod take;

use std::str::FromStr;

use fettlebook_contract::v1;
use fettlebook_model::command::{Said, Weighing};
use fettlebook_model::ids::NameError;
use fettlebook_model::money::Money;
use fettlebook_model::panel::Panel;
use fettlebook_model::{Id, Moment, Reason, Refusal, Tag};
use fettlebook_quantity::Mass;
use jiff::civil::Date;
use prost_types::Timestamp;
use uuid::Uuid;

/// A request's id, which every command needs.
pub(super) fn request_id(text: &str) -> Result<Uuid, Refusal> {
    uuid("request_id", text)
}

/// A UUID that has to be given.
pub(super) fn uuid(field: &str, text: &str) -> Result<Uuid, Refusal> {
    let how = match field {
        "request_id" => {
            "Make a UUID before you first send the request, and send the same again on a retry."
        }
        _ => "Give the one that GetBook told.",
    };
    if text.is_empty() {
        return Err(Refusal::missing(field, how));
    }
    Uuid::try_parse(text)
        .map_err(|_| Refusal::invalid(field, format!("`{field}` is not a UUID."), how))
}

/// A name that has to be given.
fn name<T: FromStr<Err: ToString>>(field: &str, text: &str, example: &str) -> Result<T, Refusal> {
    if text.is_empty() {
        return Err(Refusal::missing(
            field,
            &format!("Give one, such as {example}."),
        ));
    }
    text.parse()
        .map_err(|error: T::Err| Refusal::invalid(field, error.to_string(), ""))
}

/// An id that has to be given.
pub(super) fn id(field: &str, text: &str) -> Result<Id, Refusal> {
    name(field, text, "coarse-foam-150")
}

/// An id that may be left out.
pub(super) fn open_id(field: &str, text: &str) -> Result<Option<Id>, Refusal> {
    if text.is_empty() {
        Ok(None)
    } else {
        id(field, text).map(Some)
    }
}

/// A place, spelt like an id, that has to be given.
pub(super) fn place(field: &str, text: &str) -> Result<Id, Refusal> {
    if text.is_empty() {
        return Err(Refusal::missing(field, "Give one, such as bench or van-a."));
    }
    text.parse().map_err(|error| match error {
        NameError::Id(said) => Refusal::invalid(
            field,
            format!(
                "`{said}` is not a place. A place is lower-case letters and digits joined by hyphens, 1 to 48 \
                 long, such as bench or van-a."
            ),
            "",
        ),
        other => Refusal::invalid(field, other.to_string(), ""),
    })
}

/// Where things are when it is not said.
const FIRST_PLACE: &str = "bench";

/// A place that may be left to the book: then it is the bench.
fn open_place(field: &str, text: &str) -> Result<Id, Refusal> {
    place(field, if text.is_empty() { FIRST_PLACE } else { text })
}

/// A tag that has to be given.
pub(super) fn tag(field: &str, text: &str) -> Result<Tag, Refusal> {
    name(field, text, "P-07")
}

/// A tag that may be left out.
fn open_tag(field: &str, text: &str) -> Result<Option<Tag>, Refusal> {
    if text.is_empty() {
        Ok(None)
    } else {
        tag(field, text).map(Some)
    }
}

fn tags(field: &str, texts: &[String]) -> Result<Vec<Tag>, Refusal> {
    texts.iter().map(|text| tag(field, text)).collect()
}

/// A moment that may be left out.
pub(super) fn moment(field: &str, stamp: Option<Timestamp>) -> Result<Option<Moment>, Refusal> {
    let Some(stamp) = stamp else { return Ok(None) };
    (0..1_000_000_000)
        .contains(&stamp.nanos)
        .then(|| Moment::new(stamp.seconds, stamp.nanos).ok())
        .flatten()
        .map(Some)
        .ok_or_else(|| {
            Refusal::invalid(
                field,
                format!(
                    "`{field}` is no moment: {} s and {} ns.",
                    stamp.seconds, stamp.nanos
                ),
                "Give seconds since 1970 and nanoseconds from 0 to 999999999.",
            )
        })
}

/// When a thing was done and the note to it.
fn said(done_time: Option<Timestamp>, note: String) -> Result<Said, Refusal> {
    Ok(Said {
        done_at: moment("done_time", done_time)?,
        note,
        kept: None,
    })
}

/// When a thing was done, the note to it, and how a device kept it.
fn said_and_kept(
    done_time: Option<Timestamp>,
    note: String,
    kept: Option<&v1::Kept>,
) -> Result<Said, Refusal> {
    Ok(Said {
        kept: kept.map(kept::kept).transpose()?,
        ..said(done_time, note)?
    })
}

/// A date that may be left out.
pub(super) fn open_date(field: &str, text: &str) -> Result<Option<Date>, Refusal> {
    const ISO_DATE_CHARS: usize = 10;
    if text.is_empty() {
        return Ok(None);
    }
    Some(text)
        .filter(|text| text.len() == ISO_DATE_CHARS)
        .and_then(|text| text.parse().ok())
        .map(Some)
        .ok_or_else(|| {
            Refusal::invalid(
                field,
                format!("`{field}` is not a date."),
                "Write it as year-month-day, such as 2027-03-31.",
            )
        })
}

/// A sum of money that may be left out.
pub(super) fn open_money(field: &str, sent: Option<&v1::Money>) -> Result<Option<Money>, Refusal> {
    let Some(sent) = sent else { return Ok(None) };
    for (part, text, todo) in [
        (
            "amount",
            &sent.amount,
            "Give it with a point, such as 18.90.",
        ),
        (
            "currency_code",
            &sent.currency_code,
            "Give its three letters, such as EUR.",
        ),
    ] {
        if text.is_empty() {
            return Err(Refusal::missing(&format!("{field}.{part}"), todo));
        }
    }
    Money::parse(&sent.amount, &sent.currency_code)
        .map(Some)
        .map_err(|error| Refusal::invalid(field, error.to_string(), ""))
}

/// A sum of money that has to be given.
fn money(field: &str, sent: Option<&v1::Money>) -> Result<Money, Refusal> {
    open_money(field, sent)?.ok_or_else(|| {
        Refusal::missing(field, "Give an amount and its currency, such as 18.90 EUR.")
    })
}

/// Panels by their words, or by words for several; each once, in the order given.
fn panels(field: &str, words: &[String]) -> Result<Vec<Panel>, Refusal> {
    let mut panels = Vec::new();
    for word in words {
        for panel in panel_group(field, word)? {
            if !panels.contains(&panel) {
                panels.push(panel);
            }
        }
    }
    Ok(panels)
}

/// The panels one word stands for.
pub(super) fn panel_group(field: &str, word: &str) -> Result<Vec<Panel>, Refusal> {
    if let Some(group) = Panel::group(word) {
        return Ok(group);
    }
    word.parse()
        .map(|panel| vec![panel])
        .map_err(|error: <Panel as FromStr>::Err| {
            // The words there are stand with what to do, which is said once for all that are wrong.
            let groups = Panel::GROUP_WORDS.join(", ");
            let todo = format!(
                "Write one of: {}; or one for several: {groups}.",
                error.accepted()
            );
            Refusal::new(
                Reason::PanelUnknown,
                field,
                format!("{}.", error.what()),
                todo,
            )
        })
}

fn weighings(weighings: &[v1::Weighing]) -> Result<Vec<Weighing>, Refusal> {
    weighings
        .iter()
        .map(|weighing| {
            Ok(Weighing {
                tag: tag("weighings.bottle", &weighing.bottle)?,
                gross_mg: Mass::from_mg(weighing.gross_mg),
            })
        })
        .collect()
}

/// A whole message that has to be given.
pub(super) fn message<T>(field: &str, message: Option<T>) -> Result<T, Refusal> {
    message.ok_or_else(|| Refusal::missing(field, "Fill it in; the contract says with what."))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stamp(seconds: i64, nanos: i32) -> Option<Timestamp> {
        Some(Timestamp { seconds, nanos })
    }

    #[test]
    fn a_moment_is_read_to_the_nanosecond_and_what_is_none_is_refused() {
        assert_eq!(moment("t", None), Ok(None));
        let read = moment("t", stamp(1_780_000_000, 5)).unwrap().unwrap();
        assert_eq!(read.as_nanosecond(), 1_780_000_000_000_000_005);
        for (seconds, nanos) in [(0, -1), (0, 1_000_000_000), (i64::MAX, 0), (i64::MIN, 0)] {
            let refused = moment("done_time", stamp(seconds, nanos)).unwrap_err();
            assert_eq!(
                (refused.reason, refused.field.as_str()),
                (Reason::FieldInvalid, "done_time")
            );
        }
    }

    #[test]
    fn a_word_for_several_panels_stands_for_each_once() {
        let words = ["bonnet", "Mirrors", "mirror-left"].map(str::to_owned);
        assert_eq!(
            panels("p", &words),
            Ok(vec![Panel::Bonnet, Panel::MirrorLeft, Panel::MirrorRight])
        );
    }

    #[test]
    fn an_unknown_panel_is_refused_with_the_words_there_are() {
        let refused = panels("job.left_out_panels", &["hood-left".to_owned()]).unwrap_err();
        assert_eq!(refused.reason, Reason::PanelUnknown);
        assert_eq!(refused.what, "'hood-left' is not a panel.");
        assert!(refused.todo.contains("bonnet") && refused.todo.contains("doors"));
    }

    #[test]
    fn a_date_is_year_month_day() {
        assert_eq!(open_date("d", ""), Ok(None));
        assert_eq!(
            open_date("d", "2027-03-31"),
            Ok(Some(jiff::civil::date(2027, 3, 31)))
        );
        for bad in [
            "2027-02-30",
            "31.03.2027",
            "20270331",
            "2027-03-31T10:00",
            "soon",
        ] {
            assert!(open_date("d", bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_request_id_is_a_uuid_and_has_to_be_there() {
        assert_eq!(request_id("").unwrap_err().reason, Reason::FieldMissing);
        assert_eq!(request_id("7").unwrap_err().reason, Reason::FieldInvalid);
        assert!(request_id("0196f5a0-0000-7000-8000-000000000001").is_ok());
    }
}
