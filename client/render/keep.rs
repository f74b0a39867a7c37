//! Backups, and books made of backups or of damaged books.
//!
//! It serves `book backup`, `book restore` and `book mend`.

use fettlebook_contract::v1::VerifyBookResponse;
use prost_types::Timestamp;
use serde_json::{Value, json};

use crate::json::whole;
use crate::render::screen::{Screen, several};
use crate::render::{book, tint};
use crate::solo::{
    SoloBackup, SoloBeside, SoloHistories, SoloMended, SoloPruned, entries, other_way,
};

/// A backup that was made and read back.
pub(crate) fn backed_up(
    screen: &Screen,
    place: &str,
    held: &SoloBackup,
    read_only_reason: &str,
) -> String {
    let mut text = format!(
        "{}: {}, {} in {}, read back and found whole.",
        tint::good("verified"),
        several(held.head_seq, "entry", "entries"),
        several(held.byte_count, "byte", "bytes"),
        several(held.file_count, "file", "files"),
    );
    if !read_only_reason.is_empty() {
        let more = format!(
            "The book is read-only: {read_only_reason}. The backup holds it up to entry {}.",
            held.head_seq
        );
        line(&mut text, screen, &more);
    }
    let use_it =
        format!("It is in {place}, and is not opened as a book. To bring the book back from it:");
    line(&mut text, screen, &use_it);
    text.push_str(&format!(
        "\n  fettle book restore --from {place} --to DIR\nChain {}",
        held.head_chain
    ));
    text
}

/// What became of the oldest backups in a folder of many; empty where nothing did.
pub(crate) fn pruned(screen: &Screen, pruned: &SoloPruned) -> String {
    let mut text = String::new();
    if !pruned.removed.is_empty() {
        let count = i64::try_from(pruned.removed.len()).unwrap_or(i64::MAX);
        let told = several(count, "older backup was", "older backups were");
        line(&mut text, screen, &format!("{told} taken away."));
    }
    for left in &pruned.left {
        let told = format!("{} stays: something else lies in it.", left.display());
        line(&mut text, screen, &told);
    }
    text
}

/// A book that was brought back.
pub(crate) fn restored(
    screen: &Screen,
    place: &str,
    held: &SoloBackup,
    verified: &VerifyBookResponse,
) -> String {
    let mut text = format!(
        "{}: {} from the backup of {}.",
        tint::good("restored"),
        several(held.head_seq, "entry", "entries"),
        made(screen, held),
    );
    goes_on(&mut text, screen, place, held.head_seq);
    text.push('\n');
    text.push_str(&book::verified(screen, verified));
    text
}

/// A book whose last entry a person named, and how many bytes were put aside.
pub(crate) fn end_accepted(
    screen: &Screen,
    place: &str,
    (seq, byte_count): (i64, i64),
    verified: &VerifyBookResponse,
) -> String {
    let mut text = format!(
        "{}: entry {seq} is the last one. {} that stood behind it {} in {place}/journal/cut-off.\n",
        tint::good("accepted"),
        several(byte_count, "byte", "bytes"),
        if byte_count == 1 { "is" } else { "are" },
    );
    text.push_str(&book::verified(screen, verified));
    text
}

/// What a mended book holds, or would: `places` are the damaged folder and the new one.
pub(crate) fn mended(
    screen: &Screen,
    (from, to): (&str, &str),
    found: &SoloMended,
    verified: Option<&VerifyBookResponse>,
) -> String {
    let mut text = if found.damage.is_empty() {
        format!("In the journal of {from} every line fits the one before.")
    } else {
        screen.hung("", "", &format!("In {from}, {}.", found.damage))
    };
    if found.only_torn {
        line(
            &mut text,
            screen,
            "Its last write was cut off, which is no damage: opening the book sets that right.",
        );
    }
    line(&mut text, screen, &found.kept());
    if let Some(told) = found.histories.told() {
        line(&mut text, screen, &told);
    }
    for stretch in &found.left_out {
        text.push('\n');
        text.push_str(&screen.hung("  ", "    ", &stretch.to_string()));
    }
    if found.damage.is_empty() && !found.only_torn && found.taken.is_empty() {
        line(&mut text, screen, WHOLE);
    }
    let Some(verified) = verified else {
        let next = format!("Nothing was written. To make that book in {to}, give --write too.");
        line(&mut text, screen, &next);
        return text;
    };
    text.push('\n');
    text.push_str(&tint::good("mended"));
    text.push('.');
    goes_on(&mut text, screen, to, found.head_seq);
    if !found.left_out.is_empty() {
        let more = format!(
            "What was left out is in {to}/left-out.bytes; left-out.txt says where it came from."
        );
        line(&mut text, screen, &more);
    }
    text.push('\n');
    text.push_str(&book::verified(screen, verified));
    text
}

