//! `book where`: where the book is and how it stands.
//!
//! It serves copying, moving and asking for help. It changes nothing.

use std::path::Path;

use clap::Args;
use fettlebook_contract::v1::GetBookRequest;
use serde_json::{Value, json};

use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, book};
use crate::shop::folder::Paired;
use crate::way::ShopWay;

/// The shop and this device in it.
fn shop_of(paired: &Paired, folder: &Path) -> String {
    format!(
        "{} at {}, with the role {}; kept in {}",
        paired.device,
        paired.address(),
        paired.role,
        folder.display()
    )
}

fn shop_document(shop: &ShopWay) -> Value {
    let paired = shop.paired();
    json!({
        "address": paired.address(),
        "device": paired.device,
        "role": paired.role,
        "folder": shop.folder().display().to_string(),
        "reached": shop.near().is_some(),
        "copyAsOfTime": shop.copy_standing().map(|copy| copy.as_of_time.to_string()),
    })
}

/// What `book where` takes: nothing.
#[derive(Args, Debug)]
pub(crate) struct Where {}

/// Says where the book is.
pub(crate) async fn perform(
    session: &Session,
    _: &Where,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = session.call(GetBookRequest {}).await?;
    let place = match session.whereabouts() {
        Whereabouts::Folder(folder) => folder.display().to_string(),
        Whereabouts::At(address) => address.clone(),
        Whereabouts::Shop { folder, .. } => match session.shop() {
            Some(shop) => shop_of(&shop.paired(), folder),
            None => folder.display().to_string(),
        },
    };
    match printer.form() {
        Form::Json => {
            let mut document = json!({"where": place, "book": to_value(&answer)?});
            if let (Some(fields), Some(shop)) = (document.as_object_mut(), session.shop()) {
                fields.insert("shop".to_owned(), shop_document(shop));
            }
            printer.document(&document);
        }
        Form::People | Form::Csv => {
            let page = book::standing(printer.screen(), &place, &answer);
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}
