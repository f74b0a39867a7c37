//! How a telephone becomes a device of the shop: by the secret of a code that its picture brings in the fragment,
//! or by a code that a person types.
//!
//! The secret of the token to be is in the form from the start, so that a form that is sent twice pairs one
//! telephone, and its answer may be lost. A fragment is sent to nobody: the script puts it into the form.

use axum::extract::State;
use axum::http::header::{HOST, LOCATION, SET_COOKIE};
use axum::http::{Extensions, HeaderMap, HeaderValue, StatusCode, Uri};
use axum::response::{IntoResponse as _, Response};
use data_encoding::BASE64URL_NOPAD;
use fettlebook_contract::pairing::{Key, TypedCode};
use fettlebook_contract::v1::PairDeviceRequest;
use minijinja::context;
use sha2::{Digest as _, Sha256};
use tonic::metadata::MetadataMap;
use tonic::{Request, Status};

use crate::form::{Fields, Form};
use crate::refusal::Refusal;
use crate::{Shop, asker, session, templates};

/// Letters of a long code's secret.
const LONG_SECRET_LETTERS: usize = 16;

/// The form, for whoever comes by it.
pub(crate) async fn show() -> Response {
    form(StatusCode::OK, "")
}

/// The form, for whoever shows no token.
pub(crate) fn asked(why: &str) -> Response {
    form(StatusCode::UNAUTHORIZED, why)
}

/// The form, for a telephone whose token lets nobody in any more, which forgets it.
pub(crate) fn shut_out(why: &str) -> Response {
    let mut answer = asked(why);
    if let Some(forgotten) = session::forgotten() {
        answer.headers_mut().insert(SET_COOKIE, forgotten);
    }
    answer
}

fn form(code: StatusCode, why: &str) -> Response {
    let mut secret = [0; 32];
    if getrandom::fill(&mut secret).is_err() {
        let text = "The system gives no random numbers, so nothing can be paired now.";
        return (StatusCode::INTERNAL_SERVER_ERROR, text).into_response();
    }
    let told = context! { why, own => BASE64URL_NOPAD.encode(&secret) };
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
    let own = token_secret(&sent)?;
    let typed = sent.first("code");
    let host = uri.authority().map(|authority| authority.as_str());
    let host = host.or_else(|| headers.get(HOST).and_then(|host| host.to_str().ok()));
    let token = match read(typed, host.unwrap_or_default()) {
        Ok(Code::Long(secret)) => by_secret(&shop, connection, secret, own).await,
        Ok(Code::Typed(code)) => by_proof(&shop, connection, code, own).await,
        Err(wrong) => return Err(form(StatusCode::BAD_REQUEST, &wrong).into()),
    };
    let token = token.map_err(|status| match status.code() {
        // No code that lets in: the form once more, with what is wrong.
        tonic::Code::PermissionDenied => form(StatusCode::FORBIDDEN, status.message()).into(),
        _ => Refusal::from(status),
    })?;
    let Some(kept) = session::kept(&token) else {
        return Err(asked("The service gave no token that can be kept.").into());
    };
    let mut answer = StatusCode::SEE_OTHER.into_response();
    answer.headers_mut().insert(SET_COOKIE, kept);
    let first = HeaderValue::from_static("/");
    answer.headers_mut().insert(LOCATION, first);
    Ok(answer)
}

fn token_secret(sent: &Fields) -> Result<[u8; 32], Refusal> {
    let bytes = BASE64URL_NOPAD.decode(sent.first("own").as_bytes()).ok();
    let own = bytes.and_then(|bytes| bytes.try_into().ok());
    let why = "The form was not whole. Here is a new one.";
    own.ok_or_else(|| form(StatusCode::BAD_REQUEST, why).into())
}

/// Reads a code however it was given: the secret alone, the long code, the typed one with or without its
/// address.
fn read(typed: &str, host: &str) -> Result<Code, String> {
    let last = typed.rsplit('/').next().unwrap_or_default().trim();
    let is_base32 = |letter: char| letter.is_ascii_alphabetic() || ('2'..='7').contains(&letter);
    if last.len() == LONG_SECRET_LETTERS && last.chars().all(is_base32) {
        return Ok(Code::Long(last.to_ascii_uppercase()));
    }
    let whole = if typed.contains('/') || typed.is_empty() {
        typed.to_owned()
    } else {
        format!("{host}/{typed}")
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
    let fingerprint = shop.fingerprint;
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
