//! `kit show TAG`: one piece, how it stands and what happened to it.
//!
//! It serves the question why a piece is as it is. Its entries come newest first.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{GetPieceRequest, ListEntriesRequest};
use serde_json::json;

use crate::call::send;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::page;
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
    let asked = GetPieceRequest {
        tag: args.tag.clone(),
    };
    let kit_service = session.kit();
    let piece = send(asked, |sent| {
        let mut kit_service = kit_service.clone();
        async move { kit_service.get_piece(sent).await }
    })
    .await?
    .piece
    .ok_or_else(|| Fault::answer("the piece"))?;
    let about = ListEntriesRequest {
        subject: piece.tag.clone(),
        newest_first: true,
        ..ListEntriesRequest::default()
    };
    let book = session.book();
    let history = page::every(about, |sent| {
        let mut book = book.clone();
        async move { book.list_entries(sent).await }
    })
    .await?;
    match printer.form() {
        Form::Json => {
            let entries = history
                .entries
                .iter()
                .map(to_value)
                .collect::<Result<Vec<_>, _>>()?;
            let document = json!({"piece": to_value(&piece)?, "entries": entries});
            printer.document(&document);
        }
        Form::People | Form::Csv => {
            let page = kit::show(printer.screen(), &piece, &history.entries);
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}
