//! The book's own authority and the leaf it signs.
//!
//! It serves a shop that has no certificates, which is the usual one. The authority is made once and
//! kept, for devices hold on to it; the leaf is made anew before it runs out or when the machine has
//! another name or address.

use fettlebook_contract::hint::AUTHORITY_NAME;
use fettlebook_model::Moment;
use jiff::ToSpan as _;
use jiff::civil::Date;
use rcgen::{
    BasicConstraints, CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, IsCa,
    Issuer, KeyPair, KeyUsagePurpose, date_time_ymd,
};
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};

use super::super::AccessError;
use super::{CertificateError, Credentials, SERVICE_NAME, check};
use crate::limits::{AUTHORITY_YEARS, CERTIFICATE_BACK_DAYS, LEAF_RENEWED_DAYS, LEAF_YEARS};
use crate::store::{Cabinet, Paper};

/// An authority that signs.
pub(super) struct Authority {
    /// Its certificate.
    pub(super) certificate: CertificateDer<'static>,
    key: KeyPair,
}

/// Those in the cabinet, whose turn to change it is; made where there are none or they end soon.
pub(super) fn credentials(
    cabinet: &dyn Cabinet,
    hosts: &[String],
    now: Moment,
) -> Result<Credentials, AccessError> {
    let authority = authority(cabinet, now)?;
    let names = names(hosts);
    if let Some(held) = leaf(cabinet, &authority)?
        && stays(&held, &names, now)
    {
        return Ok(held);
    }
    tracing::info!("a new certificate is made for {}", names.join(", "));
    let leaf = Leaf::signed_by(&authority, names, now).map_err(|what| not_made(cabinet)(&what))?;
    leaf.write(cabinet)?;
    check::believable(&leaf.credentials.chain, now)?;
    Ok(leaf.credentials)
}

/// Those by an authority that is in the cabinet, with a leaf that is written nowhere: for this run of the program.
/// Nothing where there is no authority.
#[cfg(feature = "postgres")]
pub(super) fn for_this_run(
    cabinet: &dyn Cabinet,
    hosts: &[String],
    now: Moment,
) -> Result<Option<Credentials>, AccessError> {
    let Some(authority) = held_authority(cabinet)? else {
        return Ok(None);
    };
    let leaf = Leaf::signed_by(&authority, names(hosts), now);
    let leaf = leaf.map_err(|what| not_made(cabinet)(&what))?;
    check::believable(&leaf.credentials.chain, now)?;
    Ok(Some(leaf.credentials))
}

/// What a leaf stands for: these hosts beside the usual names.
fn names(hosts: &[String]) -> Vec<String> {
    let mut names = vec![
        SERVICE_NAME.to_owned(),
        "localhost".to_owned(),
        "127.0.0.1".to_owned(),
        "::1".to_owned(),
    ];
    for host in hosts {
        if !names.contains(host) {
            names.push(host.clone());
        }
    }
    names
}

/// The authority in the cabinet, made where there is none.
pub(super) fn authority(cabinet: &dyn Cabinet, now: Moment) -> Result<Authority, AccessError> {
    match held_authority(cabinet)? {
        Some(held) => Ok(held),
        None => new_authority(cabinet, now),
    }
}

/// The authority in the cabinet.
fn held_authority(cabinet: &dyn Cabinet) -> Result<Option<Authority>, AccessError> {
    let not_made = not_made(cabinet);
    let held = cabinet.read(Paper::Authority)?;
    let Some(certificate) = held else {
        return Ok(None);
    };
    let certificate = CertificateDer::from_pem_slice(&certificate).map_err(|error| {
        let name = Paper::Authority.name();
        not_made(&format!("{name} holds no certificate ({error:?})"))
    })?;
    let key = cabinet.read(Paper::AuthorityKey)?.unwrap_or_default();
    let key = std::str::from_utf8(&key).unwrap_or_default();
    let key = KeyPair::from_pem(key).map_err(|error| {
        let name = Paper::AuthorityKey.name();
        not_made(&format!("{name} holds no key ({error})"))
    })?;
    Ok(Some(Authority { certificate, key }))
}

