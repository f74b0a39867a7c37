//! The trade: makes and kit, cars and panels, jobs, and how each is worked, worn and bought.
//!
//! It knows no book: each file says what one thing is and what follows from its own figures.

pub mod battery;
pub mod car;
pub(crate) mod carried;
pub mod cleaning;
pub mod dose;
pub mod exposure;
pub mod film;
pub mod hazard;
pub mod job;
pub mod kept;
pub mod kit;
pub mod logged;
pub mod make;
pub mod order;
pub mod panel;
pub mod plate;
pub mod policy;
pub mod reach;
pub(crate) mod since;
pub mod starter;
pub mod stroke;
pub mod supplier;
pub mod take;
pub mod tally;
pub mod tool;
pub mod towel;
pub mod wear;
