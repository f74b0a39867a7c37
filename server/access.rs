//! Who may use a book: its devices, the codes that let new ones in, and the certificate by which
//! they know the book.
//!
//! It serves the edge, which asks it about every caller, and `fettled`, which lets devices in. It
//! knows nothing of what the book holds, and keeps nothing in the journal: a backup that is restored
//! must never let in again whom somebody has shut out. It is kept in the cabinet of the book's store:
//!
//! ```text
//! devices.json    devices, with the SHA-256 of their secrets
//! codes.json      pairing codes that are open or were lately
//! service.json    where the service listened last, and its fingerprint
//! authority.pem   the own certificate authority, and its key in authority.key
//! leaf.pem        the service's certificate, and its key in leaf.key
//! ```

#[cfg(feature = "postgres")]
mod callers;
mod certificate;
mod code_text;
mod codes;
mod device;
mod error;
mod fingerprint;
mod invite;
#[cfg(feature = "postgres")]
mod newcomers;
mod paper;
mod registry;
mod role;
mod service_note;
mod shown;
#[cfg(test)]
mod tests;
mod token;
mod tries;

use std::net::IpAddr;
use std::sync::Arc;

use fettlebook_contract::pairing::Key;
use fettlebook_model::{Id, Moment};
use subtle::ConstantTimeEq as _;
use uuid::Uuid;

#[cfg(feature = "postgres")]
pub(crate) use callers::Callers;
pub use certificate::{CertificateError, Credentials, SERVICE_NAME};
pub use code_text::{CodeText, CodeTextError};
pub use codes::OpenCode;
pub use device::{Device, Held};
pub use error::AccessError;
pub use fingerprint::Fingerprint;
pub use invite::{Invitation, Invite, address_of, invite};
pub(crate) use invite::{KnownBy, invite_by};
#[cfg(feature = "postgres")]
pub(crate) use newcomers::Newcomers;
pub use registry::{Admitted, Revocation};
pub use role::Role;
pub use service_note::ServiceNote;
pub use shown::ShownNow;
pub use token::{SECRET_BYTES, Token, book_of};
pub(crate) use tries::Tries;
pub use tries::network;

use crate::limits::VERSION_BYTES_MAX;
use crate::store::Cabinet;

use codes::Codes;
use registry::Registry;
use token::SecretHash;

/// How many devices of a book may call: those that are not revoked.
///
/// # Errors
/// When the list cannot be read.
pub fn paired_count(cabinet: &dyn Cabinet) -> Result<usize, AccessError> {
    let devices = registry::read(cabinet)?;
    Ok(devices.iter().filter(|one| !one.is_revoked()).count())
}

/// Whether somebody could come in by a code and own the shop.
///
/// # Errors
/// When the codes cannot be read.
pub fn lets_an_owner_in(cabinet: &dyn Cabinet, now: Moment) -> Result<bool, AccessError> {
    Ok(Codes::read(cabinet)?.let_an_owner_in(now))
}

/// Who may use one book, as its running service knows it.
#[derive(Debug)]
pub struct Access {
    cabinet: Arc<dyn Cabinet>,
    book_id: Uuid,
    shown: ShownNow,
    /// The book's own certificate, which a new device is to hold on to where it is shown another.
    own: Option<Vec<u8>>,
    addresses: Vec<String>,
    registry: Registry,
    tries: Tries,
}

/// What a device gets when it is paired.
#[derive(Debug, Clone)]
pub struct Paired {
    /// What it sends with every request.
    pub token: Token,
    /// The device.
    pub device: Device,
}

/// What a device gets that is paired by a typed code: its token's secret has never left it.
#[derive(Debug, Clone)]
pub struct PairedByProof {
    /// What stands before the secret in its token.
    pub token_start: String,
    /// That the service knows the code too.
    pub shop_proof: [u8; 32],
    /// The device.
    pub device: Device,
    /// The book.
    pub book_id: Uuid,
}

