//! The ceilings: the same bytes appended in groups, one write and one fdatasync a group.
//!
//! Once without anybody who waits, which is the disk alone; once with callers who each wait for the
//! sync of their own line before they give the next, which is group commit and nothing else.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;
use std::time::{Duration, Instant};

use tokio::sync::mpsc::error::TryRecvError;
use tokio::sync::{mpsc, oneshot};

use crate::Plan;
use crate::measure::{Figures, figures, round};

/// Groups of as many lines as there are callers, nobody waiting.
pub(crate) fn alone(
    plan: &Plan,
    folder: &Path,
    line: &[u8],
    callers: usize,
) -> io::Result<Figures> {
    let mut file = append_to(&folder.join(format!("alone-{callers}")))?;
    let group = line.repeat(callers);
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        rounds.push(round(|| {
            let (start, mut waits) = (Instant::now(), Vec::new());
            while start.elapsed() < plan.round {
                let begun = Instant::now();
                file.write_all(&group)?;
                file.sync_data()?;
                waits.extend(std::iter::repeat_n(begun.elapsed(), callers));
            }
            Ok::<_, io::Error>(waits)
        })?);
    }
    Ok(figures(&rounds))
}

/// Callers who hand a line to one writer and wait until it is synced.
pub(crate) fn called(
    plan: &Plan,
    folder: &Path,
    line: &[u8],
    callers: usize,
) -> io::Result<Figures> {
    let runtime = tokio::runtime::Runtime::new()?;
    let file = append_to(&folder.join(format!("called-{callers}")))?;
    let (lines, queue) = mpsc::channel(1024);
    let writer = std::thread::spawn(move || write(file, queue));
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        rounds.push(round(|| {
            runtime.block_on(async {
                let tasks: Vec<_> = (0..callers)
                    .map(|_| tokio::spawn(call_for(lines.clone(), line.to_vec(), plan.round)))
                    .collect();
                let mut waits = Vec::new();
                for task in tasks {
                    waits.extend(task.await.map_err(io::Error::other)?);
                }
                Ok::<_, io::Error>(waits)
            })
        })?);
    }
    drop(lines);
    writer
        .join()
        .map_err(|_| io::Error::other("the writer broke off"))??;
    Ok(figures(&rounds))
}

/// A line and where its answer goes.
type Ask = (Vec<u8>, oneshot::Sender<()>);

async fn call_for(lines: mpsc::Sender<Ask>, line: Vec<u8>, round: Duration) -> Vec<Duration> {
    let (start, mut waits) = (Instant::now(), Vec::new());
    while start.elapsed() < round {
        let begun = Instant::now();
        let (reply, synced) = oneshot::channel();
        if lines.send((line.clone(), reply)).await.is_err() || synced.await.is_err() {
            break;
        }
        waits.push(begun.elapsed());
    }
    waits
}

/// Appends what waits with one write and one sync, and answers. Waits a moment for as many as came
/// last, as the desk does.
fn write(mut file: File, mut queue: mpsc::Receiver<Ask>) -> io::Result<()> {
    let (mut last_count, mut sync) = (0, Duration::ZERO);
    while let Some(first) = queue.blocking_recv() {
        let gathering = Instant::now();
        let (mut group, mut replies) = (first.0, vec![first.1]);
        loop {
            match queue.try_recv() {
                Ok((line, reply)) => {
                    group.extend_from_slice(&line);
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
        file.write_all(&group)?;
        file.sync_data()?;
        (last_count, sync) = (replies.len(), begun.elapsed());
        for reply in replies {
            // A caller that has gone is no matter.
            let _ = reply.send(());
        }
    }
    Ok(())
}

fn append_to(path: &Path) -> io::Result<File> {
    OpenOptions::new().create(true).append(true).open(path)
}
