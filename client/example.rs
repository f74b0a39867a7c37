//! The example that goes with a fault: a whole command that works, in this book, as it stands.

mod from_book;
mod of_job;
mod same_book;

use std::ffi::OsString;
use std::path::Path;

use fettlebook_contract::v1::ErrorReason;

use crate::connect::Session;
use crate::fault::Fault;
use crate::ids::id_of;
use crate::mistyped::{filled, quoted, sample_of, sorts_in, spoken, takes_value};
use crate::tags;
use from_book::from_book;
use of_job::of_job;
use same_book::of_same_book;

/// The fault with an example that works, filled in from a book where there is one.
pub(crate) async fn given(
    session: Option<&Session>,
    args: &[OsString],
    tree: &clap::Command,
    mut fault: Fault,
) -> Fault {
    put(args, tree, &mut fault);
    let mut known = Vec::new();
    if let Some(session) = session {
        for sort in sorts_in(&fault.hints.example) {
            if let Some(name) = from_book(session, sort).await {
                known.push((sort, name));
            }
        }
    }
    fault.hints.example = filled(&fault.hints.example, |sort| {
        let mut known = known.iter();
        known.find_map(|(of, name)| (*of == sort).then(|| name.clone()))
    });
    of_same_book(args, &mut fault);
    fault
}

/// The fault with an example that works, where no book is at hand to fill it in from.
pub(crate) fn alone(args: &[OsString], tree: &clap::Command, mut fault: Fault) -> Fault {
    put(args, tree, &mut fault);
    fault.hints.example = filled(&fault.hints.example, |_| None);
    of_same_book(args, &mut fault);
    fault
}

/// Puts in what was typed for the field, and an example whose marks are not filled in yet.
fn put(args: &[OsString], tree: &clap::Command, fault: &mut Fault) {
    if fault.hints.typed.is_empty() {
        let (_, command) = spoken(args, tree);
        let option = option_of(command, &fault.field).and_then(|arg| arg.get_long());
        let option = option.map(|long| format!("--{long}")).or_else(|| {
            let word = fault.field.split([' ', '=']).next()?;
            word.starts_with('-').then(|| word.to_owned())
        });
        let typed = option.and_then(|option| typed_for(args, command, &option));
        fault.hints.typed = typed.unwrap_or_default();
    }
    if fault.hints.example.is_empty() {
        fault.hints.example = found(args, tree, fault);
    }
}

/// An option as it was typed, with its value where it takes one.
fn typed_for(args: &[OsString], command: &clap::Command, option: &str) -> Option<String> {
    let joined = format!("{option}=");
    let at = args.iter().position(|word| {
        let word = word.to_string_lossy();
        word == option || word.starts_with(&joined)
    })?;
    let word = args.get(at)?.to_string_lossy().into_owned();
    let value = args.get(at.checked_add(1)?);
    let value = value.filter(|_| word == option && takes_value(command, option));
    Some(match value {
        Some(value) => format!("{word} {}", value.to_string_lossy()),
        None => word,
    })
}

/// The command line with a name put right that differs from one in the book in nothing but how it is spelt.
pub(crate) fn respelt(args: &[OsString], fault: &Fault) -> Option<Vec<OsString>> {
    let (name, meant) = (&fault.hints.name, &fault.hints.meant);
    let bare = |text: &str| id_of(text).replace('-', "");
    if meant.is_empty() || name == meant || bare(name) != bare(meant) {
        return None;
    }
    let words = with_name(args, name, meant)?;
    Some(words.into_iter().map(OsString::from).collect())
}

/// The words with one name in the place of another, wherever it stands by itself.
fn with_name(args: &[OsString], name: &str, by: &str) -> Option<Vec<String>> {
    let is_name = |word: &str| {
        !word.is_empty()
            && (word == name
                || id_of(word) == id_of(name)
                || tags::spelt(word).as_deref() == Some(name))
    };
    let mut changed = false;
    let mut words = Vec::new();
    for (at, word) in args.iter().enumerate() {
        let word = word.to_string_lossy();
        if at > 0 && is_name(&word) {
            changed = true;
            words.push(by.to_owned());
            continue;
        }
        let inside = word.split_inclusive([',', '=', ':', ' ']);
        let parts = inside.map(|part| {
            let bare = part.trim_end_matches([',', '=', ':', ' ']);
            if at > 0 && is_name(bare) {
                changed = true;
                part.replacen(bare, by, 1)
            } else {
                part.to_owned()
            }
        });
        words.push(parts.collect());
    }
    changed.then_some(words)
}

