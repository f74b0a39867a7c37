//! What this machine last saw of each book: its last entry and that entry's chain value.
//!
//! It serves the promise that a history never gets shorter in silence. A journal that was cut, with
//! nothing beside it that remembers more, looks whole; this file remembers more. What it holds is
//! compared at the start of every command and brought up at its end. Trouble with the file itself is
//! told and never stops the work.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy as _;
use fettlebook_contract::v1::{CompareHeadRequest, GetBookRequest, GetBookResponse, HeadFinding};
use serde::{Deserialize, Serialize};

use crate::connect::Session;
use crate::file;
use crate::render::Printer;

/// Format of the file.
const FORMAT: u32 = 1;
/// Most books that are remembered; those seen longest ago make room.
const SEEN_COUNT_MAX: usize = 256;
/// Name of the file.
const FILE: &str = "seen.json";

/// What was last seen of one incarnation of a book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Seen {
    book_id: String,
    incarnation_id: String,
    seq: i64,
    chain: String,
    seen_time: String,
}

impl Seen {
    fn of(book: &GetBookResponse, seen_time: String) -> Self {
        Self {
            book_id: book.book_id.clone(),
            incarnation_id: incarnation(book),
            seq: book.head_seq,
            chain: book.head_chain.clone(),
            seen_time,
        }
    }

    fn is_same_life(&self, other: &Self) -> bool {
        self.book_id == other.book_id && self.incarnation_id == other.incarnation_id
    }

    /// Whether it is the same entry, whenever it was seen.
    fn is_same_entry(&self, other: &Self) -> bool {
        self.is_same_life(other) && self.seq == other.seq && self.chain == other.chain
    }
}

/// The incarnation of a book; an older service has one only, which goes by the book's id.
fn incarnation(book: &GetBookResponse) -> String {
    if book.incarnation_id.is_empty() {
        book.book_id.clone()
    } else {
        book.incarnation_id.clone()
    }
}

/// The file as it stands.
#[derive(Debug, Serialize, Deserialize)]
struct Remembered {
    format: u32,
    books: Vec<Seen>,
}

/// What this machine remembers of books.
pub(crate) struct Memory {
    /// None where there is no home folder: then nothing is remembered.
    folder: Option<PathBuf>,
}

/// How a book was met at the start of a command.
pub(crate) struct Met {
    now: Seen,
    before: Option<Seen>,
    /// Whether the book lacks what was seen before, which is then not forgotten.
    contradicted: bool,
}

impl Memory {
    /// The memory in this person's state folder.
    pub(crate) fn of_this_machine() -> Self {
        let folder = etcetera::choose_base_strategy().ok().map(|base| {
            let state = base.state_dir().unwrap_or_else(|| base.data_dir());
            state.join("fettlebook")
        });
        Self { folder }
    }

    /// The last entry that was seen of a book, and the incarnation it is of; nothing when it was never
    /// seen.
    pub(crate) fn last_seen(&self, book_id: &str) -> Option<(i64, String)> {
        let known = read(self.folder.as_deref()?).ok()?;
        let seen = known.iter().filter(|seen| seen.book_id == book_id);
        let last = seen.max_by(|a, b| a.seen_time.cmp(&b.seen_time));
        last.map(|seen| (seen.seq, seen.incarnation_id.clone()))
    }

    /// Compares what was last seen of the book with what it is, and says what does not agree.
    pub(crate) async fn meet(&self, session: &Session, printer: &mut Printer) -> Option<Met> {
        let folder = self.folder.as_deref()?;
        let book = standing(session).await?;
        let now = Seen::of(&book, session.now().timestamp().to_string());
        let known = read(folder).unwrap_or_else(|notice| {
            printer.tell(&notice);
            Vec::new()
        });
        let before = known.iter().find(|seen| seen.is_same_life(&now)).cloned();
        let contradicted = match &before {
            Some(before) if before.is_same_entry(&now) => false,
            Some(before) if !book.read_only_reason.is_empty() => before.seq > now.seq,
            Some(before) => ask(session, before, printer).await,
            None => {
                if let Some(notice) = other_life(&book, &known) {
                    printer.tell(&notice);
                }
                false
            }
        };
        Some(Met {
            now,
            before,
            contradicted,
        })
    }

