//! A code as a picture for cameras, in half blocks: two modules in each place of the terminal.
//!
//! It serves `fettled pair`. What does not fit a terminal of 80 by 24 is not drawn at all: a picture
//! that is cut off helps nobody, and the text stands beside it.

use fast_qr::{ECL, QRBuilder, QRCode};

/// Rows of the terminal that a picture may take, and its columns.
const ROWS_MAX: usize = 24;
const COLUMNS_MAX: usize = 80;

/// Modules left light around the picture. The standard asks for four (ISO/IEC 18004, section 6.3.8);
/// cameras make do with two, and more would not fit.
const QUIET: usize = 2;

/// White on black, whatever the terminal's own colours are, and back.
const PAINT: (&str, &str) = ("\u{1b}[40;97m", "\u{1b}[0m");

/// The picture of a text, a line for each two rows; nothing when it does not fit.
pub(super) fn drawn(text: &str, painted: bool) -> Option<String> {
    let code = QRBuilder::new(text).ecl(ECL::L).build().ok()?;
    let side = code.size + 2 * QUIET;
    if side > COLUMNS_MAX || side.div_ceil(2) > ROWS_MAX {
        return None;
    }
    let (start, end) = if painted { PAINT } else { ("", "") };
    let mut picture = String::new();
    for row in (0..side).step_by(2) {
        picture.push_str(start);
        picture.extend((0..side).map(|column| {
            // Light is drawn and dark left out, as on a dark terminal.
            match (is_dark(&code, row, column), is_dark(&code, row + 1, column)) {
                (false, false) => '█',
                (false, true) => '▀',
                (true, false) => '▄',
                (true, true) => ' ',
            }
        }));
        picture.push_str(end);
        picture.push('\n');
    }
    Some(picture)
}

/// Whether a module is dark; those around the code are light.
fn is_dark(code: &QRCode, row: usize, column: usize) -> bool {
    let inside = |at: usize| at.checked_sub(QUIET).filter(|at| *at < code.size);
    let (Some(row), Some(column)) = (inside(row), inside(column)) else {
        return false;
    };
    let at = row * code.size + column;
    code.data.get(at).is_some_and(|module| module.value())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(host: &str) -> String {
        format!("https://{host}/#K7Q29XJM4TB")
    }

    #[test]
    fn a_code_of_a_usual_address_fits_a_small_terminal() {
        let longest = "bench.gannet-yard.example.internal:65535";
        for host in [
            "192.168.100.100:65535",
            "[fd00:1111:2222:3333:4444:5555:6666:7777]:65535",
            longest,
        ] {
            let picture = drawn(&code(host), false).unwrap();
            let rows: Vec<&str> = picture.lines().collect();
            assert!(rows.len() <= ROWS_MAX, "{host}: {}", rows.len());
            assert!(rows.iter().all(|row| row.chars().count() <= COLUMNS_MAX));
        }
        assert_eq!(drawn(&code(&"a".repeat(250)), false), None);
    }

    /// Source: ISO/IEC 18004, sections 6.3.1 and 6.3.3: the finder pattern of 7 by 7 modules in three
    /// corners, light around; here after two modules that are left light.
    #[test]
    fn the_corners_have_the_pattern_that_cameras_look_for() {
        let picture = drawn(&code("192.168.1.7:7420"), false).unwrap();
        let wanted = [
            "██████████",
            "██ ▄▄▄▄▄ █",
            "██ █   █ █",
            "██ █▄▄▄█ █",
            "██▄▄▄▄▄▄▄█",
        ];
        for (row, wanted) in picture.lines().zip(wanted) {
            let corner: String = row.chars().take(10).collect();
            assert_eq!(corner, wanted, "{picture}");
        }
    }

    #[test]
    fn on_a_terminal_every_line_brings_its_own_colours() {
        let picture = drawn(&code("192.168.1.7:7420"), true).unwrap();
        for line in picture.lines() {
            assert!(line.starts_with("\u{1b}[40;97m") && line.ends_with("\u{1b}[0m"));
        }
    }
}
