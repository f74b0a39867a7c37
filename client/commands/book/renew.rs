//! `book policy --renew`: figures that makes took from the policy when they were set up, taken from
//! today's.
//!
//! What they are stands beside what they would be, and nothing is written before a person says so. Each
//! make is an edit of its own, so that each can be taken back alone.

use fettlebook_contract::v1::{Entry, Make, PolicyFigure, UpdateMakeRequest};
use prost_types::FieldMask;
use serde_json::json;

use crate::ask::{is_it_so, somebody_is_there};
use crate::commands::make;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, book, entry};
use crate::request;

/// Lists what would change and, on yes, writes it.
pub(super) async fn perform(
    session: &Session,
    yes: bool,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut makes = make::all(session).await?.makes;
    for make in &mut makes {
        let changes = |figure: &PolicyFigure| figure.value != figure.policy_value;
        make.policy_figures.retain(changes);
    }
    makes.retain(|make| !make.policy_figures.is_empty());
    if printer.form() == Form::Json {
        let entries = if yes {
            renewed(session, &makes).await?
        } else {
            Vec::new()
        };
        return document(&makes, &entries, printer);
    }
    let page = book::renewal(printer.screen(), &makes)?;
    printer.page(&page);
    if makes.is_empty() {
        return Ok(Exit::Done);
    }
    printer.flush();
    if yes || (somebody_is_there(printer) && is_it_so("Write these?")?) {
        for entry in renewed(session, &makes).await? {
            let page = entry::recorded(printer.screen(), &entry);
            printer.page(&page);
        }
    } else {
        printer.say("Nothing was changed. To write it, say --yes too.");
    }
    Ok(Exit::Done)
}

/// Edits each make so that what is from the policy is filled from today's.
async fn renewed(session: &Session, makes: &[Make]) -> Result<Vec<Entry>, Fault> {
    let mut entries = Vec::with_capacity(makes.len());
    for make in makes {
        let answer = session.call(edit(make)).await?;
        entries.push(answer.entry.ok_or_else(|| Fault::answer("the entry"))?);
    }
    Ok(entries)
}

/// The edit that clears the figures, so that the service fills them.
fn edit(make: &Make) -> UpdateMakeRequest {
    let paths = make.policy_figures.iter();
    UpdateMakeRequest {
        request_id: request::new_id(),
        make: Some(Make {
            make: make.make.clone(),
            etag: make.etag.clone(),
            ..Make::default()
        }),
        update_mask: Some(FieldMask {
            paths: paths.map(|from| from.figure.clone()).collect(),
        }),
    }
}

fn document(makes: &[Make], entries: &[Entry], printer: &mut Printer) -> Result<Exit, Fault> {
    let mut changes = Vec::new();
    for make in makes {
        for figure in &make.policy_figures {
            let mut change = to_value(figure)?;
            if let Some(fields) = change.as_object_mut() {
                fields.insert("make".to_owned(), json!(make.make));
            }
            changes.push(change);
        }
    }
    let entries = entries
        .iter()
        .map(to_value)
        .collect::<Result<Vec<_>, _>>()?;
    printer.document(&json!({ "changes": changes, "entries": entries }));
    Ok(Exit::Done)
}

#[cfg(test)]
mod tests {
    use super::edit;
    use fettlebook_contract::v1::{Make, PolicyFigure};

    #[test]
    fn an_edit_clears_just_what_is_from_the_policy_as_it_was_read() {
        let make = Make {
            make: "coarse-foam-150".to_owned(),
            etag: "as-read".to_owned(),
            note: "stays".to_owned(),
            policy_figures: vec![PolicyFigure {
                figure: "pad.rated_work_sections".to_owned(),
                value: 130,
                policy_value: 185,
                ..PolicyFigure::default()
            }],
            ..Make::default()
        };
        let asked = edit(&make);
        assert_eq!(
            asked.update_mask.unwrap().paths,
            ["pad.rated_work_sections"]
        );
        let sent = asked.make.unwrap();
        assert_eq!((sent.make, sent.etag), (make.make, make.etag));
        assert_eq!((sent.note.as_str(), sent.figures), ("", None));
    }
}
