//! A device: an outbox in a plain file and a copy in memory, either of which can be made to fail.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use fettlebook_contract::call::Keepable;
use jiff::Timestamp;
use prost::bytes::Bytes;
use tempfile::TempDir;
use tonic::Status;
use tonic::transport::Channel;

use super::shop::{Reply, bottle, entry, inside};
use crate::outbox::keepable::told as told_of;
use crate::outbox::{Folded, Outbox};
use crate::shop::folder;
use crate::solo::{
    AgainstBackup, BackupInto, Local, OutboxFile, OutboxHeld, Solo, SoloBackup, SoloBookSaid,
    SoloClock, SoloCopy, SoloCopyOf, SoloError, SoloErrorKind, SoloFormat, SoloMend, SoloMended,
    SoloPruned, SoloRescued, SoloServe, SoloServed, SoloSession,
};

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Trouble {
    /// The disk is full.
    Full,
    /// The outbox is damaged.
    Damaged,
    /// Another process has the outbox.
    Held,
}

#[derive(Default)]
struct Inner {
    trouble: Option<Trouble>,
    copy: Option<SoloCopy>,
    /// Entries that the copy was given, and what it was asked, in order.
    copied: Vec<Vec<u8>>,
    asked: Vec<String>,
    /// What the copy refuses, by a word of the deed.
    refused: Vec<(String, Status)>,
    append_count: usize,
}

/// A device, and the folder it keeps things in.
#[derive(Clone)]
pub(crate) struct Device {
    folder: Arc<TempDir>,
    inner: Arc<Mutex<Inner>>,
}

impl Device {
    /// A device with nothing on it. It lives as long as the tests do.
    pub(crate) fn new() -> &'static Self {
        Box::leak(Box::new(Self {
            folder: Arc::new(tempfile::tempdir().unwrap()),
            inner: Arc::default(),
        }))
    }

    pub(crate) fn folder(&self) -> PathBuf {
        self.folder.path().join("shop")
    }

    pub(crate) fn suffer(&self, trouble: Option<Trouble>) {
        self.inner.lock().unwrap().trouble = trouble;
    }

    /// Gives it a copy that is so many hours old.
    pub(crate) fn take_copy(&self, head_seq: i64, age_h: i64) {
        let now = crate::clock::now(&SoloClock::System);
        self.inner.lock().unwrap().copy = Some(SoloCopy {
            book_id: "book".to_owned(),
            incarnation_id: "book".to_owned(),
            head_seq,
            as_of_time: now - jiff::SignedDuration::from_hours(age_h),
        });
    }

    /// Has the copy refuse what has this word in it.
    pub(crate) fn copy_refuses(&self, word: &str, status: Status) {
        let mut inner = self.inner.lock().unwrap();
        inner.refused.push((word.to_owned(), status));
    }

    /// What the copy was asked, in order.
    pub(crate) fn asked(&self) -> Vec<String> {
        self.inner.lock().unwrap().asked.clone()
    }

    /// Entries of the copy.
    pub(crate) fn copied(&self) -> usize {
        self.inner.lock().unwrap().copied.len()
    }

    /// How often the outbox was written to.
    pub(crate) fn append_count(&self) -> usize {
        self.inner.lock().unwrap().append_count
    }

    /// What is in the outbox.
    pub(crate) fn outbox(&self) -> Folded {
        let outbox = Outbox::open(self, &folder::outbox(&self.folder())).unwrap();
        outbox.folded().clone()
    }

    fn lines(folder: &Path) -> Vec<Vec<u8>> {
        let text = fs::read(folder.join("lines")).unwrap_or_default();
        let lines = text.split(|byte| *byte == b'\n');
        lines
            .filter(|line| !line.is_empty())
            .map(<[u8]>::to_vec)
            .collect()
    }
}

struct File {
    path: PathBuf,
    lines: Vec<Vec<u8>>,
    inner: Arc<Mutex<Inner>>,
}

impl OutboxFile for File {
    fn lines(&self) -> &[Vec<u8>] {
        &self.lines
    }

    fn append(&mut self, lines: &[Vec<u8>]) -> Result<(), SoloError> {
        let mut inner = self.inner.lock().unwrap();
        if inner.trouble == Some(Trouble::Full) {
            return Err(failed("No space left on device.", SoloErrorKind::Failed));
        }
        inner.append_count += 1;
        self.lines.extend_from_slice(lines);
        fs::write(&self.path, self.lines.join(&b'\n')).unwrap();
        Ok(())
    }
}

struct Held;

impl OutboxHeld for Held {}

fn failed(message: &str, kind: SoloErrorKind) -> SoloError {
    SoloError {
        message: message.to_owned(),
        kind,
    }
}

fn not_asked() -> SoloError {
    failed("No test asks for this.", SoloErrorKind::Failed)
}

impl Solo for Device {
    fn open<'a>(&'a self, _: &'a Path, _: SoloClock) -> Local<'a, Result<SoloSession, SoloError>> {
        Box::pin(async { Err(not_asked()) })
    }

    fn look<'a>(&'a self, _: &'a Path, _: SoloClock) -> Local<'a, Result<SoloSession, SoloError>> {
        Box::pin(async { Err(not_asked()) })
    }

