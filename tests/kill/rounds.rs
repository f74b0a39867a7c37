//! A book that is opened, worked on, killed and looked at, round after round.
//!
//! It serves every test here that kills. A test says when and what to kill; that nothing was lost is
//! found out here, the same way for all.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use tonic::transport::Channel;
use uuid::Uuid;

use crate::audit::{audit, audit_all, since};
use crate::fettled::{Fettled, connect};
use crate::ledger::Ledger;
use crate::{callers, shop, walk};

/// One kill at work in so many is followed by one while the book opens.
const OPENING_ONE_IN: u32 = 6;

/// A number that the environment gives.
pub(crate) fn from_env(name: &str) -> Option<u64> {
    let value = std::env::var(name).ok()?;
    let number = value.parse();
    Some(number.unwrap_or_else(|_| panic!("{name}={value} is not a number")))
}

/// A shop's book that is killed and opened, again and again.
pub(crate) struct Rounds {
    folder: tempfile::TempDir,
    seed: u64,
    rng: ChaCha8Rng,
    ledger: Ledger,
    /// How long the book took to open, the longest time of all.
    slowest_open: Duration,
}

impl Rounds {
    /// Rounds on a shop that was set up and closed in good order. Each test takes a stream of its
    /// own from the seed.
    pub(crate) async fn new(stream: u64) -> Self {
        let seed = from_env("FETTLEBOOK_KILL_SEED");
        let seed = seed.unwrap_or_else(|| Uuid::now_v7().as_u64_pair().1 >> 16);
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(stream);
        let folder = tempfile::tempdir().unwrap();
        let mut fettled = Fettled::start(&folder.path().join("book"));
        let channel = connect(&fettled.url().unwrap()).await.unwrap();
        let entry_count = shop::stock(&channel).await;
        let entries = since(&channel, 0).await;
        assert_eq!(i64::try_from(entries.len()).unwrap(), entry_count);
        drop(channel);
        assert!(fettled.stop());
        Self {
            folder,
            seed,
            rng,
            ledger: Ledger::after_set_up(&entries),
            slowest_open: Duration::ZERO,
        }
    }

    /// The folder of the book.
    pub(crate) fn book(&self) -> PathBuf {
        self.folder.path().join("book")
    }

    /// Kills so far.
    pub(crate) const fn kills(&self) -> usize {
        self.ledger.score.kills
    }

    /// A moment up to `max`, drawn from the seed.
    pub(crate) fn moment(&mut self, max: Duration) -> Duration {
        let max_us = u64::try_from(max.as_micros()).unwrap();
        Duration::from_micros(self.rng.random_range(0..=max_us))
    }

    /// Sets callers to work, kills the service under them after a time, and looks what became of
    /// the book.
    pub(crate) async fn kill_at_work(&mut self, callers: u64, after: Duration, thorough: bool) {
        let (fettled, url, _) = self.open().await;
        let callers = callers::set_to_work(&url, callers, self.rng.random());
        tokio::time::sleep(after).await;
        fettled.kill();
        self.ledger.score.kills += 1;
        let mut round = Vec::new();
        for caller in callers {
            round.extend(caller.await.unwrap());
        }
        if self.rng.random_ratio(1, OPENING_ONE_IN) {
            self.kill_while_opening(self.slowest_open);
        }
        let (fettled, _, channel) = self.open().await;
        audit(&channel, &mut self.ledger, round, thorough).await;
        // The audit recorded entries too; they end as abruptly.
        fettled.kill();
        self.ledger.score.assert_clean(self.seed);
    }

    /// Starts the service and kills it within `max`, most likely before it listens.
    pub(crate) fn kill_while_opening(&mut self, max: Duration) {
        let fettled = Fettled::start(&self.book());
        std::thread::sleep(self.moment(max));
        let listened = fettled.kill();
        self.ledger.score.kills += 1;
        self.ledger.score.kills_while_opening += usize::from(!listened);
    }

    /// Throws the shelf of the book away, which may always be done; there is none where the service was
    /// killed before it made one.
    pub(crate) fn throw_shelf_away(&self) {
        let gone = std::fs::remove_dir_all(self.book().join("shelf"));
        if let Err(why) = gone {
            assert_eq!(why.kind(), std::io::ErrorKind::NotFound, "{why}");
        }
    }

    /// How long the book takes to open as it is now; it is killed as soon as it has.
    pub(crate) async fn time_to_open(&mut self) -> Duration {
        let start = Instant::now();
        let (fettled, _, _) = self.open().await;
        fettled.kill();
        start.elapsed()
    }

    /// Opens the book. A service that does not open is written down, and is the end of the rounds.
    async fn open(&mut self) -> (Fettled, String, Channel) {
        let start = Instant::now();
        let mut fettled = Fettled::start(&self.book());
        let url = match fettled.url() {
            Ok(url) => url,
            Err(why) => {
                self.ledger.score.failed_opens.push(why);
                self.ledger.score.assert_clean(self.seed);
                unreachable!("a failed open is not clean")
            }
        };
        self.slowest_open = self.slowest_open.max(start.elapsed());
        let channel = connect(&url).await.unwrap();
        (fettled, url, channel)
    }

    /// Reads the whole book once more over gRPC, then the journal with nothing of ours, prints the
    /// figures and asserts that every promise was kept.
    pub(crate) async fn end(mut self) {
        let (fettled, _, channel) = self.open().await;
        audit_all(&channel, &mut self.ledger).await;
        drop(channel);
        assert!(fettled.stop());
        let requests = walk::requests_of(&self.book().join("journal"));
        println!("seed {}: {}", self.seed, self.ledger.score.line());
        println!(
            "{} entries, slowest open {:?}",
            requests.len(),
            self.slowest_open
        );
        self.ledger.score.assert_clean(self.seed);
        assert_eq!(requests, self.ledger.found);
    }
}
