//! The service: it records deeds once by their request ids, as the contract says.

use std::collections::HashMap;
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard};
use std::task::{Context, Poll};

use data_encoding::{BASE32_NOPAD, HEXLOWER};
use fettlebook_contract::call::Keepable;
use fettlebook_contract::pairing::{Key, TypedCode};
use fettlebook_contract::v1::piece::State as PieceState;
use fettlebook_contract::v1::{
    BottleState, CopyEntriesRequest, CopyEntriesResponse, Device, Entry, Flag, GetBookResponse,
    GetPieceRequest, GetPieceResponse, ListDevicesResponse, PairDeviceRequest, PairDeviceResponse,
    Piece, Role, WashKitResponse,
};
use fettlebook_contract::{ERROR_DOMAIN, PLACE, ROLE, TAG_LETTER};
use jiff::Timestamp;
use prost::Message as _;
use prost::bytes::Bytes;
use rcgen::{BasicConstraints, CertificateParams, DnType, IsCa, Issuer, KeyPair};
use sha2::{Digest as _, Sha256};
use tokio::io::{DuplexStream, copy_bidirectional, duplex};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;
use tokio::task::AbortHandle;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{PrivateKeyDer, PrivatePkcs8KeyDer};
use tokio_stream::StreamExt as _;
use tokio_stream::wrappers::UnboundedReceiverStream;
use tonic::body::Body;
use tonic::codegen::{Service, http};
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt as _};

use crate::outbox::keepable::told as told_of;
use crate::shop::folder::{self, Paired};
use crate::transport::raw;

/// What the service does with a request.
pub(crate) enum Reply {
    /// It answers.
    Answer(Vec<u8>),
    /// It refuses.
    Refuse(Status),
    /// It says nothing, and the link stays.
    Silence,
    /// The link breaks before the answer comes.
    Cut,
}

type Handler = Arc<dyn Fn(&str, Bytes) -> Reply + Send + Sync>;

/// A deed that the service has.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Recorded {
    /// Its request id.
    pub(crate) request_id: String,
    /// The request.
    pub(crate) deed: Keepable,
}

/// What the service remembers, and how it is to behave.
#[derive(Default)]
pub(crate) struct Memory {
    /// Every request that came: the name of the rpc and, of a deed, its request id.
    pub(crate) came: Vec<(String, String)>,
    /// Every deed, once.
    pub(crate) recorded: Vec<Recorded>,
    /// What each first tag or job is refused with.
    pub(crate) refused: HashMap<String, Status>,
    /// What each first tag or job is flagged with.
    pub(crate) flagged: HashMap<String, String>,
    /// What every deed is refused with.
    pub(crate) barred: Option<Status>,
    /// Deeds after which the link breaks, recorded but not answered.
    pub(crate) cut_after: Vec<usize>,
    /// Whether deeds are left without an answer.
    pub(crate) is_silent: bool,
    /// How far its clock is ahead, in seconds.
    pub(crate) clock_ahead_s: i64,
    /// Entries that the book has.
    pub(crate) head_seq: i64,
    /// Id of the book that it hands to a device it pairs; empty for `book`.
    pub(crate) other_book: String,
    /// The certificate that a device which it pairs is to hold on to, in DER; empty for the one that it shows.
    pub(crate) authority: Vec<u8>,
    /// What each answer says of the device: its role, place and letter; nothing where it is empty.
    pub(crate) says: Vec<String>,
    /// Headers `authorization` that came.
    pub(crate) tokens: Vec<String>,
    /// The last request to pair.
    pub(crate) pairing: PairDeviceRequest,
    /// Whether it knows no typed code, and says that it does.
    pub(crate) forgets_codes: bool,
    /// The SHA-256 of its certificate.
    fingerprint: [u8; 32],
}

/// A shop.
pub(crate) struct Shop {
    pub(crate) port: u16,
    /// The certificate that devices pin, PEM, and its SHA-256.
    pub(crate) root: String,
    pub(crate) fingerprint: [u8; 32],
    memory: Arc<Mutex<Memory>>,
    links: Arc<Mutex<Vec<AbortHandle>>>,
    is_down: Arc<Mutex<bool>>,
}

impl Shop {
    /// Opens a shop on a free port of this machine.
    pub(crate) async fn open() -> Self {
        Self::open_with(|_| {}).await
    }

