//! Questions to a person at a terminal. Where nobody is there nothing is asked.

use std::io::{self, IsTerminal as _};

use inquire::ui::RenderConfig;
use inquire::validator::Validation;
use inquire::{Confirm, InquireError, Select, Text};

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

/// Asks a question that is answered by yes or no; whoever leaves it says no.
///
/// # Errors
/// When the terminal fails.
pub(crate) fn is_it_so(question: &str) -> Result<bool, Fault> {
    asked(Confirm::new(question).with_default(false))
}

/// Asks a question that Enter answers by yes; whoever leaves it says no.
///
/// # Errors
/// When the terminal fails.
pub(crate) fn is_so(question: &str) -> Result<bool, Fault> {
    asked(Confirm::new(question).with_default(true))
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
            Err(why) => Validation::Invalid(why.into()),
        })
    };
    let asked = Text::new(question)
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
    let asked = Select::new(question, answers.to_vec())
        .with_help_message("arrows and Enter to choose, Esc to leave it open")
        .with_render_config(RenderConfig::empty());
    match asked.prompt() {
        Ok(answer) => Ok(Some(answer)),
        Err(InquireError::IO(error)) => Err(Fault::file("The terminal", &error)),
        Err(_) => Ok(None),
    }
}