    /// Remembers where the book stands at the end of a command; says whether it is still without an entry.
    pub(crate) async fn part(
        &self,
        session: &Session,
        met: Option<Met>,
        printer: &mut Printer,
    ) -> bool {
        let (Some(folder), Some(met)) = (&self.folder, met) else {
            return false;
        };
        if met.contradicted {
            return false;
        }
        let now = match standing(session).await {
            Some(book) => Seen::of(&book, session.now().timestamp().to_string()),
            None => met.now,
        };
        if now.seq == 0 {
            return true;
        }
        if met.before.is_some_and(|before| before.is_same_entry(&now)) {
            return false;
        }
        if let Err(error) = remember(folder, now) {
            printer.tell(&format!(
                "What this machine saw of the book cannot be remembered in {}: {error}.",
                folder.display()
            ));
        }
        false
    }
}

/// How the book stands; nothing when it cannot be told, which the command itself will say.
async fn standing(session: &Session) -> Option<GetBookResponse> {
    if let Some(shop) = session.shop() {
        return shop.ask_book().await;
    }
    let answer = session.call(GetBookRequest::default());
    answer.await.ok().filter(|book| !book.book_id.is_empty())
}

/// Has the service compare what was seen with its journal, and says so when it has lost it.
async fn ask(session: &Session, before: &Seen, printer: &mut Printer) -> bool {
    let asked = CompareHeadRequest {
        incarnation_id: before.incarnation_id.clone(),
        seq: before.seq,
        chain: before.chain.clone(),
    };
    // A service that does not know the question cannot answer it; the command goes on.
    let Ok(answer) = session.once(asked).await else {
        return false;
    };
    match answer.finding() {
        HeadFinding::Missing | HeadFinding::Different => {
            let told = lost(&answer.read_only_reason);
            printer.tell(&told);
            true
        }
        HeadFinding::Agrees | HeadFinding::OtherIncarnation | HeadFinding::Unspecified => false,
    }
}

/// What to say of a book that has lost something, and is read-only for it or is not.
fn lost(read_only_reason: &str) -> String {
    const LOST: &str = "The book has lost what this machine saw of it";
    if read_only_reason.is_empty() {
        return format!(
            "{LOST}. Tell whoever owns the shop before more is recorded; 'fettle book verify' says \
             how it stands."
        );
    }
    format!("{LOST}: it can be read, but nothing can be recorded. {read_only_reason}")
}

/// What to say of a life of a book that is seen for the first time, when another is known.
fn other_life(book: &GetBookResponse, known: &[Seen]) -> Option<String> {
    let others = known.iter().filter(|seen| seen.book_id == book.book_id);
    let last = others.max_by(|a, b| a.seen_time.cmp(&b.seen_time))?;
    if incarnation(book) == book.book_id {
        return Some(
            "This is the book as it was before it was restored or mended. This machine has worked \
             with the other one; go on with one of them only."
                .to_owned(),
        );
    }
    let since = book.incarnation_seq;
    let mut text = format!("This book was restored or mended at entry {since}.");
    let first = since.saturating_add(1);
    match last.seq {
        seq if seq == first => {
            text.push_str(&format!(
                " What this machine saw after that (entry {first}) is not in it."
            ));
        }
        seq if seq > first => {
            text.push_str(&format!(
                " What this machine saw after that (entries {first} to {seq}) is not in it."
            ));
        }
        _ => {}
    }
    Some(text)
}

/// What is remembered. A file that cannot be read is set aside, and what to say of that comes back.
fn read(folder: &Path) -> Result<Vec<Seen>, String> {
    let path = folder.join(FILE);
    let text = match fs::read(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(format!("{} cannot be read: {error}.", path.display())),
    };
    match serde_json::from_slice::<Remembered>(&text) {
        Ok(held) if held.format == FORMAT => Ok(held.books),
        Ok(_) | Err(_) => {
            let aside = path.with_extension("json.damaged");
            // Where it cannot be moved, it is written over at the end of the command.
            let _ = fs::rename(&path, &aside);
            Err(format!(
                "What this machine remembers of its books cannot be read; it was set aside as {} \
                 and is begun anew.",
                aside.display()
            ))
        }
    }
}

