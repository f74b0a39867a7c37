//! The page that is open from one's own machine, as it is told to whoever opened it.

use textwrap::core::display_width;

use super::shop::invited;
use crate::render::code;
use crate::render::scenario::{plain, screen};

/// With a line more, which says where the page is, and the line of the shell.
const LINES_MAX: usize = 22;

#[test]
fn a_code_for_a_telephone_fits_a_small_terminal_with_what_to_compare() {
    let page = plain(&code::for_browser(&screen(80), "phone", "keep", &invited()));
    let lines = page.lines().map(|line| display_width(line).div_ceil(80));
    assert!(lines.sum::<usize>() <= LINES_MAX, "{page}");
    let picture = plain(&code::invited(&screen(80), "phone", "keep", &invited()));
    let drawn = |text: &str| -> Vec<String> {
        let rows = text.lines().filter(|row| row.contains(['█', '▀', '▄']));
        rows.map(str::to_owned).collect()
    };
    assert_eq!(drawn(&page), drawn(&picture), "another picture");
    let told: Vec<&str> = page.lines().skip(drawn(&page).len()).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    For phone (keep), once, until Thu 26 Nov 2026 08:00. Scan it, or open
      https://192.168.100.200:7420/#K7Q29XJM4TG
    The browser warns once of the book's own certificate; its authority's SHA-256:
    3521 3521 3521 3521 3521 3521 3521 3521 3521 3521 3521 3521 3521 3521 3521 3521
    ");
}

/// No telephone reaches 127.0.0.1.
#[test]
fn on_this_machine_alone_there_is_nothing_to_scan() {
    let mut here = invited();
    let code = fettlebook_contract::pairing::TypedCode {
        host: "127.0.0.1".to_owned(),
        port: 7420,
        secret: "K7Q29XJM4T".to_owned(),
    };
    here.typed_code = code.to_string();
    let page = plain(&code::for_browser(&screen(80), "browser", "keep", &here));
    assert!(
        !page.contains('█') && page.contains("Open\n  https://127.0.0.1:7420/#"),
        "{page}"
    );
}
