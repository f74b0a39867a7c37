//! Chances: of how many out of several pads last, and of the distributions behind them.
//!
//! It serves the check, which multiplies them to the carry chance of a job. A chance is always a
//! number from 0 to 1, whatever goes in.

pub mod binomial;
pub(crate) mod gamma;
pub mod mixture;
mod retirements;

pub use binomial::poisson_binomial;
pub use mixture::{PadAhead, Precision, StepAhead, carry_chance, carry_chance_of_steps};
pub use retirements::retirements;