    /// Opens one whose leaf certificate is made otherwise.
    pub(crate) async fn open_with(change: impl FnOnce(&mut CertificateParams)) -> Self {
        let (tls, root) = certificates(change);
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
        let fingerprint = Sha256::digest(root.der()).into();
        let memory = Arc::new(Mutex::new(Memory {
            fingerprint,
            ..Memory::default()
        }));
        let shop = Self {
            port: listener.local_addr().unwrap().port(),
            root: root.pem(),
            fingerprint,
            links: Arc::default(),
            is_down: Arc::default(),
            memory: Arc::clone(&memory),
        };
        let links = Arc::clone(&shop.links);
        let handler: Handler = Arc::new(move |path, message| {
            let reply = answer(&mut memory.lock().unwrap(), path, message);
            if matches!(reply, Reply::Cut) {
                links
                    .lock()
                    .unwrap()
                    .drain(..)
                    .for_each(|link| link.abort());
            }
            reply
        });
        let (give, come) = mpsc::unbounded_channel();
        tokio::spawn(serve(handler, Arc::clone(&shop.memory), come));
        let acceptor = TlsAcceptor::from(Arc::new(tls));
        tokio::spawn(listen(
            listener,
            acceptor,
            give,
            Arc::clone(&shop.links),
            Arc::clone(&shop.is_down),
        ));
        shop
    }

    pub(crate) fn memory(&self) -> MutexGuard<'_, Memory> {
        self.memory.lock().unwrap()
    }

    /// Breaks the link, and lets nobody through until it is up again.
    pub(crate) fn cut(&self) {
        *self.is_down.lock().unwrap() = true;
        let mut links = self.links.lock().unwrap();
        links.drain(..).for_each(|link| link.abort());
    }

    pub(crate) fn join(&self) {
        *self.is_down.lock().unwrap() = false;
    }

    /// A code of this shop.
    pub(crate) fn code(&self) -> String {
        let fingerprint = BASE32_NOPAD.encode(&self.fingerprint);
        format!(
            "FETTLE:127.0.0.1:{}/{fingerprint}/AAAAAAAABBBBBBBB",
            self.port
        )
    }

    /// A code of this shop as people type it.
    pub(crate) fn typed_code(&self) -> String {
        let code = TypedCode {
            host: "127.0.0.1".to_owned(),
            port: self.port,
            secret: TYPED_SECRET.to_owned(),
        };
        code.to_string()
    }

    /// Pairs a folder with it.
    pub(crate) fn pair(&self, folder: &std::path::Path) {
        let mut paired = Paired::new("127.0.0.1".to_owned(), self.port);
        paired.certificate.clone_from(&self.root);
        paired.fingerprint = HEXLOWER.encode(&self.fingerprint);
        paired.book_id = "book".to_owned();
        paired.device = "van-a".to_owned();
        paired.role = "work".to_owned();
        paired.token = "token-of-van-a".to_owned();
        folder::write(folder, &paired).unwrap();
    }
}

/// An authority of the shop's own, and a leaf of it for the name that every fettled has.
fn certificates(change: impl FnOnce(&mut CertificateParams)) -> (ServerConfig, rcgen::Certificate) {
    let mut params = CertificateParams::default();
    params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    params
        .distinguished_name
        .push(DnType::CommonName, "Gannet Yard Paintwork");
    let key = KeyPair::generate().unwrap();
    let root = params.self_signed(&key).unwrap();
    let issuer = Issuer::new(params, key);
    let mut params = CertificateParams::new(vec!["fettled.internal".to_owned()]).unwrap();
    change(&mut params);
    let key = KeyPair::generate().unwrap();
    let leaf = params.signed_by(&key, &issuer).unwrap();
    let secret = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
    let mut tls = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(vec![leaf.der().clone(), root.der().clone()], secret)
        .unwrap();
    tls.alpn_protocols = vec![b"h2".to_vec()];
    (tls, root)
}

async fn listen(
    listener: TcpListener,
    acceptor: TlsAcceptor,
    give: mpsc::UnboundedSender<DuplexStream>,
    links: Arc<Mutex<Vec<AbortHandle>>>,
    is_down: Arc<Mutex<bool>>,
) {
    while let Ok((stream, _)) = listener.accept().await {
        if *is_down.lock().unwrap() {
            continue;
        }
        let link = tokio::spawn(carry(stream, acceptor.clone(), give.clone()));
        links.lock().unwrap().push(link.abort_handle());
    }
}

/// Carries one link; when it is aborted, both ends break.
async fn carry(
    stream: TcpStream,
    acceptor: TlsAcceptor,
    give: mpsc::UnboundedSender<DuplexStream>,
) {
    let Ok(mut outside) = acceptor.accept(stream).await else {
        return;
    };
    let (mut inside, far) = duplex(64 * 1024);
    if give.send(far).is_ok() {
        // However a link ends, the client has to cope with it.
        let _ = copy_bidirectional(&mut outside, &mut inside).await;
    }
}

