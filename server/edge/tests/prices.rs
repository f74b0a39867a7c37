//! Prices are sent to whoever keeps the book, and to nobody else.
//!
//! Goal: no answer to a caller who looks or works holds money, in a field or in a sentence. Method:
//! every rpc of the kit, the jobs and the book is asked and its answer walked by the contract's
//! description; the same walk finds money in the answers to a keeper, so that it can fail.

use std::collections::BTreeSet;

use fettlebook_contract::call::{RPCS, Rpc};
use fettlebook_contract::v1;
use prost_reflect::{DynamicMessage, ReflectMessage as _, Value};

use tonic::Code;

use super::World;
use super::asks::{OF_SERVICE, READS, WRITES, ask, name_of, priced};
use crate::access::Role;
use crate::edge::tests::Answered as _;

/// Currency of the world.
const CODE: &str = "EUR";

/// Whether a sentence names a sum: a decimal amount, then the currency.
fn names_a_sum(text: &str) -> bool {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.windows(2).any(|pair| {
        let is_amount =
            !pair[0].is_empty() && pair[0].chars().all(|c| c.is_ascii_digit() || c == '.');
        is_amount && pair[1].trim_matches(|c: char| !c.is_alphanumeric()) == CODE
    })
}

/// Where money stands in an answer.
fn money_in(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Message(message) => money_in_message(message, found),
        Value::List(values) => values.iter().for_each(|value| money_in(value, found)),
        Value::String(text) if names_a_sum(text) => found.push(text.clone()),
        Value::Bytes(bytes) => {
            let text = String::from_utf8_lossy(bytes);
            if text.contains(CODE) || text.contains("order-1") || text.contains("tern-quay") {
                found.push(text.into_owned());
            }
        }
        _ => {}
    }
}

fn money_in_message(message: &DynamicMessage, found: &mut Vec<String>) {
    if message.descriptor().full_name() == "fettlebook.v1.Money" {
        found.push(message.to_string());
    }
    for (_, value) in message.fields() {
        money_in(value, found);
    }
}

/// Asks everything, and gives the rpcs whose answers hold money, with what they hold.
async fn told_money(world: &World, role: Role) -> Vec<(String, Vec<String>)> {
    let mut told = Vec::new();
    // The job is done by then.
    let later = READS.iter().filter(|(name, _)| *name != "CheckJobs");
    for (name, json) in READS.iter().chain(OF_SERVICE).chain(WRITES).chain(later) {
        let answer = ask(world.service.channel(), name, json).await;
        // Who may only look writes nothing, and so is answered no entry.
        if role == Role::Look && WRITES.iter().any(|(write, _)| write == name) {
            assert_eq!(answer.unwrap_err().code(), Code::PermissionDenied, "{name}");
            continue;
        }
        let answer = answer.unwrap_or_else(|status| panic!("{name}: {status:?}"));
        let mut found = Vec::new();
        money_in_message(&answer, &mut found);
        if !found.is_empty() {
            told.push(((*name).to_owned(), found));
        }
    }
    let mut told_by_watch = Vec::new();
    for entry in watched(world).await {
        let sums = entry.deeds.iter().filter(|deed| names_a_sum(&deed.text));
        told_by_watch.extend(sums.map(|deed| deed.text.clone()));
    }
    if !told_by_watch.is_empty() {
        told.push(("WatchEntries".to_owned(), told_by_watch));
    }
    told
}

/// Every entry, by a watch.
async fn watched(world: &World) -> Vec<v1::Entry> {
    let book = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    let head = book.into_inner().head_seq;
    let request = v1::WatchEntriesRequest::default();
    let mut watch = world.book().watch_entries(request).answer().await;
    let mut entries = Vec::new();
    while entries.len() < usize::try_from(head).unwrap() {
        entries.push(watch.message().await.unwrap().unwrap().entry.unwrap());
    }
    entries
}

#[tokio::test]
async fn nobody_below_a_keeper_is_told_a_price() {
    for role in [Role::Look, Role::Work] {
        let world = priced().await.again_as(role).await;
        assert_eq!(told_money(&world, role).await, [], "{role:?}");
    }
}

