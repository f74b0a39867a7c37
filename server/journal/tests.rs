//! The journal keeps its promises: a group is one sync, and what was appended is read back.

mod damage;
mod fuzz;
mod sweep;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use fettlebook_model::Seq;
use tempfile::TempDir;

use super::{
    FileJournal, FileReader, Head, Journal, JournalError, Line, Mark, Position, Reader as _,
    Survey, survey,
};
use crate::limits::SEGMENT_BYTES_MAX;
use crate::testing::TestDisk;

struct World {
    folder: TempDir,
    disk: TestDisk,
    segment_bytes_max: u64,
}

impl World {
    fn new() -> Self {
        let (folder, disk) = (tempfile::tempdir().unwrap(), TestDisk::new());
        Self {
            folder,
            disk,
            segment_bytes_max: SEGMENT_BYTES_MAX,
        }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn open(&self) -> (FileJournal, Survey) {
        let found = self.survey();
        let disk = Arc::new(self.disk.clone());
        let path = self.path().to_owned();
        (
            FileJournal::open(path, disk, &found, self.segment_bytes_max).unwrap(),
            found,
        )
    }

    fn reader(&self) -> FileReader {
        FileReader::new(self.path().to_owned())
    }

    fn survey(&self) -> Survey {
        survey(self.path(), None, &mut |_| Ok(())).unwrap()
    }

    /// A journal with this many entries, in groups of three.
    fn with_entries(self, count: u64) -> Self {
        let (mut journal, _) = self.open();
        for group in (1..=count).collect::<Vec<_>>().chunks(3) {
            let lines: Vec<Line> = group.iter().map(|seq| line(*seq)).collect();
            let head = journal.head();
            journal.append(&head, &lines).unwrap();
        }
        journal.close().unwrap();
        self
    }

    fn segment(&self, first: u64) -> PathBuf {
        self.path().join(format!("{first:012}.jsonl"))
    }

    fn lines(&self) -> Vec<String> {
        let text = fs::read_to_string(self.segment(1)).unwrap();
        text.lines().map(str::to_owned).collect()
    }

    fn write_lines(&self, lines: &[String]) {
        fs::write(self.segment(1), lines.join("\n") + "\n").unwrap();
    }

    fn entries(&self) -> Vec<u64> {
        let mut seqs = Vec::new();
        survey(self.path(), None, &mut |line| {
            seqs.push(line.mark.at.seq.0);
            Ok(())
        })
        .unwrap();
        seqs
    }
}

fn line(seq: u64) -> Line {
    Line::of(format!(r#"{{"seq":{seq},"note":"washed \"P-07\" – {seq}"}}"#).into_bytes())
}

fn mark_of(world: &World, seq: u64) -> Mark {
    let mut mark = None;
    survey(world.path(), None, &mut |line| {
        if line.mark.at.seq == Seq(seq) {
            mark = Some(line.mark.clone());
        }
        Ok(())
    })
    .unwrap();
    mark.unwrap()
}

#[test]
fn a_group_is_one_write_and_one_sync() {
    let world = World::new();
    let (mut journal, _) = world.open();
    let lines: Vec<Line> = (1..=64).map(line).collect();
    let marks = journal.append(&Head::EMPTY, &lines).unwrap();
    assert_eq!((world.disk.append_count(), world.disk.sync_count()), (1, 1));
    assert_eq!(marks.last().unwrap().head(), journal.head());
    let head = journal.head();
    journal.append(&head, &[line(65)]).unwrap();
    assert_eq!((world.disk.append_count(), world.disk.sync_count()), (2, 2));
    let folder_syncs = world
        .disk
        .0
        .folder_syncs
        .load(std::sync::atomic::Ordering::SeqCst);
    assert_eq!(
        folder_syncs, 1,
        "the folder is synced when its first segment starts, then not"
    );
}

#[test]
fn what_was_appended_is_read_back_byte_for_byte() {
    let world = World::new().with_entries(7);
    let reader = world.reader();
    let read: Vec<String> = reader
        .read(Position::START, Seq(7))
        .unwrap()
        .map(|line| String::from_utf8(line.unwrap().entry).unwrap())
        .collect();
    for (seq, read) in (1..).zip(&read) {
        let group = (seq - 1) / 3 * 3;
        let told = format!(r#""after":{group},"#);
        assert_eq!(read.contains(&told), seq != group + 1, "{read}");
        assert_eq!(read.replace(&told, "").as_bytes(), line(seq).bytes);
    }
    assert_eq!(read.len(), 7);
    let from = mark_of(&world, 5).at;
    let read: Vec<u64> = reader
        .read(from, Seq(6))
        .unwrap()
        .map(|line| line.unwrap().mark.at.seq.0)
        .collect();
    assert_eq!(read, [5, 6]);
}

#[test]
fn a_full_segment_is_followed_by_one_named_after_its_first_entry() {
    let mut world = World::new();
    world.segment_bytes_max = 300;
    let world = world.with_entries(9);
    let mut names: Vec<_> = fs::read_dir(world.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "000000000001.jsonl",
            "000000000004.jsonl",
            "000000000007.jsonl"
        ]
    );
    assert_eq!(world.entries(), (1..=9).collect::<Vec<_>>());
    let folder_syncs = world
        .disk
        .0
        .folder_syncs
        .load(std::sync::atomic::Ordering::SeqCst);
    assert_eq!(folder_syncs, 3);
    let reader = world.reader();
    let from = mark_of(&world, 6).at;
    assert_eq!(
        reader
            .read(from, Seq(9))
            .unwrap()
            .filter(Result::is_ok)
            .count(),
        4
    );
}

#[test]
fn a_segment_that_was_begun_but_never_written_is_used() {
    let world = World::new().with_entries(3);
    fs::write(world.segment(4), "").unwrap();
    let (mut journal, found) = world.open();
    assert_eq!((found.head.seq, found.damage), (Seq(3), None));
    let head = journal.head();
    journal.append(&head, &[line(4)]).unwrap();
    assert_eq!(world.entries(), [1, 2, 3, 4]);
}

#[test]
fn after_a_failed_sync_nothing_is_written_or_synced_again() {
    let world = World::new().with_entries(3);
    let (mut journal, _) = world.open();
    let (head, syncs) = (journal.head(), world.disk.sync_count());
    world.disk.fail_sync_after(0);
    assert!(matches!(
        journal.append(&head, &[line(4)]),
        Err(JournalError::Disk { .. })
    ));
    let bytes = fs::read(world.segment(1)).unwrap();
    for _ in 0..3 {
        assert!(matches!(
            journal.append(&head, &[line(4)]),
            Err(JournalError::Stopped(_))
        ));
    }
    assert_eq!(world.disk.sync_count(), syncs + 1);
    assert_eq!(fs::read(world.segment(1)).unwrap(), bytes);
    assert_eq!(journal.head(), head);
}

#[test]
fn half_a_group_written_before_the_disk_was_full_leaves_a_good_journal() {
    let world = World::new().with_entries(3);
    let (mut journal, _) = world.open();
    let head = journal.head();
    world.disk.fail_append_after(0);
    let lines: Vec<Line> = (4..=9).map(line).collect();
    assert!(journal.append(&head, &lines).is_err());
    drop(journal);
    let (_, found) = world.open();
    assert!(found.damage.is_none());
    let entries = world.entries();
    assert_eq!(entries, (1..=entries.len() as u64).collect::<Vec<_>>());
    assert!((3..9).contains(&entries.len()));
}

/// Source: `tests/verify_journal.py`, written from the format in the module's documentation with
/// nothing of ours.
#[test]
fn a_journal_is_verified_by_a_program_that_shares_nothing_with_ours() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/verify_journal.py");
    let verify = |folder: &Path| Command::new("python3").arg(&script).arg(folder).output();
    let mut world = World::new();
    world.segment_bytes_max = 300;
    let world = world.with_entries(9);
    let output = match verify(world.path()) {
        Ok(output) => output,
        Err(error) => {
            let required = std::env::var_os("FETTLEBOOK_REQUIRE_PYTHON").is_some_and(|v| v == "1");
            assert!(
                !required,
                "python3 is required here but cannot be started: {error}"
            );
            println!("SKIPPED: python3 cannot be started ({error})");
            return;
        }
    };
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{said}");
    assert_eq!(
        said,
        format!("9 entries, head {}\n", world.survey().head.chain)
    );

    let text = fs::read_to_string(world.segment(4)).unwrap();
    fs::write(world.segment(4), text.replace("P-07", "P-08")).unwrap();
    let output = verify(world.path()).unwrap();
    assert!(!output.status.success());
    assert!(
        String::from_utf8(output.stderr)
            .unwrap()
            .contains("entry 4")
    );
}
