//! A pairing code on the screen: to be scanned or typed.
//!
//! It serves `shop pair`, `shop open` and `page`. The picture holds the address of the page at the bench with the
//! code in it, which a telephone opens and `fettle shop pair` takes as well. It fits a terminal of 80 columns and 24 lines, text
//! included; it is drawn light on dark with whole and half blocks, and brings its own colours, so that a
//! camera reads it on a light terminal too.

use fast_qr::{ECL, QRBuilder, QRCode};
use fettlebook_contract::pairing::TypedCode;
use fettlebook_contract::v1::InviteDeviceResponse;

use crate::render::screen::Screen;
use crate::render::tint;

/// Light modules left and right of the picture.
///
/// Source: ISO/IEC 18004, the quiet zone: four modules. Above and below there are two, so that the
/// page fits 24 lines; what shows it has a border of its own.
const QUIET_BESIDE: usize = 4;
const QUIET_ABOVE: usize = 2;

/// A code for a new device.
pub(crate) fn invited(
    screen: &Screen,
    name: &str,
    role: &str,
    answer: &InviteDeviceResponse,
) -> String {
    let typed = TypedCode::parse(&answer.typed_code).ok();
    // A service that knows no typed codes has given the long one alone.
    let (shown, in_picture) = typed.as_ref().map_or_else(
        || (answer.code.clone(), answer.code.clone()),
        |typed| (typed.to_string(), typed.page_address()),
    );
    let mut text = String::new();
    if screen.unicode
        && let Some(picture) = picture(&in_picture)
    {
        text.push_str(&tint::picture(&picture));
        text.push('\n');
    }
    let until = screen.moment_or(answer.expire_time.as_ref(), "soon");
    let whom = format!("For {name} ({role}), once, until {until}. There:");
    text.push_str(&screen.hung("", "", &whom));
    text.push('\n');
    text.push_str(&format!("  fettle shop pair {shown}\n"));
    if typed.is_some() {
        // An address is copied as it stands, so it is not broken.
        let what = "Or on a telephone: scan the picture, or open in its browser";
        text.push_str(&screen.hung("", "", what));
        text.push_str(&format!("\n  {in_picture}\n"));
    }
    if typed.is_some_and(|typed| is_this_machine(&typed.host)) {
        let what = "This address reaches nobody but this very machine: fettled listens to no other. Let it \
                    listen to others (fettled --listen 0.0.0.0:7420), or say where devices reach it with \
                    --at HOST:PORT.";
        text.push_str(&screen.hung("", "", what));
    }
    text
}

/// A code for a browser, which opens the page by it; with a picture where a telephone could reach that.
pub(crate) fn for_browser(
    screen: &Screen,
    name: &str,
    role: &str,
    answer: &InviteDeviceResponse,
) -> String {
    let Ok(typed) = TypedCode::parse(&answer.typed_code) else {
        return String::new();
    };
    let address = typed.page_address();
    let picture = picture(&address).filter(|_| screen.unicode && !is_this_machine(&typed.host));
    let mut text = picture.map_or_else(String::new, |picture| tint::picture(&picture) + "\n");
    let until = screen.moment_or(answer.expire_time.as_ref(), "soon");
    let how = if text.is_empty() {
        "Open"
    } else {
        "Scan it, or open"
    };
    let whom = format!("For {name} ({role}), once, until {until}. {how}");
    text.push_str(&screen.hung("", "", &whom));
    // An address is copied as it stands, so it is not broken.
    text.push_str(&format!("\n  {address}\n"));
    let warned = "The browser warns once of the book's own certificate; its authority's SHA-256:";
    text.push_str(&screen.hung("", "", warned));
    text.push('\n');
    text.push_str(&screen.hung("", "", &answer.fingerprint));
    text
}

/// Whether a host is this very machine for whoever asks.
pub(super) fn is_this_machine(host: &str) -> bool {
    let address = host.parse::<std::net::IpAddr>();
    host == "localhost" || address.is_ok_and(|address| address.is_loopback())
}

/// The picture of a code, two modules to a character; nothing when the code is too long for one.
fn picture(code: &str) -> Option<String> {
    let drawn = QRBuilder::new(code).ecl(ECL::L).build().ok()?;
    let side = drawn.size;
    let mut text = String::new();
    for pair in (0..side.saturating_add(2 * QUIET_ABOVE)).step_by(2) {
        for column in 0..side.saturating_add(2 * QUIET_BESIDE) {
            let above = is_light(&drawn, pair, column);
            let last = pair.saturating_add(1) >= side.saturating_add(2 * QUIET_ABOVE);
            let below = last || is_light(&drawn, pair.saturating_add(1), column);
            text.push(match (above, below) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            });
        }
        text.push('\n');
    }
    Some(text)
}

/// Whether a module of the picture with its quiet zone is light.
fn is_light(drawn: &QRCode, row: usize, column: usize) -> bool {
    let inside = || {
        let (row, column) = (
            row.checked_sub(QUIET_ABOVE)?,
            column.checked_sub(QUIET_BESIDE)?,
        );
        let is_there = row < drawn.size && column < drawn.size;
        is_there
            .then(|| drawn.data.get(row * drawn.size + column))
            .flatten()
    };
    inside().is_none_or(|module| !module.value())
}
