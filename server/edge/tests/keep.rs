//! What keeps a book whole, over the wire: the copy that is streamed, and what a client saw of it.

use fettlebook_contract::v1;

use super::World;
use crate::edge::tests::Answered as _;

fn seen(book: &v1::GetBookResponse) -> v1::CompareHeadRequest {
    v1::CompareHeadRequest {
        incarnation_id: book.incarnation_id.clone(),
        seq: book.head_seq,
        chain: book.head_chain.clone(),
    }
}

async fn standing(world: &World) -> v1::GetBookResponse {
    let answer = world.book().get_book(v1::GetBookRequest::default()).await;
    answer.unwrap().into_inner()
}

#[tokio::test]
async fn a_backup_comes_file_by_file_with_its_manifest_last() {
    let world = World::shop().await;
    let mut parts = world
        .book()
        .backup_book(v1::BackupBookRequest {})
        .answer()
        .await;
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    while let Some(part) = parts.message().await.unwrap() {
        match files.last_mut() {
            Some((name, content)) if *name == part.file => content.extend(part.content),
            _ => files.push((part.file, part.content)),
        }
    }
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["journal/000000000001.jsonl", "backup.json"]);
    let manifest: serde_json::Value = serde_json::from_slice(&files[1].1).unwrap();
    assert_eq!(manifest["head"]["chain"], standing(&world).await.head_chain);
    assert_eq!(manifest["files"][0]["byte_count"], files[0].1.len());
}

#[tokio::test]
async fn a_book_that_lost_what_a_client_saw_says_so_in_its_standing() {
    let world = World::shop().await;
    let book = standing(&world).await;
    let mut service = world.book();
    let found = service.compare_head(seen(&book)).await.unwrap();
    assert_eq!(found.into_inner().finding(), v1::HeadFinding::Agrees);
    assert_eq!(standing(&world).await.read_only_reason, "");
    let further = v1::CompareHeadRequest {
        seq: book.head_seq + 3,
        ..seen(&book)
    };
    let found = service.compare_head(further).answer().await;
    assert_eq!(found.finding(), v1::HeadFinding::Missing);
    assert_eq!(found.first_bad_seq, book.head_seq + 1);
    let reason = standing(&world).await.read_only_reason;
    assert!(reason.contains("is missing"), "{reason}");
}

#[tokio::test]
async fn what_was_seen_has_to_be_said_in_full() {
    let world = World::shop().await;
    let book = standing(&world).await;
    let with = |change: &dyn Fn(&mut v1::CompareHeadRequest)| {
        let (mut request, mut service) = (seen(&book), world.book());
        change(&mut request);
        async move { service.compare_head(request).await }
    };
    refused! {
        with(&|sent| sent.incarnation_id.clear()) => "FIELD_MISSING" "incarnation_id";
        with(&|sent| sent.chain.clear()) => "FIELD_MISSING" "chain";
        with(&|sent| sent.incarnation_id.push('x')) => "FIELD_INVALID" "incarnation_id";
        with(&|sent| sent.chain = sent.chain.to_uppercase() + "A") => "FIELD_INVALID" "chain";
        with(&|sent| sent.seq = 0) => "QUANTITY_INVALID" "seq";
        with(&|sent| sent.seq = -1) => "QUANTITY_INVALID" "seq";
    }
}
