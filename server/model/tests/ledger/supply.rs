//! Whom one orders from, what is ordered, what comes and what it cost when it did.

mod deliveries;
mod lead;
mod orders;
mod suppliers;