impl Access {
    /// Reads who may use the book, and notes where it is served.
    ///
    /// # Errors
    /// When a file cannot be read or written.
    pub fn open(
        cabinet: Arc<dyn Cabinet>,
        book_id: Uuid,
        note: &ServiceNote,
    ) -> Result<Self, AccessError> {
        cabinet.open()?;
        note.write(&*cabinet)?;
        let registry = Registry::open(Arc::clone(&cabinet))?;
        let tries = Tries::default();
        Ok(Self {
            cabinet,
            book_id,
            shown: ShownNow::known_by(note.fingerprint().unwrap_or(Fingerprint([0; 32]))),
            own: None,
            addresses: note.reached_at_told().to_vec(),
            registry,
            tries,
        })
    }

    /// The same, where everyone is shown this.
    #[must_use]
    pub(crate) fn behind(self, shown: ShownNow) -> Self {
        Self { shown, ..self }
    }

    /// The same for a book beside others: new devices hold on to its own certificate, which goes where it goes,
    /// and not to what everyone is shown.
    ///
    /// # Errors
    /// When it cannot be read, or made where there is none.
    #[cfg(feature = "postgres")]
    pub(crate) fn beside_others(mut self, now: Moment) -> Result<Self, AccessError> {
        self.own = Some(certificate::authority(&*self.cabinet, now)?.to_vec());
        Ok(self)
    }

    /// The certificate that a new device is to hold on to, where that is not the one it is shown.
    pub(crate) fn authority(&self) -> &[u8] {
        let own = self.own.as_deref();
        own.filter(|own| Fingerprint::of(own) != self.shown.fingerprint())
            .unwrap_or_default()
    }

    /// What everyone is shown.
    pub(crate) fn shown(&self) -> ShownNow {
        self.shown.clone()
    }

    /// Until when the certificate is good that is shown, where that is known.
    pub(crate) fn certificate_end(&self) -> Option<Moment> {
        self.shown.good_until()
    }

    /// Where devices reach the service, as it was told, each as `HOST:PORT`.
    pub(crate) fn addresses(&self) -> &[String] {
        &self.addresses
    }

    /// Lets a caller in by its token, or says why not. Whoever tries too often is not looked at any
    /// more for a while; a good token always passes.
    ///
    /// # Errors
    /// When there is no token, or none that lets in.
    pub fn admit(
        &self,
        token: Result<&str, AccessError>,
        from: IpAddr,
        now: Moment,
    ) -> Result<Admitted, AccessError> {
        let found = token.and_then(|text| {
            let token = text.parse().map_err(|_| AccessError::TokenUnknown)?;
            self.registry.admit(&token, self.book_id, now)
        });
        found.map_err(|refused| self.tries.wrong(from, now).err().unwrap_or(refused))
    }

    /// Makes a code for a new device.
    ///
    /// # Errors
    /// When the name was used before, or a file cannot be read or written.
    pub fn invite(&self, asked: &Invite, now: Moment) -> Result<Invitation, AccessError> {
        let known_by = KnownBy::This(self.shown.fingerprint());
        invite::made(&*self.cabinet, &known_by, asked, now)
    }

    /// Pairs a device that has the long secret of a code. The same again gives the same device, as long
    /// as the code would be open. Whoever asks may be anybody: what fails in the service itself is told
    /// to its log alone.
    ///
    /// # Errors
    /// When no open code goes with the secret, or a file cannot be read or written.
    pub fn pair(
        &self,
        code_secret: &str,
        token_secret: [u8; SECRET_BYTES],
        from: IpAddr,
        now: Moment,
    ) -> Result<Paired, AccessError> {
        let given = SecretHash::of(token_secret.as_slice());
        let device = self.taken(given, from, now, |codes| {
            codes.find(code_secret).map(|code| (code, ()))
        });
        let (device, ()) = device?;
        let token = Token {
            book_id: self.book_id,
            device_id: device.id,
            secret: token_secret,
        };
        Ok(Paired { token, device })
    }

