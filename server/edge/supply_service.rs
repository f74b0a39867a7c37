//! The supply service: suppliers, what to order, orders, deliveries, costs and quotes.
//!
//! It serves whoever buys, unpacks and prices. What to order and what a job costs is the model's to
//! say; a quote is never recorded.

use fettlebook_contract::numbers::At;
use std::collections::BTreeMap;

use fettlebook_contract::v1::supply_service_server::SupplyService;
use fettlebook_contract::v1::{
    CloseOrderRequest, CloseOrderResponse, CreateOrderRequest, CreateOrderResponse,
    CreateSupplierRequest, CreateSupplierResponse, GetJobCostRequest, GetJobCostResponse,
    GetOrderRequest, GetOrderResponse, GetSupplierRequest, GetSupplierResponse, ListOrdersRequest,
    ListOrdersResponse, ListReorderRequest, ListReorderResponse, ListSuppliersRequest,
    ListSuppliersResponse, PlaceOrderRequest, PlaceOrderResponse, QuoteJobRequest,
    QuoteJobResponse, ReceiveOrderRequest, ReceiveOrderResponse, UpdateSupplierRequest,
    UpdateSupplierResponse,
};
use fettlebook_model::job::Job;
use fettlebook_model::job_cost::{CostRecord, costed_pieces, job_cost};
use fettlebook_model::job_quote::quote_job;
use fettlebook_model::order::Order;
use fettlebook_model::reorder::reorder_list;
use fettlebook_model::{Book, Entry, Id, Reason, Refusal, Subject};
use tonic::{Request, Response};

use super::faults::both;
use super::job_service::find_job;
use super::paging::Page;
use super::status::EdgeError;
use super::{Answer, Edge, numbers, parse, show};
use crate::limits::LIST_COUNT_MAX;