#[tokio::test]
async fn a_keeper_is_told_prices_by_the_same_calls() {
    let role = Role::Keep;
    let world = priced().await.again_as(role).await;
    let told = told_money(&world, role).await;
    let names: BTreeSet<&str> = told.iter().map(|(name, _)| name.as_str()).collect();
    let expected = [
        "CopyEntries",
        "GetKitBudget",
        "GetMake",
        "GetPiece",
        "GetPieceLife",
        "ListEntries",
        "ListMakes",
        "ListPieces",
        "WatchEntries",
    ];
    for name in expected {
        assert!(names.contains(name), "{name}: {names:?}");
    }
}

/// Some policies are prices, though not in the shape of money.
#[tokio::test]
async fn a_policy_that_is_a_price_is_told_to_a_keeper_alone() {
    for (role, told) in [(Role::Look, false), (Role::Work, false), (Role::Keep, true)] {
        let world = priced().await.again_as(role).await;
        let policies = world.book().get_policy(v1::GetPolicyRequest {}).await;
        let lines = policies.unwrap().into_inner().lines;
        let has = |key: &str| lines.iter().any(|line| line.key == key);
        assert!(has("dot_ul"), "{role:?}");
        for key in [
            "energy_price_milli",
            "water_price_milli",
            "markup_permille",
            "labour_rate_milli",
        ] {
            assert_eq!(has(key), told, "{role:?} {key}");
        }
    }
}

/// An entry that says nothing any more is still there: numbers have no gaps.
#[tokio::test]
async fn an_entry_without_prices_keeps_its_number() {
    let world = priced().await.again_as(Role::Work).await;
    let seqs: Vec<i64> = watched(&world)
        .await
        .iter()
        .map(|entry| entry.seq)
        .collect();
    assert_eq!(seqs, (1..=seqs.len() as i64).collect::<Vec<_>>());
}

/// Source: the contract's own description.
#[test]
fn every_rpc_that_looks_or_works_is_asked() {
    // The one is a stream, and asked as one; the other compares two numbers and a hash; what a worker
    // reverses is an entry that was asked for before.
    const ELSEWHERE: [&str; 3] = ["WatchEntries", "CompareHead", "ReverseEntry"];
    let asked: BTreeSet<&str> = READS
        .iter()
        .chain(OF_SERVICE)
        .chain(WRITES)
        .map(|(name, _)| *name)
        .chain(ELSEWHERE)
        .collect();
    let below = |rpc: &&Rpc| matches!(rpc.least_role, Some(v1::Role::Look | v1::Role::Work));
    let names = RPCS.iter().filter(below).map(name_of);
    let missing: Vec<&str> = names.filter(|name| !asked.contains(name)).collect();
    assert_eq!(missing, [""; 0]);
}

/// Whoever sees no price sets none: what kit cost is said by whoever keeps the book.
#[tokio::test]
async fn what_kit_cost_is_taken_from_a_keeper_alone() {
    let costed = r#"{"make": "coarse-compound-1-l", "tags": ["B-31"],
        "landedCost": {"amount": "36.50", "currencyCode": "EUR"}}"#;
    let world = priced().await.again_as(Role::Work).await;
    let before = world.journal();
    let refused = ask(world.service.channel(), "ReceiveKit", costed).await;
    super::assert_told(&refused.unwrap_err(), "ROLE_TOO_LOW", "landed_cost");
    assert_eq!(world.journal(), before);
    let plain = r#"{"make": "coarse-compound-1-l", "tags": ["B-31"]}"#;
    ask(world.service.channel(), "ReceiveKit", plain)
        .await
        .unwrap();
    let world = priced().await.again_as(Role::Keep).await;
    let kept = ask(world.service.channel(), "ReceiveKit", costed).await;
    let kept = serde_json::to_value(kept.unwrap()).unwrap();
    assert_eq!(kept["pieces"][0]["landedCost"]["amount"], "36.50");
}
