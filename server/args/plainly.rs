//! What is wrong with options that say where a book is, in words: a folder and an engine exclude each other, and
//! what is told of the one beside the other is no use.

use std::ffi::OsString;

use clap::ArgMatches;
use clap::error::ErrorKind;
use clap::parser::ValueSource;

use super::command;

/// What the engine alone has, by the names that the parser gives it, and as it is typed.
const OF_AN_ENGINE: [(&str, &str); 6] = [
    ("office", "--office"),
    ("open_books", "--open-books"),
    ("let_go_after", "--let-go-after"),
    ("book_id", "--book-id"),
    ("store_authority", "--store-authority"),
    ("node", "--node"),
];

/// Reads the words; where they say of a book's place what cannot be, that is told in place of what the parser says.
pub(super) fn read(words: &[OsString]) -> Result<ArgMatches, clap::Error> {
    let read = command().try_get_matches_from(words);
    let is_of_options = |error: &clap::Error| {
        matches!(
            error.kind(),
            ErrorKind::MissingRequiredArgument | ErrorKind::ArgumentConflict
        )
    };
    let found = match read {
        Err(error) if is_of_options(&error) => {
            let loose = command().ignore_errors(true);
            match loose.try_get_matches_from(words) {
                Ok(found) => wrong(&found).map_or(error, refused),
                Err(_) => error,
            }
        }
        Err(error) => error,
        Ok(found) => match wrong(&found) {
            Some(wrong) => refused(wrong),
            None => return Ok(found),
        },
    };
    Err(found)
}

fn refused(wrong: String) -> clap::Error {
    command().error(ErrorKind::ArgumentConflict, wrong)
}

/// What is wrong, and what to type.
fn wrong(found: &ArgMatches) -> Option<String> {
    match found.subcommand() {
        None => of_a_book(found),
        Some(("pair", pair)) => of_a_book(pair),
        Some(("move", moved)) => of_a_move(moved),
        Some(_) => None,
    }
}

fn of_a_book(found: &ArgMatches) -> Option<String> {
    let (book, store) = (is_given(found, "book"), is_given(found, "store"));
    let told = OF_AN_ENGINE
        .iter()
        .find(|(id, _)| is_typed(found, id))
        .map(|(_, typed)| *typed);
    match (book, store, told) {
        (true, true, _) => Some(format!(
            "a book is in a folder, as --book says{}, or in an engine, as --store says{}: leave one of them out",
            by_environment(found, "book", "FETTLED_BOOK"),
            by_environment(found, "store", "FETTLED_STORE"),
        )),
        (true, false, Some(told)) => Some(format!(
            "{told} is for books that an engine keeps, and --book{} names a folder, which has one book: leave {told} \
             out, or name the engine with --store URL --node DIR in place of --book",
            by_environment(found, "book", "FETTLED_BOOK"),
        )),
        (false, false, Some(told)) => Some(format!(
            "{told} is for books that an engine keeps, and no engine is named: add --store URL --node DIR"
        )),
        (false, false, None) => Some(
            "it is not said where the book is: name its folder with --book DIR, or the engine that keeps it with \
             --store URL --node DIR"
                .to_owned(),
        ),
        (false, true, _) if !is_given(found, "node") => Some(
            "--store wants a folder for what this machine keeps for itself, its shelves, its certificate and the key \
             that seals: name one with --node DIR"
                .to_owned(),
        ),
        _ => None,
    }
}

fn of_a_move(found: &ArgMatches) -> Option<String> {
    let given = |id| is_given(found, id);
    let up = given("book") && given("to_store") && !given("store") && !given("to_book");
    let down = given("store") && given("to_book") && !given("book") && !given("to_store");
    let whole = (up || down) && given("node");
    let wrong = "a move wants both places and the folder of this machine: move --book DIR --to-store URL --node DIR \
                 brings a book into an engine, and move --store URL --node DIR --to-book DIR back";
    (!whole).then(|| wrong.to_owned())
}

/// Whether somebody said it, on the command line or by the environment.
fn is_given(found: &ArgMatches, id: &str) -> bool {
    let source = source(found, id);
    source.is_some_and(|source| source != ValueSource::DefaultValue)
}

/// Whether it stands on the command line. What the environment says may be there for other commands.
fn is_typed(found: &ArgMatches, id: &str) -> bool {
    source(found, id) == Some(ValueSource::CommandLine)
}

/// Where its value is from; none where there is no such option.
fn source(found: &ArgMatches, id: &str) -> Option<ValueSource> {
    // One that this command has not may not be asked for.
    found.try_contains_id(id).ok().filter(|is| *is)?;
    found.value_source(id)
}

/// That it was said by the environment, where it was.
fn by_environment(found: &ArgMatches, id: &str, variable: &str) -> String {
    match source(found, id) {
        Some(ValueSource::EnvVariable) => format!(" (by {variable})"),
        _ => String::new(),
    }
}
