//! Group commit and nothing else: callers hand a line to one writer and wait until it is durable.
//!
//! It serves every store that is compared with the desk. All of them have the same callers, the
//! same queue and the same way of gathering a group; only what keeps the group differs.

use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use tokio::runtime::Handle;
use tokio::sync::mpsc::error::TryRecvError;
use tokio::sync::{mpsc, oneshot};
use uuid::Uuid;

use crate::Fault;
use crate::shop::Requests;

/// A line to keep, and the request it answers.
pub(crate) struct Given {
    #[cfg_attr(
        not(feature = "others"),
        expect(dead_code, reason = "only tables have an index of requests")
    )]
    pub(crate) request: Uuid,
    pub(crate) line: Arc<[u8]>,
}

/// What keeps lines.
pub(crate) trait Store: Send + 'static {
    /// Keeps a group of lines. When it returns, they survive loss of power.
    fn commit(&mut self, group: &[Given]) -> Result<(), Fault>;
}

/// A line and where its answer goes.
type Ask = (Given, oneshot::Sender<()>);

/// Callers of a store, and its writer.
pub(crate) struct Grouped {
    runtime: Handle,
    line: Arc<[u8]>,
    asks: mpsc::Sender<Ask>,
    writer: JoinHandle<Result<(), Fault>>,
}

impl Grouped {
    /// Starts the writer of a store whose callers all give this line.
    pub(crate) fn start(
        runtime: &Handle,
        line: &Arc<[u8]>,
        store: impl Store,
    ) -> std::io::Result<Self> {
        let (asks, queue) = mpsc::channel(1024);
        let thread = std::thread::Builder::new().name("writer".to_owned());
        Ok(Self {
            runtime: runtime.clone(),
            line: Arc::clone(line),
            asks,
            writer: thread.spawn(move || write(store, queue))?,
        })
    }

    /// A round: callers that each give the next line as soon as their last one is durable. It gives
    /// how long each waited.
    pub(crate) fn call(&self, callers: usize, round: Duration) -> Result<Vec<Duration>, Fault> {
        self.runtime.block_on(async {
            let tasks: Vec<_> = (0..callers)
                .map(|_| {
                    let (asks, line) = (self.asks.clone(), Arc::clone(&self.line));
                    tokio::spawn(call_for(asks, line, round))
                })
                .collect();
            let mut waits = Vec::new();
            for task in tasks {
                waits.extend(task.await?.ok_or("the writer broke off")?);
            }
            Ok(waits)
        })
    }

    /// Ends the writer, and says why it broke off if it did.
    pub(crate) fn close(self) -> Result<(), Fault> {
        drop(self.asks);
        self.writer.join().map_err(|_| "the writer broke off")?
    }
}

async fn call_for(
    asks: mpsc::Sender<Ask>,
    line: Arc<[u8]>,
    round: Duration,
) -> Option<Vec<Duration>> {
    let (start, mut waits, mut requests) = (Instant::now(), Vec::new(), Requests::begin());
    while start.elapsed() < round {
        let begun = Instant::now();
        let (reply, durable) = oneshot::channel();
        let given = Given {
            request: requests.next(),
            line: Arc::clone(&line),
        };
        asks.send((given, reply)).await.ok()?;
        durable.await.ok()?;
        waits.push(begun.elapsed());
    }
    Some(waits)
}

/// Commits what waits together, and answers. Waits a moment for as many as came last, as the desk
/// does.
fn write(mut store: impl Store, mut queue: mpsc::Receiver<Ask>) -> Result<(), Fault> {
    let (mut last_count, mut sync) = (0, Duration::ZERO);
    while let Some((given, reply)) = queue.blocking_recv() {
        let gathering = Instant::now();
        let (mut group, mut replies) = (vec![given], vec![reply]);
        loop {
            match queue.try_recv() {
                Ok((given, reply)) => {
                    group.push(given);
                    replies.push(reply);
                }
                Err(TryRecvError::Empty)
                    if replies.len() < last_count && gathering.elapsed() < sync / 4 =>
                {
                    std::thread::yield_now();
                }
                Err(_) => break,
            }
        }
        let begun = Instant::now();
        store.commit(&group)?;
        (last_count, sync) = (replies.len(), begun.elapsed());
        for reply in replies {
            // A caller that has gone is no matter.
            let _ = reply.send(());
        }
    }
    Ok(())
}
