//! `demo`: the invented shop in a throw-away book, and a story told with it for real.
//!
//! It serves whoever sees this for the first time. Every line is parsed and performed as if it had
//! been typed, through gRPC, on a clock of its own; nothing that it shows is made up here.

use std::cell::RefCell;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use clap::Args;
use jiff::ToSpan as _;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde_json::{Value, json};

use crate::ask::somebody_is_there;
use crate::clock;
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::file::holds_something;
use crate::render::{Form, Printer, tint};
use crate::solo::{Solo, SoloClock};
use crate::when;

mod stock;
mod story;

use stock::Stock;
use story::{BEGINNING, SCENES, Scene};

/// What `demo` takes.
#[derive(Args, Debug)]
pub(crate) struct Demo {
    /// Keep the book in this new folder, to play with
    #[arg(long, value_name = "DIR")]
    pub(crate) keep: Option<PathBuf>,
    /// Read the shop from this folder instead of the one built in
    #[arg(long, value_name = "DIR")]
    pub(crate) stock: Option<PathBuf>,
    /// Tell it as if this were today; the story ends the day before
    #[arg(long, value_name = "DATE")]
    pub(crate) today: Option<String>,
    /// Tell it in one go: on a terminal it waits for Enter before each part
    #[arg(long)]
    pub(crate) no_pause: bool,
}

/// Tells the story, each line of which `play` performs.
pub(crate) async fn perform(
    args: &Demo,
    solo: &'static dyn Solo,
    play: impl Play,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let pauses = !args.no_pause && somebody_is_there(printer);
    // Nobody is asked about what happens in a story, and it is read as it comes.
    printer.ask_nothing();
    printer.flush();
    let stock = Stock::read(args.stock.as_deref())?;
    let kept = Kept::new(args.keep.as_deref())?;
    let zone = clock::local_zone();
    let now = clock::now(&SoloClock::System).to_zoned_datetime(zone.clone());
    let today = match &args.today {
        Some(text) => when::day(text, &now).map_err(|why| Fault::usage("--today", why))?,
        None => now.date(),
    };
    let told = Telling {
        job_day: before(today, 1),
        pauses,
        zone,
        clock: Arc::new(AtomicI64::new(0)),
    };
    told.turn(BEGINNING.0, BEGINNING.1)?;
    let place = Whereabouts::Folder(kept.folder().to_path_buf());
    let session = Session::open(place, solo, SoloClock::Story(Arc::clone(&told.clock))).await?;
    let ended = told.tell(&session, &stock, play, printer).await;
    session.close().await;
    let scenes = ended?;
    match printer.form() {
        Form::Json => printer.document(&json!({ "invented": true, "scenes": scenes })),
        Form::People | Form::Csv => printer.page(&kept.farewell()),
    }
    Ok(Exit::Done)
}

/// The folder of the book: thrown away at the end, or kept.
enum Kept {
    Thrown(tempfile::TempDir),
    Kept(PathBuf),
}

impl Kept {
    fn new(keep: Option<&Path>) -> Result<Self, Fault> {
        let Some(folder) = keep else {
            return tempfile::tempdir()
                .map(Self::Thrown)
                .map_err(|error| Fault::file("A folder for the demo", &error));
        };
        if holds_something(folder) {
            return Err(Fault::usage(
                "--keep",
                format!("{} is not empty; name a new folder.", folder.display()),
            ));
        }
        Ok(Self::Kept(folder.to_path_buf()))
    }

    fn folder(&self) -> &Path {
        match self {
            Self::Thrown(folder) => folder.path(),
            Self::Kept(folder) => folder,
        }
    }

    fn farewell(&self) -> String {
        match self {
            Self::Thrown(_) => {
                "\nThe book of this story is thrown away now. With --keep DIR it stays for play."
                    .to_owned()
            }
            Self::Kept(folder) => format!(
                "\nThe book stays in {0}. A black SUV is booked for tomorrow: try\n  \
                 fettle --book {0}\n  fettle --book {0} check",
                folder.display()
            ),
        }
    }
}

fn before(day: Date, days: i32) -> Date {
    day.checked_sub(days.days()).unwrap_or(day)
}

/// The story's clock and calendar.
struct Telling {
    job_day: Date,
    /// Whether somebody reads along, who says when it goes on.
    pauses: bool,
    zone: TimeZone,
    clock: Arc<AtomicI64>,
}

