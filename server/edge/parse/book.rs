//! Commands on the book itself from the wire: reversals and policies; and whom a list is about.
//!
//! It serves the book service.

use fettlebook_contract::v1;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Book, Command, Id, Moment, Reason, Refusal, Seq, Subject, Tag};

use super::{moment, said, uuid};
use crate::desk::{Done, Seen};

pub(in crate::edge) fn reverse(
    sent: v1::ReverseEntryRequest,
    _: &Book,
) -> Result<Command, Refusal> {
    if sent.seq == 0 {
        return Err(Refusal::missing(
            "seq",
            "Give the number of the entry to reverse.",
        ));
    }
    Ok(Command::Reverse {
        said: said(sent.done_time, sent.note)?,
        seq: seq(sent.seq),
        past: None,
    })
}

/// The entry above which a list goes on; nothing for all.
pub(in crate::edge) fn above(sent: i64) -> Option<Seq> {
    (sent > 0).then(|| seq(sent))
}

/// The entry after which a watch begins; 0 for the start. One that the book does not have is refused:
/// whoever saw it saw a book that goes further.
pub(in crate::edge) fn after(sent: i64, book: &Book) -> Result<Seq, Refusal> {
    let seq = seq(sent);
    if seq > book.head() {
        return Err(Refusal::new(
            Reason::EntryUnknown,
            "after_seq",
            format!(
                "The book ends at entry {}, and has no entry {seq}.",
                book.head()
            ),
            "If that entry was seen before, this is an older copy of the book: look into it before \
             anything is recorded.",
        ));
    }
    Ok(seq)
}

pub(in crate::edge) fn set_policies(
    sent: v1::UpdatePolicyRequest,
    _: &Book,
) -> Result<Command, Refusal> {
    let changes = sent
        .changes
        .iter()
        .map(|change| Ok((policy_key("changes.key", &change.key)?, change.value)));
    Ok(Command::SetPolicies {
        changes: changes.collect::<Result<_, Refusal>>()?,
        note: sent.note,
    })
}

/// The key of a policy.
pub(in crate::edge) fn policy_key(field: &str, key: &str) -> Result<PolicyKey, Refusal> {
    if key.is_empty() {
        return Err(Refusal::missing(field, "Name the policy, such as dot_ul."));
    }
    key.parse().map_err(|_| {
        let key: String = key.chars().filter(|c| !c.is_control()).take(40).collect();
        Refusal::new(
            Reason::PolicyUnknown,
            field,
            format!("There is no policy `{key}`."),
            "Read the policies to see every key.",
        )
    })
}

/// Number of an entry, held to its bounds before.
pub(in crate::edge) fn seq(number: i64) -> Seq {
    Seq(u64::try_from(number).unwrap_or_default())
}

/// The last entry that a client saw.
pub(in crate::edge) fn seen(sent: &v1::CompareHeadRequest) -> Result<Seen, Refusal> {
    if sent.incarnation_id.is_empty() || sent.chain.is_empty() {
        let field = if sent.chain.is_empty() {
            "chain"
        } else {
            "incarnation_id"
        };
        return Err(Refusal::missing(
            field,
            "Give the entry as GetBook told it: incarnation_id, seq and chain.",
        ));
    }
    let incarnation_id = uuid("incarnation_id", &sent.incarnation_id)?;
    let seq = seq(sent.seq);
    Seen::new(incarnation_id, seq, &sent.chain).map_err(|error| {
        Refusal::invalid(
            "chain",
            format!("`chain` is wrong: {error}."),
            "Give the one that GetBook told.",
        )
    })
}

/// A backup that was read back and found whole: one that the book can have had.
pub(in crate::edge) fn backup(
    sent: &v1::NoteBackupRequest,
    book: &Book,
    now: Moment,
) -> Result<Done, Refusal> {
    let time = moment("made_time", sent.made_time)?;
    let time = time.ok_or_else(|| {
        Refusal::missing("made_time", "Give the time that its backup.json tells.")
    })?;
    if time > now {
        return Err(Refusal::new(
            Reason::TimeFuture,
            "made_time",
            "The backup was made later than it is now.",
            "Give the time that its backup.json tells.",
        ));
    }
    let seq = seq(sent.head_seq);
    if seq > book.head() {
        return Err(Refusal::new(
            Reason::EntryUnknown,
            "head_seq",
            format!(
                "The book ends at entry {}, and has no entry {seq}.",
                book.head()
            ),
            "Give the last entry that its backup.json tells.",
        ));
    }
    Ok(Done { seq, time })
}

/// What in the book goes by a tag or an id; several sorts of thing may share an id.
pub(in crate::edge) fn subjects(word: &str, book: &Book) -> Result<Vec<Subject>, Refusal> {
    if let Ok(tag) = word.parse::<Tag>() {
        let subject = Subject::Piece(tag);
        return if book.is_taken(&subject) {
            Ok(vec![subject])
        } else {
            Err(nothing(word))
        };
    }
    let id: Id = word.parse().map_err(|_| {
        Refusal::invalid(
            "subject",
            "`subject` is neither a tag nor an id.",
            "Give one, such as P-07 or coarse-foam-150.",
        )
    })?;
    let sorts = [
        Subject::Job,
        Subject::Make,
        Subject::Car,
        Subject::Routine,
        Subject::Supplier,
        Subject::Order,
    ];
    let mut found: Vec<Subject> = sorts
        .map(|sort| sort(id.clone()))
        .into_iter()
        .filter(|subject| book.is_taken(subject))
        .collect();
    if found.is_empty() && word == "policy" {
        found.push(Subject::Policy);
    }
    if found.is_empty() {
        Err(nothing(word))
    } else {
        Ok(found)
    }
}

fn nothing(word: &str) -> Refusal {
    Refusal::new(
        Reason::SubjectUnknown,
        "subject",
        format!("Nothing in the book goes by {}.", word.trim()),
        "Look at the label, or list the kit, makes, cars, routines, jobs, suppliers and orders.",
    )
}
