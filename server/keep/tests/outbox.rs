//! The outbox of a device: what was kept is there after any end, and damage is never passed over.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use fettlebook_model::Seq;
use tempfile::TempDir;

use super::super::KeepError;
use super::super::outbox::{Outbox, hold_outbox, replace_outbox, rescue_outbox};
use crate::journal::{JournalError, RealDisk};
use crate::testing::faulty::{FAULTS, Fault, FaultyDisk};

fn place() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let outbox = folder.path().join("outbox");
    (folder, outbox)
}

fn line(number: usize) -> Vec<u8> {
    format!("{{\"line\":\"kept\",\"number\":{number},\"told\":\"wash P-01\"}}").into_bytes()
}

fn lines(count: usize) -> Vec<Vec<u8>> {
    (1..=count).map(line).collect()
}

fn segment(outbox: &Path) -> PathBuf {
    outbox.join("000000000001.jsonl")
}

#[test]
fn what_was_kept_is_there_again_however_it_was_written() {
    let (_place, outbox) = place();
    let mut open = Outbox::open(&outbox).unwrap();
    open.append(&[line(1)]).unwrap();
    open.append(&[line(2), line(3)]).unwrap();
    assert_eq!(open.lines(), lines(3));
    drop(open);
    let mut again = Outbox::open(&outbox).unwrap();
    assert_eq!(again.lines(), lines(3));
    again.append(&[line(4)]).unwrap();
    drop(again);
    assert_eq!(Outbox::open(&outbox).unwrap().lines(), lines(4));
}

#[test]
fn two_never_write_at_once() {
    let (_place, outbox) = place();
    let held = Outbox::open(&outbox).unwrap();
    let wait = Duration::from_millis(50);
    let second = Outbox::open_on(&outbox, Arc::new(RealDisk), wait);
    assert!(matches!(second, Err(KeepError::OutboxInUse { .. })));
    drop(held);
    assert!(Outbox::open_on(&outbox, Arc::new(RealDisk), wait).is_ok());
}

#[test]
fn an_outbox_that_is_held_is_opened_by_nobody_and_none_is_begun() {
    let (_place, outbox) = place();
    let held = hold_outbox(&outbox).unwrap();
    assert!(!outbox.exists());
    let wait = Duration::from_millis(50);
    let second = Outbox::open_on(&outbox, Arc::new(RealDisk), wait);
    assert!(matches!(second, Err(KeepError::OutboxInUse { .. })));
    drop(held);
    assert!(Outbox::open_on(&outbox, Arc::new(RealDisk), wait).is_ok());
}

#[test]
fn what_is_not_one_line_of_json_is_refused_and_nothing_is_written() {
    let (_place, outbox) = place();
    let mut open = Outbox::open(&outbox).unwrap();
    for bad in [&b""[..], b"{", b"{}\n", b"{}}", b" {}"] {
        assert!(open.append(&[line(1), bad.to_vec()]).is_err(), "{bad:?}");
    }
    assert!(open.lines().is_empty());
    open.append(&[line(1)]).unwrap();
}

/// What was cut off stays in a file of its own.
fn cut_off(outbox: &Path) -> Vec<Vec<u8>> {
    let held = fs::read_dir(outbox.join("cut-off")).into_iter().flatten();
    held.map(|file| fs::read(file.unwrap().path()).unwrap())
        .collect()
}

#[test]
fn a_write_that_was_cut_off_is_put_aside() {
    let (_place, outbox) = place();
    Outbox::open(&outbox).unwrap().append(&lines(2)).unwrap();
    let mark = fs::read(outbox.join("closed.json")).unwrap();
    Outbox::open(&outbox).unwrap().append(&[line(3)]).unwrap();
    // As a process leaves it that is stopped in the midst of the third line.
    fs::write(outbox.join("closed.json"), mark).unwrap();
    let whole = fs::read(segment(&outbox)).unwrap();
    fs::write(segment(&outbox), &whole[..whole.len() - 20]).unwrap();
    let mut open = Outbox::open(&outbox).unwrap();
    assert_eq!(open.lines(), lines(2));
    open.append(&[line(3)]).unwrap();
    let kept = cut_off(&outbox);
    assert_eq!(kept.len(), 1);
    assert!(whole[..whole.len() - 20].ends_with(&kept[0]) && kept[0].starts_with(b"{\"chain"));
}

/// A line was kept and the outbox closed; then its end is harmed. It is never cut away without a word.
#[test]
fn an_end_that_was_lost_is_told_from_a_write_that_was_cut_off() {
    let (_place, outbox) = place();
    Outbox::open(&outbox).unwrap().append(&lines(3)).unwrap();
    let whole = fs::read(segment(&outbox)).unwrap();
    let last = whole[..whole.len() - 1].iter().rposition(|b| *b == b'\n');
    for left in [last.unwrap() + 1, last.unwrap() + 30, whole.len() - 20] {
        for marked in [true, false] {
            fs::write(segment(&outbox), &whole[..left]).unwrap();
            if !marked {
                let _ = fs::remove_file(outbox.join("closed.json"));
            }
            let at_a_line = left == last.unwrap() + 1;
            let opened = Outbox::open(&outbox);
            if marked || !at_a_line {
                let Err(KeepError::OutboxDamaged { line, .. }) = opened else {
                    panic!("{left} bytes, marked: {marked}")
                };
                assert_eq!(line, Seq(3));
                assert_eq!(fs::read(segment(&outbox)).unwrap(), &whole[..left]);
                let rescued = rescue_outbox(&outbox).unwrap();
                assert_eq!(rescued.iter().flatten().count(), 2);
            } else {
                drop(opened);
            }
            fs::write(segment(&outbox), &whole).unwrap();
            drop(Outbox::open(&outbox).unwrap());
        }
    }
}

