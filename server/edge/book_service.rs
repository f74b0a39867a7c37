//! The book service: entries, reversal, verification, backup and policy.
//!
//! It serves those who look after the book. Reading entries goes to the files and is kept off the
//! threads that answer others.

use std::pin::Pin;
use std::sync::Arc;

use fettlebook_contract::numbers::At;
use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_server::BookService;
use fettlebook_contract::v1::{
    BackupBookRequest, BackupBookResponse, CompareHeadRequest, CompareHeadResponse,
    CopyEntriesRequest, CopyEntriesResponse, GetBookRequest, GetBookResponse, GetConditionRequest,
    GetConditionResponse, GetEntryRequest, GetEntryResponse, GetPolicyRequest, GetPolicyResponse,
    ImportPadsRequest, ImportPadsResponse, ListEntriesRequest, ListEntriesResponse,
    ListShopsRequest, ListShopsResponse, ListStarterKitsRequest, ListStarterKitsResponse,
    NoteBackupRequest, NoteBackupResponse, ReverseEntryRequest, ReverseEntryResponse, StartRequest,
    StartResponse, UpdatePolicyRequest, UpdatePolicyResponse, VerifyBookRequest,
    VerifyBookResponse, WatchEntriesRequest,
};
use fettlebook_model::decide::RowProblem;
use fettlebook_model::{Command, Seq, book_currency, is_same_day};
use tokio_stream::wrappers::ReceiverStream;
use tokio_stream::{Stream, StreamExt as _};
use tonic::{Request, Response, Status};

use super::changed::Changed;
use super::faults::both;
use super::paging::Page;
use super::prices::Prices;
use super::sought::Sought;
use super::status::EdgeError;
use super::{Answer, Caller, Edge, Watch, copy, numbers, parse, show, words};
use crate::access::{AccessError, Held, Role};
use crate::desk::{DeskError, Part};
use crate::limits::LIST_COUNT_MAX;

#[tonic::async_trait]
impl BookService for Edge {
    type WatchEntriesStream = Watch;

    async fn get_book(&self, request: Request<GetBookRequest>) -> Answer<GetBookResponse> {
        let caller = self.caller(&request);
        numbers::hold(request.get_ref(), At::TOP)?;
        if let Some(access) = &self.access {
            access.note_version(&caller.name, &request.get_ref().version);
        }
        if let (Some(access), Some(outbox)) = (&self.access, request.get_ref().outbox) {
            let held = Held {
                waiting: outbox.waiting_count,
                parked: outbox.parked_count,
                said_at: self.desk.now(),
            };
            access.note_held(&caller.name, held);
        }
        let (standing, book) = (self.desk.standing(), self.book());
        let in_kit = book.pieces().filter(|piece| !piece.is_binned()).count();
        Ok(Response::new(GetBookResponse {
            book_id: standing.identity.book_id.to_string(),
            head_seq: show::seq(standing.head.seq),
            head_chain: standing.head.chain.to_string(),
            read_only_reason: standing
                .read_only
                .map(|why| why.to_string())
                .unwrap_or_default(),
            piece_count: show::count(in_kit),
            booked_job_count: show::count(book.booked_job_count()),
            places: book.places().iter().map(ToString::to_string).collect(),
            incarnation_id: standing.identity.incarnation_id.to_string(),
            incarnation_seq: show::seq(standing.identity.since),
            service_time: Some(show::moment(self.desk.now())),
            caller: caller.name.to_string(),
            caller_role: words::role_word(caller.role),
            caller_place: caller.place.to_string(),
            caller_tag_letter: caller.tag_letter.map(String::from).unwrap_or_default(),
            addresses: self
                .access
                .as_ref()
                .map(|access| access.addresses().to_vec())
                .unwrap_or_default(),
            currency_code: book_currency(&book)
                .ok()
                .flatten()
                .filter(|_| caller.prices() == Prices::Shown)
                .map_or_else(String::new, |currency| currency.to_string()),
        }))
    }

