//! What each device is shown, by the library's own clients, and how much is remembered of what was looked for.

use std::sync::atomic::{AtomicUsize, Ordering};

use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, DistinguishedName, RootCertStore, crypto::ring};

use super::*;
use crate::desk::{Clock as _, SystemClock};
use crate::serve::seals::Seals;
use crate::serve::wire::{Wire, seal};
use crate::store::{FolderStore, Store as _};
use std::time::Duration;

/// Books of which each has an authority of its own, in a folder of its own.
struct Books {
    folder: tempfile::TempDir,
    /// How often one was looked for.
    looked: Arc<AtomicUsize>,
}

impl Books {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            looked: Arc::default(),
        }
    }

    fn own(&self, name: &str) -> Credentials {
        let place = self.folder.path().join(name);
        std::fs::create_dir(&place).unwrap();
        let store = FolderStore::at(place);
        Credentials::own(&*store.cabinet(), &[], SystemClock.now()).unwrap()
    }

    fn seals(&self) -> BookSeals {
        let (folder, looked) = (self.folder.path().to_owned(), Arc::clone(&self.looked));
        BookSeals::found_by(move |book| {
            looked.fetch_add(1, Ordering::SeqCst);
            if book.is_max() {
                return Err(AccessError::NoRandom);
            }
            let store = FolderStore::at(folder.join(book.to_string()));
            Credentials::beside_others(&*store.cabinet(), &[], SystemClock.now())
        })
    }

    fn looked(&self) -> usize {
        self.looked.load(Ordering::SeqCst)
    }
}

fn id(number: u128) -> Uuid {
    Uuid::from_u128(number)
}

fn hint(fingerprint: Fingerprint, book: Uuid) -> Hint {
    Hint {
        fingerprint: fingerprint.0,
        book_id: Some(book.to_string()),
    }
}

/// What is shown at the end of a chain to a client that believes this certificate and says these names.
async fn shown(
    seals: &Seals,
    root: &CertificateDer<'static>,
    named: Vec<DistinguishedName>,
) -> Option<Fingerprint> {
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let mut roots = RootCertStore::empty();
    roots.add(root.clone()).unwrap();
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()));
    let config = config.with_safe_default_protocol_versions().unwrap();
    let verifier = Named {
        named,
        inner: tokio_rustls::rustls::client::WebPkiServerVerifier::builder_with_provider(
            Arc::new(roots),
            Arc::new(ring::default_provider()),
        )
        .build()
        .unwrap(),
    };
    let config = config
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(verifier))
        .with_no_client_auth();
    let dialling = async {
        let tcp = tokio::net::TcpStream::connect(address).await.unwrap();
        let name = ServerName::try_from("localhost").unwrap();
        TlsConnector::from(Arc::new(config))
            .connect(name, tcp)
            .await
    };
    let sealing = async {
        let (tcp, _) = listener.accept().await.unwrap();
        seal(tcp, seals.clone(), Duration::from_secs(10), || true).await
    };
    let (dialled, sealed) = tokio::join!(dialling, sealing);
    let dialled = dialled.ok()?;
    assert!(matches!(sealed, Some(Wire::Sealed(_))));
    let chain = dialled.get_ref().1.peer_certificates().unwrap();
    Some(Fingerprint::of(chain.last().unwrap()))
}

/// A verifier of the library that says names of authorities.
#[derive(Debug)]
struct Named {
    named: Vec<DistinguishedName>,
    inner: Arc<tokio_rustls::rustls::client::WebPkiServerVerifier>,
}

mod verifier {
    use tokio_rustls::rustls::client::danger::{
        HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier,
    };
    use tokio_rustls::rustls::pki_types::UnixTime;
    use tokio_rustls::rustls::{DigitallySignedStruct, Error, SignatureScheme};

    use super::*;

    impl ServerCertVerifier for Named {
        fn verify_server_cert(
            &self,
            leaf: &CertificateDer<'_>,
            between: &[CertificateDer<'_>],
            name: &ServerName<'_>,
            stapled: &[u8],
            now: UnixTime,
        ) -> Result<ServerCertVerified, Error> {
            self.inner
                .verify_server_cert(leaf, between, name, stapled, now)
        }

        fn verify_tls12_signature(
            &self,
            message: &[u8],
            leaf: &CertificateDer<'_>,
            signed: &DigitallySignedStruct,
        ) -> Result<HandshakeSignatureValid, Error> {
            self.inner.verify_tls12_signature(message, leaf, signed)
        }

        fn verify_tls13_signature(
            &self,
            message: &[u8],
            leaf: &CertificateDer<'_>,
            signed: &DigitallySignedStruct,
        ) -> Result<HandshakeSignatureValid, Error> {
            self.inner.verify_tls13_signature(message, leaf, signed)
        }

        fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
            self.inner.supported_verify_schemes()
        }

