//! A long journal is read through beside the work. What keeps it may not answer just now, which says nothing of it.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::time::Duration;

use fettlebook_model::Seq;

use super::World;
use crate::desk::Desk;
use crate::desk::audit::beside_the_work;
use crate::journal::{JournalError, Mark, Proof, Reached};

/// Longer than all of it takes.
const LONG: Duration = Duration::from_secs(20);

/// A proof of a journal that does not answer the next few times that it is read.
#[derive(Debug)]
struct Silent {
    times: u32,
    until: Seq,
}

impl Proof for Silent {
    fn until(&self) -> Seq {
        self.until
    }

    fn unread_bytes(&self) -> u64 {
        1
    }

    fn bring_up(&mut self, until: Seq, _: &(dyn Fn() -> bool + Sync)) -> Result<(), JournalError> {
        if self.times == 0 {
            self.until = until;
            return Ok(());
        }
        self.times -= 1;
        Err(JournalError::Unready {
            action: "reading",
            path: PathBuf::from("the engine"),
            source: std::io::Error::other("it does not answer"),
        })
    }

    fn look(&mut self) -> Result<(), JournalError> {
        Ok(())
    }

    fn notice(&mut self) {}

    fn refresh(&mut self) {}

    fn extend(&mut self, _: &[Mark], _: Reached) {}

    fn keep(&mut self) -> Result<(), JournalError> {
        Ok(())
    }
}

/// Has it read beside the work of a desk; what comes of it.
fn audit(desk: &Desk, times: u32) -> Receiver<Box<dyn Proof>> {
    let (done, read) = sync_channel(1);
    let until = Seq(0);
    let proof = Box::new(Silent { times, until });
    beside_the_work(proof, Seq(3), Arc::clone(&desk.shared), done).unwrap();
    read
}

#[tokio::test]
async fn a_journal_that_is_not_to_be_read_just_now_is_read_again_and_stops_no_book() {
    let world = World::new();
    let desk = world.open();
    let read = audit(&desk, 2).recv_timeout(LONG).unwrap();
    assert_eq!(read.until(), Seq(3));
    assert_eq!(desk.standing().read_only, None);
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_journal_that_is_never_to_be_read_is_left_once_the_desk_is_closed() {
    let world = World::new();
    let desk = world.open();
    let read = audit(&desk, u32::MAX);
    desk.clone().close().await.unwrap();
    let left = read.recv_timeout(LONG);
    assert!(matches!(left, Err(RecvTimeoutError::Disconnected)));
    assert_eq!(desk.standing().read_only, None);
}
