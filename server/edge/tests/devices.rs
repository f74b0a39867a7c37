//! A service for paired devices, over real TLS on loopback: how one comes in, and that nobody else
//! does.
//!
//! The certificate is made by the machine's clock, as the client verifies it by that; the book and
//! its tokens go by a clock that the tests move.

mod attempts;
mod logged;
mod neighbours;
mod pages;
mod rights;
mod strangers;

use std::net::SocketAddr;
use std::sync::Arc;

use fettlebook_contract::v1::access_service_client::AccessServiceClient;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_contract::{PLACE, ROLE, TAG_LETTER, v1};
use fettlebook_model::Id;
use hyper_util::rt::TokioIo;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore, crypto::ring};
use tonic::codegen::http::HeaderValue;
use tonic::metadata::MetadataValue;
use tonic::transport::{Channel, Endpoint};
use tonic::{Request, Status};
use uuid::Uuid;

use super::{NOW, assert_told, coarse_foam, fresh, journal_of};
use crate::access::{Access, Credentials, Invite, Role, SERVICE_NAME, Token};
use crate::desk::{Clock as _, Desk, DeskOptions, SystemClock};
use crate::edge::tests::Answered as _;
use crate::keep::{BackupFolder, restore};
use crate::serve::{Door, ServeError, serve_devices};
use crate::store::{FolderStore, Store as _};
use crate::testing::TestClock;

/// A served shop.
pub(super) struct Shop {
    folder: tempfile::TempDir,
    clock: Arc<TestClock>,
    desk: Desk,
    access: Arc<Access>,
    address: SocketAddr,
    authority: CertificateDer<'static>,
    stop: oneshot::Sender<()>,
    serving: JoinHandle<Result<(), ServeError>>,
}

impl Shop {
    pub(super) async fn open() -> Self {
        Self::open_in(tempfile::tempdir().unwrap()).await
    }

    async fn open_in(folder: tempfile::TempDir) -> Self {
        Self::open_for(folder, Vec::new()).await
    }

    /// The same where pages of these origins may read answers in a browser.
    async fn open_for(folder: tempfile::TempDir, page_origins: Vec<HeaderValue>) -> Self {
        let clock = TestClock::at(NOW);
        let options = DeskOptions::new(Arc::clone(&clock) as _, Uuid::now_v7());
        let (desk, _) = Desk::open(Arc::new(FolderStore::at(folder.path())), &options).unwrap();
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let credentials = Credentials::own(&*desk.cabinet(), &[], SystemClock.now()).unwrap();
        let authority = credentials.chain().last().unwrap().clone();
        let door = Door::open(&desk, address, &credentials).unwrap();
        let door = Door {
            page_origins,
            ..door
        };
        let access = Arc::clone(&door.access);
        let (stop, stopped) = oneshot::channel();
        let served = desk.clone();
        let serving = tokio::spawn(async move {
            let stopped = async { drop(stopped.await) };
            serve_devices(listener, &served, door, stopped).await
        });
        Self {
            folder,
            clock,
            desk,
            access,
            address,
            authority,
            stop,
            serving,
        }
    }

    /// Stops it as SIGTERM would, and gives the folder back.
    async fn close(self) -> tempfile::TempDir {
        drop(self.access);
        self.stop.send(()).unwrap();
        self.serving.await.unwrap().unwrap();
        self.desk.close().await.unwrap();
        self.folder
    }

    /// A channel that trusts this shop's authority alone.
    pub(super) async fn channel(&self) -> Channel {
        dial(self.address, &self.authority, SERVICE_NAME)
            .await
            .unwrap()
    }

    /// Pairs a device and gives its token.
    fn pair(&self, name: &str, role: Role) -> Token {
        let code = self.invite(name, role);
        let from = [127, 0, 0, 1].into();
        let secret = Uuid::now_v7().as_bytes().repeat(2).try_into().unwrap();
        let paired = self.access.pair(&code, secret, from, self.clock.now());
        paired.unwrap().token
    }

