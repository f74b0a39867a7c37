//! Requests about devices.
//!
//! It serves the access service. Secrets are looked at for their length alone.

use fettlebook_contract::v1::PairDeviceRequest;
use fettlebook_model::{Id, Refusal};

use super::super::words;
use crate::access::{Role, SECRET_BYTES, address_of};

/// The name of a device.
pub(in crate::edge) fn name(text: &str) -> Result<Id, Refusal> {
    super::name("name", text, "van-a")
}

/// A role that has to be said.
pub(in crate::edge) fn role(number: i32) -> Result<Role, Refusal> {
    words::required("role", words::role("role", number)?)
}

/// How a device shows that it has a code.
pub(in crate::edge) enum Shown {
    /// By the code's long secret; with the secret that it made for its token.
    Secret(String, [u8; SECRET_BYTES]),
    /// By a proof that it knows a typed code; with the SHA-256 of the secret that it made.
    Proof([u8; SHA256_BYTES], [u8; SHA256_BYTES]),
}

/// Bytes of a SHA-256, and of a proof.
const SHA256_BYTES: usize = 32;

/// Where the device reaches the service; nothing where that is left open.
pub(in crate::edge) fn address(field: &str, text: &str) -> Result<Option<String>, Refusal> {
    if text.is_empty() {
        return Ok(None);
    }
    let read = address_of(text).ok_or_else(|| {
        let what = format!("`{field}` is '{text}', and it must be a host and a port.");
        let how = "Write for example bench.example:7420, 192.0.2.7 or [2001:db8::7]:7420.";
        Refusal::invalid(field, what, how)
    })?;
    Ok(Some(read))
}

/// How a device shows that it has a code.
pub(in crate::edge) fn shown(sent: PairDeviceRequest) -> Result<Shown, Refusal> {
    if sent.code_proof.is_empty() && sent.token_hash.is_empty() {
        let (code, token) = secrets(sent)?;
        return Ok(Shown::Secret(code, token));
    }
    if !sent.code_secret.is_empty() || !sent.token_secret.is_empty() {
        let what = "`code_proof` and `token_hash` stand in place of the secrets, not beside them.";
        let how = "Send no secret with a proof.";
        return Err(Refusal::invalid("code_proof", what.to_owned(), how));
    }
    let whole = |field: &'static str, bytes: Vec<u8>| {
        let what = format!(
            "`{field}` has {} bytes, and it must have {SHA256_BYTES}.",
            bytes.len()
        );
        let how = "Make the proof and the hash as the contract says.";
        bytes
            .try_into()
            .map_err(|_| Refusal::invalid(field, what, how))
    };
    Ok(Shown::Proof(
        whole("code_proof", sent.code_proof)?,
        whole("token_hash", sent.token_hash)?,
    ))
}

/// The secret of a code, and the one that a device made for its token.
fn secrets(sent: PairDeviceRequest) -> Result<(String, [u8; SECRET_BYTES]), Refusal> {
    if sent.code_secret.is_empty() {
        return Err(Refusal::missing(
            "code_secret",
            "Give the last part of the pairing code.",
        ));
    }
    const HOW: &str = "Make 32 random bytes before the first try, and send the same on a retry.";
    if sent.token_secret.is_empty() {
        return Err(Refusal::missing("token_secret", HOW));
    }
    let byte_count = sent.token_secret.len();
    let secret = sent.token_secret.try_into();
    let secret = secret.map_err(|_| {
        let what =
            format!("`token_secret` has {byte_count} bytes, and it must have {SECRET_BYTES}.");
        Refusal::invalid("token_secret", what, HOW)
    })?;
    Ok((sent.code_secret, secret))
}
