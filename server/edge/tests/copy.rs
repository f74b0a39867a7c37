//! The copy of a shop's book on a device: it answers as the shop would, and what is done on it is
//! imagined.
//!
//! Method: the shop is asked for its entries as the device would ask, the copy is made of them, and
//! the same questions are put to both.

use std::fs;
use std::path::{Path, PathBuf};

use fettlebook_contract::v1;
use fettlebook_solo::SoloCopy;
use uuid::Uuid;

use super::asks::{READS, WRITES, ask, priced};
use super::{World, assert_told, fresh, journal_of, stamp, words};
use crate::access::Role;
use crate::desk::{Desk, DeskOptions};
use crate::edge::tests::Answered as _;
use crate::keep;
use crate::solo;
use crate::store::FolderStore;
use crate::testing::{append_raw, raw_entry};

/// Copies a served book into a folder, page by page.
async fn copy_into(world: &World, folder: &Path) -> SoloCopy {
    let book = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .answer()
        .await;
    let role = match book.caller_role() {
        v1::Role::Look => "look",
        v1::Role::Work => "work",
        v1::Role::Keep => "keep",
        v1::Role::Own | v1::Role::Unspecified => "own",
    };
    let standing = keep::copy_standing(folder).unwrap();
    let mut after_seq = standing.map_or(0, |standing| standing.head_seq);
    loop {
        let request = v1::CopyEntriesRequest { after_seq };
        let page = world.book().copy_entries(request).answer().await;
        let as_of = super::NOW.parse().unwrap();
        let (id, incarnation) = (&page.book_id, &page.incarnation_id);
        let of = keep::copy_of(id, incarnation, &book.caller, role, as_of).unwrap();
        let standing = keep::extend_copy(folder, &of, &page.entries).unwrap();
        after_seq = standing.head_seq;
        if after_seq == page.head_seq {
            return standing;
        }
    }
}

/// A shop served to this role, the folder of its copy, and the copy as it is served.
struct Pair {
    shop: World,
    copy: World,
}

impl Pair {
    async fn of(role: Role) -> Self {
        let shop = priced().await.again_as(role).await;
        let folder = tempfile::tempdir().unwrap();
        copy_into(&shop, &folder.path().join("copy")).await;
        let copy = open(folder, &shop).await;
        Self { shop, copy }
    }

    fn path(&self) -> PathBuf {
        self.copy.folder.path().join("copy")
    }

    /// Every byte of the copy but the lock and the shelf.
    fn bytes(&self) -> Vec<u8> {
        let note = fs::read(self.path().join("copy.json")).unwrap();
        [journal_of(&self.path()), note].concat()
    }

    /// The copy closed and opened again.
    async fn again(self) -> Self {
        let Self { shop, copy } = self;
        copy.service.close().await.unwrap();
        let copy = open(copy.folder, &shop).await;
        Self { shop, copy }
    }
}

async fn open(folder: tempfile::TempDir, shop: &World) -> World {
    let clock = shop.clock.clone();
    let service = solo::open_copy(&folder.path().join("copy"), clock.clone())
        .await
        .unwrap();
    World {
        folder,
        clock,
        service,
    }
}

#[tokio::test]
async fn a_copy_answers_as_the_shop_answers_the_same_device() {
    for role in [Role::Look, Role::Work, Role::Keep, Role::Own] {
        let pair = Pair::of(role).await;
        for (name, json) in READS {
            let there = ask(pair.shop.service.channel(), name, json).await.unwrap();
            let here = ask(pair.copy.service.channel(), name, json).await.unwrap();
            assert_eq!(here.to_string(), there.to_string(), "{name} as {role:?}");
        }
    }
}

