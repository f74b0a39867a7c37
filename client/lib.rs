//! The `fettle` command line client: parse what was typed, make calls, print the answers.
//!
//! It serves the person with the kit, alone (the service runs in this process) or against a running
//! `fettled`. It sees the contract and the quantity grammar only, and it never holds a rule of the
//! trade: what is worn, picked or refused is the service's to say.

mod args;
mod ask;
mod call;
mod clock;
mod columns;
mod commands;
mod complete;
mod connect;
mod example;
mod exit;
mod fault;
mod figures;
mod file;
mod forgive;
#[cfg(test)]
mod fuzz;
mod ids;
mod jobs_of_day;
mod json;
mod last_seen;
mod mistyped;
mod money;
mod names;
mod notebook;
mod options;
mod outbox;
mod page;
mod page_kept;
mod paper;
mod places;
mod private;
mod reason;
mod render;
mod request;
mod run;
mod runtime;
mod said;
mod schema;
mod sheets;
mod shop;
mod shown;
mod suggest;
mod tags;
#[cfg(test)]
mod testing;
mod transport;
mod version;
mod when;
mod word;

use fettlebook_solo as solo;

pub use run::run;