    fn reach<'a>(&'a self, _: &'a Path) -> Local<'a, Option<Channel>> {
        Box::pin(async { None })
    }

    fn serve<'a>(
        &'a self,
        _: &'a SoloServe,
        _: SoloClock,
    ) -> Local<'a, Result<SoloServed, SoloError>> {
        Box::pin(async { Err(not_asked()) })
    }

    fn invite(&self, _: &Path, _: &str) -> Result<String, SoloError> {
        Err(not_asked())
    }

    fn begin_backup(&self, _: &Path) -> Result<Box<dyn BackupInto>, SoloError> {
        Err(not_asked())
    }

    fn formats(&self) -> Vec<SoloFormat> {
        Vec::new()
    }

    fn begin_backup_into(
        &self,
        _: &Path,
        _: &str,
        _: Timestamp,
    ) -> Result<(PathBuf, Box<dyn BackupInto>), SoloError> {
        Err(not_asked())
    }

    fn prune_backups(
        &self,
        _: &Path,
        _: &str,
        _: usize,
        _: Timestamp,
    ) -> Result<SoloPruned, SoloError> {
        Err(not_asked())
    }

    fn restore(&self, _: &Path, _: &Path) -> Result<SoloBackup, SoloError> {
        Err(not_asked())
    }

    fn begin_against(
        &self,
        _: &Path,
        _: &SoloBookSaid,
    ) -> Result<Box<dyn AgainstBackup>, SoloError> {
        Err(not_asked())
    }

    fn mend(&self, _: &SoloMend) -> Result<SoloMended, SoloError> {
        Err(not_asked())
    }

    fn accept_end(&self, _: &Path, _: i64) -> Result<i64, SoloError> {
        Err(not_asked())
    }

    fn open_outbox(&self, folder: &Path) -> Result<Box<dyn OutboxFile>, SoloError> {
        if self.inner.lock().unwrap().trouble == Some(Trouble::Damaged) {
            let what = "The outbox in shop/outbox is damaged: its line 2 was changed.";
            return Err(failed(what, SoloErrorKind::Damaged));
        }
        fs::create_dir_all(folder).unwrap();
        Ok(Box::new(File {
            path: folder.join("lines"),
            lines: Self::lines(folder),
            inner: Arc::clone(&self.inner),
        }))
    }

    fn rescue_outbox(&self, folder: &Path) -> Result<SoloRescued, SoloError> {
        let lines = Self::lines(folder).into_iter();
        let lines = lines
            .enumerate()
            .map(|(at, line)| (at != 1).then_some(line));
        Ok(SoloRescued {
            lines: lines.collect(),
        })
    }

    fn replace_outbox(&self, folder: &Path, lines: &[Vec<u8>]) -> Result<PathBuf, SoloError> {
        self.suffer(None);
        fs::write(folder.join("lines"), lines.join(&b'\n')).unwrap();
        Ok(folder.with_extension("damaged-1"))
    }

    fn hold_outbox(&self, _: &Path) -> Result<Box<dyn OutboxHeld>, SoloError> {
        if self.inner.lock().unwrap().trouble == Some(Trouble::Held) {
            return Err(failed("The outbox is in use.", SoloErrorKind::Held));
        }
        Ok(Box::new(Held))
    }

    fn copy_standing(&self, _: &Path) -> Result<Option<SoloCopy>, SoloError> {
        Ok(self.inner.lock().unwrap().copy.clone())
    }

    fn extend_copy(
        &self,
        _: &Path,
        of: &SoloCopyOf,
        entries: &[Vec<u8>],
    ) -> Result<SoloCopy, SoloError> {
        let mut inner = self.inner.lock().unwrap();
        inner.copied.extend_from_slice(entries);
        let copy = SoloCopy {
            book_id: of.book_id.clone(),
            incarnation_id: of.incarnation_id.clone(),
            head_seq: i64::try_from(inner.copied.len()).unwrap(),
            as_of_time: of.as_of_time,
        };
        inner.copy = Some(copy.clone());
        Ok(copy)
    }

    fn open_copy<'a>(&'a self, _: &'a Path) -> Local<'a, Result<SoloSession, SoloError>> {
        let inner = Arc::clone(&self.inner);
        Box::pin(async move {
            let handler = move |path: &str, message: Bytes| answer(&inner, path, &message);
            Ok(SoloSession {
                channel: inside(Arc::new(handler)).await,
                notices: Vec::new(),
                finish: Box::pin(async {}),
            })
        })
    }
}

/// The copy's answers: it imagines deeds, and every bottle in it holds 0.3 l.
fn answer(inner: &Mutex<Inner>, path: &str, message: &Bytes) -> Reply {
    let mut inner = inner.lock().unwrap();
    let Some(deed) = Keepable::decode(path, message) else {
        let name = path.rsplit('/').next().unwrap_or_default();
        inner.asked.push(name.to_owned());
        return Reply::Answer(bottle("B-03", 300_000));
    };
    let deed = deed.unwrap();
    let told = told_of(&deed);
    inner.asked.push(told.clone());
    let refused = inner.refused.iter().find(|(word, _)| told.contains(word));
    match refused {
        Some((_, status)) => Reply::Refuse(status.clone()),
        None => Reply::Answer(entry(0, &deed)),
    }
}
