//! What is to be sent on a connection, gathered for as long as others of the same moment add to it.
//!
//! A group of orders is answered at once, and all their callers may be on one connection. Each answer that is sent by
//! itself costs a call of the system here and one there. So what is to be flushed is sent when its task has its next
//! turn, behind the tasks that were ready before it: their answers go with it.
//!
//! Invariant: whatever is owed is sent before anything that was read after it is looked at, and before the
//! connection is shut down.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

use tokio::io::AsyncWrite;

use crate::limits::GATHERED_BYTES_MAX;

/// Bytes on their way to a wire.
#[derive(Default)]
pub(super) struct Gathered {
    bytes: Vec<u8>,
    /// How many of them were sent.
    sent: usize,
    /// Whether they are to be sent at the next turn.
    owed: bool,
}

impl Gathered {
    /// Takes bytes in; what would make it too many is sent before.
    pub(super) fn poll_put(
        &mut self,
        wire: &mut (impl AsyncWrite + Unpin),
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        if self.bytes.len().saturating_add(bytes.len()) > GATHERED_BYTES_MAX {
            ready!(self.poll_send(wire, context))?;
        }
        if bytes.len() > GATHERED_BYTES_MAX {
            return Pin::new(wire).poll_write(context, bytes);
        }
        self.bytes.extend_from_slice(bytes);
        Poll::Ready(Ok(bytes.len()))
    }

    /// Has everything sent at the next turn of the task.
    pub(super) fn owe(&mut self, context: &mut Context<'_>) {
        if !self.bytes.is_empty() && !self.owed {
            self.owed = true;
            context.waker().wake_by_ref();
        }
    }

    /// Sends what is owed, as far as the wire takes it; the task is woken when it takes more.
    pub(super) fn pay(
        &mut self,
        wire: &mut (impl AsyncWrite + Unpin),
        context: &mut Context<'_>,
    ) -> io::Result<()> {
        if !self.owed {
            return Ok(());
        }
        match self.poll_send(wire, context) {
            Poll::Ready(sent) => sent,
            Poll::Pending => Ok(()),
        }
    }

    /// Sends everything.
    pub(super) fn poll_send(
        &mut self,
        wire: &mut (impl AsyncWrite + Unpin),
        context: &mut Context<'_>,
    ) -> Poll<io::Result<()>> {
        while let Some(left) = self.bytes.get(self.sent..).filter(|left| !left.is_empty()) {
            match ready!(Pin::new(&mut *wire).poll_write(context, left))? {
                0 => return Poll::Ready(Err(io::ErrorKind::WriteZero.into())),
                count => self.sent = self.sent.saturating_add(count),
            }
        }
        self.bytes.clear();
        self.sent = 0;
        // A sealed wire may hold some of it still.
        ready!(Pin::new(wire).poll_flush(context))?;
        self.owed = false;
        Poll::Ready(Ok(()))
    }
}

#[cfg(test)]
mod tests {
    use tokio_test::{assert_pending, assert_ready, task};

    use super::*;

    /// A wire that takes so many bytes, and keeps what it was given in each call; `held` is not out yet.
    #[derive(Default)]
    struct Wire {
        room: usize,
        calls: Vec<Vec<u8>>,
        held: usize,
        holds_back: bool,
    }

    impl AsyncWrite for Wire {
        fn poll_write(
            mut self: Pin<&mut Self>,
            _: &mut Context<'_>,
            bytes: &[u8],
        ) -> Poll<io::Result<usize>> {
            if self.room == 0 {
                return Poll::Pending;
            }
            let count = bytes.len().min(self.room);
            self.room -= count;
            self.held += count;
            self.calls.push(bytes[..count].to_vec());
            Poll::Ready(Ok(count))
        }

        fn poll_flush(mut self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
            if self.holds_back {
                return Poll::Pending;
            }
            self.held = 0;
            Poll::Ready(Ok(()))
        }

        fn poll_shutdown(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
            Poll::Ready(Ok(()))
        }
    }

    #[test]
    fn answers_of_one_moment_are_sent_together_at_the_next_turn() {
        let (mut gathered, mut wire) = (Gathered::default(), Wire::default());
        wire.room = 100;
        let mut turn = task::spawn(());
        turn.enter(|context, _| {
            gathered.owe(context);
            for answer in [b"one", b"two"] {
                let put = gathered.poll_put(&mut wire, context, answer);
                assert_eq!(assert_ready!(put).unwrap(), 3);
                gathered.owe(context);
            }
        });
        assert!(turn.is_woken() && wire.calls.is_empty());
        turn.enter(|context, _| gathered.pay(&mut wire, context))
            .unwrap();
        assert_eq!((&wire.calls[..], wire.held), (&[b"onetwo".to_vec()][..], 0));
        turn.enter(|context, _| gathered.pay(&mut wire, context))
            .unwrap();
        assert_eq!(wire.calls.len(), 1, "nothing is sent twice");
    }

    #[test]
    fn what_is_not_to_be_flushed_waits_and_what_the_wire_does_not_take_stays_owed() {
        let (mut gathered, mut wire) = (Gathered::default(), Wire::default());
        wire.room = 4;
        let mut turn = task::spawn(());
        turn.enter(|context, _| {
            assert!(gathered.poll_put(&mut wire, context, b"answer").is_ready());
            gathered.pay(&mut wire, context).unwrap();
            assert!(wire.calls.is_empty(), "it is not owed yet");
            gathered.owe(context);
            gathered.pay(&mut wire, context).unwrap();
            assert_pending!(gathered.poll_send(&mut wire, context));
            wire.room = 100;
            gathered.pay(&mut wire, context).unwrap();
        });
        assert_eq!(wire.calls, [b"answ".to_vec(), b"er".to_vec()]);
    }

    #[test]
    fn what_a_sealed_wire_holds_back_stays_owed() {
        let (mut gathered, mut wire) = (Gathered::default(), Wire::default());
        (wire.room, wire.holds_back) = (100, true);
        let mut turn = task::spawn(());
        turn.enter(|context, _| {
            assert!(gathered.poll_put(&mut wire, context, b"answer").is_ready());
            gathered.owe(context);
            gathered.pay(&mut wire, context).unwrap();
            assert_eq!(wire.held, 6);
            wire.holds_back = false;
            gathered.pay(&mut wire, context).unwrap();
        });
        assert_eq!((wire.held, wire.calls.len()), (0, 1));
    }

    #[test]
    fn more_than_may_be_gathered_waits_for_the_wire() {
        let (mut gathered, mut wire) = (Gathered::default(), Wire::default());
        let half = vec![7; GATHERED_BYTES_MAX / 2 + 1];
        let mut turn = task::spawn(());
        turn.enter(|context, _| {
            assert!(gathered.poll_put(&mut wire, context, &half).is_ready());
            assert_pending!(gathered.poll_put(&mut wire, context, &half));
            wire.room = usize::MAX;
            assert!(gathered.poll_put(&mut wire, context, &half).is_ready());
            assert_eq!(wire.calls, std::slice::from_ref(&half));
            let large = vec![8; GATHERED_BYTES_MAX + 1];
            let put = gathered.poll_put(&mut wire, context, &large);
            assert_eq!(assert_ready!(put).unwrap(), large.len());
            assert_eq!(wire.calls, [half.clone(), half.clone(), large], "in order");
        });
    }
}
