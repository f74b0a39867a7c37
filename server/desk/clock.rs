//! Where the desk gets the time from.
//!
//! It serves the desk alone: the service tells time once, here, and everything else is given the
//! moment. A test gives the desk a clock of its own.

use fettlebook_model::Moment;

/// Tells the moment.
pub trait Clock: Send + Sync {
    /// The moment.
    fn now(&self) -> Moment;
}

/// The machine's clock, to the millisecond: finer says nothing about work on a car.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    #[allow(
        clippy::disallowed_methods,
        reason = "this is the one place that asks the machine"
    )]
    fn now(&self) -> Moment {
        let now = Moment::now();
        Moment::from_millisecond(now.as_millisecond()).unwrap_or(now)
    }
}
