//! One trial: a copy of the book is harmed, opened, read through, and what came of it is judged.
//!
//! It serves the test. What is true it reckons from the lines alone.

use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::path::Path;

use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{BodyHash, Command, Entry, Seq};
use fettlebook_server::desk::{Compared, Desk, DeskError, OpenError, Order, Seen};
use fettlebook_server::journal::Head;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use uuid::Uuid;

use crate::base::{BOOK_ID, Base, lines};
use crate::harm::{Harm, inflict};

/// What may come of a trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// The whole history is there, and goes on.
    Harmless,
    /// The book is read-only and names the first bad entry.
    NamedExactly,
    /// The book is read-only and names an entry before the first bad one.
    NamedEarlier,
    /// The book does not open, and the file is named.
    Refused,
    /// The shelf was harmed too, and the journal is a true beginning of what it was.
    NeedsMemory,
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Harmless => "harmless: the same history, and it goes on",
            Self::NamedExactly => "detected: read-only, the first bad entry named",
            Self::NamedEarlier => "detected: read-only, an entry before the first bad one named",
            Self::Refused => "detected: not opened, the file named",
            Self::NeedsMemory => {
                "detected: the shelf harmed too, but a client that has seen further is believed"
            }
        })
    }
}

/// Every file of the journal, with its bytes.
type Files = BTreeMap<String, Vec<u8>>;

/// Harms a copy of the book and judges what comes of it; else what is wrong.
pub(crate) fn trial(base: &Base, seed: u64) -> Result<Outcome, String> {
    let folder = tempfile::tempdir().unwrap();
    base.copy_to(folder.path());
    let harm = inflict(folder.path(), &mut ChaCha8Rng::seed_from_u64(seed));
    let scene = Scene {
        base,
        harm,
        intact: intact(base, &folder.path().join("journal")),
        before: files(&folder.path().join("journal")),
        folder: folder.path(),
    };
    let told = scene.judge();
    told.map_err(|what| format!("seed {seed}: {}: {what}", scene.harm.what))
}

/// A harmed copy.
struct Scene<'a> {
    base: &'a Base,
    harm: Harm,
    /// Leading entries whose lines are where and what they were.
    intact: usize,
    before: Files,
    folder: &'a Path,
}

/// Holds what has to be true, or says what is not.
macro_rules! hold {
    ($what:expr, $($said:tt)+) => {
        if !$what {
            return Err(format!($($said)+));
        }
    };
}

