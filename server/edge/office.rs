//! What a book answers to everyone who asks, gathered for the office.
//!
//! What costs something goes into lists of its own.

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_server::BookService;
use fettlebook_contract::v1::{GetEntryRequest, ListEntriesRequest};
use fettlebook_model::Seq;
use prost::{Message, Name};
use prost_reflect::SerializeOptions;
use serde_json::Value;
use tonic::{Request, Status};

use super::lists::Lists;
use super::reflected;
use super::shops::{Facts, Priced};
use crate::desk::Desk;
use crate::limits::LIST_COUNT_MAX;
use crate::store::OfficeRow;

/// What a book answers to the office.
pub(crate) struct OfficeAnswers {
    desk: Desk,
    lists: Lists,
}

impl OfficeAnswers {
    /// Those of a book.
    pub(crate) fn of(desk: &Desk) -> Self {
        Self {
            desk: desk.clone(),
            lists: Lists::of(desk),
        }
    }

    /// The deeds after an entry, as far as one answer goes, and up to which entry that is.
    pub(crate) async fn deeds_after(&self, after: Seq) -> Result<(Seq, Vec<OfficeRow>), Status> {
        let asked = ListEntriesRequest {
            after_seq: i64::try_from(after.0).unwrap_or(i64::MAX),
            page_size: i32::try_from(LIST_COUNT_MAX).unwrap_or(i32::MAX),
            ..ListEntriesRequest::default()
        };
        let answer = BookService::list_entries(&self.lists.plain, Request::new(asked)).await?;
        let mut entries = answer.into_inner().entries;
        let until = entries.last().map_or(after, |last| seq(last.seq));
        let reversed: Vec<i64> = entries
            .iter()
            .flat_map(|entry| &entry.deeds)
            .filter_map(|deed| deed.reverses_seq)
            .filter(|reversed| seq(*reversed) <= after)
            .collect();
        for seq in reversed {
            let asked = Request::new(GetEntryRequest { seq });
            let answer = BookService::get_entry(&self.lists.plain, asked).await?;
            entries.extend(answer.into_inner().entry);
        }
        let mut rows = Vec::new();
        for entry in entries {
            rows.extend(Self::deeds(entry)?);
        }
        Ok((until, rows))
    }

    /// The deeds of an entry, each with what is said of all of them.
    fn deeds(mut entry: v1::Entry) -> Result<Vec<OfficeRow>, Status> {
        let deeds = std::mem::take(&mut entry.deeds);
        let flags = std::mem::take(&mut entry.flags);
        let flags: Vec<String> = flags.into_iter().map(|flag| flag.tagged_text).collect();
        let of_all = json(&entry)?;
        let mut rows = Vec::new();
        for (at, deed) in deeds.into_iter().enumerate() {
            let mut told = json(&deed)?;
            if let Some(told) = told.as_object_mut() {
                for name in [
                    "done_time",
                    "recorded_time",
                    "by",
                    "note",
                    "reversed_by_seq",
                ] {
                    if let Some(said) = of_all.get(name) {
                        told.insert(name.to_owned(), said.clone());
                    }
                }
                told.insert("entry".to_owned(), entry.seq.into());
                told.insert("flag".to_owned(), flags.join(" ").into());
            }
            rows.push(OfficeRow {
                list: "deed",
                key: format!("{:012}.{at:04}", entry.seq),
                text: told.to_string(),
            });
        }
        Ok(rows)
    }

    /// All else that a book answers at this moment, with the last entry that is certainly in it.
    pub(crate) async fn all(&self) -> Result<(Seq, Vec<OfficeRow>), Status> {
        let (head, now) = (self.desk.standing().head.seq, self.desk.now());
        let facts = Facts::of(&self.lists, (head, now)).await?;
        let priced = Priced::of(&self.lists, &facts).await?;
        let mut rows = vec![
            row("shop", "", &facts.line())?,
            row("shop-cost", "", &facts.priced(&priced))?,
        ];
        for piece in &facts.pieces {
            rows.push(row("piece", &piece.tag, piece)?);
        }
        for piece in self.lists.priced_pieces().await? {
            if piece.landed_cost.is_some() {
                let only = v1::Piece {
                    tag: piece.tag,
                    landed_cost: piece.landed_cost,
                    ..v1::Piece::default()
                };
                rows.push(row("piece-cost", &only.tag, &only)?);
            }
        }
        for worn in &facts.wear {
            rows.push(row("wear", &worn.tag, worn)?);
        }
        for job in &facts.jobs {
            rows.push(row("job", &job.job, job)?);
        }
        for cost in priced.costs {
            let only = v1::CostSheet {
                lines: Vec::new(),
                caveats: Vec::new(),
                ..cost
            };
            rows.push(row("job-cost", &only.job, &only)?);
        }
        for check in facts.checks {
            rows.push(check_row(check)?);
        }
        for order in self.lists.orders().await? {
            let plain = v1::Order {
                lines: Vec::new(),
                freight: None,
                total: None,
                ..order.clone()
            };
            rows.push(row("order", &order.order, &plain)?);
            rows.push(row("order-cost", &order.order, &order)?);
        }
        Ok((head, rows))
    }
}

/// The check of a job, with its reasons in one.
fn check_row(check: v1::JobCheck) -> Result<OfficeRow, Status> {
    let reasons = check.lines.iter().map(|line| line.reason.as_str());
    let reasons: Vec<&str> = reasons.filter(|reason| !reason.is_empty()).collect();
    let reason = reasons.join(" ");
    let only = v1::JobCheck {
        lines: Vec::new(),
        plan: None,
        cautions: Vec::new(),
        hazards: Vec::new(),
        ..check
    };
    let mut told = json(&only)?;
    if let Some(told) = told.as_object_mut() {
        told.insert("reason".to_owned(), reason.into());
    }
    Ok(OfficeRow {
        list: "check",
        key: only.job,
        text: told.to_string(),
    })
}

/// A row of a list.
fn row<M: Message + Name>(list: &'static str, key: &str, message: &M) -> Result<OfficeRow, Status> {
    Ok(OfficeRow {
        list,
        key: key.to_owned(),
        text: json(message)?.to_string(),
    })
}

/// A message in the contract's names.
fn json<M: Message + Name>(message: &M) -> Result<Value, Status> {
    let options = SerializeOptions::new()
        .use_proto_field_name(true)
        .skip_default_fields(false)
        .stringify_64_bit_integers(false);
    let told = reflected::dynamic(message)?;
    told.serialize_with_options(serde_json::value::Serializer, &options)
        .map_err(|error| Status::internal(error.to_string()))
}

/// A number of the contract; one below nothing is none.
fn seq(number: i64) -> Seq {
    Seq(u64::try_from(number).unwrap_or_default())
}
