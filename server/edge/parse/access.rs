//! Requests about devices.
//!
//! It serves the access service. Secrets are looked at for their length alone.

use fettlebook_contract::v1::PairDeviceRequest;
use fettlebook_model::{Id, Refusal};

use super::super::words;
use crate::access::{Role, SECRET_BYTES};

/// The name of a device.
pub(in crate::edge) fn name(text: &str) -> Result<Id, Refusal> {
    super::name("name", text, "van-a")
}

/// A role that has to be said.
pub(in crate::edge) fn role(number: i32) -> Result<Role, Refusal> {
    words::required("role", words::role("role", number)?)
}

/// The secret of a code, and the one that a device made for its token.
pub(in crate::edge) fn secrets(
    sent: PairDeviceRequest,
) -> Result<(String, [u8; SECRET_BYTES]), Refusal> {
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
