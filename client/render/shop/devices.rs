//! Devices of a shop: one that was just paired, all of them, one that is shut out or has another role.

use fettlebook_contract::v1::{Device, Role};

use crate::fault::Fault;
use crate::render::screen::Screen;
use crate::render::table::{Column, table};
use crate::render::tint;
use crate::shop::folder::Paired;
use crate::shop::role_word;

/// A device that was just paired, and why no copy of the book could be taken along, where it could not.
pub(crate) fn paired(screen: &Screen, paired: &Paired, uncopied: Option<&Fault>) -> String {
    let what = format!(
        "this device is {} in the shop at {}, with the role {}.",
        paired.device,
        paired.address(),
        paired.role
    );
    let mut text = screen.hung(&format!("{}: ", tint::good("paired")), "  ", &what);
    text.push('\n');
    let copy = match uncopied {
        None => "A copy of the book is here for where there is no signal.".to_owned(),
        Some(fault) => format!(
            "No copy of the book could be taken along: {} 'fettle shop sync' takes one.",
            fault.message
        ),
    };
    let next = format!("Commands use the shop's book from now on. {copy}");
    text.push_str(&screen.hung("", "", &next));
    text
}

/// The devices, a line each.
pub(crate) fn devices(screen: &Screen, devices: &[Device]) -> String {
    if devices.is_empty() {
        return "No device is paired.".to_owned();
    }
    table(
        screen,
        &[
            ("Device", Column::Whole),
            ("Role", Column::Whole),
            ("Place", Column::Whole),
            ("Waits there", Column::Text),
            ("Last sync", Column::Whole),
            ("Last used", Column::Whole),
            ("Revoked", Column::Text),
        ],
        devices.iter().map(|device| {
            let revoked = screen.moment_or(device.revoked_time.as_ref(), "");
            vec![
                device.name.clone(),
                what_it_may(device.role(), device.office),
                device.place.clone(),
                held(device),
                screen.moment_or(device.synced_time.as_ref(), "never"),
                screen.moment_or(device.used_time.as_ref(), "never"),
                tint::bad(&revoked),
            ]
        }),
    )
}

/// What a device may do, and whether it sees all shops.
pub(super) fn what_it_may(role: Role, office: bool) -> String {
    let word = role_word(role);
    if office {
        format!("{word}, office")
    } else {
        word.to_owned()
    }
}

/// What a device held when it last said so: what waits, and what a person there has to look at.
fn held(device: &Device) -> String {
    let Some(outbox) = &device.outbox else {
        return "not known".to_owned();
    };
    match (outbox.waiting_count, outbox.parked_count) {
        (0, 0) => "nothing".to_owned(),
        (waiting, 0) => format!("{waiting} waiting"),
        (0, parked) => tint::warn(&format!("{parked} parked")),
        (waiting, parked) => tint::warn(&format!("{waiting} waiting, {parked} parked")),
    }
}

/// A device that was shut out.
pub(crate) fn revoked(screen: &Screen, device: &Device) -> String {
    let what = format!(
        "{} is shut out from now on. What it reported stays in the book; what it kept and did not \
         send is on it alone.",
        device.name
    );
    screen.hung("", "", &what)
}

/// A device that has another role.
pub(crate) fn has_role(screen: &Screen, device: &Device) -> String {
    let what = format!(
        "{} has the role {} from now on.",
        device.name,
        role_word(device.role())
    );
    screen.hung("", "", &what)
}
