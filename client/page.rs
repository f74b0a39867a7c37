//! Lists fetched to their end, page by page, as if they had come in one answer.
//!
//! It serves everything that shows a list. The joined answer carries no page token; a list that may
//! be very long is taken page by page instead.

use fettlebook_contract::call::Paged;

use crate::connect::Session;
use crate::fault::Fault;

/// Rows asked for at a time; a page of long entries stays far below the largest message.
const PAGE_ROWS: i32 = 250;

/// Fetches every page.
///
/// # Errors
/// What the service refused, or that it handed out the same page token twice.
pub(crate) async fn every<C: Paged>(session: &Session, request: C) -> Result<C::Answer, Fault> {
    joined(request, async |sent| session.call(sent).await).await
}

/// The pages that a call fetches, as one.
async fn joined<C: Paged>(
    request: C,
    call: impl AsyncFn(C) -> Result<C::Answer, Fault>,
) -> Result<C::Answer, Fault> {
    let mut all = None;
    each(request, call, &mut |page| {
        match &mut all {
            None => all = Some(page),
            Some(all) => C::join(all, page),
        }
        Ok(true)
    })
    .await?;
    all.ok_or_else(|| Fault::answer("a page"))
}

/// Hands over the pages that a call fetches, one at a time and without their tokens, for as long as
/// more are wanted.
///
/// # Errors
/// What the service refused, or that it handed out the same page token twice; what was wrong with a
/// page.
pub(crate) async fn each<C: Paged>(
    mut request: C,
    call: impl AsyncFn(C) -> Result<C::Answer, Fault>,
    take: &mut impl FnMut(C::Answer) -> Result<bool, Fault>,
) -> Result<(), Fault> {
    let mut token = String::new();
    loop {
        request.turn(PAGE_ROWS, token.clone());
        let mut page = call(request.clone()).await?;
        let next = C::take_token(&mut page);
        if next == token && !next.is_empty() {
            return Err(Fault::answer("a page token that moves on"));
        }
        if !take(page)? || next.is_empty() {
            return Ok(());
        }
        token = next;
    }
}

#[cfg(test)]
mod tests {
    use super::joined;
    use crate::fault::Fault;
    use fettlebook_contract::v1::{Job, ListJobsRequest, ListJobsResponse};

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
        let call = async |sent: ListJobsRequest| Ok(pages(&sent.page_token));
        let runtime = crate::runtime::runtime()?;
        runtime.block_on(joined(ListJobsRequest::default(), call))
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