/// An example for what the service or a command refused; its marks are not filled in yet.
fn found(args: &[OsString], tree: &clap::Command, fault: &Fault) -> String {
    let (path, command) = spoken(args, tree);
    let (name, meant) = (&fault.hints.name, &fault.hints.meant);
    let is_said = args.iter().skip(1).any(|word| word == meant.as_str());
    // Only a battery is charged, and the nearest tag may be of anything.
    if !meant.is_empty()
        && !is_said
        && path != "fettle charge"
        && let Some(words) = with_name(args, name, meant)
    {
        return quoted(&words);
    }
    let words: Vec<String> = args
        .iter()
        .map(|word| word.to_string_lossy().into_owned())
        .collect();
    by_reason(&path, &words, fault)
        .or_else(|| of_job(&path, &words, &fault.field))
        .or_else(|| by_option(&path, command, words.clone(), &fault.field))
        .unwrap_or_else(|| looked_at(&path, command, &words))
}

/// What to look at or to say instead, for a reason of the contract or of the client's own.
fn by_reason(path: &str, words: &[String], fault: &Fault) -> Option<String> {
    let name = &fault.hints.name;
    if fault.reason == "UNREACHABLE" {
        let alone = without(words, "--at");
        return Some(if alone.len() < words.len() {
            quoted(&alone)
        } else {
            "fettle book where".to_owned()
        });
    }
    if path == "fettle book import" {
        return Some(format!("{path} --template"));
    }
    if path.starts_with("fettle shop") {
        let lists = ["fettle shop codes", "fettle shop devices"];
        let is_of_list = fault.contract_reason() == Some(ErrorReason::DeviceUnknown);
        let list = lists.into_iter().find(|list| is_of_list && path == *list);
        return Some(list.unwrap_or("fettle book where").to_owned());
    }
    if fault.reason == "FILE" {
        return beside(words, name);
    }
    let show = |noun: &str| match name.as_str() {
        "" => format!("fettle {noun} list"),
        name => format!("fettle {noun} show {name}"),
    };
    let list = match fault.contract_reason()? {
        ErrorReason::TagUnknown
        | ErrorReason::SubjectUnknown
        | ErrorReason::ReadOnly
        | ErrorReason::Damaged => "fettle kit list".to_owned(),
        ErrorReason::WrongSort => show("kit"),
        ErrorReason::TagTaken => quoted(&without(words, "--tag")),
        ErrorReason::MakeUnknown | ErrorReason::CurrencyMismatch => "fettle make list".to_owned(),
        ErrorReason::CarUnknown | ErrorReason::PanelUnknown => "fettle car list".to_owned(),
        ErrorReason::RoutineUnknown => "fettle routine list".to_owned(),
        ErrorReason::JobUnknown => "fettle job list".to_owned(),
        ErrorReason::SupplierUnknown => "fettle supplier list".to_owned(),
        ErrorReason::OrderUnknown | ErrorReason::OrderState => {
            "fettle order list --closed".to_owned()
        }
        ErrorReason::JobState => show("job"),
        ErrorReason::NoPlan | ErrorReason::NoPick => "fettle job list".to_owned(),
        ErrorReason::IdTaken => show(path.split(' ').nth(1)?),
        ErrorReason::EntryUnknown | ErrorReason::NotReversible => {
            "fettle book entries --newest".to_owned()
        }
        ErrorReason::PolicyUnknown => "fettle book policy".to_owned(),
        ErrorReason::TimePast => quoted(&with_value(words, "--start", "tomorrow 08:00")?),
        ErrorReason::TimeFuture => quoted(&with_value(words, "--done", "now")?),
        // Nobody is told by an example to pass a stop.
        ErrorReason::CheckStops | ErrorReason::NeverPassed => quoted(&checked(words)?),
        _ => return None,
    };
    Some(list)
}

/// The command line that checks the job which was to be taken.
fn checked(words: &[String]) -> Option<Vec<String>> {
    let of_value = ["--despite", "--note", "--done"];
    let words = (of_value.iter()).fold(words.to_vec(), |words, option| without(&words, option));
    let at = words.iter().position(|word| word == "take")?;
    let (before, behind) = words.split_at_checked(at)?;
    let job = behind.iter().skip(1).find(|word| !word.starts_with('-'))?;
    let check = ["check".to_owned(), job.clone()];
    Some(before.iter().cloned().chain(check).collect())
}

