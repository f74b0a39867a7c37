//! Shops, a line each: what of a shop wants somebody.
//!
//! It serves whoever looks at several of them, and the office. A line is worked out here from what the book
//! answers, and nowhere else; of other books it is read as whoever has them laid it out.

use fettlebook_contract::v1;
use fettlebook_contract::v1::{ListShopsRequest, ListShopsResponse};
use fettlebook_model::money::Money;
use fettlebook_model::{Moment, Seq};
use tonic::Status;

use super::lists::Lists;
use super::paging::Page;
use super::prices::Prices;
#[cfg(feature = "postgres")]
use super::reflected;
use super::{Caller, Edge, EdgeError, show};
#[cfg(feature = "postgres")]
use crate::desk::DeskError;
#[cfg(feature = "postgres")]
use crate::store::ShopLine;

/// What a line is made of.
pub(super) struct Facts {
    /// The last entry that is certainly in it, and the moment.
    pub(super) as_of: (Seq, Moment),
    pub(super) pieces: Vec<v1::Piece>,
    pub(super) wear: Vec<v1::PieceWear>,
    pub(super) jobs: Vec<v1::Job>,
    pub(super) checks: Vec<v1::JobCheck>,
}

/// What a line has besides for those who see prices.
pub(super) struct Priced {
    pub(super) costs: Vec<v1::CostSheet>,
    pub(super) late_order_count: i64,
}

impl Facts {
    /// Those of a book at a moment.
    pub(super) async fn of(lists: &Lists, as_of: (Seq, Moment)) -> Result<Self, Status> {
        Ok(Self {
            as_of,
            pieces: lists.pieces().await?,
            wear: lists.wear().await?,
            jobs: lists.jobs().await?,
            checks: lists.checks(as_of.1).await?,
        })
    }

    /// The line, without what is for those who see prices.
    pub(super) fn line(&self) -> v1::Shop {
        let booked = |job: &&v1::Job| job.state() == v1::JobState::Booked;
        let says = |verdict| {
            let checks = self.checks.iter();
            show::count(checks.filter(|check| check.verdict() == verdict).count())
        };
        let worn = |band: v1::WearBand| {
            let worn = self.wear.iter().filter(|piece| piece.band() == band);
            show::count(worn.count())
        };
        let at_risk = self
            .checks
            .iter()
            .filter(|check| [v1::Verdict::Watch, v1::Verdict::Stop].contains(&check.verdict()));
        let starts = at_risk.filter_map(|check| check.start_time);
        let uncounted = self.pieces.iter().filter(|piece| piece.needs_count);
        v1::Shop {
            as_of_time: Some(show::moment(self.as_of.1)),
            as_of_seq: show::seq(self.as_of.0),
            booked_job_count: show::count(self.jobs.iter().filter(booked).count()),
            watch_job_count: says(v1::Verdict::Watch),
            stop_job_count: says(v1::Verdict::Stop),
            first_at_risk_time: starts.min_by_key(|start| (start.seconds, start.nanos)),
            tired_piece_count: worn(v1::WearBand::Tired),
            spent_piece_count: worn(v1::WearBand::Spent),
            needs_count_piece_count: show::count(uncounted.count()),
            ..v1::Shop::default()
        }
    }

    /// What the line has besides for those who see prices.
    pub(super) fn priced(&self, priced: &Priced) -> v1::Shop {
        let of_jobs_that_are = |state: v1::JobState| {
            priced.costs.iter().filter(move |cost| {
                let mut jobs = self.jobs.iter();
                jobs.any(|job| job.job == cost.job && job.state() == state)
            })
        };
        let done = of_jobs_that_are(v1::JobState::Done).filter_map(|cost| cost.actual.as_ref());
        let booked =
            of_jobs_that_are(v1::JobState::Booked).filter_map(|cost| cost.typical.as_ref());
        let lacks_prices = |cost: &&v1::CostSheet| cost.lines.iter().any(|line| line.price_missing);
        let unpriced = priced.costs.iter().filter(lacks_prices);
        v1::Shop {
            late_order_count: Some(priced.late_order_count),
            done_cost: sum(done),
            booked_cost: sum(booked),
            unpriced_job_count: show::count(unpriced.count()),
            ..v1::Shop::default()
        }
    }
}

impl Priced {
    /// That of a book, of whose jobs some are told already.
    pub(super) async fn of(lists: &Lists, facts: &Facts) -> Result<Self, Status> {
        Ok(Self {
            costs: lists.costs(&facts.jobs, facts.as_of.1).await,
            late_order_count: lists.late_order_count().await?,
        })
    }
}

