//! Rounds of losing the signal and joining again, and what they came to.
//!
//! It serves the test. Everything random is drawn from one seed, which is printed; what a link
//! carried by the moment it was cut may still differ from run to run.

use std::fmt;
use std::time::{Duration, Instant};

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use tempfile::TempDir;

use crate::audit::{Levels, faults, reported};
use crate::deeds::{Act, GLOVES, OWN, SHARED_PAD};
use crate::hub::Hub;
use crate::link::Link;
use crate::van::{Van, fettle, left, must};

/// Deeds of each van in a round while it has no signal.
const OFFLINE_DEEDS: usize = 20;
/// Most bytes that pass before a link is cut: a connection and a deed take about half.
const CUT_AFTER_BYTES_MAX: i64 = 12_000;
/// Tries at sending over a link that is cut, before it stays.
const CUT_SYNCS: usize = 3;
/// Pairs of gloves at the start, enough for every round.
const GLOVES_AT_START: i64 = 1_000_000;

/// Pads that come for a round: about as many as the cars that walk in soil.
const PADS_A_ROUND: &str = "12";
/// Where the environment says how many rounds to run.
pub(crate) const ROUNDS: &str = "FETTLEBOOK_ROUNDS";

/// A number that the environment gives.
pub(crate) fn from_env(name: &str) -> Option<u64> {
    let value = std::env::var(name).ok()?;
    let number = value.parse();
    Some(number.unwrap_or_else(|_| panic!("{name}={value} is not a number")))
}

/// A shop with two vans, and how it goes.
pub(crate) struct Rounds {
    hub: Hub,
    bench: TempDir,
    vans: [Van; 2],
    seeds: ChaCha8Rng,
    score: Score,
    begun: Instant,
}

impl Rounds {
    /// A shop whose bench and vans are paired.
    pub(crate) fn begin() -> Self {
        let seed = from_env("FETTLEBOOK_VANS_SEED");
        let seed = seed.unwrap_or_else(|| rand_seed() >> 16);
        println!("seed {seed}");
        let hub = Hub::open();
        let bench = tempfile::tempdir().unwrap();
        let code = hub.code("bench", "own", hub.address);
        must(&fettle(bench.path(), &["shop", "pair", &code]));
        let left = format!("{GLOVES_AT_START} pairs");
        must(&fettle(bench.path(), &["count", GLOVES, "--left", &left]));
        let van = |name, own| {
            let link = Link::to(hub.address);
            let code = hub.code(name, "work", link.address());
            let van = Van::new(name, own, link);
            van.pair(&code);
            van
        };
        let vans = [van("van-a", &OWN[0]), van("van-b", &OWN[1])];
        Self {
            hub,
            bench,
            vans,
            seeds: ChaCha8Rng::seed_from_u64(seed),
            score: Score::default(),
            begun: Instant::now(),
        }
    }

    /// One round: both vans are cut off, work on, and join again, at the same time.
    pub(crate) fn run(&mut self) {
        let begun = Instant::now();
        // Cars that walk in soil pads, so that some come for the next round.
        let more = ["receive", "fine-foam-150", "--count", PADS_A_ROUND];
        must(&fettle(self.bench.path(), &more));
        std::thread::scope(|scope| {
            for van in &mut self.vans {
                let mut rng = ChaCha8Rng::seed_from_u64(self.seeds.random());
                scope.spawn(move || lose_and_join(van, &mut rng));
            }
        });
        self.score.rounds += 1;
        let ran = begun.elapsed();
        self.audit();
        if from_env(ROUNDS).is_some() {
            let (rounds, deeds, faults) =
                (self.score.rounds, self.score.deeds, self.score.faults.len());
            println!("round {rounds}: {ran:.1?}, {deeds} deeds so far, {faults} faults");
        }
    }

    /// Holds the journal against what was done so far.
    fn audit(&mut self) {
        assert!(self.hub.runs(), "fettled ended");
        let names = [self.vans[0].name, self.vans[1].name];
        let found = reported(&self.hub.book(), &names);
        for van in &self.vans {
            self.score.faults.extend(faults(van.name, &van.did, &found));
        }
        let levels = Levels::read(&self.hub.book());
        self.score.faults.extend(levels.tags_given_twice());
        let bottles = self.vans.iter().map(|van| van.own.bottle);
        for tag in bottles.chain([GLOVES]) {
            let (held, expected) = (left(self.bench.path(), tag), levels.of(tag));
            if held != expected {
                let told = format!("{held} are left of {tag}, not {expected}");
                self.score.faults.push(told);
            }
        }
        self.score.received = levels.received_by(&names);
        self.score.walked_in = levels.walked_in();
        let met = found.iter().filter(|entry| {
            let told = |flag: &String| flag.contains(SHARED_PAD) && flag.contains("van-");
            entry.flags.iter().any(told)
        });
        self.score.flagged = met.count();
        self.score.deeds = found.len();
        self.score.cut_short = self.vans.iter().map(|van| van.link.cut_count()).sum();
    }

    /// What came of it all.
    pub(crate) fn end(self) -> Score {
        Score {
            time: self.begun.elapsed(),
            ..self.score
        }
    }
}

fn rand_seed() -> u64 {
    uuid::Uuid::now_v7().as_u64_pair().1
}

fn lose_and_join(van: &mut Van, rng: &mut ChaCha8Rng) {
    van.link.join_for(rng.random_range(0..CUT_AFTER_BYTES_MAX));
    van.act(&Act::draw(rng, van.own));
    van.link.cut();
    for _ in 0..OFFLINE_DEEDS {
        van.act(&Act::draw(rng, van.own));
    }
    for _ in 0..CUT_SYNCS {
        van.link
            .join_for(rng.random_range(0..2 * CUT_AFTER_BYTES_MAX));
        van.sync();
        van.link.cut();
    }
    van.link.join();
    assert!(van.sync(), "{} could not send over a whole link", van.name);
}

/// What the rounds came to.
#[derive(Default)]
pub(crate) struct Score {
    pub(crate) rounds: usize,
    pub(crate) deeds: usize,
    /// Cuts that came while bytes passed.
    pub(crate) cut_short: usize,
    /// Entries with a flag that names the pad both took and the other van.
    pub(crate) flagged: usize,
    /// Pieces that the vans received.
    pub(crate) received: usize,
    /// Cars that nobody had booked.
    pub(crate) walked_in: usize,
    faults: Vec<String>,
    time: Duration,
}

impl Score {
    /// Everything that was wrong.
    pub(crate) fn faults(&self) -> &[String] {
        &self.faults
    }
}

impl fmt::Display for Score {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} rounds, {} deeds, {} pieces received, {} cars that nobody booked, {} cuts while bytes passed, \
             {} flagged where the vans met, {} faults; {:.1?}",
            self.rounds,
            self.deeds,
            self.received,
            self.walked_in,
            self.cut_short,
            self.flagged,
            self.faults.len(),
            self.time
        )
    }
}
