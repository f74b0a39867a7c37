//! The pads of the checks that were last shown on this device, and the cautions that were told in full.
//!
//! It serves the log of a job that nobody took, which says where its pads are others than a person was shown,
//! and the check, which tells a caution in full the first time. In a shop the file lies beside the outbox, else in the person's state folder. It is a memory and no
//! record: without it nothing is said, and trouble with it never stops the work.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy as _;
use fettlebook_contract::v1::{CheckLineKind, DeedKind, Entry, JobCheck, PickedPiece};
use serde::{Deserialize, Serialize};

use crate::connect::{Session, Whereabouts};
use crate::file;
use crate::render::tags;
use crate::shop::folder;

/// Format of the file.
const FORMAT: u32 = 1;
/// Name of the file.
const FILE: &str = "shown.json";
/// Most checks that are remembered; those shown longest ago make room.
const CHECKS_MAX: usize = 64;
/// Most cautions that are remembered; one that made room is told in full again.
const CAUTIONS_MAX: usize = 512;

/// A pad of a pick.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Pad {
    tag: String,
    step: String,
    spare: bool,
}

/// The pads of the last check of a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct ShownCheck {
    book: String,
    job: String,
    /// When it was shown.
    pub(crate) shown_time: String,
    /// Its pads.
    pub(crate) pads: Vec<Pad>,
}

/// A caution that was told in full, as it was worded: another wording is another caution.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct ToldCaution {
    book: String,
    text: String,
}

/// The file as it stands.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Remembered {
    format: u32,
    checks: Vec<ShownCheck>,
    #[serde(default)]
    cautions: Vec<ToldCaution>,
}

/// What this device remembers of checks of one book.
pub(crate) struct Shown {
    /// None where there is no folder for it: then nothing is remembered.
    folder: Option<PathBuf>,
    book: String,
    /// What was remembered when it was looked at.
    held: Remembered,
}

impl Shown {
    /// The memory for the book of a session.
    pub(crate) fn of(session: &Session) -> Self {
        match session.whereabouts() {
            Whereabouts::Shop { folder, .. } => Self::kept_in(
                Some(folder.clone()),
                folder::book_id(folder).unwrap_or_default(),
            ),
            Whereabouts::Folder(book) => Self::own(book.display().to_string()),
            Whereabouts::At(address) => Self::own(address.clone()),
        }
    }

    fn own(book: String) -> Self {
        let folder = etcetera::choose_base_strategy().ok().map(|base| {
            let state = base.state_dir().unwrap_or_else(|| base.data_dir());
            state.join("fettlebook")
        });
        Self::kept_in(folder, book)
    }

    fn kept_in(folder: Option<PathBuf>, book: String) -> Self {
        let held = folder.as_deref().map(read).unwrap_or_default();
        Self { folder, book, held }
    }

    /// The last check of a job that was shown here.
    pub(crate) fn last(&self, job: &str) -> Option<ShownCheck> {
        let mut checks = self.held.checks.iter().rev();
        checks.find(|check| self.is_of(check, job)).cloned()
    }

    /// The cautions that were told here in full.
    pub(crate) fn cautions(&self) -> BTreeSet<String> {
        let told = self.held.cautions.iter();
        let of_book = told.filter(|caution| caution.book == self.book);
        of_book.map(|caution| caution.text.clone()).collect()
    }