/// What this program does not know of an entry goes along, with prices and without.
#[tokio::test]
async fn what_a_later_fettle_put_into_an_entry_comes_along_on_a_copy() {
    for role in [Role::Look, Role::Own] {
        let World {
            folder,
            clock,
            service,
        } = World::shop().await;
        service.close().await.unwrap();
        let deeds = r#"[{"did":"moved","tag":"P-01","place":"van-a","rack":3}]"#;
        append_raw(folder.path(), &[&raw_entry("\"post\":\"bay 2\",", deeds)]);
        let service = solo::open(
            folder.path(),
            DeskOptions::new(clock.clone(), Uuid::now_v7()),
        )
        .await
        .unwrap();
        let world = World {
            folder,
            clock,
            service,
        };
        let world = world.again_as(role).await;
        let copy = tempfile::tempdir().unwrap();
        copy_into(&world, copy.path()).await;
        let held = String::from_utf8(journal_of(copy.path())).unwrap();
        let last = held.lines().last().unwrap();
        for member in ["\"post\":\"bay 2\"", "\"rack\":3"] {
            assert!(last.contains(member), "{role:?}: {last}");
        }
        let copy = solo::open_copy(copy.path(), world.clock.clone()).await;
        copy.unwrap().close().await.unwrap();
    }
}

#[tokio::test]
async fn a_copy_says_of_what_and_when_it_is_one() {
    let pair = Pair::of(Role::Work).await;
    let there = pair
        .shop
        .book()
        .get_book(v1::GetBookRequest::default())
        .answer()
        .await;
    let here = pair
        .copy
        .book()
        .get_book(v1::GetBookRequest::default())
        .answer()
        .await;
    assert_eq!(
        (
            &here.book_id,
            &here.incarnation_id,
            here.head_seq,
            &here.caller,
            here.caller_role
        ),
        (
            &there.book_id,
            &there.incarnation_id,
            there.head_seq,
            &there.caller,
            there.caller_role
        )
    );
    let reason = here.read_only_reason;
    assert_eq!(
        reason,
        "this is a copy of the shop's book, as of 2026-06-03 18:00 UTC"
    );
}

fn kept(number: i64, seen_seq: i64) -> Option<v1::Kept> {
    Some(v1::Kept {
        number,
        seen_seq,
        kept_time: stamp(super::NOW),
        levels: Vec::new(),
        ..Default::default()
    })
}

#[tokio::test]
async fn what_is_done_on_a_copy_counts_in_every_later_look_and_is_written_nowhere() {
    let pair = Pair::of(Role::Work).await;
    let before = pair.bytes();
    let head = pair
        .copy
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    let head = head.into_inner().head_seq;
    let log = v1::LogUseRequest {
        request_id: fresh(),
        loose: Some(v1::LooseUse::default()),
        sundries: vec![v1::SundryUse {
            tag: "S-01".to_owned(),
            quantity: 49,
        }],
        kept: kept(1, head),
        ..Default::default()
    };
    let gloves = |checks: v1::CheckJobsResponse| {
        let lines = checks.checks.into_iter().flat_map(|check| check.lines);
        let mut lines = lines.filter(|line| line.make == "nitrile-gloves");
        lines.next().unwrap().have_quantity
    };
    let check = v1::CheckJobsRequest {
        jobs: words(&["saloon-thursday"]),
        ..Default::default()
    };
    let asked = pair.copy.jobs().check_jobs(check.clone()).await.unwrap();
    assert_eq!(gloves(asked.into_inner()), 50);
    let entry = pair
        .copy
        .jobs()
        .log_use(log.clone())
        .answer()
        .await
        .entry
        .unwrap();
    assert_eq!(
        (entry.seq, entry.by.as_str(), entry.deeds.len()),
        (0, "van-a", 1)
    );
    assert_eq!(
        entry.kept.map(|kept| (kept.number, kept.seen_seq)),
        Some((1, head))
    );
    let asked = pair.copy.jobs().check_jobs(check.clone()).await.unwrap();
    assert_eq!(gloves(asked.into_inner()), 1);
    let again = pair.copy.jobs().log_use(log).answer().await.entry.unwrap();
    assert_eq!(again.deeds, entry.deeds, "the same request counts once");
    let asked = pair.copy.jobs().check_jobs(check.clone()).await.unwrap();
    assert_eq!(gloves(asked.into_inner()), 1);
    let standing = pair
        .copy
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    assert_eq!(standing.into_inner().head_seq, head);
    assert_eq!(pair.bytes(), before);
    let pair = pair.again().await;
    assert_eq!(pair.bytes(), before);
    let asked = pair.copy.jobs().check_jobs(check).await.unwrap();
    assert_eq!(gloves(asked.into_inner()), 50, "what was imagined is gone");
}

