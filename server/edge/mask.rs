//! Field masks: which fields of what is there are replaced by what was sent.
//!
//! What is edited is put together in the contract's own form, held to its bounds and parsed once, whole.
//! A mask may never name an id or what the service works out itself: the contract says which those are.

use fettlebook_contract::numbers::{At, Numbers};
use fettlebook_model::Book;
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, FieldDescriptor, ReflectMessage as _, Value};
use prost_types::FieldMask;

use super::faults::both;
use super::reflected::{dynamic, editable, of_choice};
use super::status::EdgeError;
use super::{etag, faults, numbers};

/// The path that names every field.
const ALL: &str = "*";

/// Puts the fields that the mask names, or all that are set when it names none, over what is there, and has
/// the whole parsed, with the paths that were named. `name` is the field of the request that it came in.
pub(super) fn edited<M, T, E>(
    book: &Book,
    name: &'static str,
    held: &M,
    sent: (&M, Option<FieldMask>),
    parse: impl FnOnce(M, &[String]) -> Result<T, E>,
) -> Result<T, EdgeError>
where
    M: Message + Name + Default + Numbers + Clone,
    E: Into<EdgeError>,
{
    let (sent, mask) = sent;
    let (edited, paths) = edit(name, held, sent, mask)?;
    let held = numbers::hold(&edited, At::TOP.down(name));
    let parsed = parse(edited.clone(), &paths).map_err(E::into);
    both(held, parsed)
        .map(|((), parsed)| parsed)
        .map_err(|error| faults::all_of_part(book, (name, &edited), error))
}

/// What is there with the fields that the mask names replaced, and the paths that were named.
fn edit<M>(
    name: &'static str,
    held: &M,
    sent: &M,
    mask: Option<FieldMask>,
) -> Result<(M, Vec<String>), EdgeError>
where
    M: Message + Name + Default,
{
    let (mut to, from) = (dynamic(held)?, dynamic(sent)?);
    etag::hold(name, &to, &from)?;
    let paths = match mask {
        Some(mask) if mask.paths.iter().any(|path| path == ALL) => all_paths(&from),
        Some(mask) if !mask.paths.is_empty() => mask.paths,
        _ => set_paths(&from),
    };
    for path in &paths {
        if !put(&mut to, &from, path) {
            return Err(EdgeError::Mask {
                path: shown(path),
                accepted: accepted(&to),
            });
        }
    }
    let edited = to.transcode_to().map_err(|_| EdgeError::Unreadable {
        why: format!("{name} cannot be put together"),
    })?;
    Ok((edited, paths))
}

/// Every field that can be edited; of those that exclude each other the one that was sent, or any where none
/// was: naming it leaves none.
fn all_paths(sent: &DynamicMessage) -> Vec<String> {
    let kind = sent.descriptor();
    let is_sent = |field: &FieldDescriptor| sent.has_field(field);
    let is_it =
        |field: &FieldDescriptor| match field.containing_oneof().filter(|_| of_choice(field)) {
            Some(choice) if choice.fields().any(|one| is_sent(&one)) => is_sent(field),
            Some(choice) => choice.fields().next().as_ref() == Some(field),
            None => true,
        };
    let named = kind.fields().filter(editable).filter(is_it);
    named.map(|field| field.name().to_owned()).collect()
}

/// Takes over the field at a path; says whether there is one.
fn put(to: &mut DynamicMessage, from: &DynamicMessage, path: &str) -> bool {
    let (name, inner) = match path.split_once('.') {
        Some((name, inner)) => (name, Some(inner)),
        None => (path, None),
    };
    let Some(field) = to.descriptor().get_field_by_name(name).filter(editable) else {
        return false;
    };
    match inner {
        None => put_whole(to, from, &field),
        Some(inner) if of_choice(&field) => put_figure(to, from, &field, inner),
        Some(_) => false,
    }
}

fn put_whole(to: &mut DynamicMessage, from: &DynamicMessage, field: &FieldDescriptor) -> bool {
    if from.has_field(field) {
        to.set_field(field, from.get_field(field).into_owned());
    } else if let Some(choice) = field.containing_oneof().filter(|_| of_choice(field)) {
        for other in choice.fields() {
            to.clear_field(&other);
        }
    } else {
        to.clear_field(field);
    }
    true
}

/// Replaces one figure. A make of another sort gets all that was sent, and is refused for it later.
fn put_figure(
    to: &mut DynamicMessage,
    from: &DynamicMessage,
    sort: &FieldDescriptor,
    name: &str,
) -> bool {
    if !to.has_field(sort) {
        return from.has_field(sort) && put_whole(to, from, sort);
    }
    let Some(figures) = to.get_field_mut(sort).as_message_mut() else {
        return false;
    };
    let Some(figure) = figures
        .descriptor()
        .get_field_by_name(name)
        .filter(editable)
    else {
        return false;
    };
    let sent = from.get_field(sort);
    match sent.as_message() {
        Some(sent) if sent.has_field(&figure) => {
            figures.set_field(&figure, sent.get_field(&figure).into_owned());
        }
        _ => figures.clear_field(&figure),
    }
    true
}