    /// Remembers checks that were shown, and the cautions of them that were told in full.
    ///
    /// # Errors
    /// What the system says.
    pub(crate) fn remember(
        mut self,
        shown: &[JobCheck],
        told: &[String],
        shown_time: &str,
    ) -> io::Result<()> {
        let Some(folder) = self.folder.take() else {
            return Ok(());
        };
        let Remembered {
            mut checks,
            mut cautions,
            ..
        } = std::mem::take(&mut self.held);
        for text in told {
            let caution = ToldCaution {
                book: self.book.clone(),
                text: text.clone(),
            };
            cautions.retain(|held| *held != caution);
            cautions.push(caution);
        }
        let over = cautions.len().saturating_sub(CAUTIONS_MAX);
        cautions.drain(..over);
        for check in shown {
            checks.retain(|held| !self.is_of(held, &check.job));
            checks.push(ShownCheck {
                book: self.book.clone(),
                job: check.job.clone(),
                shown_time: shown_time.to_owned(),
                pads: pads(check),
            });
        }
        let over = checks.len().saturating_sub(CHECKS_MAX);
        checks.drain(..over);
        let format = FORMAT;
        let text = serde_json::to_vec_pretty(&Remembered {
            format,
            checks,
            cautions,
        })?;
        file::make_folder(&folder)?;
        // Such a file is for its owner alone.
        let mut draft = tempfile::NamedTempFile::new_in(&folder)?;
        draft.write_all(&text)?;
        draft.persist(folder.join(FILE))?;
        Ok(())
    }

    fn is_of(&self, check: &ShownCheck, job: &str) -> bool {
        check.book == self.book && check.job == job
    }
}

/// What is remembered; nothing where that cannot be read.
fn read(folder: &Path) -> Remembered {
    let held = fs::read(folder.join(FILE)).unwrap_or_default();
    let held: Remembered = serde_json::from_slice(&held).unwrap_or_default();
    if held.format == FORMAT {
        held
    } else {
        Remembered::default()
    }
}

/// The pads that a check picks.
fn pads(check: &JobCheck) -> Vec<Pad> {
    let lines = check.lines.iter();
    let lines = lines.filter(|line| line.kind() == CheckLineKind::Pad);
    let picks = lines.flat_map(|line| line.picks.iter().map(|pick| (&line.step, pick)));
    picks
        .map(|(step, pick)| Pad {
            tag: pick.tag.clone(),
            step: step.clone(),
            spare: pick.spare,
        })
        .collect()
}

/// The pads that were taken, as a log starts from them.
pub(crate) fn taken(picked: &[PickedPiece], preview: &Entry) -> Vec<Pad> {
    let is_whole = |one: &&PickedPiece| one.quantity == 1 && !one.step.is_empty();
    let is_other = |one: &PickedPiece| {
        let mut deeds = preview.deeds.iter();
        deeds.any(|deed| {
            let kind = deed.kind();
            deed.subject == one.tag
                && !matches!(kind, DeedKind::PadUsed | DeedKind::TakenAlong)
                && !deed.step.is_empty()
        })
    };
    let pads = picked.iter().filter(is_whole).filter(|one| !is_other(one));
    pads.map(|one| Pad {
        tag: one.tag.clone(),
        step: one.step.clone(),
        spare: one.spare,
    })
    .collect()
}

/// The pads of the steps that a log tells of: of a job of two days it may be one of them.
pub(crate) fn of_the_day(mut shown: Vec<Pad>, log: &Entry) -> Vec<Pad> {
    shown.retain(|pad| {
        let mut deeds = log.deeds.iter();
        deeds.any(|deed| deed.kind() == DeedKind::PadUsed && deed.step == pad.step)
    });
    shown
}