#[tokio::test]
async fn every_request_that_can_be_kept_is_imagined_and_every_other_refused() {
    let pair = Pair::of(Role::Own).await;
    let before = pair.bytes();
    for (name, json) in WRITES {
        let answer = ask(pair.copy.service.channel(), name, json).await;
        assert!(answer.is_ok(), "{name}: {answer:?}");
    }
    let car = v1::CreateCarRequest {
        request_id: fresh(),
        car: Some(v1::Car {
            car: "small-hatch-red".to_owned(),
            ..super::saloon()
        }),
        ..Default::default()
    };
    let refused = [
        pair.copy.jobs().create_car(car).await.unwrap_err(),
        ask(
            pair.copy.service.channel(),
            "ReverseEntry",
            r#"{"seq": "1"}"#,
        )
        .await
        .unwrap_err(),
    ];
    for status in refused {
        assert_told(&status, "READ_ONLY", "");
        assert!(
            status
                .message()
                .contains("copy of the shop's book, as of 2026-06-03"),
            "{status:?}"
        );
    }
    assert_eq!(pair.bytes(), before);
}

/// Story: the shop took a deed, and the answer got lost on the way. The copy has the entry, so that
/// the deed must not be imagined on top of it.
#[tokio::test]
async fn a_deed_that_the_shop_has_already_is_not_imagined_on_top() {
    let shop = priced().await.again_as(Role::Work).await;
    let count = v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-07"]),
        kept: kept(1, 3),
        ..Default::default()
    };
    let told = shop
        .kit()
        .wash_kit(count.clone())
        .answer()
        .await
        .entry
        .unwrap();
    let folder = tempfile::tempdir().unwrap();
    copy_into(&shop, &folder.path().join("copy")).await;
    let copy = open(folder, &shop).await;
    let here = copy.kit().wash_kit(count).answer().await.entry.unwrap();
    assert_eq!(here, told);
    let piece = copy.piece("P-07").await;
    assert_eq!(piece, shop.piece("P-07").await);
}

#[tokio::test]
async fn a_copy_goes_on_with_what_was_recorded_meanwhile() {
    let pair = Pair::of(Role::Work).await;
    let path = pair.path();
    let Pair { shop, copy } = pair;
    copy.service.close().await.unwrap();
    ask(
        shop.service.channel(),
        "CountKit",
        r#"{"tag": "S-01", "quantity": "7"}"#,
    )
    .await
    .unwrap();
    copy_into(&shop, &path).await;
    let copy = open(copy.folder, &shop).await;
    for (name, json) in READS {
        let there = ask(shop.service.channel(), name, json).await.unwrap();
        let here = ask(copy.service.channel(), name, json).await.unwrap();
        assert_eq!(here.to_string(), there.to_string(), "{name}");
    }
}

#[tokio::test]
async fn the_folder_of_a_copy_is_no_book() {
    let pair = Pair::of(Role::Work).await;
    let options = DeskOptions::new(pair.shop.clock.clone(), uuid::Uuid::nil());
    let error = Desk::open(std::sync::Arc::new(FolderStore::at(pair.path())), &options)
        .err()
        .unwrap()
        .to_string();
    assert!(error.contains("copy of a shop's book"), "{error}");
}
