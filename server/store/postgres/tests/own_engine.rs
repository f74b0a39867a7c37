//! What only an engine of a test's own can show: a standby that is missing, and a certificate.

use fettlebook_model::Seq;
use fettlebook_yard::engine::{Setting, own_engine};

use super::{line, open, wait_until};
use crate::store::StoreError;
use crate::store::postgres::{Engine, EngineUrl, PostgresStore, tables};
use crate::testing::postgres::ROLE;

/// A commit whose wait for a standby is cancelled is answered as though it were done.
/// Source: PostgreSQL's documentation of `synchronous_commit` and of `pg_cancel_backend`; the answer itself was
/// looked at in version 15.
#[test]
fn a_group_that_no_standby_has_is_not_acknowledged_when_its_wait_is_cancelled() {
    let Some(engine) = own_engine(Setting::default()) else {
        return;
    };
    let database = engine.database(&[tables(0).as_str(), ROLE].concat());
    let node = tempfile::tempdir().unwrap();
    let url = EngineUrl::read(&engine.url("serving", &database), None).unwrap();
    let store = PostgresStore::of(Engine::at(url).unwrap(), node.path().to_owned(), None);
    let (_right, mut journal) = open(&store);
    journal.append(&journal.head(), &[line(1)]).unwrap();
    engine.run(
        &database,
        "ALTER SYSTEM SET synchronous_standby_names = 'ANY 1 (nobody)'",
    );
    engine.run(&database, "SELECT pg_reload_conf()");
    let wanted = || engine.ask(&database, "SHOW synchronous_standby_names") == "ANY 1 (nobody)";
    wait_until(wanted);
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| journal.append(&journal.head(), &[line(2)]).map(drop));
        let waiting = "SELECT count(*) FROM pg_stat_activity WHERE wait_event = 'SyncRep'";
        wait_until(|| engine.ask(&database, waiting) == "1");
        let cancel =
            "SELECT pg_cancel_backend(pid) FROM pg_stat_activity WHERE wait_event = 'SyncRep'";
        assert_eq!(engine.ask(&database, cancel), "t");
        // A look shows the group; what settles it waits for a standby.
        let settles = format!("{waiting} AND query LIKE 'UPDATE%'");
        wait_until(|| engine.ask(&database, &settles) == "1");
        assert_eq!(
            engine.ask(&database, "SELECT head_seq FROM fettle.book"),
            "2"
        );
        assert!(!writer.is_finished(), "no standby has it");
        engine.run(&database, "ALTER SYSTEM RESET synchronous_standby_names");
        engine.run(&database, "SELECT pg_reload_conf()");
        writer.join().unwrap().unwrap();
    });
    assert_eq!(journal.head().seq, Seq(2));
}

#[test]
fn over_tls_the_engine_must_be_whom_its_certificate_is_for() {
    let names = |name: &str| rcgen::generate_simple_self_signed([name.to_owned()]).unwrap();
    let (right, wrong) = (names("127.0.0.1"), names("bench.example"));
    let sealed = (right.cert.pem(), right.signing_key.serialize_pem());
    let setting = Setting {
        sealed: Some((&sealed.0, &sealed.1)),
        ..Setting::default()
    };
    let Some(engine) = own_engine(setting) else {
        return;
    };
    let database = engine.database(&[tables(0).as_str(), ROLE].concat());
    let folder = tempfile::tempdir().unwrap();
    let url = format!(
        "postgres://serving@127.0.0.1:{}/{database}?sslmode=require",
        engine.port()
    );
    let at = |authority: &str| {
        let file = folder.path().join("authority.pem");
        std::fs::write(&file, authority).unwrap();
        Engine::at(EngineUrl::read(&url, Some(&file)).unwrap())
    };
    let store = PostgresStore::of(at(&sealed.0).unwrap(), folder.path().to_owned(), None);
    let (_right, mut journal) = open(&store);
    journal.append(&journal.head(), &[line(1)]).unwrap();
    let sealed_count = "SELECT count(*) > 0 AND bool_and(ssl) FROM pg_stat_ssl JOIN pg_stat_activity \
                        USING (pid) WHERE usename = 'serving'";
    assert_eq!(engine.ask(&database, sealed_count), "t");
    let refused = at(&wrong.cert.pem());
    assert!(
        matches!(&refused, Err(StoreError::Engine { what, .. }) if what.contains("certificate")),
        "{refused:?}"
    );
}
