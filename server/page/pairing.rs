//! How a telephone becomes a device of the shop: by the secret of a code that its picture brings in the fragment,
//! or by a code that a person types.
//!
//! The secret of the token to be is in the form from the start, so that a form that is sent twice pairs one
//! telephone, and its answer may be lost. A fragment is sent to nobody: the script puts it into the form.

use axum::extract::State;
use axum::http::header::{HOST, SET_COOKIE};
use axum::http::request::Parts;
use axum::http::{Extensions, HeaderMap, Method, StatusCode, Uri};
use axum::response::{IntoResponse as _, Response};
use data_encoding::BASE64URL_NOPAD;
use fettlebook_contract::page;
use fettlebook_contract::pairing::{Key, TypedCode};
use fettlebook_contract::v1::PairDeviceRequest;
use minijinja::context;
use sha2::{Digest as _, Sha256};
use tonic::metadata::MetadataMap;
use tonic::{Request, Status};

use crate::form::{Fields, Form};
use crate::refusal::Refusal;
use crate::views::go_to;
use crate::{Shop, asker, session, templates};

/// Letters of a long code's secret.
const LONG_SECRET_LETTERS: usize = 16;

/// The view that a telephone comes to which was not sent anywhere else.
const FIRST: &str = "/";

/// The form, for whoever comes by it.
pub(crate) async fn show() -> Response {
    form(StatusCode::OK, "", FIRST)
}

/// The form, for whoever shows no token; afterwards it leads to what was asked for.
pub(crate) fn asked(parts: &Parts) -> Response {
    let path = parts.uri.path_and_query().map(|path| path.as_str());
    let back = path.filter(|path| parts.method == Method::GET && is_own_path(path));
    form(StatusCode::UNAUTHORIZED, "", back.unwrap_or(FIRST))
}

/// The form, for a telephone whose token lets nobody in any more, which forgets it.
pub(crate) fn shut_out(why: &str) -> Response {
    let mut answer = form(StatusCode::UNAUTHORIZED, why, FIRST);
    if let Some(forgotten) = session::forgotten() {
        answer.headers_mut().insert(SET_COOKIE, forgotten);
    }
    answer
}

/// Whether it leads to this page and nowhere else: a path of letters, figures and what paths of the page have.
fn is_own_path(path: &str) -> bool {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-._~?=&%".contains(&byte);
    path.starts_with('/') && !path.starts_with("//") && path.bytes().all(is_plain)
}

fn form(code: StatusCode, why: &str, back: &str) -> Response {
    let mut secret = [0; 32];
    if getrandom::fill(&mut secret).is_err() {
        let text = "The system gives no random numbers, so nothing can be paired now.";
        return (StatusCode::INTERNAL_SERVER_ERROR, text).into_response();
    }
    let told = context! { why, back, own => BASE64URL_NOPAD.encode(&secret) };
    templates::page(code, "pair.html", None, "Pair this telephone", told)
}

/// A code that was given.
enum Code {
    /// The secret of a long one.
    Long(String),
    /// One that was typed, with its address.
    Typed(TypedCode),
}

/// Pairs the telephone.
pub(crate) async fn pair(
    State(shop): State<Shop>,
    uri: Uri,
    headers: HeaderMap,
    connection: Extensions,
    Form(sent): Form,
) -> Result<Response, Refusal> {
    let asked_for = sent.first("back");
    let back = if is_own_path(asked_for) {
        asked_for
    } else {
        FIRST
    };
    let own = token_secret(&sent, back)?;
    let typed = sent.first("code");
    let host = uri.authority().map(|authority| authority.as_str());
    let host = host.or_else(|| headers.get(HOST).and_then(|host| host.to_str().ok()));
    let token = match read(typed, host.unwrap_or_default()) {
        Ok(Code::Long(secret)) => by_secret(&shop, connection, secret, own).await,
        Ok(Code::Typed(code)) => by_proof(&shop, connection, code, own).await,
        Err(wrong) => return Err(form(StatusCode::BAD_REQUEST, &wrong, back).into()),
    };
    let token = token.map_err(|status| match status.code() {
        // No code that lets in: the form once more, with what is wrong.
        tonic::Code::PermissionDenied => form(StatusCode::FORBIDDEN, status.message(), back).into(),
        _ => Refusal::from(status),
    })?;
    let Some(kept) = session::kept(&token) else {
        let why = "The service gave no token that can be kept.";
        return Err(form(StatusCode::UNAUTHORIZED, why, back).into());
    };
    let mut answer = go_to(back);
    answer.headers_mut().insert(SET_COOKIE, kept);
    Ok(answer)
}

