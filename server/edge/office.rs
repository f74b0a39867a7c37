//! What a book answers to everyone who asks, gathered for the office.
//!
//! It asks the services as any client would, once as someone who sees no prices and once as the owner: there is
//! no other way to a figure. What costs something goes into lists of its own.

use fettlebook_contract::DESCRIPTOR_SET;
use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_server::BookService;
use fettlebook_contract::v1::job_service_server::JobService;
use fettlebook_contract::v1::kit_service_server::KitService;
use fettlebook_contract::v1::supply_service_server::SupplyService;
use fettlebook_contract::v1::{
    CheckJobsRequest, GetEntryRequest, GetJobCostRequest, ListEntriesRequest, ListJobsRequest,
    ListOrdersRequest, ListPieceWearRequest, ListPiecesRequest,
};
use fettlebook_model::{Moment, Seq};
use jiff::SignedDuration;
use prost::{Message, Name};
use prost_reflect::{DescriptorPool, DynamicMessage, SerializeOptions};
use serde_json::Value;
use tonic::{Request, Status};

use super::{Caller, Edge, show};
use crate::access::Role;
use crate::desk::Desk;
use crate::limits::LIST_COUNT_MAX;
use crate::store::OfficeRow;

/// Who asks for the office.
const ASKED_BY: &str = "office";

/// How far ahead booked jobs are checked, and how far back it is told what jobs cost.
const CHECKED_AHEAD: SignedDuration = SignedDuration::from_hours(14 * 24);
const COSTED_BACK: SignedDuration = SignedDuration::from_hours(35 * 24);

/// What a book answers to the office.
pub(crate) struct OfficeAnswers {
    desk: Desk,
    /// As someone who sees no prices.
    plain: Edge,
    /// As the owner.
    priced: Edge,
    pool: DescriptorPool,
}

/// All rows of a list that comes in pages.
macro_rules! all {
    ($edge:expr, $service:ident::$call:ident, $asked:ident, $rows:ident) => {{
        let mut asked = $asked {
            page_size: i32::try_from(LIST_COUNT_MAX).unwrap_or(i32::MAX),
            ..$asked::default()
        };
        let mut rows = Vec::new();
        loop {
            let answer = $service::$call($edge, Request::new(asked.clone())).await?;
            let answer = answer.into_inner();
            rows.extend(answer.$rows);
            if answer.next_page_token.is_empty() {
                break rows;
            }
            asked.page_token = answer.next_page_token;
        }
    }};
}

impl OfficeAnswers {
    /// Those of a book.
    ///
    /// # Errors
    /// When the contract's descriptors cannot be read.
    pub(crate) fn of(desk: &Desk) -> Result<Self, prost_reflect::DescriptorError> {
        let sees_no_prices = Caller {
            role: Role::Look,
            ..Caller::owner(ASKED_BY)
        };
        Ok(Self {
            desk: desk.clone(),
            plain: Edge::new(desk.clone(), sees_no_prices),
            priced: Edge::new(desk.clone(), Caller::owner(ASKED_BY)),
            pool: DescriptorPool::decode(DESCRIPTOR_SET)?,
        })
    }

