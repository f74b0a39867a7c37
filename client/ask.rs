//! Questions to a person at a terminal. Where nobody is there nothing is asked.

use std::io::{self, IsTerminal as _};

use inquire::list_option::ListOption;
use inquire::ui::{RenderConfig, Styled};
use inquire::validator::Validation;
use inquire::{Confirm, InquireError, Select, Text};
use textwrap::core::display_width;

use crate::fault::Fault;
use crate::render::screen::NO_BREAK;
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

/// Rows of a terminal that does not say how high it is.
const HEIGHT_PLAIN: usize = 24;

fn columns() -> usize {
    let size = terminal_size::terminal_size();
    size.map_or(WIDTH_PLAIN, |(width, _)| usize::from(width.0))
}

fn rows() -> usize {
    let size = terminal_size::terminal_size();
    size.map_or(HEIGHT_PLAIN, |(_, height)| usize::from(height.0))
}

/// A text of a question in lines of which the terminal breaks none, with so many columns behind the last.
pub(crate) fn fitted(text: &str, behind: usize) -> String {
    fitted_to(columns(), text, behind)
}

fn fitted_to(columns: usize, text: &str, behind: usize) -> String {
    let width = columns.saturating_sub(MARK_WIDTH);
    let options = textwrap::Options::new(width)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .break_words(false);
    let mut fitted = textwrap::fill(text, options).replace(NO_BREAK, " ");
    let last = fitted.lines().last().map_or(0, display_width);
    if behind > 0 && last.saturating_add(behind) > width {
        fitted.push('\n');
    }
    fitted
}

/// How questions look: without colours, and with a word of ours for one that is left.
pub(crate) fn look() -> RenderConfig<'static> {
    RenderConfig::empty().with_canceled_prompt_indicator(Styled::new("(left)"))
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
    let question = question.with_error_message("write y for yes or n for no");
    match question.with_render_config(look()).prompt() {
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
        .with_render_config(look());
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
    let choices = Choices::here(question, answers);
    let help = fitted("arrows and Enter to choose, Esc to leave it open", 0);
    let told = |chosen: ListOption<&String>| choices.chosen(chosen.index);
    let asked = Select::new(&choices.question, choices.shown.clone())
        .with_page_size(choices.count_here())
        .with_help_message(&help)
        .with_formatter(&told)
        .with_render_config(look());
    match asked.raw_prompt() {
        Ok(chosen) => Ok(answers.get(chosen.index).copied()),
        Err(InquireError::IO(error)) => Err(Fault::file("The terminal", &error)),
        Err(_) => Ok(None),
    }
}

/// A question with answers to choose from, in lines of which the terminal breaks none.
pub(crate) struct Choices {
    /// The question.
    pub(crate) question: String,
    /// Each answer as it stands in the list.
    pub(crate) shown: Vec<String>,
    answers: Vec<String>,
    columns: usize,
}

impl Choices {
    /// What is asked, at the terminal of whoever is asked.
    pub(crate) fn here(question: &str, answers: &[impl AsRef<str>]) -> Self {
        Self::of(question, answers, columns())
    }

    fn of(question: &str, answers: &[impl AsRef<str>], columns: usize) -> Self {
        let answers = answers.iter().map(|answer| answer.as_ref().to_owned());
        let answers: Vec<String> = answers.collect();
        let shown = answers.iter().map(|answer| hanging(answer, columns));
        Self {
            question: fitted_to(columns, question, 0),
            shown: shown.collect(),
            answers,
            columns,
        }
    }

    /// Answers that are shown at once where this is asked.
    pub(crate) fn count_here(&self) -> usize {
        self.count_at_once(rows())
    }

    /// Answers that are shown at once, so that question, list and help fit on so many rows.
    fn count_at_once(&self, rows: usize) -> usize {
        /// Fewer are no list.
        const LEAST: usize = 3;
        /// More are looked for by a word of them.
        const MOST: usize = 13;
        /// Help in two lines, and the row of the cursor.
        const OTHERS: usize = 3;
        let lines = self.shown.iter().map(|answer| answer.lines().count());
        let highest = lines.max().unwrap_or(1).max(1);
        let left = rows.saturating_sub(self.question.lines().count() + OTHERS);
        (left / highest).clamp(LEAST, MOST)
    }

    /// What stands behind the question once it is answered.
    pub(crate) fn chosen(&self, at: usize) -> String {
        let answer = self.answers.get(at).map_or("", String::as_str);
        let last = self.question.lines().last().map_or(0, display_width);
        let room = self.columns.saturating_sub(last + MARK_WIDTH);
        if display_width(answer) <= room {
            answer.to_owned()
        } else {
            format!("\n{}", fitted_to(self.columns, answer, 0))
        }
    }
}

/// An answer behind the sign of the list, and under it where it takes more lines.
fn hanging(answer: &str, columns: usize) -> String {
    /// Columns of the sign and the blank behind it.
    const SIGN: &str = "  ";
    let options = textwrap::Options::new(columns.saturating_sub(1))
        .initial_indent(SIGN)
        .subsequent_indent(SIGN)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .break_words(false);
    textwrap::fill(answer, options).trim_start().to_owned()
}

#[cfg(test)]
mod tests {
    use super::{Choices, fitted_to};
    use textwrap::core::display_width;

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

    #[test]
    fn no_answer_of_a_list_is_wider_than_the_terminal_nor_broken_inside_a_word() {
        let answers = [
            "P-03 coarse microfibre 150, worked 41 of 60 reference sections",
            "by hand",
        ];
        let question = "Which pad was it that worked the roof of the large car?";
        for columns in [40, 60, 80, 120] {
            let choices = Choices::of(question, &answers, columns);
            for (shown, answer) in choices.shown.iter().zip(answers) {
                let words = |text: &str| {
                    let words = text.split_whitespace().map(str::to_owned);
                    words.collect::<Vec<_>>()
                };
                assert_eq!(words(shown), words(answer), "{columns}");
                // Behind the sign of the list and a blank.
                let first = shown.lines().next().unwrap();
                assert!(display_width(first) + 2 < columns, "{columns}: {shown}");
                for line in shown.lines().skip(1) {
                    assert!(display_width(line) < columns, "{columns}: {shown}");
                    assert!(line.starts_with("  "), "{columns}: {shown}");
                }
            }
            let last = choices.question.lines().last().unwrap();
            let chosen = choices.chosen(0);
            let beside = display_width(last) + 3 + display_width(chosen.lines().next().unwrap());
            assert!(beside <= columns, "{columns}: {chosen}");
            assert!(chosen.lines().all(|line| display_width(line) < columns));
            assert!(choices.chosen(1).ends_with("by hand"));
        }
    }

    #[test]
    fn so_many_answers_are_shown_that_the_list_fits_on_the_terminal() {
        let long = "P-03 coarse microfibre 150, worked 41 of 60 reference sections";
        let many = [long; 30];
        assert_eq!(Choices::of("Which?", &many, 120).count_at_once(24), 13);
        // Two lines each.
        assert_eq!(Choices::of("Which?", &many, 40).count_at_once(24), 10);
        assert_eq!(Choices::of("Which?", &many, 40).count_at_once(5), 3);
    }
}