/// The sum of money of one currency; none of nothing, and none of several.
fn sum<'a>(of: impl Iterator<Item = &'a v1::Money>) -> Option<v1::Money> {
    let mut sum: Option<Money> = None;
    for money in of {
        let money = Money::parse(&money.amount, &money.currency_code).ok()?;
        let before = sum.map_or(Some(money.amount), |sum| {
            let is_same = sum.currency == money.currency;
            sum.amount.checked_add(money.amount).filter(|_| is_same)
        });
        sum = Some(Money {
            amount: before?,
            ..money
        });
    }
    sum.map(show::money::money)
}

/// A line with what it has besides for those who see prices.
fn joined(line: v1::Shop, priced: Option<v1::Shop>) -> v1::Shop {
    let priced = priced.unwrap_or_default();
    v1::Shop {
        late_order_count: priced.late_order_count,
        done_cost: priced.done_cost,
        booked_cost: priced.booked_cost,
        unpriced_job_count: priced.unpriced_job_count,
        ..line
    }
}

impl Edge {
    /// The shops that a caller may see.
    pub(super) async fn shops(
        &self,
        caller: &Caller,
        asked: &ListShopsRequest,
    ) -> Result<ListShopsResponse, Status> {
        let page = Page::parse("shops", &[], asked.page_size, &asked.page_token)?;
        let every = self.every_shop(caller, &page).await?;
        let all = every.is_some();
        let shops = match every {
            Some(shops) => shops,
            None => vec![self.own_shop(caller).await?],
        };
        let rest = shops.into_iter().filter(|shop| page.comes(&shop.book_id));
        let (shops, next_page_token) = page.take(rest, |shop| shop.book_id.clone());
        Ok(ListShopsResponse {
            shops,
            next_page_token,
            all,
            service_time: Some(show::moment(self.desk.now())),
        })
    }

    /// The shop of this book, as it stands now.
    async fn own_shop(&self, caller: &Caller) -> Result<v1::Shop, Status> {
        let (lists, standing) = (Lists::of(&self.desk), self.desk.standing());
        let facts = Facts::of(&lists, (standing.head.seq, self.desk.now())).await?;
        let priced = match caller.prices() {
            Prices::Shown => Some(facts.priced(&Priced::of(&lists, &facts).await?)),
            Prices::Hidden => None,
        };
        Ok(v1::Shop {
            book_id: standing.identity.book_id.to_string(),
            own: true,
            ..joined(facts.line(), priced)
        })
    }

    /// The shops after a page and one more, to a caller of the office; none to others, and where there is one
    /// book alone.
    #[cfg(feature = "postgres")]
    async fn every_shop(
        &self,
        caller: &Caller,
        page: &Page,
    ) -> Result<Option<Vec<v1::Shop>>, EdgeError> {
        if caller.office != Some(self.life()) {
            return Ok(None);
        }
        let after = page.after.as_deref().and_then(|key| key.parse().ok());
        let (desk, count) = (self.desk.clone(), page.row_count.saturating_add(1));
        let reading = tokio::task::spawn_blocking(move || desk.shops(after, count));
        let lines = reading.await.map_err(|_| DeskError::Closed)??;
        let (own, prices) = (self.desk.standing().identity.book_id, caller.prices());
        let now = self.desk.now();
        let shown = |line: ShopLine| {
            let read = |text: Option<String>| reflected::from_json::<v1::Shop>(&text?);
            let priced = read(line.cost).filter(|_| prices == Prices::Shown);
            // The engine says how old it is: whoever laid it out may have another clock.
            let at = line.age.and_then(|age| now.checked_sub(age).ok());
            let told = read(line.told).zip(at).map(|(told, at)| v1::Shop {
                as_of_time: Some(show::moment(at)),
                ..joined(told, priced)
            });
            v1::Shop {
                book_id: line.book.to_string(),
                name: line.name.unwrap_or_default(),
                own: line.book == own,
                ..told.unwrap_or_default()
            }
        };
        Ok(lines.map(|lines| lines.into_iter().map(shown).collect()))
    }

    /// There is one book alone.
    #[cfg(not(feature = "postgres"))]
    #[expect(clippy::unused_async, reason = "with an engine it asks")]
    async fn every_shop(&self, _: &Caller, _: &Page) -> Result<Option<Vec<v1::Shop>>, EdgeError> {
        Ok(None)
    }
}

#[cfg(test)]
mod tests {
    use super::sum;
    use fettlebook_contract::v1::Money;

    fn money(amount: &str, code: &str) -> Money {
        Money {
            amount: amount.to_owned(),
            currency_code: code.to_owned(),
        }
    }

    /// Source: decimal arithmetic; in binary fractions 0.1 and 0.2 are not 0.3.
    #[test]
    fn a_sum_is_exact_and_of_one_currency() {
        let coins = [money("0.10", "EUR"), money("0.20", "EUR")];
        assert_eq!(sum(coins.iter()), Some(money("0.30", "EUR")));
        assert_eq!(sum([].iter()), None);
        let mixed = [money("1.00", "EUR"), money("1.00", "CHF")];
        assert_eq!(sum(mixed.iter()), None);
    }
}
