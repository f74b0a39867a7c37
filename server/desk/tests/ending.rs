//! How a journal ends, and what tells: the shelf, the mark of the last close, or a person.

use std::fs;

use fettlebook_model::Seq;

use super::{World, assert_whole, take};
use crate::journal::TornTail;
use crate::keep::accept_end;
use crate::testing::count_gloves;

/// What a process leaves that is stopped in the midst of a line.
const HALF_A_LINE: &[u8] = br#"{"chain":"0a0089"#;

impl World {
    fn lose_shelf(&self) {
        let _ = fs::remove_dir_all(self.path().join("shelf"));
    }

    fn lose_mark(&self) {
        let _ = fs::remove_file(self.path().join("closed.json"));
    }

    /// The bytes of the journal, changed.
    fn harm(&self, change: impl FnOnce(&mut Vec<u8>)) -> Vec<u8> {
        let mut bytes = fs::read(self.segment()).unwrap();
        change(&mut bytes);
        fs::write(self.segment(), &bytes).unwrap();
        bytes
    }

    fn cut_off(&self) -> Vec<Vec<u8>> {
        let held = fs::read_dir(self.path().join("journal/cut-off"));
        let held = held.into_iter().flatten();
        held.map(|file| fs::read(file.unwrap().path()).unwrap())
            .collect()
    }
}

#[tokio::test]
async fn half_a_line_is_put_aside_where_shelf_or_mark_tell() {
    for (shelf, mark) in [(true, false), (false, true), (true, true)] {
        let world = World::new().with_counts(1).await;
        world.harm(|bytes| bytes.extend_from_slice(HALF_A_LINE));
        if !shelf {
            world.lose_shelf();
        }
        if !mark {
            world.lose_mark();
        }
        let (desk, report) = world.try_open().unwrap();
        let byte_count = HALF_A_LINE.len() as u64;
        let after = Seq(3);
        assert_eq!(report.torn, Some(TornTail::Cut { after, byte_count }));
        assert_whole(&desk, 3).await;
        take(&desk, count_gloves(9)).await.unwrap();
        desk.close().await.unwrap();
        assert_eq!(world.cut_off(), [HALF_A_LINE]);
    }
}

#[tokio::test]
async fn half_a_line_is_asked_about_where_nothing_tells() {
    let world = World::new().with_counts(1).await;
    let harmed = world.harm(|bytes| bytes.extend_from_slice(HALF_A_LINE));
    world.lose_mark();
    for _ in 0..2 {
        world.lose_shelf();
        let (desk, report) = world.try_open().unwrap();
        let reason = report.read_only.unwrap();
        assert!(reason.contains("--accept-end 3"), "{reason}");
        take(&desk, count_gloves(9)).await.unwrap_err();
        assert_eq!(desk.book().head(), Seq(3));
        desk.close().await.unwrap();
        assert_eq!(fs::read(world.segment()).unwrap(), harmed);
    }
    for wrong in [2, 4] {
        let refused = accept_end(world.path(), wrong).unwrap_err().to_string();
        assert!(refused.contains("entry 3"), "{refused}");
        assert_eq!(fs::read(world.segment()).unwrap(), harmed);
    }
    let put_aside = accept_end(world.path(), 3).unwrap();
    assert_eq!(put_aside, HALF_A_LINE.len() as u64);
    assert_eq!(world.cut_off(), [HALF_A_LINE]);
    let refused = accept_end(world.path(), 3).unwrap_err().to_string();
    assert!(refused.contains("nothing stands behind"), "{refused}");
    let (desk, report) = world.try_open().unwrap();
    assert_eq!((report.read_only, report.torn), (None, None));
    take(&desk, count_gloves(9)).await.unwrap();
    assert_whole(&desk, 4).await;
    desk.close().await.unwrap();
}

#[tokio::test]
async fn an_end_that_was_lost_is_named_by_the_mark_alone() {
    let world = World::new().with_counts(1).await;
    let whole = fs::read(world.segment()).unwrap();
    let last = whole[..whole.len() - 1].iter().rposition(|b| *b == b'\n');
    let line = last.unwrap() + 1;
    for left in [line, line + 1, line + 90, whole.len() - 2] {
        fs::write(world.segment(), &whole[..left]).unwrap();
        let _ = fs::remove_file(world.path().join("damaged.json"));
        world.lose_shelf();
        let (desk, report) = world.try_open().unwrap();
        let reason = report.read_only.unwrap();
        assert!(reason.starts_with("entry 3 of the journal"), "{reason}");
        desk.close().await.unwrap();
        assert_eq!(fs::read(world.segment()).unwrap(), &whole[..left]);
    }
}

#[tokio::test]
async fn a_last_entry_is_whole_whatever_stands_in_place_of_its_line_end() {
    let world = World::new().with_counts(1).await;
    let whole = fs::read(world.segment()).unwrap();
    let mark = fs::read(world.path().join("closed.json")).unwrap();
    for (shelf, marked) in [(true, true), (true, false), (false, true), (false, false)] {
        for bit in 0..=8 {
            let mut harmed = whole.clone();
            match harmed.last_mut() {
                Some(last) if bit < 8 => *last ^= 1 << bit,
                _ => drop(harmed.pop()),
            }
            fs::write(world.segment(), harmed).unwrap();
            fs::write(world.path().join("closed.json"), &mark).unwrap();
            if !shelf {
                world.lose_shelf();
            }
            if !marked {
                world.lose_mark();
            }
            let (desk, report) = world.try_open().unwrap();
            let seq = Seq(3);
            assert_eq!(report.torn, Some(TornTail::Unended { seq }), "bit {bit}");
            assert_whole(&desk, 3).await;
            desk.close().await.unwrap();
            assert_eq!(fs::read(world.segment()).unwrap(), whole, "bit {bit}");
            assert!(world.cut_off().is_empty());
        }
    }
}

#[tokio::test]
async fn a_journal_that_was_closed_is_opened_without_a_write() {
    let world = World::new().with_counts(3).await;
    let (writes, syncs) = (world.told.append_count(), world.told.sync_count());
    world.with(async |desk| assert_whole(desk, 5).await).await;
    assert_eq!(world.told.append_count(), writes);
    assert_eq!(world.told.sync_count(), syncs);
    world.lose_mark();
    world.with(async |desk| assert_whole(desk, 5).await).await;
    assert_eq!(
        world.told.append_count(),
        writes + 1,
        "its end is written again"
    );
    assert_eq!(world.told.sync_count(), syncs + 1);
}

#[tokio::test]
async fn an_end_that_cannot_be_written_again_is_not_shown() {
    let world = World::new().with_counts(1).await;
    world.lose_mark();
    world.lose_shelf();
    world.told.fail_sync_after(0);
    let (desk, report) = world.try_open().unwrap();
    let reason = report.read_only.unwrap();
    assert!(reason.contains("nothing after entry 2"), "{reason}");
    assert_eq!(desk.book().head(), Seq(2));
    let refused = take(&desk, count_gloves(9)).await.unwrap_err();
    assert!(
        refused.todo().starts_with("Look at the disk first"),
        "{refused:?}"
    );
    desk.close().await.unwrap();
    world.with(async |desk| assert_whole(desk, 3).await).await;
}