/// Any bit of the last line feed is flipped, or it is gone: the line is whole, and stays.
#[test]
fn a_last_line_is_whole_whatever_stands_in_place_of_its_end() {
    for marked in [true, false] {
        for bit in 0..=8 {
            let (_place, outbox) = place();
            Outbox::open(&outbox).unwrap().append(&lines(3)).unwrap();
            let whole = fs::read(segment(&outbox)).unwrap();
            let mut harmed = whole.clone();
            match harmed.last_mut() {
                Some(last) if bit < 8 => *last ^= 1 << bit,
                _ => drop(harmed.pop()),
            }
            fs::write(segment(&outbox), harmed).unwrap();
            if !marked {
                fs::remove_file(outbox.join("closed.json")).unwrap();
            }
            let open = Outbox::open(&outbox).unwrap();
            assert_eq!(open.lines(), lines(3), "bit {bit}");
            drop(open);
            assert_eq!(fs::read(segment(&outbox)).unwrap(), whole, "bit {bit}");
            assert!(cut_off(&outbox).is_empty());
        }
    }
}

/// Any byte of any line but the last is changed: the outbox is not opened and not touched, and every
/// other line can still be read.
#[test]
fn damage_stops_it_and_all_else_is_rescued() {
    let (_place, outbox) = place();
    let mut open = Outbox::open(&outbox).unwrap();
    for number in 1..=4 {
        open.append(&[line(number)]).unwrap();
    }
    drop(open);
    let whole = fs::read(segment(&outbox)).unwrap();
    let ends: Vec<usize> = (0..whole.len()).filter(|at| whole[*at] == b'\n').collect();
    for at in ends[0] + 1..ends[1] {
        let mut harmed = whole.clone();
        harmed[at] ^= 1;
        fs::write(segment(&outbox), &harmed).unwrap();
        assert!(
            matches!(Outbox::open(&outbox), Err(KeepError::OutboxDamaged { .. })),
            "byte {at}"
        );
        assert_eq!(fs::read(segment(&outbox)).unwrap(), harmed);
        let rescued = rescue_outbox(&outbox).unwrap();
        let read: Vec<Vec<u8>> = rescued.iter().flatten().cloned().collect();
        // A digit of the chain is no part of what the line says.
        let others = [line(1), line(3), line(4)];
        assert!(read == others || read == lines(4), "byte {at}: {read:?}");
    }
}

#[test]
fn a_new_one_takes_the_place_of_a_damaged_one_which_is_kept() {
    let (place, outbox) = place();
    for round in 1..=2 {
        let _ = fs::create_dir(&outbox);
        fs::write(segment(&outbox), format!("damage {round}\nmore\n")).unwrap();
        let aside = replace_outbox(&outbox, &lines(2)).unwrap();
        assert_eq!(aside, place.path().join(format!("outbox.damaged-{round}")));
        let kept = fs::read_to_string(segment(&aside)).unwrap();
        assert_eq!(kept, format!("damage {round}\nmore\n"));
        assert_eq!(Outbox::open(&outbox).unwrap().lines(), lines(2));
    }
}

#[test]
fn a_replacement_that_was_cut_off_is_finished_when_it_is_opened() {
    let (place, outbox) = place();
    Outbox::open(&outbox).unwrap();
    replace_outbox(&outbox, &lines(2)).unwrap();
    // As between the two renames.
    fs::rename(&outbox, place.path().join("outbox.new")).unwrap();
    assert_eq!(Outbox::open(&outbox).unwrap().lines(), lines(2));
    assert!(!place.path().join("outbox.new").exists());
}

/// Whether an order may simply be given again.
fn is_free(error: &KeepError) -> bool {
    matches!(error, KeepError::Journal(JournalError::Unready { .. }))
}

/// The disk fails at the n-th thing that is asked of it, in every way: nothing that was kept is gone
/// afterwards, and it is never called damaged. After a full disk the same line can be kept again.
#[test]
fn a_disk_that_fails_anywhere_loses_nothing_that_was_kept() {
    let wait = Duration::from_millis(50);
    let mut refused = 0;
    for fault in FAULTS {
        for at in 0..40 {
            let (_place, outbox) = place();
            let disk = FaultyDisk::new(at);
            disk.fail_after(at, fault);
            let mut kept = 0;
            if let Ok(mut open) = Outbox::open_on(&outbox, Arc::new(disk.clone()), wait) {
                for number in 1..=8 {
                    match open.append(&[line(number)]) {
                        Ok(()) => kept = number,
                        Err(error) if fault == Fault::Full && is_free(&error) => {
                            refused += 1;
                            open.append(&[line(number)]).unwrap();
                            kept = number;
                        }
                        Err(_) => break,
                    }
                }
            }
            disk.recover();
            let again = Outbox::open(&outbox).unwrap();
            assert!(again.lines().len() >= kept, "{fault:?} at {at}");
            let there = again.lines().len();
            assert_eq!(again.lines(), lines(there), "{fault:?} at {at}");
        }
    }
    assert!(refused > 0, "no disk was ever full");
}
