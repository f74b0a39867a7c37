//! A book whose process is killed, another goes on, and the power goes and takes of the shelf what it
//! likes: every answer is still the answer, and the book is whole.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use fettlebook_model::Entry;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use tempfile::TempDir;
use uuid::Uuid;

use super::{assert_whole, copy_folder};
use crate::desk::{Desk, DeskOptions, Order, SystemClock};
use crate::testing::cuts::cuts_of_each;
use crate::testing::faulty::Fault;
use crate::testing::stores::{BreakingStore, Kind, on_every_store};
use crate::testing::{new_car, order};

/// Fewest cuts: where the end of the journal is taken for certain at opening, the eighty-third is the first
/// that loses an answer.
const CUTS_MIN: u64 = 100;

/// Orders that a process is given.
const ORDERS: usize = 5;

/// The smallest piece that disks write whole, in bytes.
const SECTOR_BYTES: usize = 512;

struct Run {
    broken: Box<dyn BreakingStore>,
    shelves: Vec<TempDir>,
    options: DeskOptions,
    answered: Vec<(Order, Arc<Entry>)>,
    /// The order that was not answered.
    open: Option<Order>,
    ordered: usize,
    /// Operations of the disk when the last process had opened, and after each of its answers.
    operations: Vec<u64>,
}

impl Run {
    fn new(kind: &Kind, seed: u64) -> Self {
        let options = DeskOptions::new(Arc::new(SystemClock), Uuid::from_u128(1));
        Self {
            broken: kind.breaking.unwrap()(seed, 1_500),
            shelves: Vec::new(),
            options,
            answered: Vec::new(),
            open: None,
            ordered: 0,
            operations: Vec::new(),
        }
    }

    fn shelf(&self) -> std::path::PathBuf {
        self.broken.store().shelf_folder()
    }

    /// One process: it gives what was not answered again, then further orders. Something may go wrong so
    /// many operations after it opened.
    async fn work(&mut self, once_open: Option<(u64, Fault)>) {
        let Ok((desk, _)) = Desk::open(self.broken.store(), &self.options) else {
            return;
        };
        if let Some((passing, fault)) = once_open {
            self.broken.fail_after(passing, fault);
        }
        self.operations = vec![self.broken.operation_count()];
        for _ in 0..ORDERS {
            let next = self.open.take().unwrap_or_else(|| {
                self.ordered += 1;
                order(new_car(&format!("car-{}", self.ordered)))
            });
            match desk.submit(next.clone()).await {
                Ok(entry) => {
                    self.answered.push((next, entry));
                    self.operations.push(self.broken.operation_count());
                }
                Err(_) => {
                    self.open = Some(next);
                    break;
                }
            }
        }
        desk.close().await.unwrap();
        let kept = tempfile::tempdir().unwrap();
        if self.shelf().is_dir() {
            copy_folder(&self.shelf(), kept.path());
            self.shelves.push(kept);
        }
    }

    /// What the power may leave of a shelf that is never synced.
    fn harm_shelf(&self, dice: &mut ChaCha8Rng) -> &'static str {
        let shelf = self.shelf();
        if !shelf.is_dir() {
            return "no shelf";
        }
        match dice.random_range(0..4) {
            0 => "the shelf whole",
            1 => {
                fs::remove_dir_all(&shelf).unwrap();
                "the shelf gone"
            }
            2 if !self.shelves.is_empty() => {
                let earlier = &self.shelves[dice.random_range(0..self.shelves.len())];
                fs::remove_dir_all(&shelf).unwrap();
                copy_folder(earlier.path(), &shelf);
                "an earlier shelf"
            }
            _ => {
                lose_sectors(&shelf, dice);
                "sectors of the shelf gone"
            }
        }
    }

    async fn assert_kept(&self, story: &str) {
        let (desk, report) = Desk::open(self.broken.store(), &self.options).unwrap();
        assert_eq!(report.read_only, None, "{story}");
        for (order, entry) in &self.answered {
            let again = desk.submit(order.clone()).await;
            assert_eq!(again.as_ref(), Ok(entry), "{story}");
        }
        assert_whole(&desk, desk.book().head().0).await;
        desk.close().await.unwrap();
    }
}

/// Sectors of the files of a folder, and of those below it, read as zeros.
fn lose_sectors(folder: &Path, dice: &mut ChaCha8Rng) {
    let mut paths: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    paths.sort();
    for path in paths {
        if path.is_dir() {
            lose_sectors(&path, dice);
            continue;
        }
        let mut bytes = fs::read(&path).unwrap();
        for sector in bytes.chunks_mut(SECTOR_BYTES) {
            if dice.random_bool(0.05) {
                sector.fill(0);
            }
        }
        fs::write(path, bytes).unwrap();
    }
}

async fn cuts_after_kills_lose_no_answer_whatever_is_left_of_the_shelf(kind: &Kind) {
    let mut whole = Run::new(kind, 0);
    whole.work(None).await;
    let operation_count = whole.broken.operation_count();
    whole.work(None).await;
    let [opened, first, .., last] = whole.operations[..] else {
        panic!("not every order was answered")
    };
    let (of_first, of_all) = (first - opened, last - opened);
    let (cuts, mut answered) = (cuts_of_each().max(CUTS_MIN), 0);
    for seed in 0..cuts {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let mut run = Run::new(kind, seed);
        let mut story = format!("seed {seed}");
        // What one process left and the next answered from is lost, if ever, before the next sync: so most
        // kills are among orders, and most cuts just after an opening.
        for _ in 0..dice.random_range(1..=2) {
            if dice.random_bool(0.7) {
                let passing = dice.random_range(0..of_all);
                story.push_str(&format!(", killed {passing} after it opened"));
                run.work(Some((passing, Fault::Kill))).await;
            } else {
                let at = dice.random_range(0..operation_count);
                story.push_str(&format!(", killed at {at}"));
                run.broken.fail_after(at, Fault::Kill);
                run.work(None).await;
            }
            run.broken.recover();
        }
        if dice.random_bool(0.8) {
            let passing = dice.random_range(0..of_first);
            story.push_str(&format!(", the power gone {passing} after it opened, "));
            run.work(Some((passing, Fault::PowerLoss))).await;
        } else {
            let at = dice.random_range(0..operation_count);
            story.push_str(&format!(", the power gone at {at}, "));
            run.broken.fail_after(at, Fault::PowerLoss);
            run.work(None).await;
        }
        run.broken.cut_power();
        run.broken.recover();
        story.push_str(run.harm_shelf(&mut dice));
        run.assert_kept(&story).await;
        answered += run.answered.len();
    }
    println!("shelf: {cuts} cuts, {answered} entries answered, 0 lost, 0 called damaged");
    assert!(answered as u64 > cuts, "hardly anything was answered");
}

on_every_store!(breaking async cuts_after_kills_lose_no_answer_whatever_is_left_of_the_shelf);
