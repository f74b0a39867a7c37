//! Many deeds that wait on one van, sent at once.
//!
//! It serves whoever comes home after a week without signal. The quick form only sees that all of
//! them arrive; the long one holds the time against what was promised.

use std::time::{Duration, Instant};

use crate::audit::{faults, reported};
use crate::deeds::{Act, OWN, SHARED_PAD};
use crate::hub::Hub;
use crate::link::Link;
use crate::rounds::from_env;
use crate::van::Van;

/// Deeds of the quick form.
const DEEDS: u64 = 40;
/// Longest time that sending a thousand may take.
const SENDING_MAX: Duration = Duration::from_secs(2);

#[test]
fn what_waited_long_is_sent_in_one_go() {
    let asked = from_env("FETTLEBOOK_QUEUED");
    let count = asked.unwrap_or(DEEDS);
    let hub = Hub::open();
    let link = Link::to(hub.address);
    let code = hub.code("van-a", "work", link.address());
    let mut van = Van::new("van-a", &OWN[0], link);
    van.pair(&code);
    van.link.cut();
    let keeping = Instant::now();
    for _ in 0..count {
        let pairs = 1;
        let pad = SHARED_PAD;
        van.act(&Act::Use { pad, pairs });
    }
    let kept_in = keeping.elapsed();
    van.link.join();
    let sending = Instant::now();
    assert!(van.sync());
    let sent_in = sending.elapsed();
    println!("{count} deeds: kept in {kept_in:.1?}, sent in {sent_in:.2?}");
    let found = reported(&hub.book(), &[van.name]);
    assert_eq!(faults(van.name, &van.did, &found), [""; 0]);
    if asked.is_some() {
        assert!(sent_in <= SENDING_MAX, "{sent_in:?}");
    }
}
