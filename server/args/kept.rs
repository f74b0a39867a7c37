//! Where the book is that `fettled` serves: in a folder here, or in an engine that other machines share.

use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;
#[cfg(feature = "postgres")]
use uuid::Uuid;

#[cfg(feature = "postgres")]
use crate::store::EngineBook;
use crate::store::{FolderStore, Store, StoreError};

/// Where the book is.
#[derive(Debug, Clone, Args)]
pub(crate) struct KeptArgs {
    /// Folder of the book; a new one is begun where there is none.
    #[arg(long, value_name = "DIR", env = "FETTLED_BOOK")]
    #[cfg_attr(
        feature = "postgres",
        arg(required_unless_present = "store", conflicts_with = "store")
    )]
    #[cfg_attr(not(feature = "postgres"), arg(required = true))]
    pub(crate) book: Option<PathBuf>,

    /// Where the engine is that keeps the book instead, as postgres://ROLE@HOST/DATABASE. Give a password by
    /// FETTLED_STORE, which others on this machine do not see.
    #[cfg(feature = "postgres")]
    #[arg(
        long,
        value_name = "URL",
        env = "FETTLED_STORE",
        hide_env_values = true,
        requires = "node"
    )]
    store: Option<String>,

    /// Folder for what this machine keeps for itself then: shelves, its certificate, the key that seals.
    #[cfg(feature = "postgres")]
    #[arg(long, value_name = "DIR", env = "FETTLED_NODE", requires = "store")]
    node: Option<PathBuf>,

    /// Id of the book there, where there are several. Without it the only one is served, or the first begun.
    #[cfg(feature = "postgres")]
    #[arg(long, value_name = "ID", env = "FETTLED_BOOK_ID", requires = "store")]
    book_id: Option<Uuid>,

    /// Certificates that the engine's may rest on, in PEM, instead of those that the system believes.
    #[cfg(feature = "postgres")]
    #[arg(
        long,
        value_name = "FILE",
        env = "FETTLED_STORE_AUTHORITY",
        requires = "store"
    )]
    store_authority: Option<PathBuf>,
}

impl KeptArgs {
    /// The store.
    ///
    /// # Errors
    /// When the engine cannot be used. A folder is not looked at yet.
    pub(crate) fn store(&self) -> Result<Arc<dyn Store>, StoreError> {
        #[cfg(feature = "postgres")]
        if let Some(book) = self.in_engine(None) {
            return Ok(Arc::new(book.store()?));
        }
        Ok(Arc::new(FolderStore::at(
            self.book.clone().unwrap_or_default(),
        )))
    }

    /// The book that an engine keeps, which others are told is served at an address; none for one in a folder.
    #[cfg(feature = "postgres")]
    pub(crate) fn in_engine<'a>(&'a self, address: Option<&'a str>) -> Option<EngineBook<'a>> {
        let (Some(url), Some(node)) = (&self.store, &self.node) else {
            return None;
        };
        Some(EngineBook {
            url,
            authority: self.store_authority.as_deref(),
            node,
            book: self.book_id,
            address,
        })
    }

    /// The options that name it, to be typed again.
    pub(crate) fn typed(&self) -> String {
        #[cfg(feature = "postgres")]
        if let (Some(_), Some(node)) = (&self.store, &self.node) {
            // Not the address itself, which may have a password in it.
            let named = self.book_id.map(|id| format!(" --book-id {id}"));
            let named = named.unwrap_or_default();
            return format!("--store URL --node {}{named}", node.display());
        }
        let book = self.book.as_deref().unwrap_or(std::path::Path::new(""));
        format!("--book {}", book.display())
    }
}
