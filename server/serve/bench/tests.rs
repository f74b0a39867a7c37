//! The page at the bench as browsers meet it, asked without a network: a real book, real devices, the guard
//! before every call.

mod attempts;
mod counts;
mod days;
mod deeds;
mod large;
mod logged;
mod orders;
mod paired;
mod sheet;
mod shop;
mod table;
mod takes;
mod watched;

use std::net::IpAddr;
use std::sync::Arc;

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_yard::saloon;
use http_body_util::{BodyExt as _, Full};
use tonic::body::Body;
use tonic::codegen::http::{HeaderMap, Method, Request, StatusCode, header};
use tonic::service::Routes;
use tower::{Layer as _, ServiceExt as _};
use uuid::Uuid;

use crate::access::{Access, Fingerprint, Invitation, Invite, Role, ServiceNote, Token};
use crate::desk::{Clock as _, Desk, DeskOptions};
use crate::edge::{BenchPage, Caller, Edge, Visit};
use crate::store::FolderStore;
use crate::testing::TestClock;

/// The evening before the job.
const NOW: &str = "2026-06-03T18:00:00Z";
/// Where the page is.
const ORIGIN: &str = "https://bench.example:7420";
/// By which devices know the service.
const CERTIFICATE: &[u8] = b"a certificate";
/// The job that is booked.
const JOB: &str = "saloon-thursday";
/// A name that is markup, if nobody escapes it.
const MARKUP: &str = "<img src=x onerror=\"alert('1')\">&co";

/// Headers of every answer, and how the value of each begins: all that the OWASP Secure Headers Project recommends to
/// add, but `clear-site-data`, which would end the session. Of the referrer, Fetch, "append a request Origin header".
const HEADERS: [(&str, &str); 11] = [
    ("content-security-policy", "default-src 'none'; "),
    ("x-frame-options", "DENY"),
    ("x-content-type-options", "nosniff"),
    ("cache-control", "no-store"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-embedder-policy", "require-corp"),
    ("strict-transport-security", "max-age=31536000"),
    ("x-permitted-cross-domain-policies", "none"),
    ("permissions-policy", "camera=(), "),
];

/// The small shop, with a page.
struct World {
    _folder: tempfile::TempDir,
    clock: Arc<TestClock>,
    desk: Desk,
    access: Arc<Access>,
    page: BenchPage,
}

/// An answer.
#[derive(Debug)]
struct Got {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

impl Got {
    /// Where it leads.
    fn leads_to(&self) -> &str {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{self:?}");
        self.headers[header::LOCATION].to_str().unwrap()
    }

    /// What stands in the field of a form.
    fn field(&self, name: &str) -> &str {
        let start = format!("name=\"{name}\" value=\"");
        let (_, rest) = self
            .text
            .split_once(&start)
            .unwrap_or_else(|| panic!("no {name}: {self:?}"));
        rest.split('"').next().unwrap()
    }
}

impl World {
    async fn open() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let clock = TestClock::at(NOW);
        let options = DeskOptions::new(Arc::clone(&clock) as _, Uuid::now_v7());
        let (desk, _) = Desk::open(Arc::new(FolderStore::at(folder.path())), &options).unwrap();
        let note = ServiceNote::new(
            "127.0.0.1:7420".parse().unwrap(),
            Fingerprint::of(CERTIFICATE),
        );
        let book = desk.standing().identity.book_id;
        let access = Arc::new(Access::open(desk.cabinet(), book, &note).unwrap());
        let edge = Edge::new(desk.clone(), Caller::owner("local")).for_devices(Arc::clone(&access));
        let page = super::page(edge.guard().layer(edge.routes()), desk.meters(), || {
            CERTIFICATE.to_vec()
        });
        let world = Self {
            _folder: folder,
            clock,
            desk,
            access,
            page,
        };
        world.set_up().await;
        world
    }

    /// The services as whoever owns the book reaches them.
    fn services(&self) -> Routes {
        Edge::new(self.desk.clone(), Caller::owner("local")).routes()
    }

    /// A code for a device.
    fn invite(&self, name: &str, role: Role) -> Invitation {
        let invite = Invite {
            name: name.parse().unwrap(),
            role,
            by: "local".to_owned(),
            at: Some("bench.example:7420".to_owned()),
            again: false,
            office: None,
        };
        self.access.invite(&invite, self.clock.now()).unwrap()
    }

    /// A paired device's token.
    fn pair(&self, name: &str, role: Role) -> Token {
        let code = self.invite(name, role).code.secret;
        let secret = Uuid::now_v7().as_bytes().repeat(2).try_into().unwrap();
        let here: IpAddr = [192, 0, 2, 9].into();
        let paired = self.access.pair(&code, secret, here, self.clock.now());
        paired.unwrap().token
    }

    /// Sends a request from the telephone.
    async fn send(&self, request: Request<Body>) -> Got {
        self.send_from([192, 0, 2, 7].into(), request).await
    }

    /// Sends a request from an address; whatever is answered, it has every header.
    async fn send_from(&self, from: IpAddr, mut request: Request<Body>) -> Got {
        request.extensions_mut().insert(Visit::new(from));
        let answer = self.page.clone().oneshot(request).await.unwrap();
        let (head, body) = answer.into_parts();
        for (name, start) in HEADERS {
            let value = head
                .headers
                .get(name)
                .unwrap_or_else(|| panic!("no {name}: {head:?}"));
            assert!(
                value.to_str().unwrap().starts_with(start),
                "{name}: {value:?}"
            );
        }
        let bytes = body.collect().await.unwrap().to_bytes();
        Got {
            status: head.status,
            headers: head.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }

    async fn get(&self, path: &str, token: Option<&Token>) -> Got {
        self.send(asked(&Method::GET, path, token, Body::empty()))
            .await
    }

    /// Sends a form as the page itself does.
    async fn post(&self, path: &str, token: Option<&Token>, form: &str) -> Got {
        self.send(form_sent(path, token, form)).await
    }

    /// Sends a form as a browser does, from the page itself.
    async fn send_sheet(&self, token: &Token, sheet: &sheet::Sheet) -> Got {
        self.post(&sheet.action, Some(token), &sheet.encoded())
            .await
    }

    /// Number of the last entry.
    fn head(&self) -> u64 {
        self.desk.standing().head.seq.0
    }

    /// A piece as the book has it.
    async fn piece(&self, tag: &str) -> v1::Piece {
        let asked = v1::GetPieceRequest {
            tag: tag.to_owned(),
        };
        let mut kit = KitServiceClient::new(self.services());
        kit.get_piece(asked)
            .await
            .unwrap()
            .into_inner()
            .piece
            .unwrap()
    }
}

/// A request as a browser sends it, but for where it comes from.
fn asked(method: &Method, path: &str, token: Option<&Token>, body: Body) -> Request<Body> {
    let mut request = Request::builder()
        .method(method)
        .uri(format!("{ORIGIN}{path}"));
    if *method == Method::POST {
        request = request.header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    }
    if let Some(token) = token {
        request = request.header(
            header::COOKIE,
            format!("other=1; __Host-fettlebook={token}"),
        );
    }
    request.body(body).unwrap()
}

/// A form as the page itself has it sent.
fn form_sent(path: &str, token: Option<&Token>, form: &str) -> Request<Body> {
    let body = Body::new(Full::from(form.to_owned()));
    let mut request = asked(&Method::POST, path, token, body);
    let origin = ORIGIN.parse().unwrap();
    request.headers_mut().insert(header::ORIGIN, origin);
    request
}

fn fresh() -> String {
    Uuid::now_v7().to_string()
}
