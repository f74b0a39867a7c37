//! Certificates as a client's own library sees them: good under every name, with the clock off by a
//! day, renewed in time, and refused in words when they are somebody else's.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use fettlebook_model::Moment;
use rcgen::{CertificateParams, KeyPair, date_time_ymd};
use tokio_rustls::rustls::client::WebPkiServerVerifier;
use tokio_rustls::rustls::client::danger::ServerCertVerifier as _;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::{Error, RootCertStore};

use super::{CertificateError, Credentials, Fingerprint, SERVICE_NAME};
use crate::store::{Cabinet, FolderStore, Store as _};

const DAY_S: i64 = 24 * 3_600;

fn at_day(day: i64) -> Moment {
    let start: Moment = "2026-06-03T18:00:00Z".parse().unwrap();
    Moment::from_second(start.as_second() + day * DAY_S).unwrap()
}

fn cabinet(book: &Path) -> Arc<dyn Cabinet> {
    FolderStore::at(book).cabinet()
}

fn own(book: &Path, day: i64) -> Credentials {
    Credentials::own(&*cabinet(book), &["192.0.2.7".to_owned()], at_day(day)).unwrap()
}

/// What a client finds that has the last certificate of the chain as its only root.
fn found_by_client(chain: &[CertificateDer<'static>], name: &str, day: i64) -> Result<(), Error> {
    let mut roots = RootCertStore::empty();
    roots.add(chain.last().unwrap().clone()).unwrap();
    let provider = Arc::new(ring::default_provider());
    let verifier = WebPkiServerVerifier::builder_with_provider(roots.into(), provider);
    let name = ServerName::try_from(name).unwrap().to_owned();
    let second = u64::try_from(at_day(day).as_second()).unwrap();
    let now = UnixTime::since_unix_epoch(std::time::Duration::from_secs(second));
    let verifier = verifier.build().unwrap();
    let found = verifier.verify_server_cert(&chain[0], &chain[1..], &name, &[], now);
    found.map(drop)
}

/// Source: the verifier of rustls: it believes the certificate at that very second and not at the next.
#[test]
fn its_end_is_told_as_a_client_finds_it() {
    let book = tempfile::tempdir().unwrap();
    let held = own(book.path(), 0);
    let end: Moment = "2028-06-03T00:00:00Z".parse().unwrap();
    assert_eq!(held.good_until(), Some(end));
    assert_eq!(found_by_client(&held.chain, SERVICE_NAME, 730), Ok(()));
    assert!(found_by_client(&held.chain, SERVICE_NAME, 731).is_err());
}

/// Source: the verifier of rustls, as clients use it.
#[test]
fn a_client_believes_it_under_every_name_with_its_clock_off_by_a_day() {
    let book = tempfile::tempdir().unwrap();
    let held = own(book.path(), 0);
    for name in [SERVICE_NAME, "localhost", "127.0.0.1", "::1", "192.0.2.7"] {
        for day in [-1, 0, 1, 700] {
            assert_eq!(
                found_by_client(&held.chain, name, day),
                Ok(()),
                "{name} {day}"
            );
        }
        assert!(found_by_client(&held.chain, name, 732).is_err(), "{name}");
    }
    assert!(found_by_client(&held.chain, "192.0.2.8", 0).is_err());
}

#[test]
fn the_authority_stays_and_the_leaf_is_renewed_ninety_days_before_its_end() {
    let book = tempfile::tempdir().unwrap();
    let first = own(book.path(), 0);
    let again = own(book.path(), 600);
    assert_eq!(first.chain, again.chain);
    let renewed = own(book.path(), 650);
    assert_ne!(first.chain[0], renewed.chain[0]);
    assert_eq!(first.chain[1], renewed.chain[1]);
    assert_eq!(first.fingerprint(), renewed.fingerprint());
    assert_eq!(found_by_client(&renewed.chain, SERVICE_NAME, 1_300), Ok(()));
}

#[test]
fn a_machine_with_another_address_gets_a_leaf_for_it() {
    let book = tempfile::tempdir().unwrap();
    let first = own(book.path(), 0);
    let hosts = ["192.0.2.8".to_owned(), "bench.example".to_owned()];
    let moved = Credentials::own(&*cabinet(book.path()), &hosts, at_day(1)).unwrap();
    assert!(moved.stands_for("192.0.2.8") && moved.stands_for("bench.example"));
    assert!(!first.stands_for("192.0.2.8"));
    assert_eq!(first.fingerprint(), moved.fingerprint());
}

#[test]
fn a_leaf_that_is_spoilt_is_made_anew_and_an_authority_that_is_says_so() {
    let book = tempfile::tempdir().unwrap();
    let first = own(book.path(), 0);
    let file = |name: &str| book.path().join("access").join(name);
    fs::copy(file("authority.key"), file("leaf.key")).unwrap();
    let again = own(book.path(), 0);
    assert_ne!(first.chain[0], again.chain[0]);
    fs::write(file("authority.key"), "spoilt").unwrap();
    let error = Credentials::own(&*cabinet(book.path()), &[], at_day(0)).unwrap_err();
    assert!(error.to_string().contains("authority.pem"), "{error}");
}

/// A chain in PEM, and the key of its first certificate.
struct Files {
    folder: tempfile::TempDir,
}

impl Files {
    fn new(chain: &str, key: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("chain.pem"), chain).unwrap();
        fs::write(folder.path().join("key.pem"), key).unwrap();
        Self { folder }
    }

    fn read(&self) -> Result<Credentials, CertificateError> {
        let (chain, key) = (
            self.folder.path().join("chain.pem"),
            self.folder.path().join("key.pem"),
        );
        Credentials::given(&chain, &key, at_day(0))
    }
}