    async fn list_entries(
        &self,
        request: Request<ListEntriesRequest>,
    ) -> Answer<ListEntriesResponse> {
        let prices = self.caller(&request).prices();
        let asked = request.into_inner();
        // Whatever is asked for but the page itself: a token holds for the same list alone.
        let same = ListEntriesRequest {
            page_size: 0,
            page_token: String::new(),
            ..asked.clone()
        };
        let page = Page::of("entries", &same, asked.page_size, &asked.page_token);
        let book = self.book();
        let held = numbers::hold(&same, At::TOP);
        let read = both(held, both(Sought::in_list(&asked, &book), page));
        let ((), (sought, page)) = self.read(&asked, read)?;
        let after = page
            .after
            .as_deref()
            .and_then(|key| key.parse().ok())
            .map(Seq);
        let newest_first = asked.newest_first;
        let entries = self.entries(&sought, newest_first, after, page.row_count);
        let entries = entries.await?;
        let next_page_token = match entries.last() {
            Some(last) if entries.len() == page.row_count => {
                let more = self
                    .entries(&sought, newest_first, Some(last.seq), 1)
                    .await?;
                more.first()
                    .map(|_| page.token(&last.seq.to_string()))
                    .unwrap_or_default()
            }
            _ => String::new(),
        };
        let entries = entries
            .iter()
            .map(|entry| show::entry::entry_of_book(&book, entry, prices))
            .collect();
        Ok(Response::new(ListEntriesResponse {
            entries,
            next_page_token,
        }))
    }

    async fn get_entry(&self, request: Request<GetEntryRequest>) -> Answer<GetEntryResponse> {
        let prices = self.caller(&request).prices();
        numbers::hold(request.get_ref(), At::TOP)?;
        let seq = parse::book::seq(request.get_ref().seq);
        let entry = self.desk.entry(seq).await.map_err(EdgeError::from)?;
        let entry = show::entry::entry_of_book(&self.book(), &entry, prices);
        Ok(Response::new(GetEntryResponse { entry: Some(entry) }))
    }

    async fn reverse_entry(
        &self,
        request: Request<ReverseEntryRequest>,
    ) -> Answer<ReverseEntryResponse> {
        let caller = self.caller(&request);
        let asked = request.get_ref();
        self.read(asked, numbers::hold(asked, At::TOP))?;
        if caller.role < Role::Keep {
            let seq = parse::book::seq(request.get_ref().seq);
            self.is_own_of_today(&caller, seq).await?;
        }
        let done = self.record(request, parse::book::reverse).await?;
        Ok(Response::new(ReverseEntryResponse {
            pieces: done.pieces(),
            jobs: done.jobs(),
            orders: done.orders(),
            entry: Some(done.entry),
        }))
    }

    async fn verify_book(&self, _: Request<VerifyBookRequest>) -> Answer<VerifyBookResponse> {
        let found = self.desk.verify().await.map_err(EdgeError::from)?;
        Ok(Response::new(VerifyBookResponse {
            whole: found.findings.is_empty(),
            entry_count: i64::try_from(found.entry_count).unwrap_or(i64::MAX),
            findings: found
                .findings
                .iter()
                .map(|finding| sentence(finding))
                .collect(),
            head_chain: found.head.chain.to_string(),
            notes: found.notes.iter().map(|note| sentence(note)).collect(),
            damaged: found.first_bad.is_some(),
            first_bad_seq: found.first_bad.map(show::seq).unwrap_or_default(),
            newer_seq: found.newer.map(show::seq).unwrap_or_default(),
        }))
    }

    type BackupBookStream = Pin<Box<dyn Stream<Item = Result<BackupBookResponse, Status>> + Send>>;

    async fn backup_book(&self, _: Request<BackupBookRequest>) -> Answer<Self::BackupBookStream> {
        let parts = self.desk.backup().map_err(EdgeError::from)?;
        let answers = ReceiverStream::new(parts).map(|part| {
            let Part { file, content } = part.map_err(EdgeError::from)?;
            Ok(BackupBookResponse { file, content })
        });
        Ok(Response::new(Box::pin(answers)))
    }