impl Telling {
    /// Turns the clock to a day of the story and a time of day.
    fn turn(&self, day: i32, (hour, minute): (i8, i8)) -> Result<(), Fault> {
        let moment = before(self.job_day, -day)
            .at(hour, minute, 0, 0)
            .to_zoned_datetime(self.zone.clone())
            .map_err(|error| {
                Fault::usage(
                    "--today",
                    format!("The story cannot be told then: {error}."),
                )
            })?;
        self.clock
            .store(moment.timestamp().as_microsecond(), Ordering::SeqCst);
        Ok(())
    }

    async fn tell(
        &self,
        session: &Session,
        stock: &Stock,
        play: impl Play,
        printer: &mut Printer,
    ) -> Result<Vec<Value>, Fault> {
        if printer.form() != Form::Json {
            let screen = printer.screen();
            let title = "Gannet Yard Paintwork, an invented shop, with invented kit.";
            let title = screen.hung("", "", &tint::strong(title));
            let stock = screen.hung("", "", &stock.sentence());
            printer.page(&format!("{title}\n{stock}\n"));
        }
        stock.enter(session).await?;
        let mut scenes = Vec::new();
        for scene in SCENES {
            if self.pauses && scene.shown && !scene.tell.is_empty() && !goes_on(printer)? {
                break;
            }
            self.turn(scene.day, scene.time)?;
            scenes.push(show(session, scene, &play, printer).await?);
        }
        Ok(scenes)
    }
}

/// Waits for whoever reads; false where they have seen enough.
fn goes_on(printer: &mut Printer) -> Result<bool, Fault> {
    printer.flush();
    printer.say(&format!("\n{}", tint::faint("Enter: go on, q: end")));
    let mut line = String::new();
    let read = io::stdin().read_line(&mut line);
    let read = read.map_err(|error| Fault::file("The terminal", &error))?;
    Ok(read > 0 && !line.trim().eq_ignore_ascii_case("q"))
}

/// Performs a line of the story as if it had been typed.
pub(crate) trait Play:
    AsyncFn(&Session, &[&str], &mut Printer) -> Result<Exit, Fault>
{
}

impl<F> Play for F where F: AsyncFn(&Session, &[&str], &mut Printer) -> Result<Exit, Fault> {}

/// Shows one scene; gives it as JSON.
async fn show(
    session: &Session,
    scene: &Scene,
    play: &impl Play,
    printer: &mut Printer,
) -> Result<Value, Fault> {
    let typed = typed(scene.line);
    let to_people = printer.form() != Form::Json;
    if to_people && scene.shown {
        if !scene.tell.is_empty() {
            let told = printer.screen().hung("", "", scene.tell);
            let told: Vec<String> = told.lines().map(tint::strong).collect();
            printer.page(&format!("\n{}", told.join("\n")));
        }
        let line = format!("$ fettle {typed}");
        let line = printer.screen().hung("", "    ", &tint::faint(&line));
        printer.page(&format!("\n{line}"));
        let exit = play(session, scene.line, printer).await?;
        return Ok(json!({ "exitCode": exit.code() }));
    }
    let heard = Rc::new(RefCell::new(Vec::new()));
    let mut aside = Printer::onto(
        Heard(Rc::clone(&heard)),
        Form::Json,
        printer.screen().clone(),
    );
    let exit = play(session, scene.line, &mut aside).await?;
    aside.end(exit);
    let answer: Value = serde_json::from_slice(&heard.borrow()).unwrap_or_default();
    Ok(json!({
        "tell": scene.tell,
        "command": format!("fettle {typed}"),
        "exitCode": exit.code(),
        "answer": answer,
    }))
}

/// A line as it is typed in a shell: words with blanks in quotes.
fn typed(line: &[&str]) -> String {
    let quoted = line.iter().map(|word| {
        if word.contains(' ') {
            format!("'{word}'")
        } else {
            (*word).to_owned()
        }
    });
    quoted.collect::<Vec<_>>().join(" ")
}

/// Takes down what a scene answers.
struct Heard(Rc<RefCell<Vec<u8>>>);

impl Write for Heard {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::story::SCENES;
    use crate::args::Cli;
    use clap::Parser as _;

    #[test]
    fn every_line_of_the_story_can_be_typed() {
        for scene in SCENES {
            let words = ["fettle"].iter().chain(scene.line).copied();
            assert!(Cli::try_parse_from(words).is_ok(), "{:?}", scene.line);
        }
    }

    #[test]
    fn the_story_goes_forward_in_time() {
        let moments: Vec<_> = SCENES.iter().map(|scene| (scene.day, scene.time)).collect();
        assert!(moments.is_sorted());
    }
}
