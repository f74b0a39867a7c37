//! The one place that prints: data to stdout, talk to stderr.
//!
//! It serves every command. With `--json` stdout carries exactly one document. A reader that goes
//! away ends the output quietly; any other failure to write is kept and told at the end. Data and talk
//! come in the order in which they were said; what is longer than the window goes to a pager, its talk
//! after it.

use std::io::{self, IsTerminal as _, Write};

use anstream::{AutoStream, ColorChoice};
use prost::{Message, Name};
use serde_json::Value;

use crate::columns::Decimals;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json;
use crate::render::screen::Screen;
use crate::render::{csv, pager, tint};

/// What goes to stdout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Form {
    /// Text for people.
    People,
    /// One JSON document.
    Json,
    /// A list as comma-separated values.
    Csv,
}

/// Where output goes and how it is dressed.
pub(crate) struct Printer {
    out: Box<dyn Write>,
    talk: Box<dyn Write>,
    out_colour: bool,
    talk_colour: bool,
    form: Form,
    decimals: Decimals,
    screen: Screen,
    asks: bool,
    /// Whether what was said beside the answer is left out.
    quiet: bool,
    failure: Option<io::Error>,
    /// What is held until it is known whether it fits the window.
    held: Option<Held>,
}

/// Output that may go to a pager.
#[derive(Default)]
struct Held {
    text: Vec<u8>,
    talk: Vec<String>,
    /// Lines of the window.
    window: usize,
}

impl Printer {
    /// The printer of this process.
    pub(crate) fn standard(form: Form, screen: Screen, colour: bool) -> Self {
        let out = io::stdout();
        let talk = io::stderr();
        let wanted = |choice| colour && choice != ColorChoice::Never;
        Self {
            out_colour: wanted(AutoStream::choice(&out)) && out.is_terminal(),
            talk_colour: wanted(AutoStream::choice(&talk)) && talk.is_terminal(),
            out: Box::new(io::BufWriter::new(out)),
            talk: Box::new(talk),
            form,
            decimals: Decimals::Point,
            screen,
            asks: true,
            quiet: false,
            failure: None,
            held: None,
        }
    }

    /// Lets a pager show what is longer than the window, where there is one.
    pub(crate) fn page_long(&mut self) {
        let window = terminal_size::terminal_size().map(|(_, lines)| usize::from(lines.0));
        self.held = window
            .filter(|_| self.form == Form::People && io::stdout().is_terminal())
            .map(|window| Held {
                window,
                ..Held::default()
            });
    }

    /// A printer onto anything that takes bytes, without colour; talk is not heard.
    pub(crate) fn onto(out: impl Write + 'static, form: Form, screen: Screen) -> Self {
        Self {
            out: Box::new(out),
            talk: Box::new(io::sink()),
            out_colour: false,
            talk_colour: false,
            form,
            decimals: Decimals::Point,
            screen,
            asks: false,
            quiet: false,
            failure: None,
            held: None,
        }
    }

    /// A printer of tests whose talk is kept too.
    #[cfg(test)]
    pub(crate) fn talking_to(mut self, talk: impl Write + 'static) -> Self {
        self.talk = Box::new(talk);
        self
    }

    /// What goes to stdout.
    pub(crate) const fn form(&self) -> Form {
        self.form
    }

    /// How the decimals of a list are written.
    pub(crate) const fn decimals(&self) -> Decimals {
        self.decimals
    }

    /// Writes a list as values with such decimals.
    pub(crate) const fn list_as_values(&mut self, decimals: Decimals) {
        self.form = Form::Csv;
        self.decimals = decimals;
    }

    /// Leaves out from now on what is only remarked beside the answer.
    pub(crate) const fn hush(&mut self) {
        self.quiet = true;
    }

    /// Asks nothing from now on, as where nobody is there.
    pub(crate) const fn ask_nothing(&mut self) {
        self.asks = false;
    }

    /// Whether whoever reads may be asked.
    pub(crate) const fn may_ask(&self) -> bool {
        self.asks
    }

    /// The page that text is laid out for.
    pub(crate) const fn screen(&self) -> &Screen {
        &self.screen
    }

    /// Prints a page of text to stdout. The text needs no line end.
    pub(crate) fn page(&mut self, text: &str) {
        let text = tint::finish(
            text.trim_end_matches('\n'),
            self.out_colour,
            self.screen.unicode,
        );
        self.write_out(&text);
    }

    /// Prints text that another program reads, as it is.
    pub(crate) fn verbatim(&mut self, text: &str) {
        self.write_out(text.trim_end_matches('\n'));
    }

    /// Says something on stderr.
    pub(crate) fn say(&mut self, text: &str) {
        let text = tint::finish(text, self.talk_colour, self.screen.unicode);
        if let Some(held) = self.held.as_mut().filter(|held| !held.text.is_empty()) {
            held.talk.push(text);
            return;
        }
        // What was printed before stands before it.
        if let Err(error) = self.out.flush() {
            self.keep(error);
        }
        self.talk(&text);
    }