    /// Pairs a device that proves to know a typed code, and whose token's secret has this SHA-256. The
    /// same again gives the same device, as long as the code would be open.
    ///
    /// # Errors
    /// When no open code made the proof, or a file cannot be read or written.
    pub fn pair_by_proof(
        &self,
        code_proof: [u8; 32],
        token_hash: [u8; 32],
        from: IpAddr,
        now: Moment,
    ) -> Result<PairedByProof, AccessError> {
        let fingerprint = &self.shown.fingerprint().0;
        let is_proof = |key: &Key| {
            let wanted = key.device_proof(fingerprint, &token_hash);
            bool::from(wanted.ct_eq(&code_proof))
        };
        let given = SecretHash::from_hash(token_hash);
        let (device, key) = self.taken(given, from, now, |codes| codes.proved(is_proof))?;
        let token_start = format!("{}.{}.", self.book_id.simple(), device.id.simple());
        Ok(PairedByProof {
            shop_proof: key.shop_proof(fingerprint, &token_hash, &token_start),
            token_start,
            device,
            book_id: self.book_id,
        })
    }

    /// The device that takes the code which is found; whoever finds none has made a wrong try.
    fn taken<K>(
        &self,
        given: SecretHash,
        from: IpAddr,
        now: Moment,
        find: impl FnOnce(&mut Codes) -> Option<(&mut codes::Code, K)>,
    ) -> Result<(Device, K), AccessError> {
        self.tries.look(from, now)?;
        let wrong = |refused| self.tries.wrong(from, now).err().unwrap_or(refused);
        let take = || {
            let _turn = self.cabinet.turn()?;
            let mut codes = Codes::read(&*self.cabinet)?;
            let Some((code, key)) = find(&mut codes) else {
                return Err(wrong(AccessError::CodeUnknown));
            };
            let device = code.take(given, &self.registry, now)?;
            codes.write(&*self.cabinet, now)?;
            Ok((device, key))
        };
        take().map_err(|error| {
            if !error.is_own_fault() {
                return error;
            }
            tracing::error!("a device could not be paired: {}", error.told());
            wrong(AccessError::PairingFailed)
        })
    }

    /// The codes that can be used, by name.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn open_codes(&self, now: Moment) -> Result<Vec<OpenCode>, AccessError> {
        Ok(Codes::read(&*self.cabinet)?.open(now))
    }

    /// Ends the code for a name.
    ///
    /// # Errors
    /// When none is open, or a file cannot be read or written.
    pub fn withdraw_code(&self, name: &Id, now: Moment) -> Result<OpenCode, AccessError> {
        let _turn = self.cabinet.turn()?;
        let mut codes = Codes::read(&*self.cabinet)?;
        let name = name.clone();
        let ended = codes.withdraw(&name, now);
        let ended = ended.ok_or(AccessError::NoOpenCode { name })?;
        codes.write(&*self.cabinet, now)?;
        Ok(ended)
    }

    /// Every device, by name, revoked ones too.
    pub fn devices(&self) -> Vec<Device> {
        self.registry.devices()
    }

    /// Notes what a device holds that the book does not have, for whoever owns the shop to see.
    pub fn note_held(&self, name: &str, held: Held) {
        self.registry.note_held(name, held);
    }

    /// Notes which version of its program a device runs, where it says one that can be.
    pub fn note_version(&self, name: &str, version: &str) {
        let is_word = version.chars().all(|c| c.is_ascii_graphic());
        if !version.is_empty() && version.len() <= VERSION_BYTES_MAX && is_word {
            self.registry.note_version(name, version);
        }
    }

    /// Notes that a device brought its copy of the book up.
    pub fn note_synced(&self, name: &str, now: Moment) {
        self.registry.note_synced(name, now);
    }

    /// Gives a device another role, from its next request on.
    ///
    /// # Errors
    /// When there is no such device, it is revoked, it is the only one that owns the shop and would not
    /// any more, or the list cannot be written.
    pub fn set_role(&self, name: &Id, role: Role) -> Result<Device, AccessError> {
        self.registry.set_role(name, role)
    }

    /// Shuts a device out for good. Revoking it again changes nothing.
    ///
    /// # Errors
    /// When there is no such device, it is the only one that owns the shop, or the list cannot be written.
    pub fn revoke(&self, name: &Id, by: &str, now: Moment) -> Result<Device, AccessError> {
        self.registry.revoke(name, by, now)
    }

    /// Writes down when devices last called, if any did since it was last written.
    ///
    /// # Errors
    /// When the list cannot be written.
    pub fn save_used(&self) -> Result<(), AccessError> {
        self.registry.save_used()
    }
}