    /// The secret of a new code.
    fn invite(&self, name: &str, role: Role) -> String {
        let invite = Invite {
            name: name.parse().unwrap(),
            role,
            by: "local".to_owned(),
            at: None,
            again: false,
            office: None,
        };
        let made = self.access.invite(&invite, self.clock.now()).unwrap();
        made.code.secret
    }
}

/// Connects over TLS with one certificate as the only root, to a service of this name.
async fn dial(
    address: SocketAddr,
    root: &CertificateDer<'static>,
    name: &'static str,
) -> Result<Channel, tonic::transport::Error> {
    let root = root.clone();
    let dialled = tower::service_fn(move |_| {
        let root = root.clone();
        async move {
            let sealed = sealed(address, &root, name, b"h2").await?;
            Ok::<_, std::io::Error>(TokioIo::new(sealed))
        }
    });
    let endpoint = Endpoint::from_static("http://fettled.internal");
    endpoint.connect_with_connector(dialled).await
}

/// A connection over TLS, with one certificate as the only root, on which this protocol is spoken.
async fn sealed(
    address: SocketAddr,
    root: &CertificateDer<'static>,
    name: &'static str,
    protocol: &[u8],
) -> std::io::Result<TlsStream<TcpStream>> {
    let mut roots = RootCertStore::empty();
    roots.add(root.clone()).unwrap();
    let provider = Arc::new(ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider);
    let config = config.with_safe_default_protocol_versions().unwrap();
    let mut config = config.with_root_certificates(roots).with_no_client_auth();
    config.alpn_protocols = vec![protocol.to_vec()];
    let tcp = TcpStream::connect(address).await?;
    let name = ServerName::try_from(name).unwrap();
    let sealed = TlsConnector::from(Arc::new(config))
        .connect(name, tcp)
        .await?;
    assert_eq!(sealed.get_ref().1.alpn_protocol(), Some(protocol));
    Ok(sealed)
}

/// A request with a token.
fn with<T>(token: &Token, message: T) -> Request<T> {
    let mut request = Request::new(message);
    let value = MetadataValue::try_from(format!("Bearer {token}")).unwrap();
    request.metadata_mut().insert("authorization", value);
    request
}

fn id(name: &str) -> Id {
    name.parse().unwrap()
}

