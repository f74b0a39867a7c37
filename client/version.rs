//! What `--version` tells: the version, the commit, and the formats that are read and written.

use serde_json::{Value, json};

use crate::outbox::FORMAT_NEWEST;
use crate::solo::{Solo, SoloFormat, SoloProgram};

/// This program.
pub(crate) fn program(commit: &'static str, solo: &dyn Solo) -> SoloProgram {
    let mut formats = solo.formats();
    formats.push(SoloFormat {
        what: "outboxes",
        oldest: FORMAT_NEWEST,
        newest: FORMAT_NEWEST,
    });
    SoloProgram {
        name: "fettle",
        version: env!("CARGO_PKG_VERSION"),
        commit,
        formats,
    }
}

/// The same as a document.
pub(crate) fn document(program: &SoloProgram) -> Value {
    let formats = program
        .formats
        .iter()
        .map(|one| json!({ "what": one.what, "oldest": one.oldest, "newest": one.newest }));
    json!({
        "version": program.version,
        "commit": program.commit,
        "formats": formats.collect::<Vec<_>>(),
        "contract": "fettlebook.v1",
    })
}
