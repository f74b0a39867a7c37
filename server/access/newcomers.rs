//! Which of many books a code is of, for a device that comes in by one and names no book.
//!
//! It serves nodes. All codes that were made lately are compared, whichever it is; whoever guesses is soon not looked
//! at any more, whatever book they meant. The book itself looks again, and takes the code.

use std::net::IpAddr;
use std::sync::Arc;

use fettlebook_contract::pairing::Key;
use fettlebook_model::Moment;
use subtle::ConstantTimeEq as _;
use uuid::Uuid;

use super::codes::Codes;
use super::tries::Tries;
use super::{AccessError, ShownNow};
use crate::limits::NEWCOMER_PLACES_MAX;
use crate::store::CodePapers;

/// Finds the books of codes.
#[derive(Debug)]
pub(crate) struct Newcomers {
    papers: Arc<dyn CodePapers>,
    shown: ShownNow,
    tries: Tries,
}

impl Newcomers {
    /// Looks through these papers, on a service that shows this to everyone.
    pub(crate) fn new(papers: Arc<dyn CodePapers>, shown: ShownNow) -> Self {
        Self {
            papers,
            shown,
            tries: Tries::of_places(NEWCOMER_PLACES_MAX),
        }
    }

    /// The book whose code has this long secret.
    ///
    /// # Errors
    /// When no code lately had it, or the codes cannot be read.
    pub(crate) fn book_of_secret(
        &self,
        code_secret: &str,
        from: IpAddr,
        now: Moment,
    ) -> Result<Uuid, AccessError> {
        self.found(from, now, |codes| codes.find(code_secret).is_some())
    }

    /// The book whose code made this proof for a token whose secret has this SHA-256.
    ///
    /// # Errors
    /// When no code that is open made it, or the codes cannot be read.
    pub(crate) fn book_of_proof(
        &self,
        code_proof: [u8; 32],
        token_hash: [u8; 32],
        from: IpAddr,
        now: Moment,
    ) -> Result<Uuid, AccessError> {
        let fingerprint = self.shown.fingerprint().0;
        let is_proof = |key: &Key| {
            let wanted = key.device_proof(&fingerprint, &token_hash);
            bool::from(wanted.ct_eq(&code_proof))
        };
        self.found(from, now, |codes| codes.proved(is_proof).is_some())
    }

    fn found(
        &self,
        from: IpAddr,
        now: Moment,
        is_in: impl Fn(&mut Codes) -> bool,
    ) -> Result<Uuid, AccessError> {
        self.tries.look(from, now)?;
        let wrong = |refused| self.tries.wrong(from, now).err().unwrap_or(refused);
        let papers = self.papers.lately().map_err(|error| {
            tracing::error!("a device could not be paired: {error}");
            wrong(AccessError::PairingFailed)
        })?;
        let mut found = None;
        for (book, paper) in papers {
            match Codes::of_paper(&paper) {
                Ok(mut codes) => {
                    if is_in(&mut codes) {
                        found = Some(book);
                    }
                }
                // It keeps nobody out of the other books.
                Err(error) => tracing::error!(%book, "the codes of a book cannot be read: {error}"),
            }
        }
        found.ok_or_else(|| wrong(AccessError::CodeUnknown))
    }
}

#[cfg(test)]
mod tests;