        fn root_hint_subjects(&self) -> Option<&[DistinguishedName]> {
            Some(self.named.as_slice()).filter(|named| !named.is_empty())
        }
    }
}

#[tokio::test]
async fn each_device_is_shown_what_it_believes_and_whoever_says_nothing_what_everyone_is() {
    let books = Books::new();
    let (node, one, two) = (
        books.own("node"),
        books.own(&id(1).to_string()),
        books.own(&id(2).to_string()),
    );
    let leaf = books
        .folder
        .path()
        .join(id(1).to_string())
        .join("access/leaf.pem");
    let kept = std::fs::read(&leaf).unwrap();
    let seals = Seals::with(&node).unwrap().beside_books(books.seals());
    let name = |credentials: &Credentials, book: Uuid| {
        let hint = hint(credentials.fingerprint(), book);
        DistinguishedName::in_sequence(&hint.to_parts())
    };
    let other = || DistinguishedName::in_sequence(&[0x31, 0]);
    let root = |credentials: &Credentials| credentials.chain().last().unwrap().clone();
    for (believes, says, is_shown) in [
        (&node, vec![], true),
        (&node, vec![other()], true),
        (&node, vec![name(&node, id(1))], true),
        (&node, vec![name(&one, id(2))], true),
        (&one, vec![name(&one, id(1))], true),
        (&one, vec![other(), name(&one, id(1)), other()], true),
        (&two, vec![name(&two, id(2))], true),
        // An earlier device beside several books, a certificate that is another book's, a book that is not here.
        (&one, vec![], false),
        (&one, vec![name(&one, id(2))], false),
        (&one, vec![name(&one, id(3))], false),
    ] {
        let found = shown(&seals, &root(believes), says.clone()).await;
        let wanted = is_shown.then(|| believes.fingerprint());
        assert_eq!(found, wanted, "{says:?}");
    }
    // Whoever believes nothing that is named here meets what everyone is shown.
    let found = shown(&seals, &root(&node), vec![name(&one, id(3))]).await;
    assert_eq!(found, Some(node.fingerprint()));
    // The leaf of a book beside others is written nowhere.
    assert_eq!(std::fs::read(&leaf).unwrap(), kept);
}

#[tokio::test]
async fn a_book_is_looked_for_once_and_so_many_are_remembered() {
    let books = Books::new();
    let one = books.own(&id(1).to_string()).fingerprint();
    let seals = books.seals();
    for _ in 0..3 {
        assert!(seals.sealing(&hint(one, id(1))).await.unwrap().is_some());
    }
    assert_eq!(books.looked(), 1);
    // What is not there is looked for again: it may have begun meanwhile.
    for _ in 0..2 {
        assert!(seals.sealing(&hint(one, id(9))).await.unwrap().is_none());
    }
    assert_eq!((books.looked(), seals.all().len()), (3, 1));
    let held = seals.all()[&id(1)].clone();
    for number in 2..u128::try_from(BOOK_SEALS_MAX).unwrap() + 10 {
        let used = Instant::now();
        seals.remember(
            id(number),
            Held {
                used,
                ..held.clone()
            },
        );
        seals.remembered(id(1));
    }
    assert_eq!(seals.all().len(), BOOK_SEALS_MAX);
    assert!(seals.remembered(id(1)).is_some(), "the one that is used");
    assert!(seals.remembered(id(2)).is_none(), "the one that is not");
}

#[tokio::test]
async fn an_engine_that_does_not_tell_shows_nothing_else_instead() {
    let books = Books::new();
    let node = books.own("node");
    let seals = Seals::with(&node).unwrap().beside_books(books.seals());
    let wanted = hint(Fingerprint([7; 32]), Uuid::max());
    assert!(seals.sealing(Some(&wanted)).await.is_err());
    let nameless = Hint {
        book_id: None,
        ..wanted
    };
    assert!(seals.sealing(Some(&nameless)).await.is_ok());
    assert_eq!(books.looked(), 1);
}