    /// Says sentences, broken between words as wide as the screen is.
    pub(crate) fn tell(&mut self, sentences: &str) {
        let text = self.screen.hung("", "", sentences);
        self.say(&text);
    }

    /// Says something that is neither the answer nor trouble: how a word was understood, where a file is, what
    /// could be done next. A quiet printer leaves it out.
    pub(crate) fn remark(&mut self, text: &str) {
        if !self.quiet {
            self.say(text);
        }
    }

    fn talk(&mut self, text: &str) {
        // Talk that nobody can hear is no reason to fail.
        let _ = writeln!(self.talk, "{text}");
    }

    /// Puts out what was held, in the window or in a pager where it is longer.
    fn let_go(&mut self, may_page: bool) {
        let Some(held) = self.held.take() else {
            return;
        };
        let lines = held.text.iter().filter(|byte| **byte == b'\n').count();
        let is_long = may_page && lines >= held.window;
        if !(is_long && pager::show(&held.text).is_ok())
            && let Err(error) = self.out.write_all(&held.text)
        {
            self.keep(error);
        }
        if let Err(error) = self.out.flush() {
            self.keep(error);
        }
        for text in &held.talk {
            self.talk(text);
        }
    }

    /// Prints an answer: its JSON, or the page that the screen makes of it.
    ///
    /// # Errors
    /// When the answer cannot be written as JSON.
    pub(crate) fn answer<M: Message + Name>(
        &mut self,
        answer: &M,
        page: impl FnOnce(&Screen, &M) -> String,
    ) -> Result<(), Fault> {
        match self.form {
            Form::Json => {
                let text = json::to_json(answer)?;
                self.write_out(&text);
            }
            Form::People | Form::Csv => {
                let text = page(&self.screen, answer);
                self.page(&text);
            }
        }
        Ok(())
    }

    /// Prints a list: JSON of the whole answer, CSV of its rows, or a page.
    ///
    /// # Errors
    /// When the answer cannot be written as JSON or CSV.
    pub(crate) fn list<A: Message + Name, R: Message + Name>(
        &mut self,
        answer: &A,
        rows: &[R],
        page: impl FnOnce(&Screen, &[R]) -> String,
    ) -> Result<(), Fault> {
        if self.form == Form::Csv {
            let text = csv::table(rows, &self.screen.zone, self.decimals)?;
            self.write_out(text.trim_end_matches('\n'));
            return Ok(());
        }
        self.answer(answer, |screen, _| page(screen, rows))
    }

    /// Prints a document that is put together from several answers.
    pub(crate) fn document(&mut self, document: &Value) {
        self.write_out(&format!("{document:#}"));
    }

    /// Prints one of many messages as they come: its JSON in one line, or the line that the screen
    /// makes of it.
    ///
    /// # Errors
    /// When the message cannot be written as JSON.
    pub(crate) fn line<M: Message + Name>(
        &mut self,
        message: &M,
        line: impl FnOnce(&Screen, &M) -> String,
    ) -> Result<(), Fault> {
        if self.form == Form::Json {
            let document = json::to_value(message)?;
            self.write_out(&document.to_string());
        } else {
            let text = line(&self.screen, message);
            self.page(&text);
        }
        Ok(())
    }

    /// Hands over what was printed so far, and says whether anybody still takes it.
    pub(crate) fn flush(&mut self) -> bool {
        self.let_go(false);
        if let Err(error) = self.out.flush() {
            self.keep(error);
        }
        self.failure.is_none()
    }

    /// Tells a fault: one document on stdout with `--json`, sentences on stderr else.
    pub(crate) fn fault(&mut self, fault: &Fault) {
        if self.form == Form::Json {
            self.document(&fault.to_json());
            return;
        }
        let text = told(&self.screen, fault);
        self.say(&text);
    }

    /// Ends the output: how the command ends, given how it would have ended.
    pub(crate) fn end(mut self, exit: Exit) -> Exit {
        self.let_go(true);
        if let Err(error) = self.out.flush() {
            self.keep(error);
        }
        let Some(error) = self.failure.take() else {
            return exit;
        };
        if error.kind() == io::ErrorKind::BrokenPipe {
            return exit;
        }
        let text = format!(
            "{} The output cannot be written: {error}.",
            tint::bad("error:")
        );
        self.say(&text);
        if exit == Exit::Done {
            Exit::Failed
        } else {
            exit
        }
    }

    fn write_out(&mut self, text: &str) {
        if self.failure.is_some() {
            return;
        }
        if let Some(held) = &mut self.held {
            held.text.extend_from_slice(text.as_bytes());
            held.text.push(b'\n');
            return;
        }
        if let Err(error) = writeln!(self.out, "{text}") {
            self.keep(error);
        }
    }

    fn keep(&mut self, error: io::Error) {
        self.failure.get_or_insert(error);
    }
}