    /// The deeds after an entry, as far as one answer goes, and up to which entry that is.
    pub(crate) async fn deeds_after(&self, after: Seq) -> Result<(Seq, Vec<OfficeRow>), Status> {
        let asked = ListEntriesRequest {
            after_seq: i64::try_from(after.0).unwrap_or(i64::MAX),
            page_size: i32::try_from(LIST_COUNT_MAX).unwrap_or(i32::MAX),
            ..ListEntriesRequest::default()
        };
        let answer = BookService::list_entries(&self.plain, Request::new(asked)).await?;
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
            let answer = BookService::get_entry(&self.plain, asked).await?;
            entries.extend(answer.into_inner().entry);
        }
        let mut rows = Vec::new();
        for entry in entries {
            rows.extend(self.deeds(entry)?);
        }
        Ok((until, rows))
    }

    /// The deeds of an entry, each with what is said of all of them.
    fn deeds(&self, mut entry: v1::Entry) -> Result<Vec<OfficeRow>, Status> {
        let deeds = std::mem::take(&mut entry.deeds);
        let flags = std::mem::take(&mut entry.flags);
        let flags: Vec<String> = flags.into_iter().map(|flag| flag.tagged_text).collect();
        let of_all = self.json(&entry)?;
        let mut rows = Vec::new();
        for (at, deed) in deeds.into_iter().enumerate() {
            let mut told = self.json(&deed)?;
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

    /// All else that a book answers at a moment, with the last entry that is certainly in it.
    pub(crate) async fn all(&self) -> Result<(Seq, Moment, Vec<OfficeRow>), Status> {
        let (head, now) = (self.desk.standing().head.seq, self.desk.now());
        let mut rows = Vec::new();
        let pieces = all!(
            &self.plain,
            KitService::list_pieces,
            ListPiecesRequest,
            pieces
        );
        for piece in &pieces {
            rows.push(self.row("piece", &piece.tag, piece)?);
        }
        let costs = all!(
            &self.priced,
            KitService::list_pieces,
            ListPiecesRequest,
            pieces
        );
        for piece in costs.iter().filter(|piece| piece.landed_cost.is_some()) {
            let only = v1::Piece {
                tag: piece.tag.clone(),
                landed_cost: piece.landed_cost.clone(),
                ..v1::Piece::default()
            };
            rows.push(self.row("piece-cost", &piece.tag, &only)?);
        }
        let wear = all!(
            &self.plain,
            KitService::list_piece_wear,
            ListPieceWearRequest,
            pieces
        );
        for worn in wear {
            rows.push(self.row("wear", &worn.tag, &worn)?);
        }
        rows.extend(self.jobs(now).await?);
        let orders = all!(
            &self.priced,
            SupplyService::list_orders,
            ListOrdersRequest,
            orders
        );
        for order in &orders {
            let plain = v1::Order {
                lines: Vec::new(),
                freight: None,
                total: None,
                ..order.clone()
            };
            rows.push(self.row("order", &order.order, &plain)?);
            rows.push(self.row("order-cost", &order.order, order)?);
        }
        Ok((head, now, rows))
    }

    /// Jobs, the check of those that are booked, and what they cost.
    async fn jobs(&self, now: Moment) -> Result<Vec<OfficeRow>, Status> {
        let mut rows = Vec::new();
        let until = now.checked_add(CHECKED_AHEAD).unwrap_or(Moment::MAX);
        let since = now.checked_sub(COSTED_BACK).unwrap_or(Moment::MIN);
        let (until, since) = (show::moment(until), show::moment(since));
        let jobs = all!(&self.plain, JobService::list_jobs, ListJobsRequest, jobs);
        for job in jobs {
            rows.push(self.row("job", &job.job, &job)?);
            let is_near = job
                .start_time
                .is_some_and(|start| (since.seconds..=until.seconds).contains(&start.seconds));
            if is_near && job.state() != v1::JobState::CalledOff {
                let asked = GetJobCostRequest {
                    job: job.job.clone(),
                };
                // A job whose car or routine is gone has no costs that could be told.
                let cost = SupplyService::get_job_cost(&self.priced, Request::new(asked)).await;
                if let Some(cost) = cost.ok().and_then(|answer| answer.into_inner().cost) {
                    let only = v1::CostSheet {
                        lines: Vec::new(),
                        caveats: Vec::new(),
                        ..cost
                    };
                    rows.push(self.row("job-cost", &job.job, &only)?);
                }
            }
        }
        let asked = CheckJobsRequest {
            through_time: Some(until),
            ..CheckJobsRequest::default()
        };
        let checks = JobService::check_jobs(&self.plain, Request::new(asked)).await?;
        for check in checks.into_inner().checks {
            let mut reasons = check.lines.iter().map(|line| line.reason.as_str());
            let reasons: Vec<&str> = reasons
                .by_ref()
                .filter(|reason| !reason.is_empty())
                .collect();
            let reason = reasons.join(" ");
            let only = v1::JobCheck {
                lines: Vec::new(),
                plan: None,
                cautions: Vec::new(),
                hazards: Vec::new(),
                ..check
            };
            let mut told = self.json(&only)?;
            if let Some(told) = told.as_object_mut() {
                told.insert("reason".to_owned(), reason.into());
            }
            rows.push(OfficeRow {
                list: "check",
                key: only.job,
                text: told.to_string(),
            });
        }
        Ok(rows)
    }

    fn row<M: Message + Name>(
        &self,
        list: &'static str,
        key: &str,
        message: &M,
    ) -> Result<OfficeRow, Status> {
        Ok(OfficeRow {
            list,
            key: key.to_owned(),
            text: self.json(message)?.to_string(),
        })
    }

    /// A message in the contract's names.
    fn json<M: Message + Name>(&self, message: &M) -> Result<Value, Status> {
        let options = SerializeOptions::new()
            .use_proto_field_name(true)
            .skip_default_fields(false)
            .stringify_64_bit_integers(false);
        let found = self.pool.get_message_by_name(&M::full_name());
        let descriptor = found.ok_or_else(|| Status::internal("it is not in the contract"))?;
        let bytes = message.encode_to_vec();
        let told = DynamicMessage::decode(descriptor, bytes.as_slice())
            .map_err(|error| Status::internal(error.to_string()))?;
        told.serialize_with_options(serde_json::value::Serializer, &options)
            .map_err(|error| Status::internal(error.to_string()))
    }
}

/// A number of the contract; one below nothing is none.
fn seq(number: i64) -> Seq {
    Seq(u64::try_from(number).unwrap_or_default())
}