/// The whole way in, over the wire alone: the owner's device asks for a code, the new one pairs with
/// it, records something in its name, and is let in again after a restart until it is revoked.
#[tokio::test]
async fn a_device_is_invited_paired_used_and_revoked() {
    let shop = Shop::open().await;
    let own = shop.pair("bench", Role::Own);
    let channel = shop.channel().await;
    let mut access = AccessServiceClient::new(channel.clone());
    let asked = v1::InviteDeviceRequest {
        name: "van-a".to_owned(),
        role: v1::Role::Keep.into(),
        ..Default::default()
    };
    let invited = access
        .invite_device(with(&own, asked.clone()))
        .await
        .unwrap();
    let invited = invited.into_inner();
    let code: crate::access::CodeText = invited.code.parse().unwrap();
    assert_eq!(code.address, shop.address.to_string());
    assert_eq!(code.fingerprint.to_string(), invited.fingerprint);
    assert_eq!(
        code.fingerprint,
        crate::access::Fingerprint::of(&shop.authority)
    );
    assert_eq!(invited.expire_time, super::stamp("2026-06-03T18:10:00Z"));

    let asked_again = v1::PairDeviceRequest {
        code_secret: code.secret.clone(),
        token_secret: vec![9; 32],
        ..Default::default()
    };
    let paired = access.pair_device(asked_again.clone()).answer().await;
    let again = access.pair_device(asked_again).answer().await;
    assert_eq!(paired, again, "a lost answer is given again");
    let book_id = shop.desk.standing().identity.book_id;
    assert_eq!(paired.book_id, book_id.to_string());
    let token: Token = paired.token.parse().unwrap();
    let taken = access.invite_device(with(&own, asked)).await.unwrap_err();
    assert_told(&taken, "ID_TAKEN", "name");

    let request = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(coarse_foam("coarse-foam-150", 150)),
    };
    let mut kit = KitServiceClient::new(channel.clone());
    let entry = kit.create_make(with(&token, request)).answer().await;
    assert_eq!(entry.entry.unwrap().by, "van-a");
    let mut book = BookServiceClient::new(channel);
    let seen = book
        .get_book(with(&token, v1::GetBookRequest::default()))
        .await
        .unwrap();
    // Every answer says what the device is here; the bench was paired first and has the first letter.
    let header = |name| seen.metadata().get(name).unwrap().to_str().unwrap();
    let headers = [ROLE, PLACE, TAG_LETTER].map(header);
    assert_eq!(headers, ["keep", "van-a", "B"]);
    let seen = seen.into_inner();
    assert_eq!(
        (seen.caller.as_str(), seen.caller_role()),
        ("van-a", v1::Role::Keep)
    );
    let told = (seen.caller_place.as_str(), seen.caller_tag_letter.as_str());
    assert_eq!(told, ("van-a", "B"));

    let shop = Shop::open_in(shop.close().await).await;
    let channel = shop.channel().await;
    let mut book = BookServiceClient::new(channel.clone());
    book.get_book(with(&token, v1::GetBookRequest::default()))
        .await
        .unwrap();
    let mut access = AccessServiceClient::new(channel);
    let listed = access
        .list_devices(with(&own, v1::ListDevicesRequest::default()))
        .await;
    let listed = listed.unwrap().into_inner().devices;
    let names: Vec<&str> = listed.iter().map(|device| device.name.as_str()).collect();
    assert_eq!(names, ["bench", "van-a"]);
    assert_eq!(listed[1].used_time, super::stamp(NOW));
    assert_eq!(listed[1].invited_by, "bench");

    let asked = v1::RevokeDeviceRequest {
        name: "van-a".to_owned(),
    };
    let revoked = access.revoke_device(with(&own, asked)).answer().await;
    assert_eq!(revoked.device.unwrap().revoked_by, "bench");
    let refused = book
        .get_book(with(&token, v1::GetBookRequest::default()))
        .await
        .unwrap_err();
    assert_told(&refused, "DEVICE_REVOKED", "");
}

#[tokio::test]
async fn a_role_counts_from_the_next_request_on() {
    let shop = Shop::open().await;
    let (own, van) = (
        shop.pair("bench", Role::Own),
        shop.pair("van-a", Role::Look),
    );
    let channel = shop.channel().await;
    let mut access = AccessServiceClient::new(channel.clone());
    let mut kit = KitServiceClient::new(channel);
    let wash = v1::WashKitRequest {
        request_id: fresh(),
        tags: vec!["P-01".to_owned()],
        ..Default::default()
    };
    let refused = kit.wash_kit(with(&van, wash.clone())).await.unwrap_err();
    assert_told(&refused, "ROLE_TOO_LOW", "");
    let update = v1::UpdateDeviceRequest {
        name: "van-a".to_owned(),
        role: v1::Role::Work.into(),
    };
    access.update_device(with(&own, update)).await.unwrap();
    let unknown = kit.wash_kit(with(&van, wash)).await.unwrap_err();
    assert_told(&unknown, "TAG_UNKNOWN", "tags");
    shop.pair("lost", Role::Look);
    shop.access
        .revoke(&id("lost"), "bench", shop.clock.now())
        .unwrap();
    for (name, role, reason, field) in [
        // It is not the device that asks which was revoked.
        ("lost", 2, "DEVICE_UNKNOWN", "name"),
        ("van-b", 2, "DEVICE_UNKNOWN", "name"),
        ("", 2, "FIELD_MISSING", "name"),
        ("Van A", 2, "FIELD_INVALID", "name"),
        ("van-a", 0, "FIELD_MISSING", "role"),
        ("van-a", 9, "FIELD_INVALID", "role"),
    ] {
        let name = name.to_owned();
        let update = v1::UpdateDeviceRequest { name, role };
        let refused = access.update_device(with(&own, update)).await.unwrap_err();
        assert_told(&refused, reason, field);
    }
}

