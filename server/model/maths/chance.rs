//! Chances: of how many out of several pads last, and of the distributions behind them.
//!
//! It serves the check, which multiplies them to the carry chance of a job. A chance is always a
//! number from 0 to 1, whatever goes in.

pub mod binomial;
mod days;
pub(crate) mod gamma;
mod makes;
pub mod mixture;
mod renewal;
mod retirements;
mod rule;

pub(crate) use binomial::poisson_binomial;
pub(crate) use days::PadAgain;
pub(crate) use makes::OthersAhead;
pub use mixture::{PadAhead, carry_chance};
pub(crate) use mixture::{StepAhead, carry_chance_of_steps};
pub(crate) use renewal::worn_out;
pub(crate) use retirements::retirements;
pub use rule::Precision;
