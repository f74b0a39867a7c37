//! Lists fetched to their end, page by page, as if they had come in one answer.
//!
//! It serves everything that shows a list. The joined answer carries no page token.

use std::future::Future;

use fettlebook_contract::v1::{
    ListCarsRequest, ListCarsResponse, ListDevicesRequest, ListDevicesResponse, ListEntriesRequest,
    ListEntriesResponse, ListJobsRequest, ListJobsResponse, ListMakeWearRequest,
    ListMakeWearResponse, ListMakesRequest, ListMakesResponse, ListOrdersRequest,
    ListOrdersResponse, ListPiecesRequest, ListPiecesResponse, ListRoutinesRequest,
    ListRoutinesResponse, ListSuppliersRequest, ListSuppliersResponse,
};
use tonic::{Response, Status};

use crate::call::send;
use crate::fault::Fault;

/// Rows asked for at a time; a page of long entries stays far below the largest message.
const PAGE_ROWS: i32 = 250;

/// A request for a page.
pub(crate) trait PageRequest: Clone {
    /// Turns to the page that a token names.
    fn turn(&mut self, rows: i32, token: String);
}

/// An answer with a page.
pub(crate) trait PageAnswer {
    /// Takes the token of the next page out of it; empty at the end.
    fn take_token(&mut self) -> String;
    /// Puts the rows of a further page behind its own.
    fn join(&mut self, more: Self);
}

macro_rules! paged {
    ($request:ty, $answer:ty, $rows:ident) => {
        impl PageRequest for $request {
            fn turn(&mut self, rows: i32, token: String) {
                self.page_size = rows;
                self.page_token = token;
            }
        }

        impl PageAnswer for $answer {
            fn take_token(&mut self) -> String {
                std::mem::take(&mut self.next_page_token)
            }

            fn join(&mut self, more: Self) {
                self.$rows.extend(more.$rows);
            }
        }
    };
}

paged!(ListMakesRequest, ListMakesResponse, makes);
paged!(ListPiecesRequest, ListPiecesResponse, pieces);
paged!(ListCarsRequest, ListCarsResponse, cars);
paged!(ListRoutinesRequest, ListRoutinesResponse, routines);
paged!(ListJobsRequest, ListJobsResponse, jobs);
paged!(ListMakeWearRequest, ListMakeWearResponse, wear);
paged!(ListSuppliersRequest, ListSuppliersResponse, suppliers);
paged!(ListOrdersRequest, ListOrdersResponse, orders);
paged!(ListDevicesRequest, ListDevicesResponse, devices);
paged!(ListEntriesRequest, ListEntriesResponse, entries);

/// Fetches every page.
///
/// # Errors
/// What the service refused, or that it handed out the same page token twice.
pub(crate) async fn every<Q, A, F>(mut request: Q, mut call: impl FnMut(Q) -> F) -> Result<A, Fault>
where
    Q: PageRequest,
    A: PageAnswer,
    F: Future<Output = Result<Response<A>, Status>>,
{
    request.turn(PAGE_ROWS, String::new());
    let mut all = send(request.clone(), &mut call).await?;
    let mut token = all.take_token();
    while !token.is_empty() {
        request.turn(PAGE_ROWS, token.clone());
        let mut more = send(request.clone(), &mut call).await?;
        let next = more.take_token();
        if next == token {
            return Err(Fault::answer("a page token that moves on"));
        }
        token = next;
        all.join(more);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::every;
    use crate::fault::Fault;
    use fettlebook_contract::v1::{Job, ListJobsRequest, ListJobsResponse};
    use tonic::Response;

    fn page(job: &str, next: &str) -> ListJobsResponse {
        ListJobsResponse {
            jobs: vec![Job {
                job: job.to_owned(),
                ..Job::default()
            }],
            next_page_token: next.to_owned(),
        }
    }

    fn fetched(pages: fn(&str) -> ListJobsResponse) -> Result<ListJobsResponse, Fault> {
        let call =
            |sent: ListJobsRequest| async move { Ok(Response::new(pages(&sent.page_token))) };
        let runtime = crate::run::runtime()?;
        runtime.block_on(every(ListJobsRequest::default(), call))
    }

    #[test]
    fn a_list_is_fetched_to_its_end_and_carries_no_token() {
        let all = fetched(|token| match token {
            "" => page("one", "a"),
            "a" => page("two", "b"),
            _ => page("three", ""),
        })
        .unwrap();
        let jobs: Vec<_> = all.jobs.iter().map(|job| job.job.as_str()).collect();
        assert_eq!(jobs, ["one", "two", "three"]);
        assert!(all.next_page_token.is_empty());
    }

    #[test]
    fn a_page_that_leads_to_itself_is_refused() {
        assert!(fetched(|_| page("one", "a")).is_err());
    }
}
