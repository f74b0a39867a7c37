//! Why a node with several books has none for a request.
//!
//! It serves people, who read the sentences, and the table of reasons.

use uuid::Uuid;

use crate::access::AccessError;

/// Most ids that are named in a sentence.
const NAMED_MAX: usize = 5;

/// Why there is no book for a request.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoBook {
    /// Only paired devices come in, and no token came.
    #[error("The request has no token, and the books here are only open to paired devices.")]
    TokenMissing,
    /// No token says which of several books is meant.
    #[error("{}", several(.0))]
    Unnamed(Vec<Uuid>),
    /// The book of the token is not kept here.
    #[error("The token is for another book.")]
    Other,
    /// The book of the token was here.
    #[error("The book of this token is not kept here any more: it was moved.")]
    Moved,
    /// It is not opened for whoever shows that token.
    #[error("{0}")]
    NotLetIn(AccessError),
    /// It is being opened, which takes long.
    #[error("The book is being opened.")]
    Slow,
    /// Too many books are in use.
    #[error("As many books as may be are open here, and all of them are in use.")]
    NoRoom,
    /// So many requests for the book are under way that more would take the others' turns.
    #[error("Too much is asked of this book at once.")]
    TooMuch,
    /// Nobody says where it is: the engine does not answer, or this node stops.
    #[error("It cannot be told just now where the book is.")]
    Unknown,
}

impl NoBook {
    /// What to do about it.
    pub(super) const fn todo(&self) -> &'static str {
        match self {
            Self::TokenMissing => {
                "Pair this device: ask for a code on the machine with the books, with 'fettled pair'."
            }
            Self::Unnamed(_) => {
                "Name one: start fettled with --book-id ID, or with --tls and pair this device, whose token says \
                 which book it is for."
            }
            Self::Other => "Call the shop that this device is paired with, or pair it here.",
            Self::Moved => {
                "Ask whoever looks after it where it is served now, then: fettle shop address HOST:PORT."
            }
            Self::NotLetIn(refused) => refused.todo(),
            Self::Slow | Self::TooMuch | Self::Unknown => {
                "Send the same request again in a moment."
            }
            Self::NoRoom => {
                "Send the same request again in a moment. If it is so for long, start another node, or this one \
                 with a larger --open-books."
            }
        }
    }
}

/// Which books there are, where none was named.
fn several(books: &[Uuid]) -> String {
    if books.is_empty() {
        return "No book is kept here just now.".to_owned();
    }
    let ids = books.iter().take(NAMED_MAX).map(ToString::to_string);
    let ids = ids.collect::<Vec<_>>().join(", ");
    let more = match books.len().saturating_sub(NAMED_MAX) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!(
        "{} books are served here, and the request does not say which: {ids}{more}.",
        books.len()
    )
}
