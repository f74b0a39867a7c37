//! What a client saw is compared with the journal: a book that lost it can be read only, and one that
//! has it goes on.

use fettlebook_model::Seq;
use uuid::Uuid;

use super::{World, take};
use crate::desk::{Compared, Desk, DeskError, Seen};
use crate::journal::{Chain, Head};
use crate::testing::new_car;
use crate::testing::stores::{Kind, on_every_store};

/// Entry `seq` of the book as a client saw it.
fn seen(desk: &Desk, seq: u64, chain: Chain) -> Seen {
    Seen {
        incarnation_id: desk.standing().identity.incarnation_id,
        head: Head {
            seq: Seq(seq),
            chain,
        },
    }
}

/// The chain value of entry `seq`, read from the file and not through the program.
fn chain_in_file(world: &World, seq: usize) -> Chain {
    let journal = world.journal();
    let line: serde_json::Value =
        serde_json::from_str(journal.lines().nth(seq - 1).unwrap()).unwrap();
    line["chain"].as_str().unwrap().parse().unwrap()
}

async fn refuses_to_record(desk: &Desk) -> String {
    match take(desk, new_car("saloon")).await {
        Err(DeskError::ReadOnly { reason }) => reason.to_string(),
        other => panic!("{other:?}"),
    }
}

async fn an_entry_that_the_journal_has_agrees_wherever_it_stands(kind: &Kind) {
    let world = World::on(kind).with_counts(5).await;
    let desk = world.open();
    for seq in 1..=7 {
        let chain = chain_in_file(&world, seq);
        let found = desk
            .compare(seen(&desk, seq as u64, chain), "solo", true)
            .await
            .unwrap();
        assert_eq!(found, Compared::Agrees, "entry {seq}");
    }
    take(&desk, new_car("saloon")).await.unwrap();
    desk.close().await.unwrap();
}

async fn a_client_that_has_seen_further_makes_the_book_read_only(kind: &Kind) {
    let world = World::on(kind).with_counts(5).await;
    let desk = world.open();
    let found = desk
        .compare(seen(&desk, 9, Chain::ZERO), "solo", true)
        .await
        .unwrap();
    let (seen, head) = (Seq(9), Seq(7));
    assert_eq!(found, Compared::Missing { seen, head });
    let reason = refuses_to_record(&desk).await;
    assert!(
        reason.contains("entry 8 of the journal is missing"),
        "{reason}"
    );
    let verified = desk.verify().await.unwrap();
    assert_eq!(verified.first_bad, Some(Seq(8)));
    assert_eq!(desk.entries(None, false, None, 10).await.unwrap().len(), 7);
    desk.close().await.unwrap();
}

/// Anybody can claim to have seen something; only who owns the book stops it by that.
async fn a_client_that_is_not_trusted_is_answered_and_stops_nothing(kind: &Kind) {
    let world = World::on(kind).with_counts(5).await;
    let desk = world.open();
    let claimed = desk.compare(seen(&desk, 9, Chain::ZERO), "van-a", false);
    let (seen, head) = (Seq(9), Seq(7));
    assert_eq!(claimed.await.unwrap(), Compared::Missing { seen, head });
    assert_eq!(desk.standing().read_only, None);
    take(&desk, new_car("saloon")).await.unwrap();
    desk.close().await.unwrap();
}

async fn another_entry_at_the_head_or_below_makes_the_book_read_only(kind: &Kind) {
    for seq in [7, 3] {
        let world = World::on(kind).with_counts(5).await;
        let desk = world.open();
        let other = chain_in_file(&world, 1);
        let found = desk
            .compare(seen(&desk, seq, other), "solo", true)
            .await
            .unwrap();
        assert_eq!(found, Compared::Different { seen: Seq(seq) });
        let reason = refuses_to_record(&desk).await;
        assert!(
            reason.contains(&format!("entry {seq} of the journal")),
            "{reason}"
        );
        desk.close().await.unwrap();
    }
}

async fn what_was_seen_of_another_incarnation_says_nothing(kind: &Kind) {
    let world = World::on(kind).with_counts(5).await;
    let desk = world.open();
    let other = Seen {
        incarnation_id: Uuid::now_v7(),
        ..seen(&desk, 9, Chain::ZERO)
    };
    let found = desk.compare(other, "solo", true).await.unwrap();
    assert_eq!(found, Compared::OtherIncarnation);
    take(&desk, new_car("saloon")).await.unwrap();
    desk.close().await.unwrap();
}

on_every_store!(
    async an_entry_that_the_journal_has_agrees_wherever_it_stands,
    a_client_that_has_seen_further_makes_the_book_read_only,
    a_client_that_is_not_trusted_is_answered_and_stops_nothing,
    another_entry_at_the_head_or_below_makes_the_book_read_only,
    what_was_seen_of_another_incarnation_says_nothing,
);
