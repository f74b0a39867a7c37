//! Backups, and books made of backups or of damaged books.
//!
//! It serves `book backup`, `book restore` and `book mend`.

use fettlebook_contract::v1::VerifyBookResponse;
use prost_types::Timestamp;
use serde_json::{Value, json};

use crate::render::screen::{Screen, several};
use crate::render::{book, tint};
use crate::solo::{SoloBackup, SoloMended};

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
            "The book is read-only, and the backup ends where it does: {read_only_reason}."
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
        screen.moment(&Timestamp {
            seconds: held.made_time.as_second(),
            nanos: 0,
        }),
    );
    goes_on(&mut text, screen, place, held.head_seq);
    text.push('\n');
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
    line(&mut text, screen, &kept(found));
    for stretch in &found.left_out {
        let told = format!(
            "{} of {} from byte {}: {}",
            several(stretch.byte_count, "byte", "bytes"),
            stretch.file,
            stretch.offset,
            stretch.why
        );
        text.push('\n');
        text.push_str(&screen.hung("  ", "    ", &told));
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

/// What is kept, where it comes from, and how much is left out.
fn kept(found: &SoloMended) -> String {
    let mut text = format!("Kept: {}", entries(1, found.head_seq));
    let runs: Vec<String> = found
        .taken
        .iter()
        .map(|(first, last)| entries(*first, *last))
        .collect();
    if !runs.is_empty() {
        text.push_str(&format!(", of which from the backup: {}", runs.join(", ")));
    }
    let byte_count = found
        .left_out
        .iter()
        .map(|stretch| stretch.byte_count)
        .sum();
    if byte_count == 0 {
        text.push_str(". Nothing is left out.");
    } else {
        let bytes = several(byte_count, "byte", "bytes");
        text.push_str(&format!(". Left out: {bytes}."));
    }
    text
}

fn entries(first: i64, last: i64) -> String {
    if first == last {
        format!("entry {first}")
    } else {
        format!("entries {first} to {last}")
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
        "headSeq": held.head_seq.to_string(),
        "headChain": held.head_chain,
        "madeTime": held.made_time.to_string(),
        "fileCount": held.file_count.to_string(),
        "byteCount": held.byte_count.to_string(),
    })
}

/// What a mended book holds as JSON, in the contract's names where it has them.
pub(crate) fn mend_document(found: &SoloMended) -> Value {
    let taken = found.taken.iter();
    let taken: Vec<Value> = taken
        .map(|(first, last)| json!({"firstSeq": first.to_string(), "lastSeq": last.to_string()}))
        .collect();
    let left_out = found.left_out.iter();
    let left_out: Vec<Value> = left_out
        .map(|stretch| {
            json!({
                "file": stretch.file,
                "offset": stretch.offset.to_string(),
                "byteCount": stretch.byte_count.to_string(),
                "why": stretch.why,
            })
        })
        .collect();
    json!({
        "bookId": found.book_id,
        "headSeq": found.head_seq.to_string(),
        "headChain": found.head_chain,
        "damage": found.damage,
        "firstBadSeq": found.first_bad_seq.to_string(),
        "fromBackup": taken,
        "leftOut": left_out,
        "onlyTorn": found.only_torn,
    })
}
