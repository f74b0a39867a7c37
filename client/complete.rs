//! Completion of tags and names from the book.
//!
//! It serves the shells, which run `fettle` with an environment variable of their own. It is quick
//! and silent: a book that is busy, absent or damaged completes nothing, and none is ever begun.

use std::ffi::{OsStr, OsString};
use std::path::PathBuf;
use std::sync::OnceLock;
use std::time::Duration;

use clap_complete::{CompleteEnv, CompletionCandidate};

use crate::connect::{Session, Whereabouts, own_folder, shop_folder};
use crate::fault::Fault;
use crate::file::holds_something;
use crate::names::{Names, named};
use crate::runtime::runtime;
use crate::shop::folder::is_paired;
use crate::solo::{Solo, SoloClock};

/// The variable by which a shell asks.
pub(crate) const VARIABLE: &str = "FETTLE_COMPLETE";
/// A person waits for a key, not for a book.
pub(crate) const WAIT: Duration = Duration::from_millis(400);

/// What the completers, which take only the word typed so far, need to reach the book.
struct Source {
    solo: &'static dyn Solo,
    whereabouts: Whereabouts,
}

static SOURCE: OnceLock<Source> = OnceLock::new();

/// Whether a shell asks for completions.
pub(crate) fn asked() -> bool {
    std::env::var_os(VARIABLE).is_some_and(|value| !value.is_empty())
}

/// Answers the shell; `tree` is all that can be typed.
pub(crate) fn answer(args: &[OsString], solo: &'static dyn Solo, tree: fn() -> clap::Command) {
    if let Some(whereabouts) = whereabouts(args) {
        SOURCE.get_or_init(|| Source { solo, whereabouts });
    }
    let folder = std::env::current_dir().ok();
    // Silent by intent: a shell has nowhere to show a failure while a word is being typed.
    let _ = CompleteEnv::with_factory(tree)
        .var(VARIABLE)
        .try_complete(args.iter().cloned(), folder.as_deref());
}

/// Where the book is, from the words typed so far and the environment.
pub(crate) fn whereabouts(args: &[OsString]) -> Option<Whereabouts> {
    let after = |option: &str| {
        let mut words = args.iter().filter_map(|word| word.to_str());
        let joined = format!("{option}=");
        while let Some(word) = words.next() {
            if word == option {
                return words.next().map(OsString::from);
            }
            if let Some(value) = word.strip_prefix(&joined) {
                return Some(OsString::from(value));
            }
        }
        None
    };
    let address = |text: OsString| text.into_string().ok().map(Whereabouts::At);
    let folder = |path: OsString| Some(Whereabouts::Folder(PathBuf::from(path)));
    let shop = |path: PathBuf| Whereabouts::Shop {
        folder: path,
        insists: false,
    };
    let paired = || shop_folder().filter(|folder| is_paired(folder)).map(shop);
    let named = |path: OsString| shop(PathBuf::from(path));
    after("--at")
        .and_then(address)
        .or_else(|| after("--book").and_then(folder))
        .or_else(|| after("--shop").map(named))
        .or_else(|| std::env::var_os("FETTLE_AT").and_then(address))
        .or_else(|| std::env::var_os("FETTLE_BOOK").and_then(folder))
        .or_else(|| std::env::var_os("FETTLE_SHOP").map(named))
        .or_else(paired)
        .or_else(|| own_folder().ok().map(Whereabouts::Folder))
}

/// Tags in the kit.
pub(crate) fn tags(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Tags, current)
}

/// What is put on the charger: tags, ranges of them, and words for several.
pub(crate) fn empty(current: &OsStr) -> Vec<CompletionCandidate> {
    several(current, &["all", "batteries"])
}

/// What is washed: tags, ranges of them, and words for several.
pub(crate) fn soiled(current: &OsStr) -> Vec<CompletionCandidate> {
    several(current, &["all", "soiled"])
}

/// What is said to be dry.
pub(crate) fn drying(current: &OsStr) -> Vec<CompletionCandidate> {
    several(current, &["all", "drying"])
}

/// What comes back from being aside.
pub(crate) fn aside(current: &OsStr) -> Vec<CompletionCandidate> {
    several(current, &["all", "aside"])
}

/// What goes to another place.
pub(crate) fn moved(current: &OsStr) -> Vec<CompletionCandidate> {
    several(current, &["all", "soiled", "drying", "aside", "ready"])
}

/// Tags and ranges, where no word stands for several.
pub(crate) fn ranges(current: &OsStr) -> Vec<CompletionCandidate> {
    several(current, &[])
}

