//! What keeps a device from its shop, in words that say what to look at.

use std::fmt;

/// What went wrong on the way to a service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Trouble {
    /// What that comes to for whoever is on the road.
    pub(crate) cause: Cause,
    /// What it was, as a clause.
    pub(crate) what: String,
}

/// What keeps a device from its shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Cause {
    /// Nothing comes through, or not for long.
    NoSignal,
    /// The machine is there, and no service on it.
    NotRunning,
    /// What answers is not the shop.
    AnotherService,
    /// Another machine has the book, and it cannot be reached, or not yet.
    Elsewhere,
    /// What keeps its book does not answer it.
    Engine,
    /// Its certificate does not go with this device's clock.
    WrongClock,
    /// What this device holds of the shop cannot be used.
    Unusable,
}

impl Trouble {
    pub(crate) fn new(cause: Cause, what: impl Into<String>) -> Self {
        let what = what.into();
        Self { cause, what }
    }

    /// A connection that was there and is not any more.
    pub(crate) fn lost(what: impl Into<String>) -> Self {
        Self::new(Cause::NoSignal, what)
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}

impl std::error::Error for Trouble {}