/// Serves a handler on links that come.
async fn serve(
    handler: Handler,
    memory: Arc<Mutex<Memory>>,
    come: mpsc::UnboundedReceiver<DuplexStream>,
) {
    let incoming = UnboundedReceiverStream::new(come).map(Ok::<_, std::io::Error>);
    let service = Answering {
        handler,
        memory: Some(memory),
    };
    let server = tonic::transport::Server::builder();
    server.serve_with_incoming(service, incoming).await.unwrap();
}

/// A channel to a handler in this process.
pub(super) async fn inside(handler: Handler) -> tonic::transport::Channel {
    let (near, far) = duplex(64 * 1024);
    let incoming = tokio_stream::once(Ok::<_, std::io::Error>(far)).chain(tokio_stream::pending());
    let service = Answering {
        handler,
        memory: None,
    };
    tokio::spawn(tonic::transport::Server::builder().serve_with_incoming(service, incoming));
    let mut near = Some(near);
    let connector = tower::service_fn(move |_: http::Uri| {
        let near = near.take().map(hyper_util::rt::TokioIo::new);
        std::future::ready(near.ok_or(std::io::Error::from(std::io::ErrorKind::BrokenPipe)))
    });
    let endpoint = tonic::transport::Endpoint::from_static("http://copy");
    endpoint.connect_with_connector(connector).await.unwrap()
}

#[derive(Clone)]
struct Answering {
    handler: Handler,
    memory: Option<Arc<Mutex<Memory>>>,
}

impl Service<http::Request<Body>> for Answering {
    type Response = http::Response<Body>;
    type Error = std::convert::Infallible;
    type Future = Pin<Box<dyn Future<Output = Result<http::Response<Body>, Self::Error>> + Send>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        let this = self.clone();
        Box::pin(async move {
            let (parts, body) = request.into_parts();
            if let (Some(memory), Some(token)) =
                (&this.memory, parts.headers.get(http::header::AUTHORIZATION))
            {
                let token = token.to_str().unwrap().to_owned();
                memory.lock().unwrap().tokens.push(token);
            }
            let Ok(message) = raw::message(body).await else {
                return Ok(Status::invalid_argument("empty").into_http());
            };
            match (this.handler)(parts.uri.path(), message) {
                Reply::Answer(answer) => {
                    let mut answer = raw::answer(answer.into());
                    let says = this
                        .memory
                        .iter()
                        .flat_map(|memory| memory.lock().unwrap().says.clone());
                    for (name, said) in [ROLE, PLACE, TAG_LETTER].into_iter().zip(says) {
                        answer.headers_mut().insert(name, said.parse().unwrap());
                    }
                    Ok(answer)
                }
                Reply::Refuse(status) => Ok(status.into_http()),
                Reply::Silence | Reply::Cut => std::future::pending().await,
            }
        })
    }
}

/// The answer with an entry, as all of them have it.
pub(crate) fn entry(seq: i64, deed: &Keepable) -> Vec<u8> {
    let entry = Entry {
        seq,
        request_id: deed.request_id().to_owned(),
        kept: deed.kept().cloned(),
        done_time: deed.done_time(),
        ..Entry::default()
    };
    let answer = WashKitResponse {
        entry: Some(entry),
        ..WashKitResponse::default()
    };
    answer.encode_to_vec()
}

/// A refusal of the contract.
pub(crate) fn refusal(code: Code, reason: &str, what: &str) -> Status {
    let details = ErrorDetails::with_error_info(reason, ERROR_DOMAIN, HashMap::new());
    Status::with_error_details(code, what, details)
}

fn answer(shop: &mut Memory, path: &str, message: Bytes) -> Reply {
    let name = path.rsplit('/').next().unwrap_or_default().to_owned();
    if let Some(deed) = Keepable::decode(path, &message) {
        let deed = deed.unwrap();
        shop.came.push((name, deed.request_id().to_owned()));
        return record(shop, &deed);
    }
    shop.came.push((name.clone(), String::new()));
    match name.as_str() {
        "GetBook" => Reply::Answer(book(shop).encode_to_vec()),
        "GetPiece" => {
            let asked = GetPieceRequest::decode(message).unwrap();
            Reply::Answer(bottle(&asked.tag, 250_000))
        }
        "CopyEntries" => {
            let asked = CopyEntriesRequest::decode(message).unwrap();
            Reply::Answer(copied(shop, asked.after_seq).encode_to_vec())
        }
        "PairDevice" => {
            let asked = PairDeviceRequest::decode(message).unwrap();
            shop.pairing = asked.clone();
            let mut answer = paired(&shop.other_book);
            answer.authority.clone_from(&shop.authority);
            if asked.code_proof.is_empty() {
                assert_eq!(asked.token_secret.len(), 32);
            } else {
                prove(shop, &asked, &mut answer);
            }
            Reply::Answer(answer.encode_to_vec())
        }
        "ListDevices" => Reply::Answer(ListDevicesResponse::default().encode_to_vec()),
        _ => Reply::Refuse(Status::unimplemented(name)),
    }
}

