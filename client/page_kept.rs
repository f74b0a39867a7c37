//! Where telephones find the page at the bench, as it was said for labels: remembered for each book, so that every
//! label leads to the same place.
//!
//! In a shop the file lies beside the outbox, else in the person's state folder.

use std::fs;
use std::io::{self, Write as _};
use std::net::IpAddr;
use std::path::PathBuf;

use etcetera::BaseStrategy as _;
use fettlebook_contract::page;
use fettlebook_contract::pairing::host_and_port;
use serde::{Deserialize, Serialize};

use crate::connect::{Session, Whereabouts};
use crate::file;
use crate::shop::folder;

/// Format of the file.
const FORMAT: u32 = 1;
/// Name of the file.
const FILE: &str = "page.json";
/// Most books for which it is remembered; those told longest ago make room.
const BOOKS_MAX: usize = 256;

/// What was said of the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Said {
    /// It begins there.
    At(String),
    /// There is none.
    Nowhere,
}

impl Said {
    /// Reads an address of the page, or `none`.
    ///
    /// # Errors
    /// A sentence that says what is wrong with it.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let text = text.trim();
        if text.eq_ignore_ascii_case("none") {
            return Ok(Self::Nowhere);
        }
        let found = page::host_and_port(text).or_else(|| host_and_port(text));
        let (host, port) = found.ok_or_else(|| {
            format!(
                "'{text}' is no address of the page; write for example bench.example:7420, or none"
            )
        })?;
        let ip: Option<IpAddr> = host.parse().ok();
        let is_own = ip.is_some_and(|ip| ip.is_loopback() || ip.is_unspecified());
        if host == "localhost" || is_own {
            return Err(format!(
                "{host} leads a telephone to itself; write the address that it reaches this machine at"
            ));
        }
        Ok(Self::At(page::first(&host, port)))
    }
}

/// Whether an address of the page is a number, which a network may give to another machine.
pub(crate) fn is_number(first: &str) -> bool {
    let host = page::host_and_port(first).map(|(host, _)| host);
    host.is_some_and(|host| host.parse::<IpAddr>().is_ok())
}

/// The page of one book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Page {
    book: String,
    address: String,
}

/// The file as it stands.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Remembered {
    format: u32,
    pages: Vec<Page>,
}

/// What is remembered of the page of one book.
pub(crate) struct PageKept {
    /// None where there is no folder for it: then nothing is remembered.
    folder: Option<PathBuf>,
    book: String,
}

impl PageKept {
    /// The memory for the book of a session.
    pub(crate) fn of(session: &Session) -> Self {
        let (folder, book) = match session.whereabouts() {
            Whereabouts::Shop { folder, .. } => (
                Some(folder.clone()),
                folder::book_id(folder).unwrap_or_default(),
            ),
            Whereabouts::Folder(book) => (state_folder(), book.display().to_string()),
            Whereabouts::At(address) => (state_folder(), address.clone()),
        };
        Self { folder, book }
    }

    /// Where the page begins; nothing where that was not said.
    pub(crate) fn address(&self) -> Option<String> {
        let pages = self.read().pages.into_iter();
        let mut of_book = pages.filter(|page| page.book == self.book);
        of_book.next_back().map(|page| page.address)
    }

    /// Remembers what was said.
    ///
    /// # Errors
    /// What the system says.
    pub(crate) fn keep(&self, said: &Said) -> io::Result<()> {
        let Some(folder) = &self.folder else {
            return Ok(());
        };
        let mut pages = self.read().pages;
        pages.retain(|page| page.book != self.book);
        if let Said::At(address) = said {
            pages.push(Page {
                book: self.book.clone(),
                address: address.clone(),
            });
        }
        let over = pages.len().saturating_sub(BOOKS_MAX);
        pages.drain(..over);
        let format = FORMAT;
        let text = serde_json::to_vec_pretty(&Remembered { format, pages })?;
        file::make_folder(folder)?;
        let mut draft = tempfile::NamedTempFile::new_in(folder)?;
        draft.write_all(&text)?;
        draft.persist(folder.join(FILE))?;
        Ok(())
    }

    /// What is remembered; nothing where that cannot be read.
    fn read(&self) -> Remembered {
        let held = self.folder.as_ref().map(|folder| folder.join(FILE));
        let held = held
            .and_then(|path| fs::read(path).ok())
            .unwrap_or_default();
        let held: Remembered = serde_json::from_slice(&held).unwrap_or_default();
        if held.format == FORMAT {
            held
        } else {
            Remembered::default()
        }
    }
}

fn state_folder() -> Option<PathBuf> {
    let base = etcetera::choose_base_strategy().ok()?;
    let state = base.state_dir().unwrap_or_else(|| base.data_dir());
    Some(state.join("fettlebook"))
}

#[cfg(test)]
mod tests {
    use super::{PageKept, Said, is_number};

    #[test]
    fn an_address_is_read_as_people_write_it_and_never_one_that_leads_nowhere() {
        let bench = Said::At("https://bench.example:7420/".to_owned());
        for text in [
            "bench.example",
            "Bench.Example:7420",
            "https://bench.example:7420",
            " https://bench.example:7420/t/P-07 ",
        ] {
            assert_eq!(Said::read(text), Ok(bench.clone()), "{text}");
        }
        assert_eq!(Said::read("None"), Ok(Said::Nowhere));
        for text in ["", "http://bench.example", "a b", "bench:0"] {
            let wrong = Said::read(text).unwrap_err();
            assert!(wrong.contains("for example bench.example:7420"), "{wrong}");
        }
        for text in [
            "localhost",
            "127.0.0.1:7420",
            "https://[::1]:7420/",
            "0.0.0.0",
        ] {
            let wrong = Said::read(text).unwrap_err();
            assert!(wrong.contains("leads a telephone to itself"), "{wrong}");
        }
        assert!(is_number("https://192.0.2.7:7420/"));
        assert!(!is_number("https://bench.example:7420/"));
    }

    #[test]
    fn each_book_has_a_page_of_its_own_until_it_has_none() {
        let folder = tempfile::tempdir().unwrap();
        let kept = |book: &str| PageKept {
            folder: Some(folder.path().join("state")),
            book: book.to_owned(),
        };
        let said = |text: &str| Said::read(text).unwrap();
        assert_eq!(kept("a").address(), None);
        kept("a").keep(&said("one.example")).unwrap();
        kept("b").keep(&said("two.example")).unwrap();
        kept("a").keep(&said("three.example:1")).unwrap();
        let a = kept("a").address();
        assert_eq!(a.as_deref(), Some("https://three.example:1/"));
        kept("a").keep(&Said::Nowhere).unwrap();
        assert_eq!(kept("a").address(), None);
        let b = kept("b").address();
        assert_eq!(b.as_deref(), Some("https://two.example:7420/"));
    }
}
