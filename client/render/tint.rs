//! Colour, carried through layout as marks of no width and turned into escapes when printed.
//!
//! It serves every screen. A mark never carries a meaning that the word under it does not; text that
//! came from outside loses its control characters before it reaches a terminal.

use std::fmt::Write as _;

use anstyle::{AnsiColor, Style};
use fettlebook_quantity::{code_point, is_unseen};

/// Invisible characters that no label carries and that take no room on a line.
const GOOD: char = '\u{2061}';
const WARN: char = '\u{2062}';
const BAD: char = '\u{2063}';
const STRONG: char = '\u{2064}';
const FAINT: char = '\u{206A}';
const PICTURE: char = '\u{206C}';
const END: char = '\u{206B}';

fn marked(mark: char, text: &str) -> String {
    if text.is_empty() {
        return String::new();
    }
    format!("{mark}{text}{END}")
}

/// Something that is well.
pub(crate) fn good(text: &str) -> String {
    marked(GOOD, text)
}

/// Something to keep an eye on.
pub(crate) fn warn(text: &str) -> String {
    marked(WARN, text)
}

/// Something that stops the work.
pub(crate) fn bad(text: &str) -> String {
    marked(BAD, text)
}

/// A heading.
pub(crate) fn strong(text: &str) -> String {
    marked(STRONG, text)
}

/// Something that may be passed over.
pub(crate) fn faint(text: &str) -> String {
    marked(FAINT, text)
}

/// Lines of a picture for cameras: light on dark, whatever the terminal's own colours are.
pub(crate) fn picture(text: &str) -> String {
    let lines: Vec<String> = text.lines().map(|line| marked(PICTURE, line)).collect();
    lines.join("\n")
}

fn style(mark: char) -> Option<Style> {
    Some(match mark {
        GOOD => AnsiColor::Green.on_default(),
        WARN => AnsiColor::Yellow.on_default().bold(),
        BAD => AnsiColor::Red.on_default().bold(),
        STRONG => Style::new().bold(),
        FAINT => Style::new().dimmed(),
        PICTURE => AnsiColor::BrightWhite.on(AnsiColor::Black),
        _ => return None,
    })
}

/// Text as it goes to the terminal: marks become escapes or nothing, other control
/// characters go, and marks that nobody sees are shown by their code point.
pub(crate) fn finish(text: &str, colour: bool, unicode: bool) -> String {
    let mut out = String::with_capacity(text.len());
    let mut open = None;
    for c in text.chars() {
        if let Some(style) = style(c) {
            if colour && open.is_none() {
                let _ = write!(out, "{}", style.render());
                open = Some(style);
            }
        } else if c == END {
            close(&mut out, &mut open);
        } else if c == '\n' {
            close(&mut out, &mut open);
            out.push('\n');
        } else if is_unseen(c) {
            let _ = write!(out, "<{}>", code_point(c));
        } else if !c.is_control() {
            out.push(if unicode { c } else { plain(c) });
        }
    }
    close(&mut out, &mut open);
    out
}

/// Text of one line for a file of markup: no control characters and no half characters.
pub(crate) fn clean(text: &str) -> String {
    finish(text, false, true)
        .chars()
        .map(|c| if c == '\n' { ' ' } else { c })
        .filter(|c| !matches!(c, '\u{FFFE}' | '\u{FFFF}'))
        .collect()
}

fn close(out: &mut String, open: &mut Option<Style>) {
    if let Some(style) = open.take() {
        let _ = write!(out, "{}", style.render_reset());
    }
}

/// Our own ornaments and unit signs, in ASCII; what came from outside is left as it is.
const fn plain(c: char) -> char {
    match c {
        'µ' => 'u',
        '²' => '2',
        '·' | '–' => '-',
        '→' => '>',
        '×' => 'x',
        '’' => '\'',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::{bad, finish, strong};

    #[test]
    fn marks_become_escapes_only_where_colour_is_wanted() {
        let text = format!("{} it", bad("stop"));
        assert_eq!(finish(&text, false, true), "stop it");
        assert_eq!(
            finish(&text, true, true),
            "\u{1b}[1m\u{1b}[31mstop\u{1b}[0m it"
        );
    }

    #[test]
    fn a_style_never_runs_over_the_end_of_a_line() {
        let text = strong("two\nlines");
        assert_eq!(finish(&text, true, true), "\u{1b}[1mtwo\u{1b}[0m\nlines");
    }

    #[test]
    fn escapes_in_a_note_do_not_reach_the_terminal() {
        assert_eq!(finish("a\u{1b}[31mbc", true, true), "a[31mbc");
    }

    #[test]
    fn a_mark_that_nobody_sees_is_shown_by_its_code_point() {
        let text = "b\u{202e}c\u{200b}d\u{2028}e";
        assert_eq!(finish(text, true, true), "b<U+202E>c<U+200B>d<U+2028>e");
    }

    #[test]
    fn unit_signs_have_an_ascii_form() {
        assert_eq!(finish("5 µm, 2 m², é", false, false), "5 um, 2 m2, é");
    }
}