/// The secret of the typed code.
const TYPED_SECRET: &str = "K7Q29XJM4T";

/// Shows that the shop knows the typed code, if it does.
fn prove(shop: &Memory, asked: &PairDeviceRequest, answer: &mut PairDeviceResponse) {
    let token_hash: [u8; 32] = asked.token_hash.clone().try_into().unwrap();
    answer.token.clear();
    answer.token_start = "fb1.van-a.".to_owned();
    let key = Key::of(TYPED_SECRET, &shop.fingerprint);
    let proof = key.device_proof(&shop.fingerprint, &token_hash);
    assert_eq!(asked.code_proof, proof, "the device knows the code");
    let key = if shop.forgets_codes {
        Key::of("0000000000", &shop.fingerprint)
    } else {
        key
    };
    let proof = key.shop_proof(&shop.fingerprint, &token_hash, &answer.token_start);
    answer.shop_proof = proof.to_vec();
}

fn record(shop: &mut Memory, deed: &Keepable) -> Reply {
    let told = told_of(deed);
    if shop.is_silent {
        return Reply::Silence;
    }
    if let Some(status) = &shop.barred {
        return Reply::Refuse(status.clone());
    }
    if let Some((_, status)) = shop.refused.iter().find(|(word, _)| told.contains(*word)) {
        return Reply::Refuse(status.clone());
    }
    let id = deed.request_id().to_owned();
    let known = shop.recorded.iter().position(|one| one.request_id == id);
    let at = known.unwrap_or_else(|| {
        let deed = deed.clone();
        shop.recorded.push(Recorded {
            request_id: id,
            deed,
        });
        shop.head_seq += 1;
        shop.recorded.len() - 1
    });
    assert_eq!(
        shop.recorded[at].deed, *deed,
        "the same id has another body"
    );
    if known.is_none() && shop.cut_after.contains(&shop.recorded.len()) {
        return Reply::Cut;
    }
    let answer = entry(i64::try_from(at).unwrap() + 1, deed);
    let mut answer = WashKitResponse::decode(answer.as_slice()).unwrap();
    let flagged = shop.flagged.iter().filter(|(word, _)| told.contains(*word));
    let flags = flagged.map(|(tag, text)| Flag {
        tag: tag.clone(),
        text: text.clone(),
        ..Flag::default()
    });
    answer.entry.as_mut().unwrap().flags = flags.collect();
    Reply::Answer(answer.encode_to_vec())
}

fn book(shop: &Memory) -> GetBookResponse {
    let now = crate::clock::now(&crate::solo::SoloClock::System);
    GetBookResponse {
        book_id: "book".to_owned(),
        incarnation_id: "book".to_owned(),
        head_seq: shop.head_seq,
        service_time: Some(stamp(now, shop.clock_ahead_s)),
        caller: "van-a".to_owned(),
        caller_role: Role::Work.into(),
        ..GetBookResponse::default()
    }
}

/// A page of up to two entries, so that more than one page is asked for.
fn copied(shop: &Memory, after_seq: i64) -> CopyEntriesResponse {
    let now = crate::clock::now(&crate::solo::SoloClock::System);
    let until = shop.head_seq.min(after_seq + 2);
    CopyEntriesResponse {
        entries: (after_seq + 1..=until)
            .map(|seq| format!("{{\"seq\":{seq}}}").into_bytes())
            .collect(),
        book_id: "book".to_owned(),
        incarnation_id: "book".to_owned(),
        head_seq: shop.head_seq,
        as_of_time: Some(stamp(now, 0)),
    }
}

fn paired(other_book: &str) -> PairDeviceResponse {
    let book_id = if other_book.is_empty() {
        "book"
    } else {
        other_book
    };
    PairDeviceResponse {
        token: "fb1.token-of-van-a".to_owned(),
        device: Some(Device {
            name: "van-a".to_owned(),
            role: Role::Work.into(),
            ..Device::default()
        }),
        book_id: book_id.to_owned(),
        ..PairDeviceResponse::default()
    }
}

/// The answer with a bottle.
pub(super) fn bottle(tag: &str, left_ul: i64) -> Vec<u8> {
    let state = BottleState {
        left_ul,
        ..BottleState::default()
    };
    let piece = Piece {
        tag: tag.to_owned(),
        state: Some(PieceState::Bottle(state)),
        ..Piece::default()
    };
    GetPieceResponse { piece: Some(piece) }.encode_to_vec()
}

fn stamp(moment: Timestamp, later_s: i64) -> prost_types::Timestamp {
    prost_types::Timestamp {
        seconds: moment.as_second() + later_s,
        nanos: moment.subsec_nanosecond(),
    }
}
