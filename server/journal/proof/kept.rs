//! The file in which a proof is kept: a cache, which tells by itself when it is not what was written.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::thread;
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{ProofPlace, Proven, Reached};
use crate::journal::chain::Chain;
use crate::journal::disk::{Disk as _, RealDisk};
use crate::limits::TICK_WAIT_MAX;

/// Name of the file.
const PROOF_FILE: &str = "audited.json";

/// Its format.
const PROOF_FORMAT: u32 = 1;

/// How often it is looked whether the clock of the disk has moved on.
const TICK_LOOK_EVERY: Duration = Duration::from_millis(1);

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ProofFile {
    format: u32,
    incarnation_id: Uuid,
    end: Reached,
    files: Vec<Proven>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    check: Option<Chain>,
}

/// What is kept, unless it is of another incarnation, another format, or not what was written.
pub(super) fn read(place: &ProofPlace) -> Option<(Vec<Proven>, Reached)> {
    let text = fs::read(place.folder.join(PROOF_FILE)).ok()?;
    let mut file: ProofFile = serde_json::from_slice(&text).ok()?;
    let check = file.check.take()?;
    let sum = Chain::ZERO.link(&serde_json::to_vec(&file).ok()?);
    let fits = check == sum && file.format == PROOF_FORMAT && file.incarnation_id == place.owner;
    fits.then_some((file.files, file.end))
}

/// Writes the proof down. A file that was changed at the very moment that the disk's clock shows is
/// left out: it could be changed once more without another time to show for it.
pub(super) fn write(place: &ProofPlace, files: &[Proven], end: &Reached) -> io::Result<()> {
    let newest_ns = files.iter().map(|file| file.facts.changed_ns).max();
    let (draft, begun) = (place.folder.join("audited.json.new"), Instant::now());
    let now_ns = loop {
        fs::write(&draft, "")?;
        let now_ns = RealDisk.facts(&draft)?.modified_ns;
        if newest_ns.is_none_or(|newest_ns| newest_ns < now_ns) || begun.elapsed() > TICK_WAIT_MAX {
            break now_ns;
        }
        thread::sleep(TICK_LOOK_EVERY);
    };
    let young = files
        .iter()
        .position(|file| file.facts.changed_ns >= now_ns);
    let young = young.and_then(|at| Some((at, files.get(at)?)));
    let (files, end) = match young {
        Some((at, file)) => (files.get(..at).unwrap_or_default(), &file.start),
        None => (files, end),
    };
    let mut file = ProofFile {
        format: PROOF_FORMAT,
        incarnation_id: place.owner,
        end: end.clone(),
        files: files.to_vec(),
        check: None,
    };
    file.check = Some(Chain::ZERO.link(&serde_json::to_vec(&file).map_err(io::Error::other)?));
    let text = serde_json::to_vec(&file).map_err(io::Error::other)?;
    File::create(&draft)?.write_all(&[&text[..], b"\n"].concat())?;
    fs::rename(draft, place.folder.join(PROOF_FILE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::FileFacts;
    use crate::journal::Position;
    use fettlebook_model::Seq;

    /// A file that was changed now, by the disk's clock, could be changed again without another time.
    #[test]
    fn a_file_that_is_too_young_is_left_out() {
        let folder = tempfile::tempdir().unwrap();
        let place = ProofPlace {
            journal: folder.path().join("journal"),
            folder: folder.path().to_owned(),
            owner: Uuid::now_v7(),
        };
        let file = |segment, changed_ns| Proven {
            start: Reached {
                next: Position {
                    seq: Seq(segment),
                    segment,
                    offset: 0,
                },
                chain: Chain::ZERO,
            },
            facts: FileFacts {
                device: 1,
                inode: segment,
                link_count: 1,
                byte_count: 10,
                modified_ns: changed_ns,
                changed_ns,
            },
        };
        let (old, young) = (file(1, 0), file(50, i64::MAX));
        let end = file(99, 0).start;
        write(&place, &[old.clone(), young.clone()], &end).unwrap();
        assert_eq!(read(&place), Some((vec![old.clone()], young.start)));
        write(&place, &[old.clone(), file(50, 0)], &end).unwrap();
        assert_eq!(read(&place), Some((vec![old, file(50, 0)], end)));
    }
}