fn several(current: &OsStr, words: &[&str]) -> Vec<CompletionCandidate> {
    let Some(begun) = current.to_str() else {
        return Vec::new();
    };
    let tags = look_up(Names::Tags).unwrap_or_default();
    let found = of_several(begun, &tags, words).into_iter();
    found.map(|(name, help)| candidate(name, help)).collect()
}

/// What can stand where several tags may: the words and tags that begin so; behind `P-01..` the tags after it, and
/// behind a comma one more.
fn of_several(begun: &str, tags: &[(String, String)], words: &[&str]) -> Vec<(String, String)> {
    if let Some((before, last)) = begun.rsplit_once(',') {
        let found = of_several(last, tags, &[]).into_iter();
        return found
            .map(|(name, help)| (format!("{before},{name}"), help))
            .collect();
    }
    let words = words.iter().map(|word| ((*word).to_owned(), String::new()));
    let tags = tags.iter().cloned();
    let all: Vec<(String, String)> = match begun.split_once("..") {
        None => words.chain(tags).collect(),
        Some((first, _)) => {
            let letters = |tag: &str| tag.split_once('-').map(|(letters, _)| letters.to_owned());
            let same = tags.filter(|(tag, _)| letters(tag) == letters(first));
            let behind = same.skip_while(|(tag, _)| tag != first).skip(1);
            behind
                .map(|(tag, help)| (format!("{first}..{tag}"), help))
                .collect()
        }
    };
    let fits = all.into_iter().filter(|(name, _)| name.starts_with(begun));
    fits.collect()
}

/// Makes.
pub(crate) fn makes(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Makes, current)
}

/// Cars.
pub(crate) fn cars(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Cars, current)
}

/// Routines.
pub(crate) fn routines(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Routines, current)
}

/// Jobs.
pub(crate) fn jobs(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Jobs, current)
}

/// Places where kit is.
pub(crate) fn places(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Places, current)
}

/// Suppliers.
pub(crate) fn suppliers(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Suppliers, current)
}

/// Orders that are not closed.
pub(crate) fn orders(current: &OsStr) -> Vec<CompletionCandidate> {
    offered(Names::Orders, current)
}

/// What `receive` takes: makes, and orders that are not closed.
pub(crate) fn makes_and_orders(current: &OsStr) -> Vec<CompletionCandidate> {
    let mut found = orders(current);
    found.extend(makes(current));
    found
}

fn offered(names: Names, current: &OsStr) -> Vec<CompletionCandidate> {
    let Some(begun) = current.to_str() else {
        return Vec::new();
    };
    look_up(names)
        .unwrap_or_default()
        .into_iter()
        .filter(|(name, _)| name.starts_with(begun))
        .map(|(name, help)| candidate(name, help))
        .collect()
}

fn candidate(name: String, help: String) -> CompletionCandidate {
    let help = Some(help).filter(|help| !help.is_empty());
    CompletionCandidate::new(name).help(help.map(Into::into))
}

fn look_up(names: Names) -> Option<Vec<(String, String)>> {
    let source = SOURCE.get()?;
    if let Whereabouts::Folder(folder) = &source.whereabouts
        && !holds_something(folder)
    {
        return None;
    }
    let waited = async {
        let session =
            Session::look(source.whereabouts.clone(), source.solo, SoloClock::System).await?;
        let found = named(&session, names, false).await;
        session.close().await;
        found.map_err(Fault::from)
    };
    runtime()
        .ok()?
        .block_on(async { tokio::time::timeout(WAIT, waited).await })
        .ok()?
        .ok()
}

#[cfg(test)]
mod tests {
    use super::of_several;

    fn offered(begun: &str) -> Vec<String> {
        let tags = ["B-01", "P-01", "P-02", "P-10"].map(|tag| (tag.to_owned(), String::new()));
        let found = of_several(begun, &tags, &["all", "soiled"]).into_iter();
        found.map(|(name, _)| name).collect()
    }

    #[test]
    fn tags_words_ranges_and_lists_are_offered_where_several_may_stand() {
        assert_eq!(
            offered(""),
            ["all", "soiled", "B-01", "P-01", "P-02", "P-10"]
        );
        assert_eq!(offered("s"), ["soiled"]);
        assert_eq!(offered("P-01.."), ["P-01..P-02", "P-01..P-10"]);
        assert_eq!(offered("P-01..P-1"), ["P-01..P-10"]);
        assert_eq!(offered("P-01,P-0"), ["P-01,P-01", "P-01,P-02"]);
        assert!(offered("P-10..").is_empty() && offered("x").is_empty());
    }
}
