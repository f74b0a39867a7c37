//! Twenty shops behind one certificate, and whose code it is that somebody has.

use std::net::Ipv4Addr;
use std::sync::Mutex;

use sha2::{Digest as _, Sha256};

use super::*;
use crate::access::{Fingerprint, Invitation, Invite, Role, ServiceNote, invite};
use crate::limits::WRONG_TRIES_MAX;
use crate::store::{Cabinet, CabinetError, FolderStore, Paper, Store as _};

const VAN: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 7));
const OTHER: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 8));
const SHOWN: Fingerprint = Fingerprint([0xA5; 32]);
const SECRET: [u8; 32] = [7; 32];

fn at(second: i64) -> Moment {
    Moment::from_second(1_780_000_000 + second).unwrap()
}

/// Papers as an engine would give them; none while it does not answer.
#[derive(Debug, Default)]
struct Papers(Mutex<Given>);

type Given = Option<Vec<(Uuid, Vec<u8>)>>;

impl CodePapers for Papers {
    fn lately(&self) -> Result<Vec<(Uuid, Vec<u8>)>, CabinetError> {
        let given = self.0.lock().unwrap().clone();
        given.ok_or_else(|| CabinetError::Failed {
            path: "code".to_owned(),
            action: "read",
            why: "no answer".to_owned(),
        })
    }
}

/// Twenty shops behind one certificate, each with a code of its own.
struct Shops {
    _folder: tempfile::TempDir,
    made: Vec<(Uuid, Invitation)>,
    papers: Arc<Papers>,
    newcomers: Newcomers,
}

impl Shops {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (mut made, mut papers) = (Vec::new(), Vec::new());
        for number in 1..=20_u128 {
            let book = Uuid::from_u128(number);
            let place = folder.path().join(book.to_string());
            std::fs::create_dir(&place).unwrap();
            let cabinet = FolderStore::at(place).cabinet();
            made.push((book, coded(&*cabinet)));
            papers.push((book, cabinet.read(Paper::Codes).unwrap().unwrap()));
        }
        let papers = Arc::new(Papers(Mutex::new(Some(papers))));
        Self {
            _folder: folder,
            made,
            newcomers: Newcomers::new(Arc::clone(&papers) as _, ShownNow::known_by(SHOWN)),
            papers,
        }
    }

    fn by_secret(&self, secret: &str, from: IpAddr, second: i64) -> Result<Uuid, AccessError> {
        self.newcomers.book_of_secret(secret, from, at(second))
    }

    fn by_proof(&self, letters: &str, seen: Fingerprint) -> Result<Uuid, AccessError> {
        let token_hash: [u8; 32] = Sha256::digest(SECRET).into();
        let proof = Key::of(letters, &seen.0).device_proof(&seen.0, &token_hash);
        self.newcomers.book_of_proof(proof, token_hash, VAN, at(1))
    }
}

/// A code for a van, of a service that shows the certificate of all.
fn coded(cabinet: &dyn Cabinet) -> Invitation {
    cabinet.open().unwrap();
    let note = ServiceNote::new("192.0.2.1:7420".parse().unwrap(), SHOWN);
    note.write(cabinet).unwrap();
    let asked = Invite {
        name: "van-a".parse().unwrap(),
        role: Role::Own,
        by: "local".to_owned(),
        at: None,
        again: false,
        office: None,
    };
    invite(cabinet, &asked, at(0)).unwrap()
}

#[test]
fn each_code_finds_its_book_among_twenty_in_either_form() {
    let shops = Shops::new();
    for (book, made) in &shops.made {
        assert_eq!(shops.by_secret(&made.code.secret, VAN, 1), Ok(*book));
        assert_eq!(shops.by_proof(&made.typed.secret, SHOWN), Ok(*book));
    }
    // What holds for another certificate, as for whoever stands between, is of no book.
    let letters = &shops.made[3].1.typed.secret;
    let between = shops.by_proof(letters, Fingerprint([1; 32]));
    assert_eq!(between, Err(AccessError::CodeUnknown));
}

#[test]
fn whoever_guesses_is_soon_not_looked_at_and_others_are() {
    let shops = Shops::new();
    for _ in 0..WRONG_TRIES_MAX {
        let wrong = shops.by_secret("ABCDEFGHIJ234567", VAN, 1);
        assert_eq!(wrong, Err(AccessError::CodeUnknown));
    }
    // One count is for all books: it is not begun anew with the next of them. Nobody else has to wait for it.
    for (book, made) in &shops.made {
        let refused = shops.by_secret(&made.code.secret, VAN, 2);
        assert!(matches!(refused, Err(AccessError::TriesUsedUp { .. })));
        assert_eq!(shops.by_secret(&made.code.secret, OTHER, 2), Ok(*book));
        assert_eq!(shops.by_secret(&made.code.secret, VAN, 70), Ok(*book));
    }
}

#[test]
fn papers_that_cannot_be_read_keep_nobody_out_of_other_books() {
    let shops = Shops::new();
    let (book, made) = &shops.made[1];
    let mut papers = shops.papers.0.lock().unwrap().clone().unwrap();
    papers[0].1 = b"{".to_vec();
    papers[2].1 = br#"{"format": 9, "codes": []}"#.to_vec();
    *shops.papers.0.lock().unwrap() = Some(papers);
    assert_eq!(shops.by_secret(&made.code.secret, VAN, 1), Ok(*book));
    *shops.papers.0.lock().unwrap() = None;
    let failed = shops.by_secret(&made.code.secret, VAN, 1);
    assert_eq!(failed, Err(AccessError::PairingFailed));
}