/// A self-signed certificate for a host that is good from one year to another.
fn self_signed(from: i32, until: i32) -> (String, String) {
    let key = KeyPair::generate().unwrap();
    let mut params = CertificateParams::new(["bench.example".to_owned()]).unwrap();
    params.not_before = date_time_ymd(from, 1, 1);
    params.not_after = date_time_ymd(until, 1, 1);
    let certificate = params.self_signed(&key).unwrap();
    (certificate.pem(), key.serialize_pem())
}

#[test]
fn a_shops_own_certificate_is_served_and_its_last_one_is_what_devices_hold_on_to() {
    let (pem, key) = self_signed(2026, 2028);
    let held = Files::new(&pem, &key).read().unwrap();
    assert_eq!(held.fingerprint(), Fingerprint::of(&held.chain[0]));
    assert!(held.stands_for("bench.example"));
    assert_eq!(found_by_client(&held.chain, "bench.example", 0), Ok(()));

    let book = tempfile::tempdir().unwrap();
    let own = own(book.path(), 0);
    let text = |name: &str| fs::read_to_string(book.path().join("access").join(name)).unwrap();
    let chain = text("leaf.pem") + &text("authority.pem");
    let held = Files::new(&chain, &text("leaf.key")).read().unwrap();
    assert_eq!(held.fingerprint(), own.fingerprint());
}

#[test]
fn what_no_device_would_believe_is_refused_in_words() {
    let (pem, key) = self_signed(2026, 2028);
    let (other_pem, other_key) = self_signed(2026, 2028);
    let (old, old_key) = self_signed(2020, 2022);
    let (early, early_key) = self_signed(2030, 2032);
    let backwards = format!("{other_pem}{pem}");
    for (chain, key, word) in [
        (pem.as_str(), other_key.as_str(), "does not belong"),
        (&old, &old_key, "not good today"),
        (&early, &early_key, "not good today"),
        (&backwards, &other_key, "No device would believe"),
        ("", &key, "cannot be read"),
        (&pem, "", "cannot be read"),
        (&key, &pem, "cannot be read"),
        (
            "-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n",
            &key,
            "No device",
        ),
    ] {
        let error = Files::new(chain, key).read().unwrap_err().to_string();
        assert!(error.contains(word), "{word}: {error}");
    }
    let gone = Path::new("no-such-file.pem");
    let error = Credentials::given(gone, gone, at_day(0)).unwrap_err();
    assert!(error.to_string().contains("no-such-file.pem"), "{error}");
}
