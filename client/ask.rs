//! Questions to a person at a terminal. Where nobody is there nothing is asked.

use std::io::{self, IsTerminal as _};

use inquire::ui::RenderConfig;
use inquire::validator::Validation;
use inquire::{Confirm, InquireError, Select, Text};
use textwrap::core::display_width;

use crate::fault::Fault;
use crate::render::{Form, Printer};

/// Whether there is a person at a terminal who can be asked: nothing is read from elsewhere, and nothing
/// goes elsewhere.
pub(crate) fn somebody_is_there(printer: &Printer) -> bool {
    printer.form() != Form::Json
        && printer.may_ask()
        && io::stdin().is_terminal()
        && io::stdout().is_terminal()
        && io::stderr().is_terminal()
}

/// What stands behind a question of yes or no, and an answer.
const YES_OR_NO: &str = " (y/N) yes";
/// Room for a short answer.
const ANSWER_WIDTH: usize = 8;
/// Columns that a question's mark and the signs around it take.
const MARK_WIDTH: usize = 3;
/// Columns of a terminal that does not say how wide it is.
const WIDTH_PLAIN: usize = 80;

/// A text of a question in lines of which the terminal breaks none, with so many columns behind the last.
pub(crate) fn fitted(text: &str, behind: usize) -> String {
    let columns = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    fitted_to(columns.unwrap_or(WIDTH_PLAIN), text, behind)
}

fn fitted_to(columns: usize, text: &str, behind: usize) -> String {
    let width = columns.saturating_sub(MARK_WIDTH);
    let options = textwrap::Options::new(width)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .break_words(false);
    let mut fitted = textwrap::fill(text, options);
    let last = fitted.lines().last().map_or(0, display_width);
    if behind > 0 && last.saturating_add(behind) > width {
        fitted.push('\n');
    }
    fitted
}

/// Asks a question that is answered by yes or no; whoever leaves it says no.
///
/// # Errors
/// When the terminal fails.
pub(crate) fn is_it_so(question: &str) -> Result<bool, Fault> {
    asked(Confirm::new(&fitted(question, YES_OR_NO.len())).with_default(false))
}

/// Asks a question that Enter answers by yes; whoever leaves it says no.
///
/// # Errors
/// When the terminal fails.
pub(crate) fn is_so(question: &str) -> Result<bool, Fault> {
    asked(Confirm::new(&fitted(question, YES_OR_NO.len())).with_default(true))
}

fn asked(question: Confirm<'_>) -> Result<bool, Fault> {
    match question.with_render_config(RenderConfig::empty()).prompt() {
        Ok(answer) => Ok(answer),
        Err(InquireError::IO(error)) => Err(Fault::file("The terminal", &error)),
        Err(_) => Ok(false),
    }
}

/// Asks for a line, again until it is understood; nothing from whoever leaves it.
///
/// # Errors
/// When the terminal fails.
pub(crate) fn ask_line(
    question: &str,
    understood: impl Fn(&str) -> Result<(), String> + Clone,
) -> Result<Option<String>, Fault> {
    let validator = move |text: &str| {
        let read = understood(text);
        Ok(match read {
            Ok(()) => Validation::Valid,
            Err(why) => Validation::Invalid(fitted(&why, 0).into()),
        })
    };
    let question = fitted(question, ANSWER_WIDTH);
    let asked = Text::new(&question)
        .with_validator(validator)
        .with_render_config(RenderConfig::empty());
    match asked.prompt() {
        Ok(answer) => Ok(Some(answer)),
        Err(InquireError::IO(error)) => Err(Fault::file("The terminal", &error)),
        Err(_) => Ok(None),
    }
}

/// Asks which of some answers it is; nothing from whoever leaves it.
///
/// # Errors
/// When the terminal fails.
pub(crate) fn ask_which<'a>(question: &str, answers: &[&'a str]) -> Result<Option<&'a str>, Fault> {
    let question = fitted(question, 0);
    let help = fitted("arrows and Enter to choose, Esc to leave it open", 0);
    let asked = Select::new(&question, answers.to_vec())
        .with_help_message(&help)
        .with_render_config(RenderConfig::empty());
    match asked.prompt() {
        Ok(answer) => Ok(Some(answer)),
        Err(InquireError::IO(error)) => Err(Fault::file("The terminal", &error)),
        Err(_) => Ok(None),
    }
}

#[cfg(test)]
mod tests {
    use super::fitted_to;

    #[test]
    fn no_word_of_a_question_is_broken_and_there_is_room_for_the_answer() {
        let question = "Enter records it; what was other? (p pads, o other pads, w weights)";
        for (columns, lines) in [
            (120, vec![question]),
            (
                40,
                vec![
                    "Enter records it; what was other? (p",
                    "pads, o other pads, w weights)",
                ],
            ),
        ] {
            let fitted = fitted_to(columns, question, 0);
            assert_eq!(fitted.lines().collect::<Vec<_>>(), lines);
        }
        assert!(fitted_to(40, question, 8).ends_with("weights)\n"));
    }
}
