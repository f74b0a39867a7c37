//! The seal on the key of a book's authority, which only the machines that serve it can open.
//!
//! It is a file of 32 bytes in hex beside the shelves, made where it is missing; every machine that shows
//! the book's own certificate has the same. Sealed is: a byte that tells the format, 12 bytes that are
//! used once, and what ChaCha20-Poly1305 (RFC 8439) makes of the key, bound to the id of the book.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use data_encoding::HEXLOWER;
use ring::aead::{Aad, CHACHA20_POLY1305, LessSafeKey, NONCE_LEN, Nonce, UnboundKey};
use ring::rand::{SecureRandom as _, SystemRandom};
use uuid::Uuid;

use crate::store::folder::sync_folder;

/// The file with the key.
pub(super) const SEAL_FILE: &str = "seal.key";

/// Tells how something is sealed.
const SEAL_FORMAT: u8 = 1;

const KEY_BYTES: usize = 32;

/// Seals and opens.
#[derive(Debug, Clone)]
pub(super) struct Seal {
    path: PathBuf,
}

/// Why not.
#[derive(Debug, thiserror::Error)]
pub(super) enum SealError {
    /// The file cannot be used.
    #[error("{} cannot be used: {why}", .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: String,
    },
    /// It was sealed with another key, or changed since.
    #[error("it was sealed on another machine, and {} here does not open it; bring that file here from a machine that has the book's certificate", .path.display())]
    Other {
        /// The file here.
        path: PathBuf,
    },
    /// The system has no random numbers, or the cipher refused.
    #[error("it could not be sealed")]
    NotSealed,
}

impl Seal {
    /// The one of a machine that keeps its own in a folder.
    pub(super) fn in_folder(node: &Path) -> Self {
        Self {
            path: node.join(SEAL_FILE),
        }
    }

    /// Seals a key of a book.
    pub(super) fn close(&self, book: Uuid, bytes: &[u8]) -> Result<Vec<u8>, SealError> {
        let key = match self.key() {
            Err(SealError::File { .. }) if !self.path.exists() => self.make()?,
            key => key?,
        };
        let mut once = [0; NONCE_LEN];
        let random = SystemRandom::new().fill(&mut once);
        random.map_err(|_| SealError::NotSealed)?;
        let mut held = bytes.to_vec();
        let nonce = Nonce::assume_unique_for_key(once);
        let sealed = key.seal_in_place_append_tag(nonce, Aad::from(book.as_bytes()), &mut held);
        sealed.map_err(|_| SealError::NotSealed)?;
        Ok([&[SEAL_FORMAT][..], &once[..], &held[..]].concat())
    }

    /// Opens what was sealed for a book.
    pub(super) fn open(&self, book: Uuid, sealed: &[u8]) -> Result<Vec<u8>, SealError> {
        let other = || SealError::Other {
            path: self.path.clone(),
        };
        let (format, rest) = sealed.split_first().ok_or_else(other)?;
        let (once, held) = rest.split_first_chunk::<NONCE_LEN>().ok_or_else(other)?;
        if *format != SEAL_FORMAT {
            return Err(other());
        }
        let key = match self.key() {
            Err(SealError::File { .. }) if !self.path.exists() => return Err(other()),
            key => key?,
        };
        let mut held = held.to_vec();
        let nonce = Nonce::assume_unique_for_key(*once);
        let opened = key.open_in_place(nonce, Aad::from(book.as_bytes()), &mut held);
        Ok(opened.map_err(|_| other())?.to_vec())
    }

    fn key(&self) -> Result<LessSafeKey, SealError> {
        let text = fs::read(&self.path).map_err(|error| self.unusable(error.to_string()))?;
        let bytes = HEXLOWER.decode(text.trim_ascii_end());
        let bytes = bytes.map_err(|_| self.unusable("it is not 64 hex digits".to_owned()))?;
        if bytes.len() != KEY_BYTES {
            return Err(self.unusable("it is not 64 hex digits".to_owned()));
        }
        let key = UnboundKey::new(&CHACHA20_POLY1305, &bytes);
        key.map(LessSafeKey::new).map_err(|_| SealError::NotSealed)
    }

    /// Makes the file, for its owner alone; one that another process made meanwhile stays.
    fn make(&self) -> Result<LessSafeKey, SealError> {
        let mut bytes = [0; KEY_BYTES];
        let random = SystemRandom::new().fill(&mut bytes);
        random.map_err(|_| SealError::NotSealed)?;
        match self.write(&HEXLOWER.encode(&bytes)) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
                Err(self.unusable(error.to_string()))
            }
            _ => self.key(),
        }
    }

    fn write(&self, text: &str) -> io::Result<()> {
        let folder = self.path.parent().unwrap_or(Path::new("."));
        fs::create_dir_all(folder)?;
        let mut options = fs::OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt as _;
            options.mode(0o600);
        }
        let mut file = options.open(&self.path)?;
        writeln!(file, "{text}")?;
        file.sync_all()?;
        // What is sealed with it may be kept for good a moment later.
        sync_folder(folder)
    }

    fn unusable(&self, why: String) -> SealError {
        SealError::File {
            path: self.path.clone(),
            why,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOOK: Uuid = Uuid::from_u128(7);

    #[test]
    fn what_is_sealed_is_opened_with_the_same_file_for_the_same_book_alone() {
        let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let seal = Seal::in_folder(here.path());
        let sealed = seal.close(BOOK, b"a key in PEM").unwrap();
        assert!(!sealed.windows(5).any(|some| some == b"a key"));
        assert_ne!(sealed, seal.close(BOOK, b"a key in PEM").unwrap());
        assert_eq!(seal.open(BOOK, &sealed).unwrap(), b"a key in PEM");
        let other_book = seal.open(Uuid::from_u128(8), &sealed);
        assert!(matches!(other_book, Err(SealError::Other { .. })));
        let elsewhere = Seal::in_folder(there.path());
        assert!(matches!(
            elsewhere.open(BOOK, &sealed),
            Err(SealError::Other { .. })
        ));
        elsewhere.close(BOOK, b"another").unwrap();
        assert!(matches!(
            elsewhere.open(BOOK, &sealed),
            Err(SealError::Other { .. })
        ));
        for place in 0..sealed.len() {
            let mut changed = sealed.clone();
            changed[place] ^= 1;
            assert!(seal.open(BOOK, &changed).is_err(), "byte {place}");
        }
    }

    /// Source: RFC 8439, 2.8: the tag has 16 bytes, and what is sealed is as long as what it is made of.
    #[test]
    fn a_sealed_key_is_as_long_as_the_standard_makes_it() {
        let here = tempfile::tempdir().unwrap();
        let sealed = Seal::in_folder(here.path()).close(BOOK, b"key").unwrap();
        assert_eq!(sealed.len(), 1 + NONCE_LEN + 3 + 16);
    }
}
