//! `book`: the record itself.
//!
//! It serves looking back, taking back and trusting it. Nothing in the book is ever deleted.

use std::path::Path;

use clap::{Args, Subcommand};
use fettlebook_contract::v1::{
    DeedKind, Entry, GetBookRequest, GetEntryRequest, GetPolicyRequest, ListEntriesRequest,
    PolicyChange, ReverseEntryRequest, UpdatePolicyRequest,
};
use serde_json::{Value, json};

use crate::commands::common::{ListForm, Told, record};
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::json::to_value;
use crate::render::{Form, Printer, book, entry};
use crate::request;
use crate::shop::folder::Paired;
use crate::transport::ShopTransport;

pub(crate) mod backup;
pub(crate) mod entries;
pub(crate) mod export;
pub(crate) mod follow;
pub(crate) mod import;
mod renew;
pub(crate) mod verify;

/// What can be done with the book.
#[derive(Debug, Subcommand)]
pub(crate) enum BookCommand {
    /// List the entries
    Entries(entries::Entries),
    /// Show one entry
    Show(Show),
    /// Take a mistaken entry back by a new one that names it
    Reverse(Reverse),
    /// Read the whole journal and say whether it is whole
    Verify(verify::Verify),
    /// Copy the whole book into a new folder, and read the copy back
    Backup(backup::Backup),
    /// Bring a book back from a backup, into a new folder
    Restore(backup::Restore),
    /// Make a new book of what is whole in a damaged one
    Mend(backup::Mend),
    /// Show every default the model works with, and where it comes from
    Policy(Policy),
    /// Change defaults
    Set(Set),
    /// Write what the shop has set up and has in its kit into files
    Export(export::Export),
    /// Take over the pads of a notebook, or the files of an export
    Import(import::Import),
    /// Say where the book is and how it stands
    Where(Where),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &BookCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        BookCommand::Entries(args) => entries::perform(session, args, printer).await,
        BookCommand::Show(args) => show(session, args, printer).await,
        BookCommand::Reverse(args) => reverse(session, args, printer).await,
        BookCommand::Verify(args) => verify::verify(session, args, printer).await,
        BookCommand::Backup(args) => backup::back_up(session, args, printer).await,
        BookCommand::Restore(_) | BookCommand::Mend(_) => Err(Fault::usage(
            "book",
            "This makes a book of its own; run it by itself.",
        )),
        BookCommand::Policy(args) => policy(session, args, printer).await,
        BookCommand::Set(args) => set(session, args, printer).await,
        BookCommand::Export(args) => export::perform(session, args, printer).await,
        BookCommand::Import(args) => import::perform(session, args, printer).await,
        BookCommand::Where(args) => tell_standing(session, args, printer).await,
    }
}

/// What `book show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Number of the entry
    #[arg(value_name = "SEQ", value_parser = whole)]
    pub(crate) seq: i64,
}

/// Shows the entry.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = session.call(GetEntryRequest { seq: args.seq }).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .entry
            .as_ref()
            .map_or_else(String::new, |found| entry::details(screen, found))
    })?;
    Ok(Exit::Done)
}

/// What `book reverse` takes.
#[derive(Args, Debug)]
pub(crate) struct Reverse {
    /// Number of the entry, or 'last' for the newest that is not taken back
    #[arg(value_name = "SEQ", value_parser = entry_number)]
    pub(crate) seq: i64,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// What stands for the newest entry.
const LAST: i64 = 0;

/// Reads the number of an entry, `last` or `#12`.
fn entry_number(text: &str) -> Result<i64, String> {
    match text.trim().to_lowercase().as_str() {
        "last" | "newest" | "latest" => Ok(LAST),
        other => whole(other.trim_start_matches('#')),
    }
}

/// The newest entry that is neither taken back nor takes one back.
async fn newest(session: &Session) -> Result<i64, Fault> {
    const LOOKED_AT: i32 = 100;
    let asked = ListEntriesRequest {
        page_size: LOOKED_AT,
        newest_first: true,
        ..ListEntriesRequest::default()
    };
    let entries = session.call(asked).await?.entries;
    let takes_back = |entry: &Entry| {
        entry
            .deeds
            .iter()
            .any(|deed| deed.kind() == DeedKind::Reversed)
    };
    let mut standing = entries.iter();
    let found = standing.find(|entry| entry.reversed_by_seq.is_none() && !takes_back(entry));
    found.map(|entry| entry.seq).ok_or_else(|| {
        Fault::usage("SEQ", "There is no entry that could be taken back.")
            .with_example("fettle book entries --newest")
    })
}

/// Reverses the entry.
/// The mistaken entry stays; what followed from it is put right.
pub(crate) async fn reverse(
    session: &Session,
    args: &Reverse,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let seq = match args.seq {
        LAST => newest(session).await?,
        seq => seq,
    };
    let reverse = ReverseEntryRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        seq,
    };
    record(session, printer, reverse).await
}

