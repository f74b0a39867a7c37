//! `shop where`: where this device looks for its shop, and what it holds of it.
//!
//! It changes nothing, and is answered without signal too.

use clap::Args;
use serde_json::json;

use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, shop as words};
use crate::transport::ShopTransport;

/// What `shop where` takes: nothing.
#[derive(Args, Debug)]
pub(crate) struct Where {}

/// Says where the shop is looked for, and whether it is reached.
pub(crate) async fn tell(shop: &ShopTransport, printer: &mut Printer) -> Result<Exit, Fault> {
    // Who asks where the shop is wants to know whether it answers now, and where it says that it is.
    if shop.last_book().is_none() {
        shop.ask_book().await;
    }
    let (paired, copy) = (shop.paired(), shop.copy_standing());
    let is_reached = shop.reachable().is_some();
    match printer.form() {
        Form::Json => {
            let places: Vec<String> = paired.places().iter().map(ToString::to_string).collect();
            printer.document(&json!({
                "addresses": places,
                "device": paired.device,
                "role": paired.role,
                "bookId": paired.book_id,
                "folder": shop.folder().display().to_string(),
                "reached": is_reached,
                "why": (!is_reached).then(|| shop.told_away()),
                "copyAsOfTime": copy.map(|copy| copy.as_of_time.to_string()),
            }));
        }
        Form::People | Form::Csv => {
            let away = (!is_reached).then(|| shop.told_away());
            let text = words::way(
                printer.screen(),
                &paired,
                away.as_deref(),
                copy.as_ref(),
                shop.folder(),
            );
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}
