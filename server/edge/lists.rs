//! What a book answers to everyone who asks, all of a list at once.
//!
//! It asks the services as any client would, once as someone who sees no prices and once as the owner: there is
//! no other way to a figure.

use fettlebook_contract::v1;
#[cfg(feature = "postgres")]
use fettlebook_contract::v1::ListOrdersRequest;
use fettlebook_contract::v1::job_service_server::JobService;
use fettlebook_contract::v1::kit_service_server::KitService;
use fettlebook_contract::v1::supply_service_server::SupplyService;
use fettlebook_contract::v1::{
    CheckJobsRequest, GetJobCostRequest, GetTodayRequest, ListJobsRequest, ListPieceWearRequest,
    ListPiecesRequest,
};
use fettlebook_model::Moment;
use jiff::SignedDuration;
use tonic::{Request, Status};

use super::{Caller, Edge, show};
use crate::access::Role;
use crate::desk::Desk;
use crate::limits::LIST_COUNT_MAX;

/// Who asks, where nobody does.
const ASKED_BY: &str = "office";

/// How far ahead booked jobs are looked at, and how far back it is told what jobs cost.
const AHEAD: SignedDuration = SignedDuration::from_hours(14 * 24);
const BACK: SignedDuration = SignedDuration::from_hours(35 * 24);

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

/// A book that is asked.
pub(super) struct Lists {
    /// As someone who sees no prices.
    pub(super) plain: Edge,
    /// As the owner.
    priced: Edge,
}

impl Lists {
    /// Those of a book.
    pub(super) fn of(desk: &Desk) -> Self {
        let sees_no_prices = Caller {
            role: Role::Look,
            ..Caller::owner(ASKED_BY)
        };
        Self {
            plain: Edge::new(desk.clone(), sees_no_prices),
            priced: Edge::new(desk.clone(), Caller::owner(ASKED_BY)),
        }
    }

    pub(super) async fn pieces(&self) -> Result<Vec<v1::Piece>, Status> {
        let edge = &self.plain;
        Ok(all!(
            edge,
            KitService::list_pieces,
            ListPiecesRequest,
            pieces
        ))
    }

    /// With what they cost.
    #[cfg(feature = "postgres")]
    pub(super) async fn priced_pieces(&self) -> Result<Vec<v1::Piece>, Status> {
        let edge = &self.priced;
        Ok(all!(
            edge,
            KitService::list_pieces,
            ListPiecesRequest,
            pieces
        ))
    }

    pub(super) async fn wear(&self) -> Result<Vec<v1::PieceWear>, Status> {
        let edge = &self.plain;
        Ok(all!(
            edge,
            KitService::list_piece_wear,
            ListPieceWearRequest,
            pieces
        ))
    }

    pub(super) async fn jobs(&self) -> Result<Vec<v1::Job>, Status> {
        let edge = &self.plain;
        Ok(all!(edge, JobService::list_jobs, ListJobsRequest, jobs))
    }

    /// The checks of the jobs that are booked for the days ahead.
    pub(super) async fn checks(&self, now: Moment) -> Result<Vec<v1::JobCheck>, Status> {
        let asked = CheckJobsRequest {
            through_time: Some(show::moment(ahead(now))),
            ..CheckJobsRequest::default()
        };
        let checks = self.plain.check_jobs(Request::new(asked)).await?;
        Ok(checks.into_inner().checks)
    }

    /// What the jobs of the days ahead cost, and those of the weeks before.
    pub(super) async fn costs(&self, jobs: &[v1::Job], now: Moment) -> Vec<v1::CostSheet> {
        let since = now.checked_sub(BACK).unwrap_or(Moment::MIN);
        let near = show::moment(since).seconds..=show::moment(ahead(now)).seconds;
        let mut costs = Vec::new();
        for job in jobs {
            let is_near = job
                .start_time
                .is_some_and(|start| near.contains(&start.seconds));
            if !is_near || job.state() == v1::JobState::CalledOff {
                continue;
            }
            let asked = GetJobCostRequest {
                job: job.job.clone(),
            };
            // A job whose car or routine is gone has no costs that could be told.
            let cost = self.priced.get_job_cost(Request::new(asked)).await;
            costs.extend(cost.ok().and_then(|answer| answer.into_inner().cost));
        }
        costs
    }

    #[cfg(feature = "postgres")]
    pub(super) async fn orders(&self) -> Result<Vec<v1::Order>, Status> {
        let edge = &self.priced;
        Ok(all!(
            edge,
            SupplyService::list_orders,
            ListOrdersRequest,
            orders
        ))
    }

    /// How many orders are late.
    pub(super) async fn late_order_count(&self) -> Result<i64, Status> {
        let today = self
            .priced
            .get_today(Request::new(GetTodayRequest::default()));
        let coming = today.await?.into_inner().coming;
        Ok(show::count(
            coming.iter().filter(|order| order.late).count(),
        ))
    }
}

/// Until when booked jobs are looked at.
fn ahead(now: Moment) -> Moment {
    now.checked_add(AHEAD).unwrap_or(Moment::MAX)
}
