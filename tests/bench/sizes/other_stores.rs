//! The same lines in other stores: what they take on disk, and what one takes to open.
//!
//! It serves as a measure of the book's own sizes. The lines are those of the book, byte for byte.

use std::iter::Take;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use crate::Fault;
use crate::grouped::{Given, Store};
use crate::lines::{Lines, request_of};
use crate::measure::median;
use crate::others::sled::{self, Tree};
use crate::plan::Plan;

use super::disk::space;

/// Lines put in at once.
const GROUP_COUNT: usize = 1_000;

/// Fills other stores with the lines of a book.
pub(super) fn run(plan: &Plan, book: &Path, folder: &Path) -> Result<(), Fault> {
    #[cfg(feature = "others")]
    sqlite(plan, book, &folder.join("sqlite"))?;
    #[cfg(not(feature = "others"))]
    println!("SQLite is skipped: build with `--features others`.");
    in_sled(plan, book, &folder.join("sled"))
}

#[cfg(feature = "others")]
fn sqlite(plan: &Plan, book: &Path, folder: &Path) -> Result<(), Fault> {
    std::fs::create_dir(folder)?;
    let mut table = crate::others::sqlite::Table::create(&folder.join("table"))?;
    let (mut lines, mut before) = (Lines::of(book)?, 0);
    for &entry_count in &plan.entries {
        put(
            lines.by_ref().take(usize::try_from(entry_count - before)?),
            &mut table,
        )?;
        before = entry_count;
        table.settle()?;
        let taken = space(folder)?.each(entry_count);
        println!("{entry_count:>9} entries in SQLite: {taken} B each");
    }
    Ok(())
}

fn in_sled(plan: &Plan, book: &Path, folder: &Path) -> Result<(), Fault> {
    let (mut lines, mut before) = (Lines::of(book)?, 0);
    let mut tree = Tree::create(folder)?;
    for &entry_count in &plan.entries {
        put(
            lines.by_ref().take(usize::try_from(entry_count - before)?),
            &mut tree,
        )?;
        before = entry_count;
        drop(tree);
        let taken = space(folder)?.each(entry_count);
        let mut opened = Vec::new();
        for _ in 0..plan.rounds {
            let begun = Instant::now();
            let db = sled::open(folder)?;
            let last = db.last()?;
            opened.push(begun.elapsed());
            last.ok_or("there is nothing in sled")?;
        }
        let opened = median(opened.into_iter());
        println!("{entry_count:>9} entries in sled: {taken} B each; open {opened:.1?}");
        tree = Tree::again(folder, entry_count)?;
    }
    Ok(())
}

fn put(lines: Take<&mut Lines>, store: &mut impl Store) -> Result<(), Fault> {
    let mut group = Vec::new();
    for line in lines {
        let line: Arc<[u8]> = line?.into();
        let request = request_of(&line)?;
        group.push(Given { request, line });
        if group.len() == GROUP_COUNT {
            store.commit(&group)?;
            group.clear();
        }
    }
    if !group.is_empty() {
        store.commit(&group)?;
    }
    Ok(())
}
