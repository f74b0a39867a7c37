//! The certificate that everyone is shown, as it is at this moment.
//!
//! A service of one book shows one all its life. A node shows what its books have in common as soon as there are
//! several: whoever holds this goes by the new one from then on.

use std::sync::Arc;

use arc_swap::ArcSwap;
use fettlebook_model::Moment;

use super::{Credentials, Fingerprint};

/// What everyone is shown. Clones are the same.
#[derive(Debug, Clone)]
pub struct ShownNow(Arc<ArcSwap<Face>>);

/// One certificate, as devices know it.
#[derive(Debug)]
struct Face {
    fingerprint: Fingerprint,
    /// The certificate of that fingerprint.
    held: Vec<u8>,
    /// Until when the service's own is good, where that is known.
    good_until: Option<Moment>,
}

impl Face {
    fn of(credentials: &Credentials) -> Self {
        Self {
            fingerprint: credentials.fingerprint(),
            held: credentials
                .chain()
                .last()
                .map_or_else(Vec::new, |held| held.to_vec()),
            good_until: credentials.good_until(),
        }
    }
}

impl ShownNow {
    /// These.
    pub fn of(credentials: &Credentials) -> Self {
        Self(Arc::new(ArcSwap::from_pointee(Face::of(credentials))))
    }

    /// What has this fingerprint, of which nothing else is known.
    pub(crate) fn known_by(fingerprint: Fingerprint) -> Self {
        Self(Arc::new(ArcSwap::from_pointee(Face {
            fingerprint,
            held: Vec::new(),
            good_until: None,
        })))
    }

    /// These from now on.
    #[cfg(feature = "postgres")]
    pub(crate) fn turn_to(&self, credentials: &Credentials) {
        self.0.store(Arc::new(Face::of(credentials)));
    }

    /// By which devices know it.
    pub(crate) fn fingerprint(&self) -> Fingerprint {
        self.0.load().fingerprint
    }

    /// The certificate that devices hold on to.
    pub(crate) fn held(&self) -> Vec<u8> {
        self.0.load().held.clone()
    }

    /// Until when the service's own certificate is good, where that is known.
    pub(crate) fn good_until(&self) -> Option<Moment> {
        self.0.load().good_until
    }
}