/// What a watch gives until it ends, with the status it ends with.
async fn rest(mut watch: tonic::Streaming<v1::WatchEntriesResponse>) -> Status {
    loop {
        match watch.message().await {
            Ok(Some(_)) => {}
            Ok(None) => panic!("it ended without a reason"),
            Err(status) => return status,
        }
    }
}

#[tokio::test]
async fn a_watch_of_a_device_that_is_revoked_ends_at_once_and_others_go_on() {
    let shop = Shop::open().await;
    let (bench, van) = (
        shop.pair("bench", Role::Look),
        shop.pair("van-a", Role::Look),
    );
    let channel = shop.channel().await;
    let mut book = BookServiceClient::new(channel);
    let watch = v1::WatchEntriesRequest {
        after_seq: 0,
        ..v1::WatchEntriesRequest::default()
    };
    let lost = book.watch_entries(with(&van, watch.clone())).answer().await;
    let mut kept = book.watch_entries(with(&bench, watch)).answer().await;
    let lost = tokio::spawn(rest(lost));
    shop.access
        .revoke(&id("van-a"), "bench", shop.clock.now())
        .unwrap();
    let soon = std::time::Duration::from_secs(5);
    let status = tokio::time::timeout(soon, lost).await.unwrap().unwrap();
    assert_told(&status, "DEVICE_REVOKED", "");
    let car = crate::testing::order(crate::testing::new_car("saloon"));
    shop.desk.submit(car).await.unwrap();
    let entry = tokio::time::timeout(soon, kept.message()).await.unwrap();
    assert_eq!(entry.unwrap().unwrap().entry.unwrap().seq, 1);
}

/// An open watch would go on telling prices to a device that may not see them any more.
#[tokio::test]
async fn a_watch_of_a_device_that_may_do_less_ends_at_once() {
    let shop = Shop::open().await;
    let van = shop.pair("van-a", Role::Keep);
    shop.pair("bench", Role::Own);
    let mut book = BookServiceClient::new(shop.channel().await);
    let watch = v1::WatchEntriesRequest {
        after_seq: 0,
        ..v1::WatchEntriesRequest::default()
    };
    let watch = book.watch_entries(with(&van, watch)).await.unwrap();
    let mut watch = watch.into_inner();
    shop.access.set_role(&id("van-a"), Role::Own).unwrap();
    let car = crate::testing::order(crate::testing::new_car("saloon"));
    shop.desk.submit(car).await.unwrap();
    let soon = std::time::Duration::from_secs(5);
    let entry = tokio::time::timeout(soon, watch.message()).await.unwrap();
    assert_eq!(entry.unwrap().unwrap().entry.unwrap().seq, 1);
    let ending = tokio::spawn(rest(watch));
    shop.access.set_role(&id("van-a"), Role::Work).unwrap();
    let status = tokio::time::timeout(soon, ending).await.unwrap().unwrap();
    assert_told(&status, "ROLE_TOO_LOW", "");
}

/// A backup that is taken by whoever owns the shop is no way to let a revoked device in again.
#[tokio::test]
async fn a_restored_backup_holds_no_device_and_no_key() {
    let shop = Shop::open().await;
    shop.pair("bench", Role::Own);
    let car = crate::testing::order(crate::testing::new_car("saloon"));
    shop.desk.submit(car).await.unwrap();
    let target = tempfile::tempdir().unwrap();
    let (backup, back) = (target.path().join("backup"), target.path().join("back"));
    let mut parts = shop.desk.backup().unwrap();
    let mut folder = BackupFolder::begin(&backup).unwrap();
    while let Some(part) = parts.recv().await {
        let part = part.unwrap();
        folder.take(&part.file, &part.content).unwrap();
    }
    folder.finish().unwrap();
    restore(&backup, &back, Uuid::now_v7()).unwrap();
    assert!(!backup.join("access").exists() && !back.join("access").exists());
    assert_eq!(
        crate::access::paired_count(&*FolderStore::at(&back).cabinet()),
        Ok(0)
    );
    let verified = shop.desk.verify().await.unwrap();
    assert_eq!(verified.findings, Vec::<String>::new());
}
