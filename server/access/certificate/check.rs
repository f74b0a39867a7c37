//! Whether a device would believe a chain: the rule by which it does, held against it here first.
//!
//! It serves both kinds of certificates. A device takes the last certificate of the chain, which it
//! knows by its fingerprint, as the only root and verifies the first.

use std::time::Duration;

use fettlebook_model::Moment;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use webpki::{EndEntityCert, Error, KeyUsage, anchor_from_trusted_cert};

use super::CertificateError;

/// Verifies the first certificate of a chain from the last, at a moment.
pub(super) fn believable(
    chain: &[CertificateDer<'static>],
    at: Moment,
) -> Result<(), CertificateError> {
    match verified(chain, at) {
        Ok(()) => Ok(()),
        Err(Refused::NoChain) => Err(CertificateError::Unbelievable {
            what: "there is none".to_owned(),
        }),
        Err(Refused::By(
            error @ (Error::CertExpired { .. }
            | Error::CertNotValidYet { .. }
            | Error::InvalidCertValidity),
        )) => Err(CertificateError::NotNow {
            what: error.to_string(),
        }),
        Err(Refused::By(error)) => Err(CertificateError::Unbelievable {
            what: error.to_string(),
        }),
    }
}

/// Until when the first certificate of a chain is good, as the verifier says of one that is long over.
pub(super) fn good_until(chain: &[CertificateDer<'static>]) -> Option<Moment> {
    match verified(chain, Moment::MAX) {
        Err(Refused::By(Error::CertExpired { not_after, .. })) => {
            let seconds = i64::try_from(not_after.as_secs()).ok()?;
            Moment::from_second(seconds).ok()
        }
        _ => None,
    }
}

/// Why a chain is not verified.
enum Refused {
    /// There is none.
    NoChain,
    /// What the verifier says.
    By(Error),
}

/// Verifies the first certificate of a chain from the last, at a moment.
fn verified(chain: &[CertificateDer<'static>], at: Moment) -> Result<(), Refused> {
    let (Some((leaf, between)), Some(root)) = (chain.split_first(), chain.last()) else {
        return Err(Refused::NoChain);
    };
    let root = anchor_from_trusted_cert(root).map_err(Refused::By)?;
    let leaf = EndEntityCert::try_from(leaf).map_err(Refused::By)?;
    let (roots, at) = ([root], unix_time(at));
    let algorithms = ring::default_provider().signature_verification_algorithms;
    let usage = KeyUsage::server_auth();
    leaf.verify_for_usage(algorithms.all, &roots, between, at, usage, None, None)
        .map(|_| ())
        .map_err(Refused::By)
}

/// Whether a certificate stands for a host, by name or address.
pub(super) fn stands_for(leaf: &CertificateDer<'_>, host: &str) -> bool {
    let (Ok(leaf), Ok(host)) = (EndEntityCert::try_from(leaf), ServerName::try_from(host)) else {
        return false;
    };
    leaf.verify_is_valid_for_subject_name(&host).is_ok()
}

fn unix_time(at: Moment) -> UnixTime {
    let seconds = u64::try_from(at.as_second()).unwrap_or_default();
    UnixTime::since_unix_epoch(Duration::from_secs(seconds))
}
