//! Several callers at work at once, each on a connection of its own, until the service is gone.
//!
//! They serve the kill loop. A caller never sends a second request before the first is answered, and
//! never forgets one that was not.

use std::time::Duration;

use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use tokio::task::JoinHandle;
use tonic_types::StatusExt as _;

use crate::deed::Deed;
use crate::fettled::connect;
use crate::ledger::Sent;

/// Longest wait for an answer; a service that was killed answers nothing.
const ANSWER_WAIT_MAX: Duration = Duration::from_secs(20);

/// Sets callers to work. Each gives what it sent when its connection breaks.
pub(crate) fn set_to_work(url: &str, count: u64, seed: u64) -> Vec<JoinHandle<Vec<Sent>>> {
    let callers = (0..count).map(|caller| {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(caller);
        tokio::spawn(work(url.to_owned(), rng))
    });
    callers.collect()
}

async fn work(url: String, mut rng: ChaCha8Rng) -> Vec<Sent> {
    // A service that was killed before anybody came is no matter.
    let Ok(channel) = connect(&url).await else {
        return Vec::new();
    };
    let (mut sent, mut recorded) = (Vec::new(), Vec::new());
    loop {
        let deed = Deed::any(&mut rng, &recorded);
        let answer = tokio::time::timeout(ANSWER_WAIT_MAX, deed.send(&channel)).await;
        match answer {
            Ok(Ok(entry)) => {
                if deed.can_be_taken_back() {
                    recorded.push(entry.seq);
                }
                let answer = Some(entry);
                sent.push(Sent { deed, answer });
            }
            // A refusal with a reason is an answer: nothing was recorded.
            Ok(Err(status)) if status.get_details_error_info().is_some() => {}
            Ok(Err(_)) | Err(_) => {
                sent.push(Sent { deed, answer: None });
                return sent;
            }
        }
    }
}
