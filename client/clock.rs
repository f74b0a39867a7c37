//! What time it is for the person at the keyboard.
//!
//! It serves words such as "tomorrow 08:00". The machine's clock is read here and nowhere else; a
//! told story brings its own.

use std::sync::atomic::Ordering;

use jiff::Timestamp;
use jiff::tz::TimeZone;

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

/// The zone of this machine.
pub(crate) fn local_zone() -> TimeZone {
    linked_zone().unwrap_or_else(TimeZone::system)
}

/// What the machine's own link to a zone says. The look-up of the library reads the names of all zones before,
/// which is a part of each start that is felt.
fn linked_zone() -> Option<TimeZone> {
    const LINK: &str = "/etc/localtime";
    if std::env::var_os("TZ").is_some() {
        return None;
    }
    let target = std::fs::read_link(LINK).ok()?;
    let (_, name) = target.to_str()?.split_once("zoneinfo/")?;
    TimeZone::tzif(name, &std::fs::read(LINK).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::AtomicI64;

    use super::{linked_zone, now};
    use crate::solo::SoloClock;

    #[test]
    fn a_story_tells_its_own_time() {
        let clock = SoloClock::Story(Arc::new(AtomicI64::new(1_795_676_400_000_000)));
        assert_eq!(now(&clock).to_string(), "2026-11-26T07:00:00Z");
    }

    /// Source: the library's own look-up.
    #[test]
    fn the_zone_of_the_machine_is_the_one_that_the_library_finds() {
        if let Some(zone) = linked_zone() {
            assert_eq!(zone, jiff::tz::TimeZone::system());
            assert_eq!(zone.iana_name(), jiff::tz::TimeZone::system().iana_name());
        }
    }
}