/// The command line with a file of that name here, for one that cannot be used where it was to be.
fn beside(words: &[String], path: &str) -> Option<String> {
    let is_it = |word: &&String| !word.is_empty() && path.starts_with(word.as_str());
    let file = words.iter().skip(1).find(is_it)?;
    let name = Path::new(file).file_name()?.to_string_lossy().into_owned();
    let there = words
        .iter()
        .map(|word| if word == file { &name } else { word });
    let there: Vec<String> = there.cloned().collect();
    Some(quoted(&there))
}

/// What to look at where nothing else is known: the first piece that was named, or what there is of the noun.
fn looked_at(path: &str, command: &clap::Command, words: &[String]) -> String {
    let mut tags = words.iter().skip(1).filter_map(|word| tags::spelt(word));
    if let Some(tag) = tags.next() {
        return format!("fettle kit show {tag}");
    }
    let noun = path.split(' ').nth(1).unwrap_or_default();
    let nouns = ["make", "kit", "car", "routine", "job", "supplier", "order"];
    if nouns.contains(&noun) && command.get_name() != noun {
        return format!("fettle {noun} list");
    }
    match noun {
        "check" | "log" | "take" | "quote" => "fettle job list".to_owned(),
        "wash" | "weigh" | "count" | "move" | "bin" => "fettle kit list".to_owned(),
        "wear" | "receive" => "fettle make list".to_owned(),
        "book" => "fettle book where".to_owned(),
        _ => format!("{path} --help"),
    }
}

/// The words without an option and its value.
fn without(words: &[String], option: &str) -> Vec<String> {
    let joined = format!("{option}=");
    let mut left = Vec::new();
    let mut skip = false;
    for word in words {
        if skip {
            skip = false;
        } else if word == option {
            skip = true;
        } else if !word.starts_with(&joined) {
            left.push(word.clone());
        }
    }
    left
}

/// The words with another value behind an option; nothing where the option is not among them.
fn with_value(words: &[String], option: &str, value: &str) -> Option<Vec<String>> {
    let joined = format!("{option}=");
    let mut words = words.to_vec();
    let at = words
        .iter()
        .position(|word| word == option || word.starts_with(&joined))?;
    let place = if words.get(at)? == option {
        at.checked_add(1)?
    } else {
        at
    };
    let new = if place == at {
        format!("{joined}{value}")
    } else {
        value.to_owned()
    };
    *words.get_mut(place)? = new;
    Some(words)
}

/// Other fields that an option gives.
const OPTIONS: &[(&str, &str)] = &[
    ("quantity", "left"),
    ("volume_ul", "holds"),
    ("left_ul", "left"),
    ("towel_count", "towels"),
    ("piece_count", "count"),
    ("expiry_date", "expires"),
    ("done_time", "done"),
    ("start_time", "start"),
    ("second_start_time", "second-day"),
    ("second_from_step", "second-from"),
    ("through_time", "through"),
    ("price", "price"),
    ("left_out_panels", "panels"),
    ("machine_time_s", "minutes"),
    ("time_s", "minutes"),
];

/// The option that a field is given by.
fn option_of<'a>(command: &'a clap::Command, field: &str) -> Option<&'a clap::Arg> {
    let last = field.rsplit('.').next()?.trim_start_matches("--");
    let last = last.split([' ', '[']).next()?;
    let known = OPTIONS
        .iter()
        .find(|(of, _)| *of == last)
        .map(|(_, option)| *option);
    let mut args = command.get_arguments();
    args.find(|arg| {
        arg.get_long().is_some_and(|long| {
            Some(long) == known
                || long == last
                || last.starts_with(&format!("{}_", long.replace('-', "_")))
        })
    })
}

/// The command line with a value that is surely good for the option that a field is given by; without an option
/// that takes none, or with it where it lacks.
fn by_option(
    path: &str,
    command: &clap::Command,
    words: Vec<String>,
    field: &str,
) -> Option<String> {
    let arg = option_of(command, field)?;
    let option = format!("--{}", arg.get_long()?);
    if !arg.get_action().takes_values() {
        let mut put: Vec<String> = words
            .iter()
            .filter(|word| **word != option)
            .cloned()
            .collect();
        if put.len() == words.len() {
            put.push(option);
        }
        return Some(quoted(&put));
    }
    let sample = sample_of(path, arg);
    let put = with_value(&words, &option, &sample).unwrap_or_else(|| {
        let mut words = words;
        words.extend([option, sample]);
        words
    });
    Some(quoted(&put))
}

#[cfg(test)]
mod tests;
