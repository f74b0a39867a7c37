//! Reading a journal through, as fast as the disk and the processors allow, to know that it is whole.
//!
//! Every line states its own chain value, and the line before states the one that it rests on. So
//! blocks of lines are checked side by side, each from what the line before it states; when every
//! block holds, the whole chain holds. The sweep itself only ever says *whole*: what is anything else
//! is read again by the walk, from before the block, and the walk's verdict counts.

mod block;

use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::thread::{self, Scope};

use fettlebook_model::Seq;
use serde::{Deserialize, Serialize};

use super::chain::Chain;
use super::walk::Walk;
use super::{JournalError, Position};
use crate::limits::{SWEEP_BLOCK_BYTES, SWEEP_THREADS_MAX};

use block::{Block, Blocks, Next};

/// Up to where a journal is known to be whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reached {
    /// Where the next line begins.
    pub next: Position,
    /// Chain value of the entry before it.
    pub chain: Chain,
}

impl Reached {
    /// Nothing of a journal is known yet.
    pub const NOTHING: Self = Self {
        next: Position::START,
        chain: Chain::ZERO,
    };
}

/// What was read through and is whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadThrough {
    /// The beginning of each segment that was come to, in order.
    pub segments: Vec<Reached>,
    /// The end of what was read.
    pub end: Reached,
}

/// How a journal is swept.
pub(super) struct Sweep<'a> {
    pub(super) folder: &'a Path,
    /// Up to and with which entry.
    pub(super) until: Seq,
    /// Asked before each block.
    pub(super) go_on: &'a (dyn Fn() -> bool + Sync),
    /// Bytes read at once.
    pub(super) block_bytes: usize,
    pub(super) thread_count: usize,
}

/// What the threads of a sweep share.
struct Shared<'a> {
    blocks: Mutex<Blocks>,
    until: Seq,
    go_on: &'a (dyn Fn() -> bool + Sync),
    outcome: Mutex<Outcome>,
}

/// What the sweep has come to so far.
#[derive(Default)]
struct Outcome {
    /// The furthest that a block reached.
    end: Option<Reached>,
    /// The beginning of the first block that is not whole lines in a whole chain.
    doubtful: Option<Reached>,
    given_up: bool,
}

impl<'a> Sweep<'a> {
    /// A sweep on all processors.
    pub(super) fn new(folder: &'a Path, until: Seq, go_on: &'a (dyn Fn() -> bool + Sync)) -> Self {
        let processor_count = thread::available_parallelism().map_or(1, usize::from);
        Self {
            folder,
            until,
            go_on,
            block_bytes: SWEEP_BLOCK_BYTES,
            thread_count: processor_count.min(SWEEP_THREADS_MAX),
        }
    }

    /// Reads on from what is known to be whole.
    pub(super) fn run(&self, from: &Reached) -> Result<ReadThrough, JournalError> {
        let blocks = Blocks::new(self.folder, from, self.until, self.block_bytes)?;
        let shared = Shared {
            blocks: Mutex::new(blocks),
            until: self.until,
            go_on: self.go_on,
            outcome: Mutex::default(),
        };
        thread::scope(|scope| shared.work(scope, self.thread_count));
        let outcome = into_inner(shared.outcome);
        let blocks = into_inner(shared.blocks);
        let doubtful = earlier(outcome.doubtful, blocks.doubtful);
        let doubt = doubtful.is_some() && !outcome.given_up;
        let end = doubtful.or(outcome.end).unwrap_or_else(|| from.clone());
        let mut segments = blocks.segments;
        segments.retain(|segment| segment.next.seq < end.next.seq);
        if doubt {
            self.walk_on(end, segments)
        } else {
            Ok(ReadThrough { segments, end })
        }
    }

    /// Reads line by line from before what the sweep does not take for whole.
    fn walk_on(
        &self,
        from: Reached,
        mut segments: Vec<Reached>,
    ) -> Result<ReadThrough, JournalError> {
        let mut end = from;
        let mut walk = Walk::after(self.folder, &end)?;
        while end.next.seq <= self.until {
            let line = walk.expect_line()?;
            if line.mark.at.offset == 0 {
                let chain = end.chain;
                let next = line.mark.at;
                segments.push(Reached { next, chain });
            }
            end = Reached {
                next: walk.end(),
                chain: line.mark.chain,
            };
        }
        Ok(ReadThrough { segments, end })
    }
}

impl Shared<'_> {
    /// Checks blocks until there are no more; the first thread calls others to help once it has seen
    /// that one block is not all.
    fn work<'scope, 'env>(&'env self, scope: &'scope Scope<'scope, 'env>, helper_count: usize) {
        let (mut buffer, mut helpers) = (Vec::new(), helper_count.saturating_sub(1));
        loop {
            if !(self.go_on)() {
                lock(&self.outcome).given_up = true;
                lock(&self.blocks).end();
            }
            let Next::Block(block) = lock(&self.blocks).next(&mut buffer) else {
                return;
            };
            if helpers > 0 && !block.last {
                for _ in 0..std::mem::take(&mut helpers) {
                    let helper = thread::Builder::new().name("audit".to_owned());
                    // Without help it takes longer, and that is all.
                    drop(helper.spawn_scoped(scope, || self.work(scope, 0)));
                }
            }
            self.take(&block, &buffer);
        }
    }

    fn take(&self, block: &Block, bytes: &[u8]) {
        let checked = block.check(bytes, self.until);
        let mut outcome = lock(&self.outcome);
        match checked {
            Some(end) => {
                let further = outcome
                    .end
                    .as_ref()
                    .is_none_or(|so_far| so_far.next.seq < end.next.seq);
                if further {
                    outcome.end = Some(end);
                }
            }
            None => {
                outcome.doubtful = earlier(outcome.doubtful.take(), Some(block.from.clone()));
                drop(outcome);
                lock(&self.blocks).end();
            }
        }
    }
}

/// The one of two places that comes first.
fn earlier(one: Option<Reached>, other: Option<Reached>) -> Option<Reached> {
    one.into_iter()
        .chain(other)
        .min_by_key(|reached| reached.next.seq)
}

/// What a lock guards, whoever broke off while holding it: nothing here is left half-way.
fn lock<T>(guarded: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    guarded.lock().unwrap_or_else(PoisonError::into_inner)
}

fn into_inner<T>(guarded: Mutex<T>) -> T {
    guarded.into_inner().unwrap_or_else(PoisonError::into_inner)
}