impl Scene<'_> {
    fn judge(&self) -> Result<Outcome, String> {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap();
        let mut options = self.base.options();
        // A book that is made up anew must not pass for the old one.
        options.new_book_id = Uuid::now_v7();
        let (desk, report) = match Desk::open(self.folder, &options) {
            Ok(opened) => opened,
            Err(error) => return self.refused(&error),
        };
        runtime.block_on(async {
            let outcome = match &report.read_only {
                Some(reason) => self.read_only(&desk, reason).await,
                None => self.open(&desk).await,
            };
            desk.close().await.map_err(|error| error.to_string())?;
            outcome
        })
    }

    /// The book did not open: a file must be named, and nothing of the journal changed.
    fn refused(&self, error: &OpenError) -> Result<Outcome, String> {
        let said = error.to_string();
        let folder = self.folder.to_string_lossy();
        hold!(said.contains(&*folder), "no file is named: {said}");
        hold!(
            self.harm.beside_journal,
            "one bad line, and nothing can be read: {said}"
        );
        self.journal_is_left_alone()?;
        Ok(Outcome::Refused)
    }

    /// The book is read-only: it must say from where, and hold what comes before.
    async fn read_only(&self, desk: &Desk, reason: &str) -> Result<Outcome, String> {
        let named = named(reason).ok_or_else(|| format!("no entry is named: {reason}"))?;
        let first_bad = self.intact as u64 + 1;
        hold!(
            named <= first_bad,
            "the first bad one is {first_bad}: {reason}"
        );
        let refused = desk.submit(order(desk)).await;
        hold!(
            matches!(refused, Err(DeskError::ReadOnly { .. })),
            "a command was not refused: {refused:?}"
        );
        let head = desk.standing().head;
        hold!(
            self.base.heads.get(head.seq.0 as usize) == Some(&head),
            "it ends at what never was: {head:?}"
        );
        self.reads_or_names(desk, head.seq.0 as usize).await?;
        self.journal_is_left_alone()?;
        if named == first_bad {
            return Ok(Outcome::NamedExactly);
        }
        hold!(
            self.harm.beside_journal,
            "the first bad one is {first_bad}: {reason}"
        );
        Ok(Outcome::NamedEarlier)
    }

    /// The book can be written to: nothing may be missing, unless nothing here could tell.
    async fn open(&self, desk: &Desk) -> Result<Outcome, String> {
        let standing = desk.standing();
        hold!(
            standing.identity.book_id == BOOK_ID,
            "it is another book: {}",
            standing.identity.book_id
        );
        let (count, head) = (self.base.entries.len(), standing.head);
        let held = head.seq.0 as usize;
        hold!(
            self.base.heads.get(held) == Some(&head),
            "it ends at what never was: {head:?}"
        );
        self.reads(desk, held).await?;
        let verified = desk.verify().await.map_err(|error| error.to_string())?;
        hold!(
            verified.findings.is_empty() && verified.entry_count == head.seq.0,
            "{:?}",
            verified
        );
        hold!(
            held == count || self.harm.shelf,
            "silent: it ends at entry {held}"
        );
        hold!(
            held <= self.intact,
            "entry {held} is not intact, {} are",
            self.intact
        );
        if held < count {
            return self.remembered(desk).await;
        }
        let book = desk.book();
        let next = desk
            .submit(order(desk))
            .await
            .map_err(|error| error.to_string())?;
        hold!(
            next.seq == Seq(head.seq.0 + 1),
            "entry {} follows {held}",
            next.seq
        );
        hold!(*book == self.base.book, "the book is another");
        Ok(Outcome::Harmless)
    }

    /// The book is shorter and nothing in its folder tells: a client that has seen its end must be
    /// believed.
    async fn remembered(&self, desk: &Desk) -> Result<Outcome, String> {
        let standing = desk.standing();
        let seen = Seen {
            incarnation_id: standing.identity.incarnation_id,
            head: self.base.heads.last().cloned().unwrap_or(Head::EMPTY),
        };
        let compared = desk.compare(seen, "solo", true).await;
        hold!(
            matches!(compared, Ok(Compared::Missing { head, .. }) if head == standing.head.seq),
            "a client that has seen further is not believed: {compared:?}"
        );
        let refused = desk.submit(order(desk)).await;
        hold!(
            matches!(refused, Err(DeskError::ReadOnly { .. })),
            "a command was not refused: {refused:?}"
        );
        Ok(Outcome::NeedsMemory)
    }

    /// Reads the first entries, which must be what they were.
    async fn reads(&self, desk: &Desk, count: usize) -> Result<(), String> {
        let listed: Vec<Entry> = desk
            .entries(None, false, None, count)
            .await
            .map_err(|error| format!("the entries cannot be read: {error}"))?;
        hold!(
            listed == self.base.entries[..count],
            "the first {count} entries are not what they were"
        );
        Ok(())
    }

    /// Reads every entry of a read-only book: each is what it was, or the first bad one is named.
    async fn reads_or_names(&self, desk: &Desk, head: usize) -> Result<(), String> {
        let good = head.min(self.intact);
        self.reads(desk, good).await?;
        if good == head {
            return Ok(());
        }
        let Err(error) = desk.entries(None, false, None, head).await else {
            return Err(format!("{head} entries were read, {good} are intact"));
        };
        let named = named(&error.to_string());
        hold!(
            named == Some(good as u64 + 1),
            "{good} entries are intact: {error}"
        );
        Ok(())
    }

    fn journal_is_left_alone(&self) -> Result<(), String> {
        let now = files(&self.folder.join("journal"));
        hold!(now == self.before, "the damaged journal was written to");
        Ok(())
    }
}

/// The number of the first entry that a sentence names.
fn named(reason: &str) -> Option<u64> {
    let (_, rest) = reason.split_once("entry ")?;
    let end = rest.find(|c: char| !c.is_ascii_digit())?;
    rest[..end].parse().ok()
}

/// A command that any book takes.
fn order(desk: &Desk) -> Order {
    let spares = desk.standing().head.seq.0 as i64 % 5;
    Order {
        request: Uuid::now_v7(),
        body: BodyHash([7; 16]),
        by: "trial".to_owned(),
        command: Command::SetPolicies {
            changes: vec![(PolicyKey::SparePadsCount, Some(spares))],
            note: "after the damage".to_owned(),
        },
    }
}

/// How many entries, from the first, have their lines where and what they were, with no strange file
/// before them.
fn intact(base: &Base, journal: &Path) -> usize {
    let names = files(journal).into_keys();
    let strange = names.filter(|name| base.segments.iter().all(|segment| segment.name != *name));
    let strange = strange.min();
    let mut count = 0;
    for segment in &base.segments {
        if strange.as_ref().is_some_and(|name| *name < segment.name) {
            break;
        }
        let there =
            fs::read(journal.join(&segment.name)).map_or_else(|_| Vec::new(), |b| lines(&b));
        let both = segment.lines.iter().zip(&there);
        let same = both
            .take_while(|(a, b)| a == b || a.strip_suffix(b"\n") == Some(b))
            .count();
        count += same;
        if same < segment.lines.len() || there.len() > same {
            break;
        }
    }
    count
}

fn files(folder: &Path) -> Files {
    let entries = fs::read_dir(folder).into_iter().flatten();
    entries
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().is_file())
        .map(|entry| {
            let bytes = fs::read(entry.path()).unwrap();
            (entry.file_name().into_string().unwrap(), bytes)
        })
        .collect()
}
