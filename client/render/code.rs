//! A pairing code on the screen: to be scanned, to be copied, to be compared by eye.
//!
//! It serves `shop pair`. The picture fits a terminal of 80 columns and 24 lines, text included; it is
//! drawn light on dark, as terminals are, with whole and half blocks.

use fast_qr::{ECL, QRBuilder, QRCode};
use fettlebook_contract::v1::InviteDeviceResponse;

use crate::render::screen::Screen;

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
    let mut text = String::new();
    if screen.unicode
        && let Some(picture) = picture(&answer.code)
    {
        text.push_str(&picture);
    }
    let until = screen.moment_or(answer.expire_time.as_ref(), "soon");
    text.push_str(&format!(
        "{name} ({role}), until {until}: fettle shop pair CODE\n"
    ));
    text.push_str(&answer.code);
    text.push_str(&format!("\nFingerprint  {}", answer.fingerprint));
    text
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
            let below = !last && is_light(&drawn, pair.saturating_add(1), column);
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
