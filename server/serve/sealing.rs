//! Connections that are being sealed with TLS, each in its turn.
//!
//! To seal a connection is the dearest thing that somebody without a token can ask for. So it is done
//! for few strangers in a second, and for those first who come from where devices call.

use std::task::{Context, Poll, ready};
use std::time::{Duration, Instant};

use tokio::net::TcpStream;
use tokio::task::JoinSet;

use super::doorway::Doorway;
use super::lane::Lane;
use super::seals::Seals;
use super::strangers::{Probation, Strangers};
use super::wire::{Wire, seal};
use crate::edge::Visit;
use crate::limits::HANDSHAKE_WAIT_MAX;
use crate::meters::LogLimit;

/// A connection that has been sealed, and what it may do without a good token.
pub(super) type Sealed = (Wire, Visit, Probation);

/// Those that are being sealed or wait for it, and who has shown no token yet.
pub(super) struct Sealing {
    seals: Seals,
    strangers: Strangers,
    lane: Lane,
    tasks: JoinSet<Option<Sealed>>,
}

impl Sealing {
    /// Seals in this way, at this door; each connection has so long to show a good token.
    pub(super) fn new(seals: Seals, doorway: &Doorway, stranger_time_max: Duration) -> Self {
        Self {
            seals,
            strangers: Strangers::new(doorway.clone(), stranger_time_max),
            lane: Lane::before(doorway.clone()),
            tasks: JoinSet::new(),
        }
    }

    /// Takes a connection in; whether there was room for it.
    pub(super) fn take_in(&mut self, tcp: TcpStream, visit: Visit, log_limit: &LogLimit) -> bool {
        let Some(newcomer) = self.strangers.admit(&visit, Instant::now()) else {
            return false;
        };
        let turn = self.lane.line_up(newcomer.at, newcomer.device);
        let mut probation = newcomer.probation;
        let (seals, log_limit) = (self.seals.clone(), log_limit.clone());
        let from = visit.from();
        self.tasks.spawn(async move {
            let in_turn = async {
                turn.await.ok()?;
                seal(tcp, seals, HANDSHAKE_WAIT_MAX, || log_limit.tells(from)).await
            };
            let wire = tokio::select! {
                wire = in_turn => wire?,
                () = probation.over() => return None,
            };
            Some((wire, visit, probation))
        });
        true
    }

    /// The next one that has been sealed; pending when none is being.
    pub(super) fn poll_next(&mut self, context: &mut Context<'_>) -> Poll<Sealed> {
        self.lane.hand_out(context);
        loop {
            match ready!(self.tasks.poll_join_next(context)) {
                Some(Ok(Some(sealed))) => return Poll::Ready(sealed),
                Some(Ok(None)) => {}
                Some(Err(error)) => tracing::error!(%error, "sealing a connection broke off"),
                None => return Poll::Pending,
            }
        }
    }
}