/// A fault as sentences: what was wrong, everything wrong with a file, where and what to do.
fn told(screen: &Screen, fault: &Fault) -> String {
    let head = format!("{} ", tint::bad("error:"));
    let mut text = screen.hung(&head, "  ", &fault.message);
    for problem in &fault.problems {
        text.push('\n');
        text.push_str(&screen.hung("  ", "    ", &problem.told()));
    }
    if !fault.hints.typed.is_empty() {
        text.push_str("\n  Typed: ");
        text.push_str(&fault.hints.typed);
    } else if fault.field.starts_with('-') {
        text.push_str("\n  Option: ");
        text.push_str(&fault.field);
    }
    if !fault.todo.is_empty() {
        text.push('\n');
        text.push_str(&screen.hung("  ", "  ", &fault.todo));
    }
    if !fault.hints.example.is_empty() {
        // A command is copied as it stands, so it is not broken.
        text.push_str("\n  For example: ");
        text.push_str(&fault.hints.example);
    }
    text
}

#[cfg(test)]
mod tests {
    use std::io::{self, Write};

    use super::{Form, Printer, told};
    use crate::columns::Decimals;
    use crate::exit::Exit;
    use crate::notebook;
    use crate::render::scenario::screen;
    use crate::render::{Screen, tint};
    use jiff::tz::TimeZone;

    struct Failing(io::ErrorKind);

    impl Write for Failing {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn end_after_printing_to(out: Failing) -> Exit {
        let mut printer = Printer {
            out: Box::new(out),
            talk: Box::new(io::sink()),
            out_colour: false,
            talk_colour: false,
            form: Form::People,
            decimals: Decimals::Point,
            screen: Screen {
                width: 80,
                unicode: true,
                zone: TimeZone::UTC,
            },
            asks: false,
            quiet: false,
            failure: None,
            held: None,
        };
        printer.page("line");
        printer.page("line");
        printer.end(Exit::Done)
    }

    #[test]
    fn everything_wrong_with_a_file_is_told_with_its_place() {
        let text = "tag,make,place,work_sections,job_count,wash_count,readiness,reason,date\n\
                    P-01,coarse-foam-150,bench,many,,7,ready,,\n\
                    P-02,coarse-foam-150,bench,,9,8,broken,,\n";
        let fault = notebook::read("notebook.csv", text).unwrap_err();
        insta::assert_snapshot!(tint::finish(&told(&screen(80), &fault), false, true), @r"
        error: 2 things are wrong in notebook.csv, and nothing was imported.
          notebook.csv line 2, column work_sections: 'many' is not a number of reference
            sections such as 41.5, with a point and at most six decimals.
          notebook.csv line 3, column readiness: 'broken' is not one of ready, soiled,
            aside, binned.
          Option: --pads
        ");
    }

    #[test]
    fn data_and_talk_come_in_the_order_in_which_they_were_said() {
        let heard = crate::render::scenario::Heard::default();
        // What is printed waits in a buffer, as on stdout; talk does not.
        let out = io::BufWriter::new(heard.clone());
        let mut printer = Printer::onto(out, Form::People, screen(80)).talking_to(heard.clone());
        printer.page("first");
        printer.say("second");
        printer.page("third");
        printer.end(Exit::Done);
        assert_eq!(heard.text(), "first\nsecond\nthird\n");
    }

    #[test]
    fn trouble_with_a_book_breaks_between_words() {
        let heard = crate::render::scenario::Heard::default();
        let mut printer =
            Printer::onto(heard.clone(), Form::People, screen(45)).talking_to(heard.clone());
        let told = "This is the book as it was before it was restored or mended. This machine has worked with \
                    the other one; go on with one of them only.";
        printer.tell(told);
        printer.end(Exit::Done);
        let text = heard.text();
        assert!(text.lines().all(|line| line.len() <= 45), "{text}");
        assert_eq!(text.split_whitespace().collect::<Vec<_>>().join(" "), told);
    }

    #[test]
    fn a_quiet_printer_leaves_out_remarks_and_neither_answers_nor_trouble() {
        let heard = crate::render::scenario::Heard::default();
        let mut printer =
            Printer::onto(heard.clone(), Form::People, screen(80)).talking_to(heard.clone());
        printer.remark("remarked");
        printer.hush();
        printer.remark("remarked again");
        printer.say("said");
        printer.page("answered");
        printer.end(Exit::Done);
        assert_eq!(heard.text(), "remarked\nsaid\nanswered\n");
    }

    #[test]
    fn what_is_held_for_a_pager_is_put_out_with_its_talk_after_it() {
        let heard = crate::render::scenario::Heard::default();
        let mut printer =
            Printer::onto(heard.clone(), Form::People, screen(80)).talking_to(heard.clone());
        printer.held = Some(super::Held {
            window: 24,
            ..super::Held::default()
        });
        printer.say("before");
        printer.page("a page");
        printer.say("after");
        assert_eq!(heard.text(), "before\n");
        printer.end(Exit::Done);
        assert_eq!(heard.text(), "before\na page\nafter\n");
    }

    #[test]
    fn a_reader_that_goes_away_is_no_failure_and_a_full_disk_is() {
        assert_eq!(
            end_after_printing_to(Failing(io::ErrorKind::BrokenPipe)),
            Exit::Done
        );
        assert_eq!(
            end_after_printing_to(Failing(io::ErrorKind::StorageFull)),
            Exit::Failed
        );
    }
}
