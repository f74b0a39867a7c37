//! A command line put right, word by word, until the argument parser understands it: what was typed stays
//! wherever it was understood.

use std::ffi::OsString;

use clap::error::{ContextKind, ContextValue, ErrorKind};

use super::{any_of, context, is_below_zero, nearest, said_elsewhere, sample, spoken, strings};

/// Things put right before it is given up.
const REPAIRS_MAX: usize = 8;

/// The command line put right, as it is typed; nothing where that fails.
pub(crate) fn repaired(args: &[OsString], tree: &clap::Command) -> Option<String> {
    let mut words: Vec<String> = args
        .iter()
        .map(|word| word.to_string_lossy().into_owned())
        .collect();
    for _ in 0..REPAIRS_MAX {
        match tree.clone().try_get_matches_from(&words) {
            Ok(_) => return Some(quoted(&words)),
            Err(error) => mend(&mut words, &error, tree)?,
        }
    }
    None
}

/// Puts right what one error is about; nothing where it cannot be.
fn mend(words: &mut Vec<String>, error: &clap::Error, tree: &clap::Command) -> Option<()> {
    let typed: Vec<OsString> = words.iter().map(OsString::from).collect();
    let (path, command) = spoken(&typed, tree);
    let named = context(error, ContextKind::InvalidArg);
    // What may be left out is named in other brackets where something else wants it.
    let bare = |named: &str| named.replace(['<', '>', '[', ']'], "");
    let arg = |named: &str| {
        let mut args = command.get_arguments();
        args.find(|arg| bare(&arg.to_string()) == bare(named))
    };
    match error.kind() {
        ErrorKind::InvalidValue | ErrorKind::ValueValidation => {
            let bad = context(error, ContextKind::InvalidValue);
            let words_for = strings(error, ContextKind::ValidValue);
            let near = nearest(&bad, words_for.clone()).or_else(|| words_for.first().cloned());
            let sample = match near {
                Some(near) => near,
                None => with_head(&bad, sample::of(&path, arg(&named)?)),
            };
            if bad.is_empty() {
                let option = named.split(' ').next()?.to_owned();
                let at = words.iter().position(|word| *word == option)?;
                words.insert(at.checked_add(1)?, sample);
                return Some(());
            }
            replace(words, &bad, &sample)
        }
        ErrorKind::UnknownArgument if is_below_zero(&named) => {
            let is_it = |word: &&mut String| word.starts_with(named.as_str());
            let word = words.iter_mut().find(is_it)?;
            word.remove(0);
            Some(())
        }
        ErrorKind::UnknownArgument => {
            let at = words.iter().position(|word| {
                *word == named
                    || word
                        .strip_prefix(named.as_str())
                        .is_some_and(|rest| rest.starts_with('='))
            })?;
            words.remove(at);
            Some(())
        }
        ErrorKind::MissingRequiredArgument => {
            let names = match error.get(ContextKind::InvalidArg) {
                Some(ContextValue::Strings(names)) => names.clone(),
                _ => return None,
            };
            for name in names {
                // Of several the first will do.
                let arg = arg(any_of(&name).first()?)?;
                if let Some(long) = arg.get_long() {
                    words.push(format!("--{long}"));
                }
                if arg.get_action().takes_values() {
                    words.push(sample::of(&path, arg));
                }
                if arg.get_long() == Some("sections") {
                    // Sections are worked by a pad.
                    words.extend(["--pad".to_owned(), "{pad}".to_owned()]);
                }
            }
            Some(())
        }
        ErrorKind::InvalidSubcommand => {
            let said = context(error, ContextKind::InvalidSubcommand);
            if let Some(meant) = said_elsewhere::command(&path, &said) {
                *words = meant.split(' ').map(str::to_owned).collect();
                if meant == "fettle bin" {
                    words.extend(["--because".to_owned(), "worn".to_owned()]);
                }
                if meant == "fettle fill" {
                    // Which two hold the same liquid, the list says.
                    *words = ["fettle", "kit", "list", "bottles"]
                        .map(str::to_owned)
                        .into();
                }
                return Some(());
            }
            let names = command
                .get_subcommands()
                .map(|one| one.get_name().to_owned());
            replace(words, &said, &nearest(&said, names.collect())?)
        }
        ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            let list = command.find_subcommand("list")?;
            words.push(list.get_name().to_owned());
            Some(())
        }
        ErrorKind::ArgumentConflict => {
            let option = named.split([' ', '=']).next()?;
            let at = words.iter().position(|word| word == option)?;
            words.remove(at);
            let takes_value = named.contains('<');
            if takes_value && at < words.len() {
                words.remove(at);
            }
            Some(())
        }
        _ => None,
    }
}

/// A sample of two parts with the name that was typed for the first; a step and what it says are no such two.
fn with_head(bad: &str, sample: String) -> String {
    let is_name = |head: &str| !head.is_empty() && !head.contains([' ', ':']);
    match (bad.split_once('='), sample.split_once('=')) {
        (Some((head, _)), Some((_, tail))) if is_name(head) => format!("{head}={tail}"),
        _ => sample,
    }
}

/// Puts a value in the place of one that was typed, by itself or behind its option.
fn replace(words: &mut [String], bad: &str, by: &str) -> Option<()> {
    let whole = words.iter().position(|word| word == bad);
    let place = whole.or_else(|| {
        let ends = format!("={bad}");
        words
            .iter()
            .position(|word| word.starts_with("--") && word.ends_with(&ends))
    });
    if let Some(word) = place.and_then(|at| words.get_mut(at)) {
        let kept = word
            .len()
            .checked_sub(bad.len())
            .and_then(|end| word.get(..end));
        *word = format!("{}{by}", kept.unwrap_or_default());
        return Some(());
    }
    // One of several in a word: -roof,-rof.
    let word = words
        .iter_mut()
        .find(|word| word.split(',').any(|one| one == bad))?;
    let parts = word.split(',').map(|one| if one == bad { by } else { one });
    *word = parts.collect::<Vec<_>>().join(",");
    Some(())
}

/// Words as they are typed in a shell.
pub(crate) fn quoted(words: &[String]) -> String {
    let plain = |word: &str| {
        let known = |c: char| c.is_alphanumeric() || "-_=./:,+%@{}".contains(c);
        !word.is_empty() && word.chars().all(known)
    };
    let mut typed = vec!["fettle".to_owned()];
    typed.extend(words.iter().skip(1).map(|word| {
        if plain(word) {
            word.clone()
        } else {
            format!("'{}'", word.replace('\'', "'\\''"))
        }
    }));
    typed.join(" ")
}
