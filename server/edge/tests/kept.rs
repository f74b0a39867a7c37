//! Deeds that a device kept, over the wire: how they are told, and what of it makes no sense.

use fettlebook_contract::v1;

use super::{NOW, World, fresh, stamp, words};
use crate::edge::tests::Answered as _;

fn kept() -> v1::Kept {
    v1::Kept {
        number: 17,
        seen_seq: 3,
        kept_time: stamp(NOW),
        levels: vec![v1::SeenLevel {
            tag: "S-01".to_owned(),
            quantity: Some(50),
            ..Default::default()
        }],
        ..Default::default()
    }
}

fn count(kept: v1::Kept) -> v1::CountKitRequest {
    v1::CountKitRequest {
        request_id: fresh(),
        tag: "S-01".to_owned(),
        quantity: Some(40),
        kept: Some(kept),
        ..Default::default()
    }
}

#[tokio::test]
async fn an_entry_tells_which_deed_of_its_device_it_was() {
    let world = World::shop().await;
    let answer = world.kit().count_kit(count(kept())).await.unwrap();
    let entry = answer.into_inner().entry.unwrap();
    let told = v1::Kept {
        levels: Vec::new(),
        ..kept()
    };
    assert_eq!(entry.kept.as_ref(), Some(&told));
    let request = v1::GetEntryRequest { seq: entry.seq };
    let read = world.book().get_entry(request).answer().await;
    assert_eq!(read.entry, Some(entry));
}

/// After a restore the same number is another entry, so that it cannot have been seen.
#[tokio::test]
async fn what_was_seen_of_another_incarnation_is_not_taken_for_this_one() {
    let world = World::shop().await;
    let book = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    let this = book.into_inner().incarnation_id;
    for (incarnation_id, seen_seq) in [(String::new(), 3), (this, 3), (fresh(), 0)] {
        let kept = v1::Kept {
            incarnation_id,
            ..kept()
        };
        let answer = world.kit().count_kit(count(kept)).await.unwrap();
        let entry = answer.into_inner().entry.unwrap();
        assert_eq!(entry.kept.unwrap().seen_seq, seen_seq);
    }
}

#[tokio::test]
async fn a_count_of_a_device_is_held_against_what_it_had_seen() {
    let world = World::shop().await;
    let seen = |quantity| {
        let mut kept = kept();
        kept.levels[0].quantity = Some(quantity);
        kept
    };
    let answer = world.kit().count_kit(count(seen(45))).await.unwrap();
    let entry = answer.into_inner().entry.unwrap();
    assert_eq!(
        entry.deeds[0].text,
        "S-01: counted, 40 pairs left, where its device had seen 45 pairs."
    );
    assert!(
        entry.flags[0].text.contains("the book makes it 45 pairs"),
        "{entry:?}"
    );
    let Some(v1::piece::State::Sundry(sundry)) = world.piece("S-01").await.state else {
        panic!("not a sundry")
    };
    assert_eq!(sundry.left_quantity, 45);
}

#[tokio::test]
async fn what_a_device_cannot_have_kept_is_refused_with_its_field() {
    let world = World::shop().await;
    let with = |change: &dyn Fn(&mut v1::Kept)| {
        let (mut kept, mut kit) = (kept(), world.kit());
        change(&mut kept);
        async move { kit.count_kit(count(kept)).await }
    };
    let before = world.journal();
    refused! {
        with(&|kept| kept.number = 0) => "QUANTITY_INVALID" "kept.number";
        with(&|kept| kept.number = -3) => "QUANTITY_INVALID" "kept.number";
        with(&|kept| kept.seen_seq = -1) => "QUANTITY_INVALID" "kept.seen_seq";
        with(&|kept| kept.kept_time = None) => "FIELD_MISSING" "kept.kept_time";
        with(&|kept| kept.kept_time.as_mut().unwrap().nanos = -1) => "FIELD_INVALID" "kept.kept_time";
        with(&|kept| kept.levels[0].quantity = Some(i64::MIN)) => "QUANTITY_INVALID" "kept.levels.quantity";
        with(&|kept| kept.levels[0].clean_count = Some(10_001)) => "QUANTITY_INVALID" "kept.levels.clean_count";
        with(&|kept| kept.levels[0].soiled_count = Some(i64::MAX)) => "QUANTITY_INVALID" "kept.levels.soiled_count";
        with(&|kept| kept.levels[0].tag.clear()) => "FIELD_MISSING" "kept.levels.tag";
        with(&|kept| kept.levels[0].tag = "7".to_owned()) => "FIELD_INVALID" "kept.levels.tag";
        with(&|kept| kept.levels.push(kept.levels[0].clone())) => "FIELD_INVALID" "kept.levels.tag";
    }
    assert_eq!(world.journal(), before);
}

/// What was sent to be kept counts for the hash of the request: another number is another deed.
#[tokio::test]
async fn a_retry_gets_the_first_answer_and_another_number_is_another_request() {
    let world = World::shop().await;
    let first = v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-01"]),
        kept: Some(kept()),
        ..Default::default()
    };
    let told = world.kit().wash_kit(first.clone()).answer().await;
    let again = world.kit().wash_kit(first.clone()).answer().await;
    assert_eq!(told, again);
    let mut other = first;
    other.kept.as_mut().unwrap().number = 18;
    refused! {
        world.kit().wash_kit(other) => "REQUEST_ID_REUSED" "request_id";
    }
}
