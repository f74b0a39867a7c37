//! `book where`: where the book is and how it stands.
//!
//! It serves copying, moving and asking for help. It changes nothing.

use clap::Args;
use fettlebook_contract::v1::GetBookRequest;
use serde_json::json;

use crate::call::send;
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, book};

/// What `book where` takes: nothing.
#[derive(Args, Debug)]
pub(crate) struct Where {}

/// Says where the book is.
pub(crate) async fn perform(
    session: &Session,
    _: &Where,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let service = session.book();
    let answer = send(GetBookRequest {}, |sent| {
        let mut service = service.clone();
        async move { service.get_book(sent).await }
    })
    .await?;
    let place = match session.whereabouts() {
        Whereabouts::Folder(folder) => folder.display().to_string(),
        Whereabouts::At(address) => address.clone(),
    };
    match printer.form() {
        Form::Json => printer.document(&json!({"where": place, "book": to_value(&answer)?})),
        Form::People | Form::Csv => {
            let page = book::standing(printer.screen(), &place, &answer);
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}
