//! What time it is for the person at the keyboard.
//!
//! It serves words such as "tomorrow 08:00". The machine's clock is read here and nowhere else; a
//! told story brings its own.

use std::sync::atomic::Ordering;

use jiff::Timestamp;

use crate::solo::SoloClock;

/// The present moment.
#[allow(
    clippy::disallowed_methods,
    reason = "the one place where the client reads the person's clock"
)]
pub(crate) fn now(clock: &SoloClock) -> Timestamp {
    match clock {
        SoloClock::System | SoloClock::Accepted => Timestamp::now(),
        SoloClock::Story(moment_us) => {
            Timestamp::from_microsecond(moment_us.load(Ordering::SeqCst)).unwrap_or_default()
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::AtomicI64;

    use super::now;
    use crate::solo::SoloClock;

    #[test]
    fn a_story_tells_its_own_time() {
        let clock = SoloClock::Story(Arc::new(AtomicI64::new(1_795_676_400_000_000)));
        assert_eq!(now(&clock).to_string(), "2026-11-26T07:00:00Z");
    }
}