/// Where the pads of a log are others than these, step by step: `cut P-09 for P-03`; nothing where they are
/// not.
pub(crate) fn differences(shown: &[Pad], log: &Entry) -> Option<String> {
    let used = |step: &str| -> Vec<&str> {
        let of_step = log.deeds.iter().filter(|deed| deed.step == step);
        let pads = of_step.filter(|deed| deed.kind() == DeedKind::PadUsed);
        pads.map(|deed| deed.subject.as_str()).collect()
    };
    let mut steps: Vec<&str> = Vec::new();
    let of_shown = shown.iter().map(|pad| pad.step.as_str());
    let of_log = log.deeds.iter();
    let of_log = of_log.filter(|deed| deed.kind() == DeedKind::PadUsed);
    for step in of_shown.chain(of_log.map(|deed| deed.step.as_str())) {
        if !steps.contains(&step) {
            steps.push(step);
        }
    }
    let told: Vec<String> = steps
        .into_iter()
        .filter_map(|step| {
            let working = |pad: &&Pad| pad.step == step && !pad.spare;
            let planned: Vec<&str> = shown
                .iter()
                .filter(working)
                .map(|pad| pad.tag.as_str())
                .collect();
            let used = used(step);
            let more: Vec<&str> = used
                .iter()
                .copied()
                .filter(|tag| !planned.contains(tag))
                .collect();
            let out: Vec<&str> = planned
                .iter()
                .copied()
                .filter(|tag| !used.contains(tag))
                .collect();
            let (more, out) = (tags::ranges(&more), tags::ranges(&out));
            match (more.is_empty(), out.is_empty()) {
                (true, true) => None,
                (false, false) => Some(format!("{step} {more} for {out}")),
                (false, true) => Some(format!("{step} {more} besides")),
                (true, false) => Some(format!("{step} without {out}")),
            }
        })
        .collect();
    (!told.is_empty()).then(|| told.join("; "))
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::{CheckLine, Deed, Pick};

    use super::*;

    fn check(job: &str, pads: &[&str]) -> JobCheck {
        let pick = |tag: &&str| Pick {
            tag: (*tag).to_owned(),
            quantity: 1,
            ..Pick::default()
        };
        let line = CheckLine {
            kind: CheckLineKind::Pad.into(),
            step: "cut".to_owned(),
            picks: pads.iter().map(pick).collect(),
            ..CheckLine::default()
        };
        JobCheck {
            job: job.to_owned(),
            lines: vec![line],
            ..JobCheck::default()
        }
    }

    fn log(pads: &[&str]) -> Entry {
        let deed = |tag: &&str| Deed {
            kind: DeedKind::PadUsed.into(),
            subject: (*tag).to_owned(),
            step: "cut".to_owned(),
            ..Deed::default()
        };
        Entry {
            deeds: pads.iter().map(deed).collect(),
            ..Entry::default()
        }
    }

    #[test]
    fn a_log_of_one_day_is_held_against_the_steps_of_that_day() {
        let pads = |step: &str, tags: &[&str]| {
            let pads = tags.iter().map(|tag| Pad {
                tag: (*tag).to_owned(),
                step: step.to_owned(),
                spare: false,
            });
            pads.collect::<Vec<_>>()
        };
        let both = [pads("cut", &["P-01"]), pads("again", &["P-01", "P-02"])].concat();
        let first = of_the_day(both, &log(&["P-01"]));
        assert_eq!(differences(&first, &log(&["P-01"])), None);
        assert!(differences(&first, &log(&["P-03"])).is_some());
    }

    fn memory(folder: &Path, book: &str) -> Shown {
        Shown::kept_in(Some(folder.to_owned()), book.to_owned())
    }

    #[test]
    fn the_last_check_of_a_job_is_remembered_and_each_book_has_its_own() {
        let folder = tempfile::tempdir().unwrap();
        let one = || memory(folder.path(), "one");
        let other = || memory(folder.path(), "other");
        assert_eq!(one().last("thursday"), None);
        one()
            .remember(&[check("thursday", &["P-01"])], &[], "first")
            .unwrap();
        other()
            .remember(&[check("thursday", &["P-07"])], &[], "first")
            .unwrap();
        one()
            .remember(&[check("thursday", &["P-02"])], &[], "second")
            .unwrap();
        let last = one().last("thursday").unwrap();
        assert_eq!((&*last.shown_time, &*last.pads[0].tag), ("second", "P-02"));
        assert_eq!(other().last("thursday").unwrap().pads[0].tag, "P-07");
        assert_eq!(one().last("friday"), None);
        for job in 0..CHECKS_MAX {
            one()
                .remember(&[check(&format!("job-{job}"), &[])], &[], "third")
                .unwrap();
        }
        assert_eq!(one().last("thursday"), None, "the oldest makes room");
        assert_eq!(read(folder.path()).checks.len(), CHECKS_MAX);
    }

    #[test]
    fn a_file_that_cannot_be_read_is_a_memory_that_is_empty() {
        let folder = tempfile::tempdir().unwrap();
        for text in ["{\"format\":1,\"che", "{\"format\":2,\"checks\":[]}"] {
            fs::write(folder.path().join(FILE), text).unwrap();
            let memory = || memory(folder.path(), "one");
            assert_eq!(memory().last("thursday"), None);
            memory()
                .remember(&[check("thursday", &["P-01"])], &[], "now")
                .unwrap();
            assert!(memory().last("thursday").is_some());
        }
    }

    #[test]
    fn cautions_that_were_told_are_remembered_as_they_were_worded_book_by_book() {
        let folder = tempfile::tempdir().unwrap();
        let one = || memory(folder.path(), "one");
        let other = || memory(folder.path(), "other");
        let told = |text: &str| BTreeSet::from([text.to_owned()]);
        one()
            .remember(&[], &["polish: harms eyes.".to_owned()], "first")
            .unwrap();
        other()
            .remember(&[], &["wipe: burns.".to_owned()], "first")
            .unwrap();
        one().remember(&[], &[], "second").unwrap();
        assert_eq!(one().cautions(), told("polish: harms eyes."));
        assert_eq!(other().cautions(), told("wipe: burns."));
        let old = "{\"format\":1,\"checks\":[]}";
        fs::write(folder.path().join(FILE), old).unwrap();
        assert_eq!(one().cautions(), BTreeSet::new());
    }

    #[cfg(unix)]
    #[test]
    fn the_file_is_for_its_owner_alone() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        memory(folder.path(), "one")
            .remember(&[], &[], "now")
            .unwrap();
        let held = fs::metadata(folder.path().join(FILE)).unwrap();
        assert_eq!(held.permissions().mode() & 0o777, 0o600);
    }

    #[test]
    fn pads_that_differ_are_told_step_by_step() {
        let shown = pads(&check("thursday", &["P-01", "P-02", "P-03"]));
        let told = |used: &[&str]| differences(&shown, &log(used));
        assert_eq!(told(&["P-03", "P-02", "P-01"]), None);
        assert_eq!(
            told(&["P-01", "P-02", "P-09"]).unwrap(),
            "cut P-09 for P-03"
        );
        assert_eq!(
            told(&["P-01", "P-02", "P-03", "P-09"]).unwrap(),
            "cut P-09 besides"
        );
        assert_eq!(told(&["P-01", "P-02"]).unwrap(), "cut without P-03");
        let other = Entry {
            deeds: log(&["P-21"])
                .deeds
                .into_iter()
                .map(|deed| Deed {
                    step: "edges".to_owned(),
                    ..deed
                })
                .collect(),
            ..Entry::default()
        };
        let told = differences(&shown, &other).unwrap();
        assert_eq!(told, "cut without P-01…P-03; edges P-21 besides");
    }

    #[test]
    fn of_what_was_taken_only_the_pads_are_compared() {
        let piece = |tag: &str, quantity| PickedPiece {
            tag: tag.to_owned(),
            step: "cut".to_owned(),
            quantity,
            spare: false,
        };
        let mut preview = log(&["P-01"]);
        preview.deeds.push(Deed {
            kind: DeedKind::MachineUsed.into(),
            subject: "M-01".to_owned(),
            step: "cut".to_owned(),
            ..Deed::default()
        });
        let picked = [piece("M-01", 1), piece("P-01", 1), piece("B-01", 62_000)];
        let pads = taken(&picked, &preview);
        assert_eq!(
            pads.iter().map(|pad| &*pad.tag).collect::<Vec<_>>(),
            ["P-01"]
        );
    }
}
