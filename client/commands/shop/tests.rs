//! The commands of a shop as they are run: what they print, what they leave on the disk, how they end.

mod pairing;
mod syncing;
mod whose;

use super::pair::{self, Pair};
use super::sync::{self, Sync};
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::paper::OnPaper;
use crate::render::scenario::{Heard, screen};
use crate::render::{Form, Printer};
use crate::request;
use crate::solo::SoloClock;
use crate::testing::{Device, Shop, refusal};
use fettlebook_contract::v1::WashKitRequest;
use tonic::Code;

pub(super) fn printer(heard: &Heard, form: Form) -> Printer {
    Printer::onto(heard.clone(), form, screen(80)).talking_to(heard.clone())
}

pub(super) async fn pair(
    device: &'static Device,
    code: &str,
    again: bool,
) -> Result<String, Fault> {
    let args = Pair {
        code: vec![code.to_owned()],
        again,
        name: None,
        role: None,
        at: None,
        paper: OnPaper::default(),
    };
    let heard = Heard::default();
    let mut printer = printer(&heard, Form::People);
    pair::perform(&args, &device.folder(), device, &mut printer).await?;
    Ok(heard.text())
}

pub(super) async fn session(device: &'static Device) -> Session {
    let place = Whereabouts::Shop {
        folder: device.folder(),
        insists: false,
    };
    Session::open(place, device, SoloClock::System)
        .await
        .unwrap()
}

pub(super) async fn wash(session: &Session, tag: &str) {
    let wash = WashKitRequest {
        request_id: request::new_id(),
        tags: vec![tag.to_owned()],
        ..WashKitRequest::default()
    };
    session.once(wash).await.unwrap();
}

#[derive(Default)]
pub(super) struct Asked {
    pub(super) again: Vec<i64>,
    pub(super) drop: Vec<i64>,
    pub(super) mend: bool,
}

pub(super) async fn synced(
    device: &'static Device,
    form: Form,
    asked: Asked,
) -> Result<String, Fault> {
    let (said, exit) = ended(device, form, asked).await?;
    assert_eq!(exit, Exit::Done, "{said}");
    Ok(said)
}

/// All that a sync prints, what it says included, and how it ends.
pub(super) async fn ended(
    device: &'static Device,
    form: Form,
    asked: Asked,
) -> Result<(String, Exit), Fault> {
    let session = session(device).await;
    let heard = Heard::default();
    let args = Sync {
        again: asked.again,
        drop: asked.drop,
        mend: asked.mend,
    };
    let shop = session.shop().unwrap();
    let exit = sync::perform(shop, device, &args, &mut printer(&heard, form)).await?;
    Ok((heard.text(), exit))
}

/// The text with what differs from run to run made the same.
pub(super) fn same(text: &str, shop: &Shop) -> String {
    let fingerprint = data_encoding::HEXLOWER.encode(&shop.fingerprint);
    let groups: Vec<&str> = (0..16).map(|at| &fingerprint[4 * at..4 * at + 4]).collect();
    let text = text.replace(&groups.join(" "), "3521 fc9c …");
    let text = text.replace(&shop.port.to_string(), "7420");
    match text.split_once(" as of ") {
        Some((before, after)) => format!("{before} as of …{}", after.get(16..).unwrap_or_default()),
        None => text,
    }
}

/// A device that kept four deeds without signal; the shop will not know P-99.
pub(super) async fn back_from_the_road() -> (Shop, &'static Device) {
    let (shop, device) = (Shop::open().await, Device::new());
    shop.pair(&device.folder());
    shop.cut();
    let session = session(device).await;
    for tag in ["P-01", "P-99", "P-03", "P-04"] {
        wash(&session, tag).await;
    }
    let unknown = refusal(Code::NotFound, "TAG_UNKNOWN", "No piece has the tag P-99.");
    shop.memory().refused.insert("P-99".to_owned(), unknown);
    (shop, device)
}
