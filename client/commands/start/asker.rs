//! Whoever is asked, a question at a time: a person at a terminal, or in tests a list of answers.

use inquire::list_option::ListOption;
use inquire::validator::{ErrorMessage, Validation};
use inquire::{InquireError, Select, Text};

use textwrap::core::display_width;

use crate::ask::{Choices, fitted, look};
use crate::fault::Fault;

/// What came of a question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Reply<T> {
    /// An answer.
    Said(T),
    /// A step back.
    Back,
    /// Leave it all.
    Left,
}

impl<T> Reply<T> {
    /// The same with something made of the answer.
    pub(super) fn turned<U>(self, make: impl FnOnce(T) -> U) -> Reply<U> {
        match self {
            Self::Said(said) => Reply::Said(make(said)),
            Self::Back => Reply::Back,
            Self::Left => Reply::Left,
        }
    }
}

/// A question that is answered by a line of text.
pub(super) struct Line<'a> {
    /// The question.
    pub(super) question: String,
    /// What Enter alone says.
    pub(super) usual: String,
    /// How it may be answered.
    pub(super) help: String,
    /// What is wrong with an answer; nothing where it is understood.
    pub(super) wrong: &'a dyn Fn(&str) -> Option<String>,
}

/// Somebody who answers.
pub(super) trait Asker {
    /// Asks for a line.
    ///
    /// # Errors
    /// When the terminal fails.
    fn line(&mut self, line: &Line<'_>) -> Result<Reply<String>, Fault>;

    /// Asks for one of some answers, with the cursor on one of them.
    ///
    /// # Errors
    /// When the terminal fails.
    fn which(
        &mut self,
        question: &str,
        answers: &[String],
        usual: usize,
    ) -> Result<Reply<usize>, Fault>;
}

/// What stands around what Enter alone says, and room for an answer.
const SIGNS: &str = " () 2x8 jobs";

/// The person at the terminal.
pub(super) struct Person;

impl Asker for Person {
    fn line(&mut self, line: &Line<'_>) -> Result<Reply<String>, Fault> {
        let wrong = line.wrong;
        let check = move |said: &str| {
            Ok(wrong(said).map_or(Validation::Valid, |why| {
                Validation::Invalid(ErrorMessage::Custom(fitted(&why, 0)))
            }))
        };
        let usual_width = display_width(&line.usual).saturating_add(SIGNS.len());
        let question = fitted(&line.question, usual_width);
        let help = fitted(&line.help, 0);
        let asked = Text::new(&question)
            .with_help_message(&help)
            .with_validator(check)
            .with_render_config(look());
        if line.usual.is_empty() {
            return reply(asked.prompt());
        }
        reply(asked.with_default(&line.usual).prompt())
    }

    fn which(
        &mut self,
        question: &str,
        answers: &[String],
        usual: usize,
    ) -> Result<Reply<usize>, Fault> {
        let numbered = answers.iter().zip(1..);
        let numbered: Vec<String> = numbered
            .map(|(answer, number)| format!("{number} {answer}"))
            .collect();
        let choices = Choices::here(question, &numbered);
        let help = fitted("arrows or a number, and Enter; Esc goes a step back", 0);
        let fits = |typed: &str, _: &String, _: &str, at: usize| score(typed, numbered.get(at)?);
        let told = |chosen: ListOption<&String>| choices.chosen(chosen.index);
        let asked = Select::new(&choices.question, choices.shown.clone())
            .with_starting_cursor(usual.min(answers.len().saturating_sub(1)))
            .with_page_size(choices.count_here())
            .with_scorer(&fits)
            .with_help_message(&help)
            .with_formatter(&told)
            .with_render_config(look());
        let chosen = reply(asked.raw_prompt())?;
        Ok(chosen.turned(|option| option.index))
    }
}

/// How well an answer fits what was typed: its number, else words of it.
fn score(typed: &str, answer: &str) -> Option<i64> {
    let is_number = answer.split(' ').next() == Some(typed.trim());
    let has_words = || answer.to_lowercase().contains(&typed.to_lowercase());
    if is_number {
        Some(2)
    } else {
        has_words().then_some(1)
    }
}

fn reply<T>(asked: Result<T, InquireError>) -> Result<Reply<T>, Fault> {
    match asked {
        Ok(said) => Ok(Reply::Said(said)),
        Err(InquireError::OperationCanceled) => Ok(Reply::Back),
        Err(InquireError::IO(error)) => Err(Fault::file("The terminal", &error)),
        Err(_) => Ok(Reply::Left),
    }
}