/// What `book policy` takes.
#[derive(Args, Debug)]
pub(crate) struct Policy {
    /// List the figures of makes that are from the policy of an earlier time, beside today's
    #[arg(long, conflicts_with = "csv")]
    pub(crate) renew: bool,
    /// Write today's into those makes without being asked
    #[arg(long, requires = "renew")]
    pub(crate) yes: bool,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Shows the policy.
/// None is hidden.
pub(crate) async fn policy(
    session: &Session,
    args: &Policy,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if args.renew {
        return renew::perform(session, args.yes, printer).await;
    }
    args.form.choose(printer);
    let answer = session.call(GetPolicyRequest {}).await?;
    printer.list(&answer, &answer.lines, book::policy)?;
    Ok(Exit::Done)
}

/// What `book set` takes.
#[derive(Args, Debug)]
pub(crate) struct Set {
    /// Key and its new value, a whole number in the key's unit, or KEY=default to go back
    #[arg(required = true, value_name = "KEY=VALUE")]
    pub(crate) changes: Vec<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Reads the changes, each in one word or in two: `dot_ul=260`, `dot_ul 260`.
fn changes(words: &[String]) -> Result<Vec<PolicyChange>, Fault> {
    let mut found = Vec::new();
    let mut left = words;
    while let [word, rest @ ..] = left {
        left = rest;
        let mut text = word.clone();
        if !word.contains('=')
            && let [value, rest @ ..] = rest
        {
            text = format!("{word}={value}");
            left = rest;
        }
        let read = change(&text).map_err(|why| {
            let key = text.split('=').next().unwrap_or_default();
            let mut fault = Fault::usage("KEY=VALUE", format!("{why}."));
            fault.todo = "See 'fettle book policy' for every key with its unit.".to_owned();
            fault.with_example(format!("fettle book set {key}=default"))
        });
        found.push(read?);
    }
    Ok(found)
}

fn change(text: &str) -> Result<PolicyChange, String> {
    const FORMS: &str = "KEY=VALUE with a whole number, for example dot_ul=260, or dot_ul=default";
    let refused = || format!("'{text}' is not written as {FORMS}");
    let (key, value) = text
        .split_once('=')
        .map(|(key, value)| (key.trim(), value.trim()))
        .filter(|(key, _)| !key.is_empty())
        .ok_or_else(refused)?;
    let value = match value {
        "default" => None,
        number => Some(number.parse().map_err(|_| refused())?),
    };
    Ok(PolicyChange {
        key: key.to_owned(),
        value,
    })
}

/// Changes the defaults.
/// A value is a whole number in the unit of the key.
pub(crate) async fn set(
    session: &Session,
    args: &Set,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let update = UpdatePolicyRequest {
        request_id: request::new_id(),
        note: args.note.clone().unwrap_or_default(),
        changes: changes(&args.changes)?,
    };
    record(session, printer, update).await
}

/// The shop and this device in it.
fn shop_of(paired: &Paired, folder: &Path) -> String {
    format!(
        "{} at {}, with the role {}; kept in {}",
        paired.device,
        paired.address(),
        paired.role,
        folder.display()
    )
}

fn shop_document(shop: &ShopTransport) -> Value {
    let paired = shop.paired();
    json!({
        "address": paired.address(),
        "device": paired.device,
        "role": paired.role,
        "folder": shop.folder().display().to_string(),
        "reached": shop.reachable().is_some(),
        "copyAsOfTime": shop.copy_standing().map(|copy| copy.as_of_time.to_string()),
    })
}

/// What `book where` takes: nothing.
#[derive(Args, Debug)]
pub(crate) struct Where {}

/// Says where the book is.
/// It changes nothing.
pub(crate) async fn tell_standing(
    session: &Session,
    _: &Where,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = session.call(GetBookRequest::default()).await?;
    let place = match session.whereabouts() {
        Whereabouts::Folder(folder) => folder.display().to_string(),
        Whereabouts::At(address) => address.clone(),
        Whereabouts::Shop { folder, .. } => match session.shop() {
            Some(shop) => shop_of(&shop.paired(), folder),
            None => folder.display().to_string(),
        },
    };
    match printer.form() {
        Form::Json => {
            let mut document = json!({"where": place, "book": to_value(&answer)?});
            if let (Some(fields), Some(shop)) = (document.as_object_mut(), session.shop()) {
                fields.insert("shop".to_owned(), shop_document(shop));
            }
            printer.document(&document);
        }
        Form::People | Form::Csv => {
            let page = book::standing(printer.screen(), &place, &answer);
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}

#[cfg(test)]
mod tests {
    use super::change;

    #[test]
    fn a_default_is_set_to_a_whole_number_or_taken_back() {
        assert_eq!(change("dot_ul=260").unwrap().value, Some(260));
        assert_eq!(change("dot_ul=default").unwrap().value, None);
        for text in ["dot_ul", "=260", "dot_ul=", "dot_ul=2.5", "dot_ul=1,000"] {
            assert!(change(text).unwrap_err().contains("dot_ul=260"), "{text}");
        }
    }
}
