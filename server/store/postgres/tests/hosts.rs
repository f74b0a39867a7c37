//! An engine of several hosts, some of which keep silent.

use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::time::{Duration, Instant};

use super::{Place, line, open};
use crate::limits::ENGINE_CONNECT_WAIT_MAX;
use crate::store::StoreError;
use crate::store::postgres::{Engine, EngineUrl, PostgresStore};

/// A folder as an address names it.
fn escaped(folder: &Path) -> String {
    folder.display().to_string().replace('/', "%2F")
}

/// One that lets a session begin and keeps silent, as one does that is held up, and one where nobody is.
#[test]
fn hosts_that_keep_silent_hold_up_nobody_while_another_answers() {
    let Some(place) = Place::new() else { return };
    let folder = tempfile::tempdir().unwrap();
    let _silent = UnixListener::bind(folder.path().join(".s.PGSQL.5432")).unwrap();
    let silent = escaped(folder.path());
    let url = place.url.replace('@', &format!("@{silent},%2Fnowhere,"));
    let start = Instant::now();
    let engine = Engine::at(EngineUrl::read(&url, None).unwrap()).unwrap();
    let store = PostgresStore::of(engine, place.node.path().to_owned(), None);
    let (_right, mut journal) = open(&store);
    journal.append(&journal.head(), &[line(1)]).unwrap();
    assert!(start.elapsed() < ENGINE_CONNECT_WAIT_MAX);
}

/// As when a leader is held up until a standby has taken its place.
#[test]
fn a_host_that_takes_over_while_another_keeps_silent_is_found_then() {
    let Some(place) = Place::new() else { return };
    let folder = tempfile::tempdir().unwrap();
    let _silent = UnixListener::bind(folder.path().join(".s.PGSQL.5432")).unwrap();
    let (before, rest) = place.url.split_once('@').unwrap();
    let (host, database) = rest.split_once('/').unwrap();
    let later = folder.path().join("later");
    let (silent, soon) = (escaped(folder.path()), escaped(&later));
    let url = format!("{before}@{silent},{soon}/{database}");
    std::thread::scope(|scope| {
        scope.spawn(|| {
            std::thread::sleep(Duration::from_millis(200));
            symlink(host.replace("%2F", "/"), &later).unwrap();
        });
        Engine::at(EngineUrl::read(&url, None).unwrap()).unwrap();
    });
}

#[test]
fn hosts_that_all_refuse_are_told_of_at_once() {
    let start = Instant::now();
    let url = EngineUrl::read("postgres://serving@%2Fnowhere,%2Fneither/kit", None).unwrap();
    let refused = Engine::at(url);
    assert!(
        matches!(&refused, Err(StoreError::Engine { what, .. }) if what.contains("No such file")),
        "{refused:?}"
    );
    assert!(start.elapsed() < ENGINE_CONNECT_WAIT_MAX);
}
