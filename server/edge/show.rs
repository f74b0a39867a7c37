//! From the model's types to the contract's messages.
//!
//! It serves the handlers. Showing cannot fail and decides nothing; what depends on the moment (is
//! a pad dry) is shown as at the moment given.

pub(super) mod budget;
pub(super) mod car;
pub(super) mod check;
pub(super) mod cost;
mod deed_text;
pub(super) mod entry;
pub(super) mod film;
pub(super) mod job;
mod job_text;
pub(super) mod kit;
pub(super) mod make;
pub(super) mod money;
pub(super) mod order;
pub(super) mod plan;
pub(super) mod policy;
pub(super) mod reorder;
pub(super) mod routine;
pub(super) mod starter;
pub(super) mod supplier;
mod supply_text;
pub(super) mod take;
pub(super) mod today;
pub(super) mod wear;

use fettlebook_model::{Moment, Seq};
use prost_types::Timestamp;

/// A moment. Before 1970 the seconds go down and the nanoseconds still up, as the format has it.
pub(super) fn moment(moment: Moment) -> Timestamp {
    const NANOS_PER_SECOND: i32 = 1_000_000_000;
    let (seconds, nanos) = (moment.as_second(), moment.subsec_nanosecond());
    if nanos < 0 {
        Timestamp {
            seconds: seconds.saturating_sub(1),
            nanos: nanos.saturating_add(NANOS_PER_SECOND),
        }
    } else {
        Timestamp { seconds, nanos }
    }
}

/// The number of an entry.
pub(super) fn seq(seq: Seq) -> i64 {
    i64::try_from(seq.0).unwrap_or(i64::MAX)
}

/// How many there are.
pub(super) fn count(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// Milliseconds as seconds, half up.
fn seconds(time_ms: i64) -> i64 {
    time_ms.saturating_add(500).div_euclid(1_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_before_1970_counts_its_nanoseconds_upwards() {
        let shown = |nanosecond| {
            let stamp = moment(Moment::from_nanosecond(nanosecond).unwrap());
            (stamp.seconds, stamp.nanos)
        };
        assert_eq!(shown(1_500_000_000), (1, 500_000_000));
        assert_eq!(shown(-1_500_000_000), (-2, 500_000_000));
        assert_eq!(shown(-2_000_000_000), (-2, 0));
    }
}