/// Paths of all that is set.
fn set_paths(sent: &DynamicMessage) -> Vec<String> {
    let mut paths = Vec::new();
    for (field, value) in sent.fields().filter(|(field, _)| editable(field)) {
        match value {
            Value::Message(figures) if of_choice(&field) => {
                let set = figures.fields();
                paths.extend(set.map(|(figure, _)| format!("{}.{}", field.name(), figure.name())));
            }
            _ => paths.push(field.name().to_owned()),
        }
    }
    paths
}

/// Every path there is, for people.
fn accepted(message: &DynamicMessage) -> String {
    let kind = message.descriptor();
    let fields = kind.fields().filter(editable).map(|field| {
        let name = field.name();
        if of_choice(&field) {
            format!("{name} or {name}.FIELD")
        } else {
            name.to_owned()
        }
    });
    fields.collect::<Vec<_>>().join(", ")
}

/// A path as it is said back: not longer than any of ours, and one line.
fn shown(path: &str) -> String {
    const CHARS_MAX: usize = 60;
    path.chars()
        .filter(|c| !c.is_control())
        .take(CHARS_MAX)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_contract::v1;
    use fettlebook_contract::v1::make::Figures;

    fn pad(load: Option<i64>, washes: Option<i64>) -> v1::Make {
        let figures = v1::PadFigures {
            face_mm: 150,
            load_sections: load,
            rated_wash_count: washes,
            ..v1::PadFigures::default()
        };
        v1::Make {
            make: "coarse-foam-150".to_owned(),
            name: "coarse foam 150".to_owned(),
            note: "old".to_owned(),
            figures: Some(Figures::Pad(figures)),
            ..v1::Make::default()
        }
    }

    fn edited(sent: &v1::Make, paths: &[&str]) -> Result<v1::Make, EdgeError> {
        let mask = FieldMask {
            paths: paths.iter().map(|path| (*path).to_owned()).collect(),
        };
        edit("make", &pad(Some(18), Some(20)), sent, Some(mask)).map(|(made, _)| made)
    }

    #[test]
    fn only_what_the_mask_names_is_taken_over() {
        let sent = v1::Make {
            name: "other".to_owned(),
            ..pad(Some(12), None)
        };
        assert_eq!(
            edited(&sent, &["pad.load_sections"]).unwrap(),
            pad(Some(12), Some(20))
        );
    }

    #[test]
    fn a_named_field_that_is_absent_is_cleared() {
        let sent = v1::Make::default();
        let held = edited(&sent, &["pad.rated_wash_count", "note"]).unwrap();
        assert_eq!(
            held,
            v1::Make {
                note: String::new(),
                ..pad(Some(18), None)
            }
        );
    }

    #[test]
    fn without_a_mask_every_field_that_is_set_is_taken_over() {
        let mut sent = pad(Some(12), None);
        sent.note.clear();
        assert_eq!(edited(&sent, &[]).unwrap(), pad(Some(12), Some(20)));
    }

    #[test]
    fn a_star_replaces_every_field_and_clears_what_is_not_sent() {
        let sent = pad(None, Some(5));
        let sent = v1::Make {
            note: String::new(),
            ..sent
        };
        assert_eq!(edited(&sent, &["*"]).unwrap(), sent);
        let bare = v1::Make {
            make: "coarse-foam-150".to_owned(),
            ..v1::Make::default()
        };
        assert_eq!(edited(&bare, &["*"]).unwrap(), bare);
    }

    #[test]
    fn a_field_named_twice_is_taken_once() {
        let sent = v1::Make {
            note: "new".to_owned(),
            ..v1::Make::default()
        };
        assert_eq!(edited(&sent, &["note", "note"]).unwrap().note, "new");
    }

    #[test]
    fn ids_and_unknown_fields_cannot_be_named() {
        for path in [
            "make",
            "figures",
            "pad.colour",
            "plate.thread",
            "pad.face_mm.x",
            "Name",
            "",
        ] {
            let refused = edited(&pad(None, None), &[path]);
            assert!(matches!(refused, Err(EdgeError::Mask { .. })), "{path}");
        }
        let (held, sent) = (v1::Job::default(), v1::Job::default());
        for path in ["job", "state", "last_seq", "done_time"] {
            let mask = FieldMask {
                paths: vec![path.to_owned()],
            };
            assert!(edit("job", &held, &sent, Some(mask)).is_err(), "{path}");
        }
    }

    #[test]
    fn figures_of_another_sort_are_taken_whole_for_the_model_to_refuse() {
        let plate = Figures::Plate(v1::PlateFigures {
            diameter_mm: 125,
            ..Default::default()
        });
        let sent = v1::Make {
            figures: Some(plate.clone()),
            ..v1::Make::default()
        };
        assert_eq!(
            edited(&sent, &["plate"]).unwrap().figures,
            Some(plate.clone())
        );
        assert_eq!(edited(&sent, &[]).unwrap().figures, Some(plate));
    }
}