const WHOLE: &str = "If the book opens read-only all the same, what is missing is not in these files; \
    a backup may have it (--with).";

/// A book that was verified and compared with a backup.
pub(crate) fn compared(
    screen: &Screen,
    verified: &VerifyBookResponse,
    found: &SoloBeside,
) -> String {
    let mut text = book::verified(screen, verified);
    let backup = format!("the backup of {}", made(screen, &found.backup));
    let told = match found.histories {
        SoloHistories::Agree => format!(
            "It agrees with {backup}, which ends at entry {}.",
            found.backup.head_seq
        ),
        SoloHistories::Lacks(first) => format!(
            "The book lacks {} of {backup}: it ends at entry {}. {UNSETTLED} 'fettle book mend' with \
             --with makes a book of both.",
            entries(first, found.backup.head_seq),
            found.book_head_seq
        ),
        SoloHistories::Rewritten(first) => format!(
            "Entry {first} of the book is not the one in {backup}, though the lines of each fit each \
             other: one of the two was rewritten from there on, or the book was cut and went on. \
             {UNSETTLED}"
        ),
        SoloHistories::OtherIncarnation(first) => {
            format!("In {backup} {}", other_way(first))
        }
    };
    line(&mut text, screen, &told);
    text
}

const UNSETTLED: &str = "Keep both as they are, and record nothing more until it is settled which of \
    the two is right.";

/// When a backup was made.
fn made(screen: &Screen, held: &SoloBackup) -> String {
    screen.moment(&Timestamp {
        seconds: held.made_time.as_second(),
        nanos: 0,
    })
}

/// How the histories of a book and a backup stand to each other, as JSON.
pub(crate) fn beside_document(found: &SoloBeside) -> Value {
    json!({
        "backup": backup_document(&found.backup),
        "bookHeadSeq": whole(found.book_head_seq),
        "histories": histories_word(found.histories),
        "firstSeq": whole(first_of(found.histories)),
    })
}

/// How two histories stand to each other, as a word for programs.
const fn histories_word(histories: SoloHistories) -> &'static str {
    match histories {
        SoloHistories::Agree => "AGREE",
        SoloHistories::Lacks(_) => "MISSING",
        SoloHistories::Rewritten(_) => "DIFFERENT",
        SoloHistories::OtherIncarnation(_) => "OTHER_INCARNATION",
    }
}

/// The first entry that the two have otherwise; 0 for none.
const fn first_of(histories: SoloHistories) -> i64 {
    match histories {
        SoloHistories::Agree => 0,
        SoloHistories::Lacks(first)
        | SoloHistories::Rewritten(first)
        | SoloHistories::OtherIncarnation(first) => first,
    }
}

/// Where a book that was made is, and that it is another life of the old one.
fn goes_on(text: &mut String, screen: &Screen, place: &str, head_seq: i64) {
    let more = format!(
        "The book is in {place}: use it with --book, or put it where the old one was. It goes on \
         after entry {head_seq}; do not go on with the old one too."
    );
    line(text, screen, &more);
}

fn line(text: &mut String, screen: &Screen, more: &str) {
    text.push('\n');
    text.push_str(&screen.hung("", "", more));
}

/// A backup as JSON, in the contract's names where it has them.
pub(crate) fn backup_document(held: &SoloBackup) -> Value {
    json!({
        "bookId": held.book_id,
        "incarnationId": held.incarnation_id,
        "headSeq": whole(held.head_seq),
        "headChain": held.head_chain,
        "madeTime": held.made_time.to_string(),
        "fileCount": whole(held.file_count),
        "byteCount": whole(held.byte_count),
    })
}

/// What a mended book holds as JSON, in the contract's names where it has them.
pub(crate) fn mend_document(found: &SoloMended) -> Value {
    let taken = found.taken.iter();
    let taken: Vec<Value> = taken
        .map(|(first, last)| json!({"firstSeq": whole(*first), "lastSeq": whole(*last)}))
        .collect();
    let left_out = found.left_out.iter();
    let left_out: Vec<Value> = left_out
        .map(|stretch| {
            json!({
                "file": stretch.file,
                "offset": whole(stretch.offset),
                "byteCount": whole(stretch.byte_count),
                "why": stretch.why,
            })
        })
        .collect();
    json!({
        "bookId": found.book_id,
        "headSeq": whole(found.head_seq),
        "headChain": found.head_chain,
        "damage": found.damage,
        "firstBadSeq": whole(found.first_bad_seq),
        "fromBackup": taken,
        "leftOut": left_out,
        "backupHistories": histories_word(found.histories),
        "backupFirstSeq": whole(first_of(found.histories)),
        "onlyTorn": found.only_torn,
    })
}
