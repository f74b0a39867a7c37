//! Recording a count: each thing that runs down by itself, all that is missing at once, and all that was found.
//!
//! Everything is read, and looked at by the service, before the first of it is recorded.

use std::collections::BTreeSet;

use fettlebook_contract::v1::{
    AsideReason, BinKitRequest, BinReason, CountKitRequest, GetEntryRequest, MoveKitRequest, Piece,
    SetAsideRequest,
};
use tonic::{Code, Status};

use super::super::{Answer, tag_of, to_entries};
use super::{CLEAN, LEFT, SOILED, form, found, of_tag};
use crate::asker::Asker;
use crate::form::{Fields, Form};
use crate::{changed, request, words};

/// What a count came to.
#[derive(Default)]
struct Counted {
    counts: Vec<CountKitRequest>,
    missing: Vec<String>,
    /// What is here and not where the book says.
    found: Vec<String>,
}

/// Why a count is not recorded.
enum Wrong {
    /// What was typed.
    Typed(String),
    /// What the service says.
    Refused(Status),
}

impl From<Status> for Wrong {
    fn from(refused: Status) -> Self {
        match refused.code() {
            Code::NotFound | Code::InvalidArgument | Code::FailedPrecondition => {
                Self::Typed(format!("{} Nothing was recorded.", refused.message()))
            }
            _ => Self::Refused(refused),
        }
    }
}

/// Records a count of a place.
pub(crate) async fn record(asker: Asker, Form(sent): Form) -> Answer {
    let here = asker.here().await?;
    let counted = match read(&asker, &sent).await {
        Ok(counted) => counted,
        Err(Wrong::Typed(wrong)) => return form(&asker, &here, &sent, &wrong).await,
        Err(Wrong::Refused(refused)) => return Err(refused.into()),
    };
    let tags = counted.tags();
    if tags.is_empty() {
        let wrong =
            "Nothing is typed or ticked, so all is as the book says and nothing was recorded.";
        return form(&asker, &here, &sent, wrong).await;
    }
    if let Some(asks) = changed::since(&asker, &here, &sent, &tags, "/count").await? {
        return Ok(asks);
    }
    match counted.recorded(&asker, &sent).await.map_err(Wrong::from) {
        Ok(seqs) => Ok(to_entries(&seqs)),
        Err(Wrong::Typed(wrong)) => form(&asker, &here, &sent, &wrong).await,
        Err(Wrong::Refused(refused)) => Err(refused.into()),
    }
}

/// Reads all of it.
async fn read(asker: &Asker, sent: &Fields) -> Result<Counted, Wrong> {
    let missing: BTreeSet<String> = sent.all("missing").map(tag_of).collect();
    let typed_found = sent
        .first("found")
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';'));
    let named = typed_found.filter(|word| !word.is_empty()).map(tag_of);
    let named: BTreeSet<String> = named.collect();
    if let Some(both) = named.intersection(&missing).next() {
        let wrong =
            format!("{both} is both missing and here. Say one of it. Nothing was recorded.");
        return Err(Wrong::Typed(wrong));
    }
    let typed = [LEFT, CLEAN, SOILED]
        .into_iter()
        .flat_map(|start| sent.behind(start));
    let typed = typed
        .filter(|(_, typed)| !typed.is_empty())
        .map(|(tag, _)| tag_of(tag));
    let typed: BTreeSet<String> = typed.collect();
    let all = typed.iter().chain(&missing).chain(&named).cloned();
    let pieces = asker.pieces(all).await?;
    let mut counted = Counted::default();
    for tag in typed.difference(&missing) {
        let piece = of_tag(&pieces, tag).cloned().unwrap_or_default();
        let count = count_of(&piece, sent);
        let count = count.map_err(|why| Wrong::Typed(words::wrong(tag, &why)))?;
        counted.counts.push(count);
    }
    for piece in pieces.iter().filter(|piece| named.contains(&piece.tag)) {
        let is_elsewhere = piece.place != sent.first("place");
        if is_elsewhere || came_by(asker, sent, piece.last_seq).await? {
            counted.found.push(piece.tag.clone());
        }
    }
    counted.missing = missing.into_iter().collect();
    Ok(counted)
}

/// Whether an entry is what this form told of all that was found, when it was sent before.
async fn came_by(asker: &Asker, sent: &Fields, seq: i64) -> Result<bool, Status> {
    let entry = asker
        .call(GetEntryRequest { seq })
        .await?
        .entry
        .unwrap_or_default();
    Ok(entry.request_id == request::of_part(sent.first("request_id"), request::FOUND))
}

fn count_of(piece: &Piece, sent: &Fields) -> Result<CountKitRequest, String> {
    let typed = |start: &str| sent.first(&format!("{start}{}", piece.tag));
    let (left, clean, soiled) = (typed(LEFT), typed(CLEAN), typed(SOILED));
    if left.is_empty() {
        found::towels(piece, clean, soiled)
    } else {
        found::left(piece, left)
    }
}

impl Counted {
    /// Tags of all that it is about.
    fn tags(&self) -> Vec<String> {
        let counts = self.counts.iter().map(|count| &count.tag);
        counts
            .chain(&self.missing)
            .chain(&self.found)
            .cloned()
            .collect()
    }

    /// Records it and says in which entries.
    ///
    /// # Errors
    /// What the service refused.
    async fn recorded(self, asker: &Asker, sent: &Fields) -> Result<Vec<i64>, Status> {
        for count in &self.counts {
            let look = CountKitRequest {
                validate_only: true,
                ..count.clone()
            };
            asker.call(look).await?;
        }
        let (form, place) = (sent.first("request_id"), sent.first("place"));
        let mut entries = Vec::new();
        for count in self.counts {
            let request_id = request::of_part(form, &count.tag);
            let count = CountKitRequest {
                request_id,
                ..count
            };
            entries.push(asker.call(count).await?.entry);
        }
        if !self.missing.is_empty() {
            let request_id = request::of_part(form, request::MISSING);
            let note = format!("Missing when {place} was counted.");
            let entry = if sent.first("meaning") == "lost" {
                let binned = BinKitRequest {
                    request_id,
                    note,
                    tags: self.missing,
                    reason: BinReason::Lost.into(),
                    ..BinKitRequest::default()
                };
                asker.call(binned).await?.entry
            } else {
                let aside = SetAsideRequest {
                    request_id,
                    note,
                    tags: self.missing,
                    reason: AsideReason::Other.into(),
                    ..SetAsideRequest::default()
                };
                asker.call(aside).await?.entry
            };
            entries.push(entry);
        }
        if !self.found.is_empty() {
            let moved = MoveKitRequest {
                request_id: request::of_part(form, request::FOUND),
                note: format!("Found when {place} was counted."),
                tags: self.found,
                place: place.to_owned(),
                ..MoveKitRequest::default()
            };
            entries.push(asker.call(moved).await?.entry);
        }
        let seqs = entries.into_iter().flatten().map(|entry| entry.seq);
        Ok(seqs.collect())
    }
}