/// Writes what was seen into the file, whole or not at all. Another command may do so at once.
fn remember(folder: &Path, now: Seen) -> io::Result<()> {
    file::make_folder(folder)?;
    let lock = File::create(folder.join("seen.lock"))?;
    lock.lock()?;
    let mut books = read(folder).unwrap_or_default();
    if books
        .iter()
        .any(|seen| seen.is_same_life(&now) && seen.seq > now.seq)
    {
        // The other command saw further.
        return Ok(());
    }
    books.retain(|seen| !seen.is_same_life(&now));
    books.push(now);
    books.sort_by(|a, b| a.seen_time.cmp(&b.seen_time));
    let over = books.len().saturating_sub(SEEN_COUNT_MAX);
    books.drain(..over);
    let format = FORMAT;
    let text = serde_json::to_vec_pretty(&Remembered { format, books })?;
    // Such a file is for its owner alone.
    let mut draft = tempfile::NamedTempFile::new_in(folder)?;
    draft.write_all(&text)?;
    draft.as_file().sync_data()?;
    draft.persist(folder.join(FILE))?;
    file::sync_folder(folder)
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::{FILE, Seen, other_life, read, remember};
    use crate::file;
    use fettlebook_contract::v1::GetBookResponse;

    fn seen(incarnation_id: &str, seq: i64) -> Seen {
        Seen {
            book_id: "book".to_owned(),
            incarnation_id: incarnation_id.to_owned(),
            seq,
            chain: format!("{seq:064}"),
            seen_time: "2026-03-02T08:00:00Z".to_owned(),
        }
    }

    fn restored(incarnation_seq: i64) -> GetBookResponse {
        GetBookResponse {
            book_id: "book".to_owned(),
            incarnation_id: "second".to_owned(),
            incarnation_seq,
            ..GetBookResponse::default()
        }
    }

    #[test]
    fn what_was_seen_of_each_life_is_read_again_and_never_goes_back() {
        let folder = tempfile::tempdir().unwrap();
        for one in [seen("book", 7), seen("second", 5), seen("book", 6)] {
            remember(folder.path(), one).unwrap();
        }
        assert_eq!(
            read(folder.path()).unwrap(),
            [seen("book", 7), seen("second", 5)]
        );
    }

    #[test]
    fn what_was_seen_outlives_a_loss_of_power_under_its_name() {
        let place = tempfile::tempdir().unwrap();
        let above = place.path().join("state");
        let folder = above.join("fettlebook");
        file::synced::take();
        remember(&folder, seen("book", 7)).unwrap();
        let made = [above.as_path(), place.path(), folder.as_path()];
        assert_eq!(file::synced::take(), made);
        remember(&folder, seen("book", 8)).unwrap();
        assert_eq!(file::synced::take(), [folder]);
    }

    #[cfg(unix)]
    #[test]
    fn the_file_is_for_its_owner_alone() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        remember(folder.path(), seen("book", 7)).unwrap();
        let mode = fs::metadata(folder.path().join(FILE))
            .unwrap()
            .permissions();
        assert_eq!(mode.mode() & 0o777, 0o600);
    }

    #[test]
    fn a_damaged_file_is_set_aside_and_begun_anew() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(FILE), "{\"format\":1,\"bo").unwrap();
        let notice = read(folder.path()).unwrap_err();
        assert!(notice.contains("seen.json.damaged"), "{notice}");
        assert_eq!(read(folder.path()), Ok(Vec::new()));
        remember(folder.path(), seen("book", 7)).unwrap();
        assert_eq!(read(folder.path()), Ok(vec![seen("book", 7)]));
    }

    #[test]
    fn a_book_that_was_restored_says_what_is_not_in_it() {
        let said = |since, seq| other_life(&restored(since), &[seen("book", seq)]).unwrap();
        assert_eq!(
            said(7, 12),
            "This book was restored or mended at entry 7. What this machine saw after that \
             (entries 8 to 12) is not in it."
        );
        assert!(said(7, 8).contains("(entry 8)"));
        assert_eq!(said(7, 7), "This book was restored or mended at entry 7.");
        assert_eq!(other_life(&restored(7), &[]), None);
    }

    #[test]
    fn the_first_life_of_a_book_is_not_called_restored() {
        let first = GetBookResponse {
            incarnation_id: "book".to_owned(),
            ..restored(0)
        };
        let said = other_life(&first, &[seen("second", 5)]).unwrap();
        assert!(said.contains("before it was restored"), "{said}");
    }
}
