//! `undo [N..]`: takes back what was recorded last, or the entries named.
//!
//! It shows what it takes back before it does. Nothing is deleted: each entry is reversed by a new one, and
//! entries of one request go together.

use clap::Args;
use fettlebook_contract::v1::{
    DeedKind, Entry, GetBookRequest, GetEntryRequest, ListEntriesRequest, ReverseEntryRequest,
    ReverseEntryResponse,
};
use fettlebook_quantity::parse_count;
use serde_json::json;

use crate::ask::{is_so, somebody_is_there};
use crate::commands::common::Told;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, entry};
use crate::request;

/// Entries that are looked through for the last of one's own at a time.
const PAGE: i32 = 100;

/// What `undo` takes.
#[derive(Args, Debug)]
pub(crate) struct Undo {
    /// Numbers of entries; without any, the last of yours that stands
    #[arg(value_name = "N", value_parser = whole)]
    pub(crate) entries: Vec<i64>,
    #[command(flatten)]
    pub(crate) told: Told,
}

fn whole(text: &str) -> Result<i64, String> {
    let number = text.trim().trim_start_matches('#');
    let read = parse_count(number).map(|count| count.get());
    read.ok().filter(|seq| *seq > 0).ok_or_else(|| {
        format!("'{text}' is not the number of an entry, such as 41; 'fettle entries' lists them")
    })
}

/// Shows what is to be taken back, and takes it back.
pub(crate) async fn perform(
    session: &Session,
    args: &Undo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let found = if args.entries.is_empty() {
        last_of_own(session).await?
    } else {
        named(session, &args.entries).await?
    };
    if printer.form() != Form::Json {
        let shown: Vec<String> = found
            .iter()
            .map(|one| entry::whole(printer.screen(), one))
            .collect();
        printer.page(&shown.join("\n"));
    }
    if somebody_is_there(printer) {
        printer.flush();
        if !is_so("Take that back?")? {
            return Err(Fault::own(
                "NOT_MEANT",
                Exit::No,
                "Nothing was taken back.",
                "'fettle entries' lists what was recorded; 'fettle undo N' takes back one of them.",
            ));
        }
    }
    let mut answers = Vec::new();
    for one in &found {
        answers.push(
            reverse(session, args, one.seq)
                .await
                .map_err(|fault| half_way(fault, answers.len()))?,
        );
    }
    match printer.form() {
        Form::Json => {
            let reversals = answers
                .iter()
                .map(to_value)
                .collect::<Result<Vec<_>, _>>()?;
            printer.document(&json!({ "reversals": reversals }));
        }
        Form::People | Form::Csv => {
            for (one, answer) in found.iter().zip(&answers) {
                let by = answer.entry.as_ref().map_or(0, |by| by.seq);
                let told = entry::taken_back(printer.screen(), one, by);
                printer.page(&told);
            }
        }
    }
    Ok(Exit::Done)
}

async fn reverse(session: &Session, args: &Undo, seq: i64) -> Result<ReverseEntryResponse, Fault> {
    let asked = ReverseEntryRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        seq,
    };
    session.call(asked).await
}

/// A refusal after some were taken back says how many.
fn half_way(mut fault: Fault, done: usize) -> Fault {
    if done > 0 {
        fault.message.push_str(&format!(
            " Of several entries {done} were taken back before it; 'fettle entries' shows which."
        ));
    }
    fault
}

/// The entries of these numbers, the latest first, each once.
async fn named(session: &Session, seqs: &[i64]) -> Result<Vec<Entry>, Fault> {
    let mut seqs = seqs.to_vec();
    seqs.sort_unstable_by(|a, b| b.cmp(a));
    seqs.dedup();
    let mut found = Vec::new();
    for seq in seqs {
        let answer = session.call(GetEntryRequest { seq }).await?;
        found.push(answer.entry.ok_or_else(|| Fault::answer("the entry"))?);
    }
    Ok(found)
}

/// The last entry of this person that stands and is no reversal, with what was recorded by the same request.
async fn last_of_own(session: &Session) -> Result<Vec<Entry>, Fault> {
    let own = session.call(GetBookRequest::default()).await?.caller;
    let mut asked = ListEntriesRequest {
        page_size: PAGE,
        newest_first: true,
        ..ListEntriesRequest::default()
    };
    let mut found: Vec<Entry> = Vec::new();
    loop {
        let answer = session.call(asked.clone()).await?;
        for one in answer.entries {
            let is_of_it = found.first().map(|last| last.request_id == one.request_id);
            match is_of_it {
                Some(true) if stands(&one) => found.push(one),
                Some(true) => {}
                Some(false) => return Ok(found),
                None if one.by == own && stands(&one) => found.push(one),
                None => {}
            }
        }
        if answer.next_page_token.is_empty() {
            break;
        }
        asked.page_token = answer.next_page_token;
    }
    if found.is_empty() {
        return Err(Fault::own(
            "ENTRY_UNKNOWN",
            Exit::NotFound,
            format!("Nothing that {own} recorded stands in this book."),
            "'fettle entries' lists all; 'fettle undo N' takes back one of them.",
        ));
    }
    Ok(found)
}

/// Whether an entry can be taken back: it was not yet, and is no reversal itself.
fn stands(entry: &Entry) -> bool {
    let is_reversal = |deed: &fettlebook_contract::v1::Deed| deed.kind() == DeedKind::Reversed;
    entry.reversed_by_seq.is_none() && !entry.deeds.iter().any(is_reversal)
}

#[cfg(test)]
mod tests {
    use super::{stands, whole};
    use fettlebook_contract::v1::{Deed, DeedKind, Entry};

    #[test]
    fn what_was_taken_back_and_what_takes_back_do_not_stand() {
        let of = |kind: DeedKind| Entry {
            deeds: vec![Deed {
                kind: kind.into(),
                ..Deed::default()
            }],
            ..Entry::default()
        };
        assert!(stands(&of(DeedKind::Washed)));
        assert!(!stands(&of(DeedKind::Reversed)));
        assert!(!stands(&Entry {
            reversed_by_seq: Some(9),
            ..of(DeedKind::Washed)
        }));
    }

    #[test]
    fn a_number_may_stand_behind_a_number_sign() {
        assert_eq!(whole("41"), Ok(41));
        assert_eq!(whole("#41"), Ok(41));
        for text in ["0", "-1", "P-01", ""] {
            assert!(whole(text).unwrap_err().contains("such as 41"), "{text}");
        }
    }
}
