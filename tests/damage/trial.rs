//! One trial: a copy of the book is harmed, opened, read through, and what came of it is judged. What is
//! true is reckoned from the lines alone.

use std::fmt;
use std::fs;
use std::path::Path;

use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{BodyHash, Command, Entry, Seq};
use fettlebook_server::desk::{Compared, Desk, DeskError, DeskOptions, OpenError, Order, Seen};
use fettlebook_server::journal::Head;
use fettlebook_server::keep::accept_end;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use uuid::Uuid;

use crate::base::{BOOK_ID, Base, lines, stored};
use crate::deleted::{Files, Gone, cut_off, files};
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
    /// Shelf and mark were harmed too: the book asks how it ended, and once it is told, goes on with what it
    /// has, or believes a client that has seen further.
    Asked,
    /// Shelf and mark were harmed too, and the journal is a true beginning of what it was.
    NeedsMemory,
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Harmless => "harmless: the same history, and it goes on",
            Self::NamedExactly => "detected: read-only, the first bad entry named",
            Self::NamedEarlier => "detected: read-only, an entry before the first bad one named",
            Self::Refused => "detected: not opened, the file named",
            Self::Asked => "asked: shelf and mark harmed too; what was not kept in place is put aside",
            Self::NeedsMemory => {
                "detected: shelf and mark harmed too, but a client that has seen further is believed"
            }
        })
    }
}

/// Harms a copy of the book and judges what comes of it, and what bytes are gone; else what is wrong.
pub(crate) fn trial(base: &Base, seed: u64) -> Result<(Outcome, Gone), String> {
    let folder = tempfile::tempdir().unwrap();
    base.copy_to(folder.path());
    let harm = inflict(folder.path(), &mut ChaCha8Rng::seed_from_u64(seed));
    let scene = Scene {
        base,
        harm,
        intact: intact(base, &folder.path().join("journal")),
        before: files(&folder.path().join("journal")),
        identity: fs::read(folder.path().join("book.json")).ok(),
        folder: folder.path(),
    };
    let told = scene
        .judge()
        .and_then(|outcome| Ok((outcome, scene.gone()?)));
    told.map_err(|what| format!("seed {seed}: {}: {what}", scene.harm.what))
}

/// A harmed copy.
struct Scene<'a> {
    base: &'a Base,
    harm: Harm,
    /// Leading entries whose lines are where and what they were.
    intact: usize,
    before: Files,
    /// What said which book it is, where that was a file.
    identity: Option<Vec<u8>>,
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
        let (desk, report) = match Desk::open(stored(self.folder), &options) {
            Ok(opened) => opened,
            Err(error) => return self.refused(&error),
        };
        let outcome = runtime.block_on(async {
            let outcome = match &report.read_only {
                Some(reason) => self.read_only(&desk, reason).await,
                None => self.open(&desk).await,
            };
            desk.close().await.map_err(|error| error.to_string())?;
            outcome
        })?;
        if outcome == Outcome::Asked {
            runtime.block_on(self.answered(&options))?;
        }
        Ok(outcome)
    }

    /// What of the bytes that were there is nowhere now. Shelf, lock and marks are made anew and not counted.
    fn gone(&self) -> Result<Gone, String> {
        let journal = self.folder.join("journal");
        let (now, aside) = (files(&journal), cut_off(&journal));
        let gone = Gone::between(&self.before, &now, &aside, &self.base.segments);
        let identity = fs::read(self.folder.join("book.json")).ok();
        hold!(
            self.identity.is_none() || self.identity == identity,
            "book.json was written over"
        );
        hold!(
            gone.deleted_bytes == 0,
            "deleted bytes: {}",
            gone.deleted_bytes
        );
        hold!(
            gone.ends_set_right <= 1,
            "line ends set right: {}",
            gone.ends_set_right
        );
        Ok(gone)
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

    /// The book asks how it ended: nothing may be left that could tell, and nothing be changed.
    async fn asked(&self, desk: &Desk, reason: &str) -> Result<Outcome, String> {
        hold!(
            self.harm.shelf && self.harm.mark,
            "shelf or mark could tell: {reason}"
        );
        hold!(
            reason.contains(&format!("--accept-end {}'", self.intact)),
            "{} entries are intact: {reason}",
            self.intact
        );
        self.takes_nothing(desk).await?;
        let head = desk.standing().head;
        hold!(
            head.seq == Seq(self.intact as u64) && self.base.heads.get(self.intact) == Some(&head),
            "it ends at {head:?}"
        );
        self.reads(desk, self.intact).await?;
        self.journal_is_left_alone()?;
        Ok(Outcome::Asked)
    }

    /// A person says that what is there is all: the book goes on with it, but not against a client that has
    /// seen further.
    async fn answered(&self, options: &DeskOptions) -> Result<(), String> {
        let put_aside = accept_end(self.folder, self.intact as u64);
        let put_aside = put_aside.map_err(|error| error.to_string())?;
        hold!(put_aside > 0, "nothing was put aside");
        let opened = Desk::open(stored(self.folder), options).map_err(|error| error.to_string());
        let (desk, report) = opened?;
        hold!(report.read_only.is_none(), "answered, and {report:?}");
        let outcome = self.open(&desk).await;
        desk.close().await.map_err(|error| error.to_string())?;
        hold!(
            matches!(outcome, Ok(Outcome::Harmless | Outcome::NeedsMemory)),
            "answered, and {outcome:?}"
        );
        Ok(())
    }

    async fn takes_nothing(&self, desk: &Desk) -> Result<(), String> {
        let refused = desk.submit(order(desk)).await;
        hold!(
            matches!(refused, Err(DeskError::ReadOnly { .. })),
            "a command was not refused: {refused:?}"
        );
        Ok(())
    }

    /// The book is read-only: it must say from where, and hold what comes before.
    async fn read_only(&self, desk: &Desk, reason: &str) -> Result<Outcome, String> {
        if reason.contains("--accept-end") {
            return self.asked(desk, reason).await;
        }
        let named = named(reason).ok_or_else(|| format!("no entry is named: {reason}"))?;
        let first_bad = self.intact as u64 + 1;
        hold!(
            named <= first_bad,
            "the first bad one is {first_bad}: {reason}"
        );
        self.takes_nothing(desk).await?;
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
            held == count || self.harm.shelf && self.harm.mark,
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
        self.takes_nothing(desk).await?;
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
