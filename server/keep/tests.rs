//! Keeping books: what is written is whole or cannot be opened, and nothing is lost on the way.
