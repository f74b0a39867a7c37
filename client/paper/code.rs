//! A code for cameras as dark squares, whatever it is printed on.

use fast_qr::{ECL, QRBuilder};

/// Light modules around a code.
///
/// Source: ISO/IEC 18004, the quiet zone: four modules.
pub(super) const QUIET: f64 = 4.0;

/// A code in modules.
pub(super) struct Squares {
    /// The dark ones, as the way of a path: `M0 0h7v1h-7z`.
    pub(super) way: String,
    /// How many there are each way.
    pub(super) side: u16,
}

/// The code of a text; nothing for what no code holds.
pub(super) fn squares(text: &str, restores: ECL) -> Option<Squares> {
    let drawn = QRBuilder::new(text).ecl(restores).build().ok()?;
    let modules = drawn.size;
    let mut way = String::new();
    for row in 0..modules {
        let mut column = 0;
        while column < modules {
            let is_dark = |at: usize| {
                let module = drawn.data.get(row * modules + at);
                at < modules && module.is_some_and(|module| module.value())
            };
            let run = (column..modules).take_while(|at| is_dark(*at)).count();
            if run > 0 {
                way.push_str(&format!("M{column} {row}h{run}v1h-{run}z"));
            }
            column += run.max(1);
        }
    }
    let side = u16::try_from(modules).ok()?;
    Some(Squares { way, side })
}