#[tonic::async_trait]
impl SupplyService for Edge {
    async fn create_supplier(
        &self,
        request: Request<CreateSupplierRequest>,
    ) -> Answer<CreateSupplierResponse> {
        let done = self.record(request, parse::supplier::create).await?;
        Ok(Response::new(CreateSupplierResponse {
            supplier: done.suppliers().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn get_supplier(
        &self,
        request: Request<GetSupplierRequest>,
    ) -> Answer<GetSupplierResponse> {
        const FIELD: &str = "supplier";
        let id = parse::id(FIELD, &request.get_ref().supplier).map_err(EdgeError::from)?;
        let book = self.book();
        let supplier = book.supplier(&id).ok_or_else(|| {
            EdgeError::from(Refusal::no_id(Reason::SupplierUnknown, FIELD, FIELD, &id))
        })?;
        Ok(Response::new(GetSupplierResponse {
            supplier: Some(show::supplier::supplier(&book, supplier)),
        }))
    }

    async fn list_suppliers(
        &self,
        request: Request<ListSuppliersRequest>,
    ) -> Answer<ListSuppliersResponse> {
        let asked = request.get_ref();
        let page = Page::parse("suppliers", &[], asked.page_size, &asked.page_token)?;
        let book = self.book();
        let left = book
            .suppliers()
            .filter(|supplier| page.comes(supplier.id.as_str()));
        let (suppliers, next_page_token) = page.take(left, |supplier| supplier.id.to_string());
        let suppliers = suppliers
            .into_iter()
            .map(|supplier| show::supplier::supplier(&book, supplier))
            .collect();
        Ok(Response::new(ListSuppliersResponse {
            suppliers,
            next_page_token,
        }))
    }

    async fn update_supplier(
        &self,
        request: Request<UpdateSupplierRequest>,
    ) -> Answer<UpdateSupplierResponse> {
        let done = self.record(request, parse::supplier::edit).await?;
        Ok(Response::new(UpdateSupplierResponse {
            supplier: done.suppliers().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn list_reorder(
        &self,
        request: Request<ListReorderRequest>,
    ) -> Answer<ListReorderResponse> {
        let asked = request.get_ref();
        let through = parse::open_date("through_date", &asked.through_date);
        let through = self.read(asked, through)?;
        let supplier = self.read(asked, parse::open_id("supplier", &asked.supplier))?;
        let list = reorder_list(&self.book(), through, supplier.as_ref(), self.desk.now())
            .map_err(EdgeError::from)?;
        Ok(Response::new(show::reorder::list(list)))
    }

    async fn create_order(
        &self,
        request: Request<CreateOrderRequest>,
    ) -> Answer<CreateOrderResponse> {
        let done = self.record(request, parse::order::create).await?;
        let order = done.entry.deeds.first().map(|deed| deed.subject.clone());
        Ok(Response::new(CreateOrderResponse {
            order: order.unwrap_or_default(),
            written: done.orders().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn get_order(&self, request: Request<GetOrderRequest>) -> Answer<GetOrderResponse> {
        let id = parse::id("order", &request.get_ref().order).map_err(EdgeError::from)?;
        let book = self.book();
        let order = book.order(&id).ok_or_else(|| {
            EdgeError::from(Refusal::no_id(Reason::OrderUnknown, "order", "order", &id))
        })?;
        Ok(Response::new(GetOrderResponse {
            order: Some(show::order::order(order)),
        }))
    }

    async fn list_orders(&self, request: Request<ListOrdersRequest>) -> Answer<ListOrdersResponse> {
        let asked = request.get_ref();
        let same = ListOrdersRequest {
            page_size: 0,
            page_token: String::new(),
            ..asked.clone()
        };
        let page = Page::of("orders", &same, asked.page_size, &asked.page_token);
        let of = parse::order::listed(asked).map_err(EdgeError::from);
        let (page, of) = self.read(asked, both(page, of))?;
        let before: Option<u64> = page.after.as_deref().and_then(|key| key.parse().ok());
        let book = self.book();
        let left = latest_first(&book).into_iter().filter(|order| {
            before.is_none_or(|before| number(&order.id) < before) && of.takes(order)
        });
        let (orders, next_page_token) = page.take(left, |order| number(&order.id).to_string());
        Ok(Response::new(ListOrdersResponse {
            orders: orders.into_iter().map(show::order::order).collect(),
            next_page_token,
        }))
    }

    async fn place_order(&self, request: Request<PlaceOrderRequest>) -> Answer<PlaceOrderResponse> {
        let done = self.record(request, parse::order::place).await?;
        Ok(Response::new(PlaceOrderResponse {
            order: done.orders().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn close_order(&self, request: Request<CloseOrderRequest>) -> Answer<CloseOrderResponse> {
        let done = self.record(request, parse::order::close).await?;
        Ok(Response::new(CloseOrderResponse {
            order: done.orders().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn receive_order(
        &self,
        request: Request<ReceiveOrderRequest>,
    ) -> Answer<ReceiveOrderResponse> {
        let done = self.record(request, parse::order::receive).await?;
        Ok(Response::new(ReceiveOrderResponse {
            pieces: done.pieces(),
            order: done.orders().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn get_job_cost(
        &self,
        request: Request<GetJobCostRequest>,
    ) -> Answer<GetJobCostResponse> {
        let book = self.book();
        let job = find_job(&book, &request.get_ref().job)?;
        let (of_job, of_stock) = self.cost_record(&book, job).await?;
        let record = CostRecord {
            job: &of_job,
            stock: &of_stock,
        };
        let sheet = job_cost(&book, job, record).map_err(EdgeError::from)?;
        Ok(Response::new(GetJobCostResponse {
            cost: Some(show::cost::sheet(sheet)),
        }))
    }

    async fn quote_job(&self, request: Request<QuoteJobRequest>) -> Answer<QuoteJobResponse> {
        let asked = request.get_ref();
        self.read(asked, numbers::hold(asked, At::TOP))?;
        let ask = self.read(asked, parse::quote::ask(asked))?;
        let book = self.book();
        let job = find_job(&book, &request.get_ref().job)?;
        let (of_job, of_stock) = self.cost_record(&book, job).await?;
        let record = CostRecord {
            job: &of_job,
            stock: &of_stock,
        };
        let quote = quote_job(&book, job, ask, record, self.desk.now());
        let quote = quote.map_err(EdgeError::from)?;
        Ok(Response::new(QuoteJobResponse {
            quote: Some(show::cost::quote(quote)),
        }))
    }
}

impl Edge {
    /// The entries about a job and about the stock that its cost rests on, each oldest first.
    async fn cost_record(
        &self,
        book: &Book,
        job: &Job,
    ) -> Result<(Vec<Entry>, Vec<Entry>), EdgeError> {
        let of_job = self
            .entries_about(book, Subject::Job(job.id.clone()))
            .await?;
        // One entry can be about several pieces.
        let mut of_stock = BTreeMap::new();
        for tag in costed_pieces(book, job, &of_job) {
            let of_piece = self.entries_about(book, Subject::Piece(tag)).await?;
            of_stock.extend(of_piece.into_iter().map(|entry| (entry.seq, entry)));
        }
        Ok((of_job, of_stock.into_values().collect()))
    }

    /// The entries about a subject that the book has taken in, oldest first.
    async fn entries_about(&self, book: &Book, subject: Subject) -> Result<Vec<Entry>, EdgeError> {
        let subject = Some(subject);
        let (mut all, mut after): (Vec<Entry>, _) = (Vec::new(), None);
        loop {
            let read = self
                .desk
                .entries(subject.clone(), false, after, LIST_COUNT_MAX)
                .await?;
            let is_last = read.len() < LIST_COUNT_MAX;
            after = read.last().map(|entry| entry.seq);
            all.extend(read.into_iter().filter(|entry| entry.seq <= book.head()));
            if is_last {
                return Ok(all);
            }
        }
    }
}

/// Orders by their numbers, the latest first.
fn latest_first(book: &Book) -> Vec<&Order> {
    let mut orders: Vec<&Order> = book.orders().map(AsRef::as_ref).collect();
    orders.sort_by_key(|order| std::cmp::Reverse(number(&order.id)));
    orders
}

/// The number that the book gave an order: 12 of `order-12`.
fn number(id: &Id) -> u64 {
    let digits = id.as_str().rsplit('-').next();
    digits
        .and_then(|digits| digits.parse().ok())
        .unwrap_or_default()
}