fn token_secret(sent: &Fields, back: &str) -> Result<[u8; 32], Refusal> {
    let bytes = BASE64URL_NOPAD.decode(sent.first("own").as_bytes()).ok();
    let own = bytes.and_then(|bytes| bytes.try_into().ok());
    let why = "The form was not whole. Here is a new one.";
    own.ok_or_else(|| form(StatusCode::BAD_REQUEST, why, back).into())
}

/// Reads a code however it was given: as the page's address, its fragment alone, the long code, the secret of that
/// alone, the typed one with or without its address.
fn read(typed: &str, host: &str) -> Result<Code, String> {
    let last = typed.rsplit('/').next().unwrap_or_default();
    let last = last.trim().trim_start_matches('#');
    let is_base32 = |letter: char| letter.is_ascii_alphabetic() || ('2'..='7').contains(&letter);
    if last.len() == LONG_SECRET_LETTERS && last.chars().all(is_base32) {
        return Ok(Code::Long(last.to_ascii_uppercase()));
    }
    // The address of whoever asks is where the code leads, as a browser names it.
    let whole = match page::host_and_port(&format!("https://{host}/")) {
        Some((host, port)) if !typed.contains('/') && !typed.is_empty() => {
            format!("{}{typed}", page::first(&host, port))
        }
        _ => typed.to_owned(),
    };
    let code = TypedCode::parse(&whole);
    code.map(Code::Typed).map_err(|wrong| {
        format!("{wrong} If it is typed right, type it whole, with the address before its letters.")
    })
}

/// Calls without a token, as whoever is at the other end of the connection.
async fn ask(
    shop: &Shop,
    connection: Extensions,
    sent: PairDeviceRequest,
) -> Result<fettlebook_contract::v1::PairDeviceResponse, Status> {
    let request = Request::from_parts(MetadataMap::new(), connection, sent);
    asker::call(&shop.contract, request).await
}

async fn by_secret(
    shop: &Shop,
    connection: Extensions,
    code_secret: String,
    own: [u8; 32],
) -> Result<String, Status> {
    let sent = PairDeviceRequest {
        code_secret,
        token_secret: own.to_vec(),
        ..PairDeviceRequest::default()
    };
    Ok(ask(shop, connection, sent).await?.token)
}

/// Proves here what a device with `fettle` proves itself: a browser cannot see by which certificate it came.
async fn by_proof(
    shop: &Shop,
    connection: Extensions,
    code: TypedCode,
    own: [u8; 32],
) -> Result<String, Status> {
    let fingerprint: [u8; 32] = Sha256::digest((shop.certificate)()).into();
    let turn = shop.keys.acquire().await;
    let key = tokio::task::spawn_blocking(move || Key::of(&code.secret, &fingerprint)).await;
    drop(turn);
    let key = key.map_err(|_| Status::unavailable("The service stops. Try again in a moment."))?;
    let token_hash: [u8; 32] = Sha256::digest(own).into();
    let sent = PairDeviceRequest {
        code_proof: key.device_proof(&fingerprint, &token_hash).to_vec(),
        token_hash: token_hash.to_vec(),
        ..PairDeviceRequest::default()
    };
    let paired = ask(shop, connection, sent).await?;
    let secret = BASE64URL_NOPAD.encode(&own);
    Ok(format!("{}{secret}", paired.token_start))
}
