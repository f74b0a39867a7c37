//! How many files and connections a node may have open, and what they are shared out to.

use crate::limits::{
    BOOK_FILES_MAX, NODE_CONNECTIONS_MAX, NODE_CONNECTIONS_MIN, NODE_FILES_BESIDE,
};

/// What the open files of a node are shared out to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shares {
    /// Most books open at once.
    pub(super) books: usize,
    /// Most connections open at once.
    pub(super) connections: usize,
}

impl Shares {
    /// Of so many files at most, for so many books if they have room.
    pub(super) fn of(file_max: usize, books_asked: usize) -> Self {
        let left = file_max.saturating_sub(NODE_FILES_BESIDE);
        // Half for whoever calls: a book that nobody reaches need not be open.
        let books = books_asked.min(left / 2 / BOOK_FILES_MAX).max(1);
        let connections = left.saturating_sub(books * BOOK_FILES_MAX);
        Self {
            books,
            connections: connections.clamp(NODE_CONNECTIONS_MIN, NODE_CONNECTIONS_MAX),
        }
    }
}

/// Lets this process have as many files open as it may at most; how many those are.
#[cfg(unix)]
pub(super) fn raised() -> usize {
    use rustix::process::{Resource, getrlimit, setrlimit};
    let mut limit = getrlimit(Resource::Nofile);
    let before = limit.current;
    limit.current = limit.maximum;
    let now = match setrlimit(Resource::Nofile, limit) {
        Ok(()) => limit.current,
        Err(error) => {
            tracing::debug!(%error, "no more files may be open than before");
            before
        }
    };
    // None is no limit.
    now.map_or(usize::MAX, |now| usize::try_from(now).unwrap_or(usize::MAX))
}

/// The system is not asked here.
#[cfg(not(unix))]
pub(super) const fn raised() -> usize {
    usize::MAX
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_shared_out_to_books_and_connections() {
        // What a process is usually given, what a service manager gives, and no limit. Source: from memory,
        // getrlimit(2) and the defaults of a service manager.
        for (file_max, books, shares) in [
            (1024, 1000, (96, 384)),
            (1024, 1, (1, 764)),
            (524_288, 1000, (1000, 4096)),
            (usize::MAX, 1000, (1000, 4096)),
            (64, 1000, (1, 64)),
        ] {
            let (books_max, connections) = shares;
            let wanted = Shares {
                books: books_max,
                connections,
            };
            assert_eq!(Shares::of(file_max, books), wanted, "{file_max}");
        }
    }
}
