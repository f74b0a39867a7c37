//! Devices of a shop: one that was just paired, all of them, one that is shut out or has another role.

use fettlebook_contract::v1::Device;

use crate::render::screen::Screen;
use crate::render::table::{Column, table};
use crate::render::tint;
use crate::shop::folder::Paired;
use crate::shop::role_word;

/// A device that was just paired.
pub(crate) fn paired(screen: &Screen, paired: &Paired) -> String {
    let mut text = format!(
        "{}: this device is {} in the shop at {}, with the role {}.",
        tint::good("paired"),
        paired.device,
        paired.address(),
        paired.role
    );
    let fingerprint = by_eye(&paired.fingerprint);
    text.push_str(&format!("\nFingerprint  {fingerprint}"));
    let next = "See that the fingerprint is the one that was shown with the code. Commands use the \
                shop's book from now on; 'fettle shop sync' takes a copy along for where there is no \
                signal.";
    text.push('\n');
    text.push_str(&screen.hung("", "", next));
    text
}

/// A fingerprint in groups of four, as a service shows it, for comparing by eye.
fn by_eye(fingerprint: &str) -> String {
    let digits: Vec<char> = fingerprint.chars().collect();
    let groups: Vec<String> = digits.chunks(4).map(|four| four.iter().collect()).collect();
    groups.join(" ")
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
            ("Paired", Column::Whole),
            ("Last used", Column::Whole),
            ("Revoked", Column::Text),
        ],
        devices.iter().map(|device| {
            let revoked = screen.moment_or(device.revoked_time.as_ref(), "");
            let paired = screen.moment_or(device.paired_time.as_ref(), "");
            // The day is enough.
            let paired = paired.rsplit_once(' ').map_or("", |(day, _)| day);
            vec![
                device.name.clone(),
                role_word(device.role()).to_owned(),
                paired.to_owned(),
                screen.moment_or(device.used_time.as_ref(), "never"),
                tint::bad(&revoked),
            ]
        }),
    )
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
pub(crate) fn has_role(device: &Device) -> String {
    format!(
        "{} has the role {} from now on.",
        device.name,
        role_word(device.role())
    )
}