    async fn note_backup(&self, request: Request<NoteBackupRequest>) -> Answer<NoteBackupResponse> {
        let asked = request.get_ref();
        self.read(asked, numbers::hold(asked, At::TOP))?;
        let made = parse::book::backup(asked, &self.book(), self.desk.now());
        let made = self.read(asked, made)?;
        let desk = self.desk.clone();
        let noted = tokio::task::spawn_blocking(move || desk.note_backup(made)).await;
        noted.map_err(|_| EdgeError::from(DeskError::Closed))?;
        Ok(Response::new(NoteBackupResponse {}))
    }

    async fn get_condition(&self, _: Request<GetConditionRequest>) -> Answer<GetConditionResponse> {
        Ok(Response::new(self.condition().await?))
    }

    async fn compare_head(
        &self,
        request: Request<CompareHeadRequest>,
    ) -> Answer<CompareHeadResponse> {
        let caller = self.caller(&request);
        let asked = request.get_ref();
        self.read(asked, numbers::hold(asked, At::TOP))?;
        let seen = self.read(asked, parse::book::seen(asked))?;
        let trusted = caller.role == Role::Own;
        let found = self.desk.compare(seen, &caller.name, trusted);
        let found = found.await.map_err(EdgeError::from)?;
        let first_bad = found.fault().map(|(seq, _)| show::seq(seq));
        let read_only = self.desk.standing().read_only;
        Ok(Response::new(CompareHeadResponse {
            finding: words::head_finding(found),
            first_bad_seq: first_bad.unwrap_or_default(),
            read_only_reason: read_only.map(|why| sentence(&why)).unwrap_or_default(),
        }))
    }

    async fn copy_entries(
        &self,
        request: Request<CopyEntriesRequest>,
    ) -> Answer<CopyEntriesResponse> {
        let caller = self.caller(&request);
        let prices = caller.prices();
        numbers::hold(request.get_ref(), At::TOP)?;
        let after = parse::book::after(request.get_ref().after_seq, &self.book());
        let after = after.map_err(EdgeError::from)?;
        if let Some(access) = &self.access {
            access.note_synced(&caller.name, self.desk.now());
        }
        let entries = self.desk.given(after, LIST_COUNT_MAX);
        let entries = entries.await.map_err(EdgeError::from)?;
        Ok(Response::new(copy::page(&self.desk, entries, prices)?))
    }

    async fn get_policy(&self, request: Request<GetPolicyRequest>) -> Answer<GetPolicyResponse> {
        let prices = self.caller(&request).prices();
        let lines = show::policy::lines(self.book().policy(), prices);
        Ok(Response::new(GetPolicyResponse { lines }))
    }

    async fn update_policy(
        &self,
        request: Request<UpdatePolicyRequest>,
    ) -> Answer<UpdatePolicyResponse> {
        let keys = request.get_ref().changes.iter();
        let keys =
            keys.filter_map(|change| parse::book::policy_key("changes.key", &change.key).ok());
        let named: Vec<_> = keys.map(|key| key.spec().name).collect();
        let prices = self.caller(&request).prices();
        let done = self.record(request, parse::book::set_policies).await?;
        let mut lines = show::policy::lines(self.book().policy(), prices);
        lines.retain(|line| named.contains(&line.key.as_str()));
        Ok(Response::new(UpdatePolicyResponse {
            lines,
            entry: Some(done.entry),
        }))
    }

    async fn import_pads(&self, request: Request<ImportPadsRequest>) -> Answer<ImportPadsResponse> {
        if !request.get_ref().validate_only {
            let now = self.desk.now();
            let import = |sent, book: &_| parse::notebook::import(sent, book, now);
            let done = self.record(request, import).await?;
            return Ok(Response::new(ImportPadsResponse {
                pieces: done.pieces(),
                entry: Some(done.entry),
                problems: Vec::new(),
            }));
        }
        let caller = self.caller(&request);
        let sent = request.into_inner();
        let (rows, found) = parse::notebook::look(&sent.rows, &self.book(), self.desk.now());
        let done = if found.is_empty() {
            let command = Command::ImportPads {
                note: sent.note,
                rows,
            };
            let (done, _) = self.preview(command, sent.request_id, &caller)?;
            Some(done)
        } else {
            None
        };
        Ok(Response::new(ImportPadsResponse {
            pieces: done.as_ref().map_or_else(Vec::new, Changed::pieces),
            entry: done.map(|done| done.entry),
            problems: found.into_iter().map(row_problem).collect(),
        }))
    }

