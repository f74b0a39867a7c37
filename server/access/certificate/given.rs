//! A shop's own certificate, from two files.
//!
//! It serves shops that have an authority already. Whatever would keep devices out is found before
//! anything listens.

use std::path::Path;

use fettlebook_model::Moment;
use tokio_rustls::rustls::pki_types::pem::{Error as PemError, PemObject as _};
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};

use super::{CertificateError, Credentials, check};

/// Reads and verifies them.
pub(super) fn credentials(
    chain: &Path,
    key: &Path,
    now: Moment,
) -> Result<Credentials, CertificateError> {
    let certificates = CertificateDer::pem_file_iter(chain).map_err(unreadable(chain))?;
    let certificates: Result<Vec<_>, PemError> = certificates.collect();
    let certificates = certificates.map_err(unreadable(chain))?;
    if certificates.is_empty() {
        return Err(unreadable(chain)(PemError::NoItemsFound));
    }
    let key = PrivateKeyDer::from_pem_file(key).map_err(unreadable(key))?;
    let credentials = Credentials {
        chain: certificates,
        key,
    };
    check::believable(&credentials.chain, now)?;
    credentials.server_config()?;
    Ok(credentials)
}

fn unreadable(path: &Path) -> impl Fn(PemError) -> CertificateError {
    let path = path.display().to_string();
    move |error| {
        let what = match error {
            PemError::NoItemsFound => "it holds nothing of that kind in PEM".to_owned(),
            PemError::Io(error) => error.to_string(),
            other => format!("it is not PEM as it should be ({other:?})"),
        };
        CertificateError::Unreadable {
            path: path.clone(),
            what,
        }
    }
}
