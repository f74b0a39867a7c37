//! Looking, after a restart, whether every promise was kept.
//!
//! It serves the kill loop. Everything is asked over gRPC, as any client could; what is read is held
//! against the callers' own ledger.

use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_contract::v1::{
    Entry, GetEntryRequest, ListEntriesRequest, ListPiecesRequest, Piece, VerifyBookRequest,
};
use tokio::task::JoinSet;
use tonic::Status;
use tonic::transport::Channel;

use crate::ledger::{Ledger, Sent};

/// Requests sent again at a time.
const AT_A_TIME: usize = 64;
/// Entries from earlier rounds that are read again after each restart.
const SAMPLE: i64 = 24;

/// Sends every request of a round again, twice, reads what is new in the book, and holds all of it
/// against the ledger. The whole journal and the shelf are verified where `thorough`.
pub(crate) async fn audit(
    channel: &Channel,
    ledger: &mut Ledger,
    round: Vec<Sent>,
    thorough: bool,
) {
    let before = ledger.head();
    let unanswered: Vec<String> = round
        .iter()
        .filter(|sent| sent.answer.is_none())
        .map(|sent| sent.deed.request_id().to_owned())
        .collect();
    ledger.score.acknowledged += round.len() - unanswered.len();
    ledger.score.in_doubt += unanswered.len();
    let at_restart = since(channel, before).await;
    let recorded = |id: &String| at_restart.iter().any(|entry| entry.request_id == *id);
    ledger.score.in_doubt_recorded += unanswered.iter().filter(|id| recorded(id)).count();

    for (sent, again) in again(channel, round).await {
        ledger.take_retry(&sent, &again);
    }
    for entry in since(channel, before).await {
        ledger.take_found(&entry);
        ledger.compare(&entry);
    }
    ledger.miss_none();
    let step = (before / SAMPLE).max(1);
    for seq in (1..=before).step_by(usize::try_from(step).unwrap()) {
        let entry = entry(channel, seq).await;
        ledger.compare(&entry);
    }
    ledger.compare_washes(&pieces(channel).await);
    if thorough {
        verify(channel, ledger).await;
    }
}

/// Reads every entry once more, and verifies the book.
pub(crate) async fn audit_all(channel: &Channel, ledger: &mut Ledger) {
    let all = since(channel, 0).await;
    for (at, entry) in all.iter().enumerate() {
        if ledger.found.get(at) != Some(&entry.request_id) {
            let told = format!("entry {} is of another request now", entry.seq);
            ledger.score.lost.push(told);
        }
        ledger.compare(entry);
    }
    if all.len() != ledger.found.len() {
        let told = format!("{} entries, once {}", all.len(), ledger.found.len());
        ledger.score.lost.push(told);
    }
    verify(channel, ledger).await;
}

async fn verify(channel: &Channel, ledger: &mut Ledger) {
    let mut book = BookServiceClient::new(channel.clone());
    let verified = book.verify_book(VerifyBookRequest {}).await.unwrap();
    let verified = verified.into_inner();
    ledger.score.torn.extend(verified.findings);
    assert_eq!(verified.entry_count, ledger.head());
}

/// Every request again and again, several at a time, with the two answers of each.
async fn again(channel: &Channel, round: Vec<Sent>) -> Vec<(Sent, [Result<Entry, Status>; 2])> {
    let mut done = Vec::new();
    for some in round.chunks(AT_A_TIME) {
        let mut sending = JoinSet::new();
        for sent in some.iter().cloned() {
            let channel = channel.clone();
            sending.spawn(async move {
                let first = sent.deed.send(&channel).await;
                let second = sent.deed.send(&channel).await;
                (sent, [first, second])
            });
        }
        done.extend(sending.join_all().await);
    }
    done
}

/// The entries after one, oldest first.
pub(crate) async fn since(channel: &Channel, after: i64) -> Vec<Entry> {
    let mut book = BookServiceClient::new(channel.clone()).max_decoding_message_size(1 << 26);
    let (mut entries, mut page_token) = (Vec::new(), String::new());
    loop {
        let request = ListEntriesRequest {
            page_size: 1000,
            newest_first: true,
            page_token,
            ..Default::default()
        };
        let page = book.list_entries(request).await.unwrap().into_inner();
        page_token = page.next_page_token;
        let last = page.entries.last().map_or(0, |entry| entry.seq);
        entries.extend(page.entries.into_iter().filter(|entry| entry.seq > after));
        if page_token.is_empty() || last <= after {
            entries.reverse();
            return entries;
        }
    }
}

async fn entry(channel: &Channel, seq: i64) -> Entry {
    let mut book = BookServiceClient::new(channel.clone());
    let answer = book.get_entry(GetEntryRequest { seq }).await.unwrap();
    answer.into_inner().entry.unwrap()
}

async fn pieces(channel: &Channel) -> Vec<Piece> {
    let mut kit = KitServiceClient::new(channel.clone()).max_decoding_message_size(1 << 26);
    let (mut pieces, mut page_token) = (Vec::new(), String::new());
    loop {
        let request = ListPiecesRequest {
            page_size: 1000,
            page_token,
            ..Default::default()
        };
        let page = kit.list_pieces(request).await.unwrap().into_inner();
        pieces.extend(page.pieces);
        page_token = page.next_page_token;
        if page_token.is_empty() {
            return pieces;
        }
    }
}
