//! Whom this device believes: the one certificate it was told of, and what that one has signed.
//!
//! It serves the connection to a shop. No list of public authorities is asked, and a service that
//! cannot show or be checked against that certificate hears nothing: neither secret nor token.

use std::sync::{Arc, OnceLock};

use data_encoding::BASE64;
use fettlebook_contract::hint::Hint;
use sha2::{Digest as _, Sha256};
use tokio_rustls::rustls::client::WebPkiServerVerifier;
use tokio_rustls::rustls::client::danger::{
    HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier,
};
use tokio_rustls::rustls::crypto::{
    CryptoProvider, ring, verify_tls12_signature, verify_tls13_signature,
};
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::server::ParsedCertificate;
use tokio_rustls::rustls::{
    CertificateError, ClientConfig, DigitallySignedStruct, DistinguishedName, Error, OtherError,
    RootCertStore, SignatureScheme, client,
};

/// The name that the certificates which fettled makes for itself are for, wherever it runs.
pub(crate) const OWN_NAME: &str = "fettled.internal";

/// Characters of a line of PEM.
///
/// Source: RFC 7468, section 2.
const PEM_LINE_CHARS: usize = 64;

/// What a service has to show.
#[derive(Clone, Debug)]
pub(crate) enum Pin {
    /// A chain with the certificate that has this SHA-256, which is found on the way.
    Fingerprint([u8; 32], Arc<OnceLock<CertificateDer<'static>>>),
    /// A chain that this certificate vouches for.
    Certificate(CertificateDer<'static>),
    /// Any chain; its last certificate is found on the way, and what the service answers has to prove it.
    Last(Arc<OnceLock<CertificateDer<'static>>>),
}

impl Pin {
    /// What a service has to show that made a code with this fingerprint.
    pub(crate) fn of_code(fingerprint: [u8; 32]) -> Self {
        Self::Fingerprint(fingerprint, Arc::default())
    }

    /// What a service has to show that has yet to prove that it made a typed code.
    pub(crate) fn last() -> Self {
        Self::Last(Arc::default())
    }

    /// The SHA-256 of the certificate, once it is known.
    pub(crate) fn fingerprint(&self) -> Option<[u8; 32]> {
        Some(Sha256::digest(self.certificate()?).into())
    }

    /// The SHA-256 of the certificate that a service has to show, where that is known before it does.
    fn wanted(&self) -> Option<[u8; 32]> {
        match self {
            Self::Fingerprint(fingerprint, _) => Some(*fingerprint),
            Self::Certificate(certificate) => Some(Sha256::digest(certificate).into()),
            Self::Last(_) => None,
        }
    }

    fn certificate(&self) -> Option<&CertificateDer<'static>> {
        match self {
            Self::Fingerprint(_, found) | Self::Last(found) => found.get(),
            Self::Certificate(certificate) => Some(certificate),
        }
    }

    /// What a service has to show that this device is paired with; nothing when that cannot be read.
    pub(crate) fn of_pem(text: &str) -> Option<Self> {
        let read = CertificateDer::from_pem_slice(text.as_bytes());
        read.ok().map(Self::Certificate)
    }

    /// What a service has to show that said so itself; nothing where that is no certificate.
    pub(crate) fn of_der(bytes: &[u8]) -> Option<Self> {
        let certificate = CertificateDer::from(bytes.to_vec());
        ParsedCertificate::try_from(&certificate).ok()?;
        Some(Self::Certificate(certificate))
    }

    /// The certificate, once it is known, as PEM.
    pub(crate) fn to_pem(&self) -> Option<String> {
        let text = BASE64.encode(self.certificate()?);
        let (mut pem, mut rest) = ("-----BEGIN CERTIFICATE-----\n".to_owned(), text.as_str());
        while let Some((line, more)) = rest.split_at_checked(PEM_LINE_CHARS.min(rest.len())) {
            if line.is_empty() {
                break;
            }
            pem.push_str(line);
            pem.push('\n');
            rest = more;
        }
        pem.push_str("-----END CERTIFICATE-----\n");
        Some(pem)
    }

    /// The certificate to check a chain against.
    fn root(&self, chain: &[&CertificateDer<'_>]) -> Result<CertificateDer<'static>, Error> {
        match self {
            Self::Certificate(certificate) => Ok(certificate.clone()),
            Self::Last(found) => {
                let root = chain.last().ok_or_else(not_the_one)?;
                Ok(found.get_or_init(|| (**root).clone().into_owned()).clone())
            }
            Self::Fingerprint(fingerprint, found) => {
                let mut shown = chain.iter();
                let pinned = shown.find(|one| Sha256::digest(one).as_slice() == fingerprint);
                let root = pinned.ok_or_else(not_the_one)?;
                Ok(found.get_or_init(|| (**root).clone().into_owned()).clone())
            }
        }
    }
}

/// How the chain of a service that cannot show the certificate is refused.
#[derive(Debug)]
pub(crate) struct NotTheOne;

impl std::fmt::Display for NotTheOne {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("the pinned certificate is not in the chain")
    }
}

impl std::error::Error for NotTheOne {}

fn not_the_one() -> Error {
    CertificateError::Other(OtherError(Arc::new(NotTheOne))).into()
}

/// TLS that believes this pin alone, and says so in the handshake: a service of many books shows what this device
/// believes. `book_id` is that of the book it has a token for.
///
/// # Errors
/// When the library cannot be set up so.
pub(crate) fn tls(pin: Pin, book_id: Option<&str>) -> Result<ClientConfig, Error> {
    let provider = Arc::new(ring::default_provider());
    let hint = pin.wanted().map(|fingerprint| Hint {
        fingerprint,
        book_id: book_id.map(str::to_owned),
    });
    let hint = hint.map(|hint| DistinguishedName::in_sequence(&hint.to_parts()));
    let verifier = Verifier {
        pin,
        believed: hint.into_iter().collect(),
        provider: Arc::clone(&provider),
    };
    let mut config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()?
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(verifier))
        .with_no_client_auth();
    config.alpn_protocols = vec![b"h2".to_vec()];
    Ok(config)
}

/// Bytes that nobody can guess.
///
/// # Errors
/// When the system has none.
pub(crate) fn random<const N: usize>() -> Result<[u8; N], Error> {
    let mut bytes = [0; N];
    let filled = ring::default_provider().secure_random.fill(&mut bytes);
    filled.map_err(|_| Error::FailedToGetRandomBytes)?;
    Ok(bytes)
}

#[derive(Debug)]
struct Verifier {
    pin: Pin,
    /// The name of the authority that is believed, where that is known.
    believed: Vec<DistinguishedName>,
    provider: Arc<CryptoProvider>,
}

impl Verifier {
    /// Checks a chain for one name.
    fn check(
        &self,
        root: &CertificateDer<'static>,
        chain: (&CertificateDer<'_>, &[CertificateDer<'_>]),
        name: &ServerName<'_>,
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let mut roots = RootCertStore::empty();
        roots.add(root.clone())?;
        let built = WebPkiServerVerifier::builder_with_provider(
            Arc::new(roots),
            Arc::clone(&self.provider),
        );
        let verifier = built.build().map_err(|_| not_the_one())?;
        let checked = verifier.verify_server_cert(chain.0, chain.1, name, &[], now);
        match checked {
            // A leaf that is pinned itself needs nobody to vouch for it, only the right name.
            Err(Error::InvalidCertificate(CertificateError::UnknownIssuer)) if root == chain.0 => {
                let leaf = ParsedCertificate::try_from(chain.0)?;
                client::verify_server_name(&leaf, name)?;
                Ok(ServerCertVerified::assertion())
            }
            other => other,
        }
    }
}

impl ServerCertVerifier for Verifier {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        intermediates: &[CertificateDer<'_>],
        server_name: &ServerName<'_>,
        _: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let chain: Vec<_> = std::iter::once(end_entity).chain(intermediates).collect();
        let root = self.pin.root(&chain)?;
        let own = ServerName::try_from(OWN_NAME).map_err(|_| not_the_one())?;
        let shown = (end_entity, intermediates);
        match self.check(&root, shown, &own, now) {
            Err(Error::InvalidCertificate(
                CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
            )) => self.check(&root, shown, server_name, now),
            other => other,
        }
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        dss: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let algorithms = &self.provider.signature_verification_algorithms;
        verify_tls12_signature(message, cert, dss, algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        dss: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let algorithms = &self.provider.signature_verification_algorithms;
        verify_tls13_signature(message, cert, dss, algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        let algorithms = &self.provider.signature_verification_algorithms;
        algorithms.supported_schemes()
    }

    fn root_hint_subjects(&self) -> Option<&[DistinguishedName]> {
        Some(self.believed.as_slice()).filter(|believed| !believed.is_empty())
    }
}

#[cfg(test)]
mod tests;