    async fn list_starter_kits(
        &self,
        request: Request<ListStarterKitsRequest>,
    ) -> Answer<ListStarterKitsResponse> {
        let prices = self.caller(&request).prices();
        let starter_kits = show::starter::kits(&self.book(), prices);
        Ok(Response::new(ListStarterKitsResponse { starter_kits }))
    }

    async fn start(&self, request: Request<StartRequest>) -> Answer<StartResponse> {
        if !request.get_ref().validate_only {
            let done = self.record(request, parse::start::start).await?;
            return Ok(Response::new(started(done)));
        }
        let caller = self.caller(&request);
        let sent = request.into_inner();
        let request_id = sent.request_id.clone();
        let (start, found) = parse::start::look(sent, &self.book(), self.desk.now());
        if found.is_empty() {
            let command = Command::Start(Box::new(start));
            let (done, _) = self.preview(command, request_id, &caller)?;
            return Ok(Response::new(started(done)));
        }
        Ok(Response::new(StartResponse {
            problems: found.into_iter().map(row_problem).collect(),
            ..StartResponse::default()
        }))
    }

    async fn list_shops(&self, request: Request<ListShopsRequest>) -> Answer<ListShopsResponse> {
        let caller = self.caller(&request);
        numbers::hold(request.get_ref(), At::TOP)?;
        let shops = self.shops(&caller, request.get_ref()).await?;
        Ok(Response::new(shops))
    }

    async fn watch_entries(&self, request: Request<WatchEntriesRequest>) -> Answer<Watch> {
        let prices = self.caller(&request).prices();
        let asked = request.get_ref();
        let book = self.book();
        self.read(asked, numbers::hold(asked, At::TOP))?;
        let after = self.read(asked, parse::book::after(asked.after_seq, &book))?;
        let sought = self.read(asked, Sought::in_watch(asked, &book))?;
        let watch = self.watches.open(&self.desk, after, sought, prices)?;
        Ok(Response::new(watch))
    }
}

/// What a start came to, or would.
fn started(done: Changed) -> StartResponse {
    StartResponse {
        pieces: done.pieces(),
        job: done.jobs().pop(),
        makes: done.makes(),
        car: done.cars().pop(),
        routines: done.routines(),
        entry: Some(done.entry),
        problems: Vec::new(),
    }
}

fn row_problem(found: RowProblem) -> v1::RowProblem {
    v1::RowProblem {
        line: found.line,
        column: found.refusal.field,
        text: found.refusal.what,
        todo: found.refusal.todo,
    }
}

impl Edge {
    /// Refuses a caller who may reverse only what they reported today, unless that is such an entry.
    async fn is_own_of_today(&self, caller: &Caller, seq: Seq) -> Result<(), EdgeError> {
        let entry = self.desk.entry(seq).await?;
        let is_own = entry.by == *caller.name;
        if is_own && is_same_day(&self.book(), entry.recorded_at, self.desk.now()) {
            return Ok(());
        }
        Err(EdgeError::from(AccessError::NotOwnOfToday {
            name: Arc::clone(&caller.name),
            held: caller.role,
        }))
    }
}

/// A finding as a sentence.
pub(super) fn sentence(finding: &str) -> String {
    let mut letters = finding.chars();
    let first = letters
        .next()
        .map(|letter| letter.to_uppercase().to_string())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::sentence;

    #[test]
    fn a_finding_becomes_a_sentence() {
        assert_eq!(sentence("entry 7 is cut short"), "Entry 7 is cut short.");
        assert_eq!(sentence("Done."), "Done.");
    }
}
