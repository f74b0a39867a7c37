//! `kit show TAG`: one piece, how it stands, what is left of it and its whole life.
//!
//! It serves the question why a piece is as it is. Its entries come newest first.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{GetPieceLifeRequest, GetPieceLifeResponse, LifePoint};
use serde_json::{Value, json};

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, kit};

/// What `kit show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Tag of the piece
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tag: String,
}

/// Shows the piece.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetPieceLifeRequest {
        tag: args.tag.clone(),
    };
    let life = session.call(asked).await?;
    if life.piece.is_none() {
        return Err(Fault::answer("the piece"));
    }
    match printer.form() {
        Form::Json => printer.document(&document(&life)?),
        Form::People | Form::Csv => {
            let page = kit::show(printer.screen(), &life);
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}

/// The piece, its entries newest first, how it stood after each, oldest first, and what is left.
fn document(life: &GetPieceLifeResponse) -> Result<Value, Fault> {
    let entries = life
        .points
        .iter()
        .rev()
        .filter_map(|point| point.entry.as_ref());
    let entries = entries.map(to_value).collect::<Result<Vec<_>, _>>()?;
    let points = life
        .points
        .iter()
        .map(point)
        .collect::<Result<Vec<_>, _>>()?;
    Ok(json!({
        "piece": life.piece.as_ref().map(to_value).transpose()?,
        "entries": entries,
        "points": points,
        "left": life.left.as_ref().map(to_value).transpose()?,
    }))
}

/// How the piece stood after an entry, which is named by its number only.
fn point(point: &LifePoint) -> Result<Value, Fault> {
    let bare = LifePoint {
        entry: None,
        ..point.clone()
    };
    let mut value = to_value(&bare)?;
    if let (Some(fields), Some(entry)) = (value.as_object_mut(), &point.entry) {
        fields.insert("seq".to_owned(), json!(entry.seq.to_string()));
    }
    Ok(value)
}

#[cfg(test)]
mod tests {
    use super::document;
    use fettlebook_contract::v1::{Entry, GetPieceLifeResponse, LifePoint, PadLeft, Piece};

    #[test]
    fn a_life_in_json_keeps_piece_and_entries_and_names_entries_by_number() {
        let point = |seq, damage| LifePoint {
            entry: Some(Entry {
                seq,
                ..Entry::default()
            }),
            damage: Some(damage),
            ..LifePoint::default()
        };
        let life = GetPieceLifeResponse {
            piece: Some(Piece {
                tag: "P-07".to_owned(),
                ..Piece::default()
            }),
            points: vec![point(3, 0.0), point(9, 0.25)],
            left: Some(PadLeft::default()),
        };
        let document = document(&life).unwrap();
        assert_eq!(document["piece"]["tag"], "P-07");
        let seqs = |list: &str| {
            let items = document[list].as_array().unwrap().iter();
            items.map(|item| item["seq"].clone()).collect::<Vec<_>>()
        };
        assert_eq!(seqs("entries"), ["9", "3"]);
        assert_eq!(seqs("points"), ["3", "9"]);
        assert_eq!(document["points"][1]["damage"], 0.25);
        assert!(document["points"][1].get("entry").is_none());
        assert!(document["left"].is_object());
    }
}
