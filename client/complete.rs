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
        .map(|(name, help)| {
            let help = Some(help).filter(|help| !help.is_empty());
            CompletionCandidate::new(name).help(help.map(Into::into))
        })
        .collect()
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
