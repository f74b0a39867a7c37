//! What a connection speaks, as its first bytes tell, and how long it is waited for.
//!
//! HTTP/2 asks the other side by itself whether it is still there. HTTP/1.1 has no way to ask, so a
//! connection that speaks it is given up once it takes nothing of what is sent.

use std::future::Future as _;
use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use tokio::time::Sleep;

use crate::limits::PAGE_STALL_MAX;

/// What every HTTP/2 client says first. Source: RFC 9113, section 3.4.
pub(super) const PREFACE: &[u8; 24] = b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n";

/// What a connection speaks.
pub(super) enum Speech {
    /// So far it has said as much of what HTTP/2 begins with, and is waited for so long.
    Beginning {
        byte_count: usize,
        patience: Pin<Box<Sleep>>,
    },
    /// HTTP/2.
    Http2,
    /// Something else, which can only be HTTP/1.1; and how long it may still take nothing of what is
    /// sent, while it does not.
    Http1 { patience: Option<Pin<Box<Sleep>>> },
}

impl Speech {
    /// Nothing has been said yet, and is waited for so long.
    pub(super) fn new(wait_max: Duration) -> Self {
        Self::Beginning {
            byte_count: 0,
            patience: Box::pin(tokio::time::sleep(wait_max)),
        }
    }

    /// Whether it speaks HTTP/1.1, as far as is known.
    pub(super) const fn is_http_1(&self) -> bool {
        matches!(self, Self::Http1 { .. })
    }

    /// These bytes came.
    pub(super) fn hear(&mut self, said: &[u8]) {
        let Self::Beginning { byte_count, .. } = self else {
            return;
        };
        let expected = PREFACE.get(*byte_count..).unwrap_or_default();
        if said.iter().zip(expected).any(|(byte, due)| byte != due) {
            *self = Self::Http1 { patience: None };
        } else if said.len() >= expected.len() {
            *self = Self::Http2;
        } else {
            *byte_count += said.len();
        }
    }

    /// Nothing came: whether more is waited for. Wakes whoever asks when that is over.
    ///
    /// # Errors
    /// When it took too long to say what it speaks.
    pub(super) fn wait(&mut self, context: &mut Context<'_>) -> Poll<io::Error> {
        let Self::Beginning { patience, .. } = self else {
            return Poll::Pending;
        };
        ready!(patience.as_mut().poll(context));
        tracing::debug!("a connection that said nothing was closed");
        Poll::Ready(io::ErrorKind::TimedOut.into())
    }

    /// What became of sending: an error once the other side has taken nothing for too long.
    pub(super) fn sent<T>(
        &mut self,
        context: &mut Context<'_>,
        done: Poll<io::Result<T>>,
    ) -> Poll<io::Result<T>> {
        let Self::Http1 { patience } = self else {
            return done;
        };
        if done.is_ready() {
            *patience = None;
            return done;
        }
        let waiting = || Box::pin(tokio::time::sleep(PAGE_STALL_MAX));
        ready!(patience.get_or_insert_with(waiting).as_mut().poll(context));
        tracing::debug!("a page that took nothing of its answer was given up");
        Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio_test::{assert_pending, assert_ready, task};

    fn heard(parts: &[&[u8]]) -> Speech {
        let mut speech = Speech::new(Duration::from_secs(1));
        for part in parts {
            speech.hear(part);
        }
        speech
    }

    /// Source: RFC 9113, section 3.4, and RFC 9112, section 3: a request begins with its method.
    #[tokio::test(start_paused = true)]
    async fn http_1_is_told_from_http_2_however_its_bytes_come() {
        let (first, rest) = PREFACE.split_at(3);
        for http_2 in [
            [PREFACE.as_slice(), b"and more"],
            [first, rest],
            [b"", PREFACE],
        ] {
            assert!(matches!(heard(&http_2), Speech::Http2), "{http_2:?}");
        }
        for http_1 in [["POST /"], ["PRI * HTTP/1.1"], ["P"]] {
            let said: Vec<&[u8]> = http_1.iter().map(|text| text.as_bytes()).collect();
            assert_eq!(heard(&said).is_http_1(), http_1 != ["P"], "{http_1:?}");
        }
        assert!(heard(&[b"P", b"O"]).is_http_1());
    }

    #[tokio::test(start_paused = true)]
    async fn who_takes_nothing_over_http_1_is_given_up_and_who_takes_it_slowly_is_not() {
        let mut speech = heard(&[b"POST"]);
        let mut sending = task::spawn(());
        let mut stand = |speech: &mut Speech, done: Poll<io::Result<()>>| {
            sending.enter(|context, _| speech.sent(context, done))
        };
        for _ in 0..3 {
            assert_pending!(stand(&mut speech, Poll::Pending));
            tokio::time::advance(PAGE_STALL_MAX - Duration::from_secs(1)).await;
            assert_pending!(stand(&mut speech, Poll::Pending));
            assert_ready!(stand(&mut speech, Poll::Ready(Ok(())))).unwrap();
        }
        assert_pending!(stand(&mut speech, Poll::Pending));
        tokio::time::advance(PAGE_STALL_MAX + Duration::from_millis(1)).await;
        let ended = assert_ready!(stand(&mut speech, Poll::Pending));
        assert_eq!(ended.unwrap_err().kind(), io::ErrorKind::TimedOut);
        let mut http_2 = heard(&[PREFACE]);
        assert_pending!(stand(&mut http_2, Poll::Pending));
        tokio::time::advance(2 * PAGE_STALL_MAX).await;
        assert_pending!(stand(&mut http_2, Poll::Pending));
    }

    #[tokio::test(start_paused = true)]
    async fn who_does_not_say_what_it_speaks_is_waited_for_so_long() {
        let mut speech = heard(&[&PREFACE[..23]]);
        let mut waiting = task::spawn(());
        assert_pending!(waiting.enter(|context, _| speech.wait(context)));
        tokio::time::advance(Duration::from_millis(1_001)).await;
        let ended = assert_ready!(waiting.enter(|context, _| speech.wait(context)));
        assert_eq!(ended.kind(), io::ErrorKind::TimedOut);
        speech.hear(&PREFACE[23..]);
        assert_pending!(waiting.enter(|context, _| speech.wait(context)));
    }
}