/// The key first: an authority is there once its certificate is.
fn new_authority(cabinet: &dyn Cabinet, now: Moment) -> Result<Authority, AccessError> {
    let not_made = not_made(cabinet);
    let failed = |error: rcgen::Error| not_made(&error.to_string());
    let key = KeyPair::generate().map_err(failed)?;
    let mut params = authority_params();
    last(&mut params, now, AUTHORITY_YEARS);
    let certificate = params.self_signed(&key).map_err(failed)?;
    cabinet.write(Paper::AuthorityKey, key.serialize_pem().as_bytes())?;
    cabinet.write(Paper::Authority, certificate.pem().as_bytes())?;
    let certificate = certificate.der().clone();
    Ok(Authority { certificate, key })
}

fn authority_params() -> CertificateParams {
    let mut params = CertificateParams::default();
    params.distinguished_name = named(AUTHORITY_NAME);
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    params
}

/// The leaf in the cabinet, with the authority behind it; nothing when there is none that is whole.
fn leaf(cabinet: &dyn Cabinet, authority: &Authority) -> Result<Option<Credentials>, AccessError> {
    let (leaf, key) = (cabinet.read(Paper::Leaf)?, cabinet.read(Paper::LeafKey)?);
    let (Some(leaf), Some(key)) = (leaf, key) else {
        return Ok(None);
    };
    let leaf = CertificateDer::from_pem_slice(&leaf);
    let key = PrivateKeyDer::from_pem_slice(&key);
    let (Ok(leaf), Ok(key)) = (leaf, key) else {
        return Ok(None);
    };
    let chain = vec![leaf, authority.certificate.clone()];
    let held = Credentials { chain, key };
    Ok(held.server_config().is_ok().then_some(held))
}

/// Whether a leaf is good now and for long enough, under every name.
fn stays(held: &Credentials, names: &[String], now: Moment) -> bool {
    let later = now.checked_add((LEAF_RENEWED_DAYS * 24).hours());
    let long_enough = later.is_ok_and(|later| check::believable(&held.chain, later).is_ok());
    long_enough
        && check::believable(&held.chain, now).is_ok()
        && names.iter().all(|name| held.stands_for(name))
}

/// A leaf that an authority has signed.
struct Leaf {
    /// It and the authority behind it.
    credentials: Credentials,
    /// It and its key as they are kept.
    pem: String,
    key_pem: String,
}

impl Leaf {
    /// A new one; what is wrong where it cannot be made.
    fn signed_by(authority: &Authority, names: Vec<String>, now: Moment) -> Result<Self, String> {
        let failed = |error: rcgen::Error| error.to_string();
        let key = KeyPair::generate().map_err(failed)?;
        let mut params = CertificateParams::new(names).map_err(failed)?;
        params.distinguished_name = named(SERVICE_NAME);
        params.is_ca = IsCa::ExplicitNoCa;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        last(&mut params, now, LEAF_YEARS);
        let signer = authority_params();
        let issuer = Issuer::from_params(&signer, &authority.key);
        let leaf = params.signed_by(&key, &issuer).map_err(failed)?;
        Ok(Self {
            pem: leaf.pem(),
            key_pem: key.serialize_pem(),
            credentials: Credentials {
                chain: vec![leaf.der().clone(), authority.certificate.clone()],
                key: PrivateKeyDer::try_from(key.serialize_der())?,
            },
        })
    }

    fn write(&self, cabinet: &dyn Cabinet) -> Result<(), AccessError> {
        cabinet.write(Paper::LeafKey, self.key_pem.as_bytes())?;
        Ok(cabinet.write(Paper::Leaf, self.pem.as_bytes())?)
    }
}

fn named(name: &str) -> DistinguishedName {
    let mut full = DistinguishedName::new();
    full.push(DnType::CommonName, name);
    full
}

/// Makes a certificate good from two days back, for so many years.
fn last(params: &mut CertificateParams, now: Moment, years: i32) {
    let today = jiff::tz::Offset::UTC.to_datetime(now).date();
    let day = |date: Date| {
        let (month, day) = (date.month().unsigned_abs(), date.day().unsigned_abs());
        date_time_ymd(i32::from(date.year()), month, day)
    };
    let from = today.checked_sub(CERTIFICATE_BACK_DAYS.days());
    params.not_before = day(from.unwrap_or(today));
    let until = today.checked_add(years.years());
    params.not_after = day(until.unwrap_or(today));
}

fn not_made(cabinet: &dyn Cabinet) -> impl Fn(&str) -> AccessError + use<> {
    let path = cabinet.place(Paper::Authority);
    move |what| {
        CertificateError::NotMade {
            what: what.to_owned(),
            path: path.clone(),
        }
        .into()
    }
}
