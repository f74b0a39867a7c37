//! What goes on to a book and what is answered before.

use std::net::{IpAddr, Ipv4Addr};

use tonic::Status;
use tonic_types::StatusExt as _;

use super::*;
use crate::access::{Fingerprint, Invite, Role, ServiceNote, ShownNow, invite};
use crate::desk::SystemClock;
use crate::edge::pages::OfPage;
use crate::store::{CabinetError, CodePapers, FolderStore, Paper, Store as _};

const FROM: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 7));

/// One book and its codes.
#[derive(Debug)]
struct OneBook(Uuid, Vec<u8>);

impl CodePapers for OneBook {
    fn lately(&self) -> Result<Vec<(Uuid, Vec<u8>)>, CabinetError> {
        Ok(vec![(self.0, self.1.clone())])
    }
}

/// An entrance with one code.
struct Door {
    entrance: Entrance,
    book: Uuid,
    secret: String,
}

impl Door {
    fn new() -> Self {
        let (book, folder) = (Uuid::now_v7(), tempfile::tempdir().unwrap());
        let cabinet = FolderStore::at(folder.path()).cabinet();
        cabinet.open().unwrap();
        let shown = Fingerprint([0xA5; 32]);
        let note = ServiceNote::new("192.0.2.1:7420".parse().unwrap(), shown);
        note.write(&*cabinet).unwrap();
        let asked = Invite {
            name: "van-a".parse().unwrap(),
            role: Role::Own,
            by: "local".to_owned(),
            at: None,
            again: false,
            office: None,
        };
        let made = invite(&*cabinet, &asked, SystemClock.now()).unwrap();
        let papers = OneBook(book, cabinet.read(Paper::Codes).unwrap().unwrap());
        Self {
            entrance: Entrance::new(
                Newcomers::new(Arc::new(papers), ShownNow::known_by(shown)),
                Arc::new(SystemClock),
            ),
            book,
            secret: made.code.secret,
        }
    }

    /// Why this is refused.
    async fn refused(&self, request: Request<Body>) -> String {
        let refused = self.entrance.with_book(request).await.unwrap_err();
        let info = Status::from(refused).get_details_error_info();
        info.map(|info| info.reason).unwrap_or_default()
    }
}

fn framed(message: &[u8]) -> Bytes {
    let length = u32::try_from(message.len()).unwrap().to_be_bytes();
    [&[0], &length[..], message].concat().into()
}

fn pairing(secret: &str) -> Bytes {
    let asked = PairDeviceRequest {
        code_secret: secret.to_owned(),
        token_secret: vec![7; 32],
        ..PairDeviceRequest::default()
    };
    framed(&asked.encode_to_vec())
}

fn request(path: &str, visit: &Visit, sent: &Bytes) -> Request<Body> {
    let mut request = Request::new(Body::new(Full::new(sent.clone())));
    *request.uri_mut() = path.parse().unwrap();
    request.extensions_mut().insert(visit.clone());
    request
}

#[tokio::test]
async fn a_good_code_goes_on_as_it_came_with_its_book() {
    let (door, visit) = (Door::new(), Visit::new(FROM));
    let sent = pairing(&door.secret);
    for _ in 0..2 {
        let asked = request(PAIR, &visit, &sent);
        assert!(Entrance::is_for(&asked));
        let found = door.entrance.with_book(asked).await.unwrap();
        assert_eq!(found.extensions().get(), Some(&OfBook(door.book)));
        assert!(!Entrance::is_for(&found), "it would be looked for again");
        // As the guard does behind it.
        let asking = visit.ask();
        assert!(asking.is_some());
        let whole = found.into_body().collect().await.unwrap().to_bytes();
        assert_eq!(whole, sent);
    }
    // Counted by the guard, which is behind it.
    assert_eq!(visit.asked(), 0);
}

#[test]
fn what_is_no_pairing_or_of_a_page_is_left_alone() {
    let (visit, noise) = (Visit::new(FROM), Bytes::from_static(b"noise"));
    let other = "/fettlebook.v1.BookService/GetBook";
    assert!(!Entrance::is_for(&request(other, &visit, &noise)));
    let mut of_page = request(PAIR, &visit, &noise);
    of_page.extensions_mut().insert(OfPage);
    assert!(!Entrance::is_for(&of_page));
}

#[tokio::test]
async fn what_finds_no_book_is_refused_and_counted() {
    let (door, visit) = (Door::new(), Visit::new(FROM));
    let long = framed(&vec![0; ACCESS_MESSAGE_BYTES_MAX + 1]);
    let mut packed = pairing(&door.secret).to_vec();
    packed[0] = 1;
    for (sent, wanted) in [
        (pairing("ABCDEFGHIJ234567"), "CODE_UNKNOWN"),
        (pairing(""), "FIELD_MISSING"),
        (Bytes::new(), "FIELD_INVALID"),
        (Bytes::from_static(&[0, 0, 0, 0, 9, 1]), "FIELD_INVALID"),
        (framed(&[0xFF; 4]), "FIELD_INVALID"),
        (long, "FIELD_INVALID"),
        (packed.into(), "FIELD_INVALID"),
    ] {
        let before = visit.asked();
        let refused = door.refused(request(PAIR, &visit, &sent)).await;
        assert_eq!(refused, wanted, "{sent:?}");
        assert_eq!(visit.asked(), before + 1);
    }
}

#[tokio::test]
async fn a_connection_asks_for_one_at_a_time() {
    let (door, visit) = (Door::new(), Visit::new(FROM));
    let sent = pairing(&door.secret);
    let asking = visit.ask().unwrap();
    let refused = door.refused(request(PAIR, &visit, &sent)).await;
    assert_eq!(refused, "BUSY");
    drop(asking);
    let found = door.entrance.with_book(request(PAIR, &visit, &sent)).await;
    assert!(found.is_ok());
}
