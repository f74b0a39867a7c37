//! The kit service: makes and pieces.
//!
//! It serves everything a person does with the kit outside a job. Each handler parses, asks the desk
//! or the book, and shows.

use std::collections::VecDeque;

use fettlebook_contract::v1;
use fettlebook_contract::v1::kit_service_server::KitService;
use fettlebook_contract::v1::{
    BinKitRequest, BinKitResponse, ChargeBatteriesRequest, ChargeBatteriesResponse,
    CountKitRequest, CountKitResponse, CreateMakeRequest, CreateMakeResponse, DemoteTowelsRequest,
    DemoteTowelsResponse, FillBottleRequest, FillBottleResponse, GetKitBudgetRequest,
    GetKitBudgetResponse, GetMakeRequest, GetMakeResponse, GetPieceLifeRequest,
    GetPieceLifeResponse, GetPieceRequest, GetPieceResponse, ListMakeWearRequest,
    ListMakeWearResponse, ListMakesRequest, ListMakesResponse, ListPieceWearRequest,
    ListPieceWearResponse, ListPiecesRequest, ListPiecesResponse, MakeSort, MarkDryRequest,
    MarkDryResponse, MarkLabelledRequest, MarkLabelledResponse, MoveKitRequest, MoveKitResponse,
    Readiness, ReceiveKitRequest, ReceiveKitResponse, ReturnKitRequest, ReturnKitResponse,
    SetAsideRequest, SetAsideResponse, UpdateMakeRequest, UpdateMakeResponse, WashKitRequest,
    WashKitResponse, WeighBottlesRequest, WeighBottlesResponse,
};
use fettlebook_model::bottle_jobs::BottleJobs;
use fettlebook_model::damage::damage_of;
use fettlebook_model::kit::Piece;
use fettlebook_model::kit_budget::kit_budget;
use fettlebook_model::kit_wear::{Clocks, is_clocked};
use fettlebook_model::supply_life::supply_life;
use fettlebook_model::wear_report::{make_wear, pad_left, worn_makes};
use fettlebook_model::{Book, Entry, Id, Moment, Reason, Refusal, Subject, Tag};
use tonic::{Request, Response};

use super::faults::both;
use super::paging::Page;
use super::prices::Prices;
use super::status::EdgeError;
use super::{Answer, Edge, parse, show, words};
use crate::limits::LIST_COUNT_MAX;

#[tonic::async_trait]
impl KitService for Edge {
    async fn create_make(&self, request: Request<CreateMakeRequest>) -> Answer<CreateMakeResponse> {
        let done = self.record(request, parse::make::create).await?;
        Ok(Response::new(CreateMakeResponse {
            make: done.makes().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn get_make(&self, request: Request<GetMakeRequest>) -> Answer<GetMakeResponse> {
        let prices = self.caller(&request).prices();
        let id = parse::id("make", &request.get_ref().make).map_err(EdgeError::from)?;
        let book = self.book();
        let make = book.make(&id).ok_or_else(|| {
            EdgeError::from(Refusal::no_id(Reason::MakeUnknown, "make", "make", &id))
        })?;
        Ok(Response::new(GetMakeResponse {
            make: Some(show::make::make(make, prices, book.policy())),
        }))
    }

    async fn list_makes(&self, request: Request<ListMakesRequest>) -> Answer<ListMakesResponse> {
        let prices = self.caller(&request).prices();
        let asked = request.get_ref();
        let page = Page::parse(
            "makes",
            &[&asked.sort.to_string()],
            asked.page_size,
            &asked.page_token,
        );
        let sort = words::sort_sought(asked.sort).map_err(EdgeError::from);
        let (sort, page) = self.read(asked, both(sort, page))?;
        let book = self.book();
        let left = book.makes().filter(|make| {
            page.comes(make.id.as_str())
                && (sort == MakeSort::Unspecified || words::make_sort(&make.figures) == sort)
        });
        let (makes, next_page_token) = page.take(left, |make| make.id.to_string());
        let makes = makes
            .into_iter()
            .map(|make| show::make::make(make, prices, book.policy()))
            .collect();
        Ok(Response::new(ListMakesResponse {
            makes,
            next_page_token,
        }))
    }

    async fn update_make(&self, request: Request<UpdateMakeRequest>) -> Answer<UpdateMakeResponse> {
        let done = self.record(request, parse::make::edit).await?;
        Ok(Response::new(UpdateMakeResponse {
            make: done.makes().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn receive_kit(&self, request: Request<ReceiveKitRequest>) -> Answer<ReceiveKitResponse> {
        let caller = self.caller(&request);
        if request.get_ref().landed_cost.is_some() && caller.prices() == Prices::Hidden {
            return Err(EdgeError::from(caller.may_not_say_costs()).into());
        }
        let done = self.record(request, parse::kit::receive).await?;
        Ok(Response::new(ReceiveKitResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn get_piece(&self, request: Request<GetPieceRequest>) -> Answer<GetPieceResponse> {
        let prices = self.caller(&request).prices();
        let tag = parse::tag("tag", &request.get_ref().tag).map_err(EdgeError::from)?;
        let book = self.book();
        let piece = book
            .piece(tag)
            .ok_or_else(|| EdgeError::from(Refusal::no_tag("tag", tag)))?;
        let piece = show::kit::piece(&book, piece, self.desk.now(), prices);
        Ok(Response::new(GetPieceResponse { piece: Some(piece) }))
    }

    async fn list_pieces(&self, request: Request<ListPiecesRequest>) -> Answer<ListPiecesResponse> {
        let prices = self.caller(&request).prices();
        let asked = request.get_ref();
        let wanted = Wanted::parse(asked).map_err(EdgeError::from);
        let same = ListPiecesRequest {
            page_size: 0,
            page_token: String::new(),
            ..asked.clone()
        };
        let page = Page::of("pieces", &same, asked.page_size, &asked.page_token);
        let (wanted, page) = self.read(asked, both(wanted, page))?;
        let after: Option<Tag> = page.after.as_deref().and_then(|key| key.parse().ok());
        let (book, now) = (self.book(), self.desk.now());
        let left = book.pieces().filter(|piece| {
            after.is_none_or(|after| piece.tag > after) && wanted.has(&book, piece, now)
        });
        let (pieces, next_page_token) = page.take(left, |piece| piece.tag.to_string());
        let mut jobs = BottleJobs::of(&book);
        let pieces = pieces
            .into_iter()
            .map(|piece| show::kit::piece_with_jobs(&book, piece, now, prices, &mut jobs))
            .collect();
        Ok(Response::new(ListPiecesResponse {
            pieces,
            next_page_token,
        }))
    }

    async fn move_kit(&self, request: Request<MoveKitRequest>) -> Answer<MoveKitResponse> {
        let done = self.record(request, parse::kit::go).await?;
        Ok(Response::new(MoveKitResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn wash_kit(&self, request: Request<WashKitRequest>) -> Answer<WashKitResponse> {
        let done = self.record_or_look(request, parse::kit::wash).await?;
        Ok(Response::new(WashKitResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn mark_dry(&self, request: Request<MarkDryRequest>) -> Answer<MarkDryResponse> {
        let done = self.record(request, parse::kit::dry).await?;
        Ok(Response::new(MarkDryResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn mark_labelled(
        &self,
        request: Request<MarkLabelledRequest>,
    ) -> Answer<MarkLabelledResponse> {
        let done = self.record(request, parse::kit::labelled).await?;
        Ok(Response::new(MarkLabelledResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn charge_batteries(
        &self,
        request: Request<ChargeBatteriesRequest>,
    ) -> Answer<ChargeBatteriesResponse> {
        let done = self.record_or_look(request, parse::kit::charge).await?;
        Ok(Response::new(ChargeBatteriesResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn weigh_bottles(
        &self,
        request: Request<WeighBottlesRequest>,
    ) -> Answer<WeighBottlesResponse> {
        let done = self.record_or_look(request, parse::kit::weigh).await?;
        Ok(Response::new(WeighBottlesResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn fill_bottle(&self, request: Request<FillBottleRequest>) -> Answer<FillBottleResponse> {
        let done = self.record_or_look(request, parse::kit::fill).await?;
        Ok(Response::new(FillBottleResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn count_kit(&self, request: Request<CountKitRequest>) -> Answer<CountKitResponse> {
        let done = self.record_or_look(request, parse::kit::count).await?;
        Ok(Response::new(CountKitResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn set_aside(&self, request: Request<SetAsideRequest>) -> Answer<SetAsideResponse> {
        let done = self.record(request, parse::kit::set_aside).await?;
        Ok(Response::new(SetAsideResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn return_kit(&self, request: Request<ReturnKitRequest>) -> Answer<ReturnKitResponse> {
        let done = self.record(request, parse::kit::give_back).await?;
        Ok(Response::new(ReturnKitResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn bin_kit(&self, request: Request<BinKitRequest>) -> Answer<BinKitResponse> {
        let done = self.record(request, parse::kit::bin).await?;
        Ok(Response::new(BinKitResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn demote_towels(
        &self,
        request: Request<DemoteTowelsRequest>,
    ) -> Answer<DemoteTowelsResponse> {
        let done = self.record(request, parse::kit::demote).await?;
        Ok(Response::new(DemoteTowelsResponse {
            pieces: done.pieces(),
            entry: Some(done.entry),
        }))
    }

    async fn list_make_wear(
        &self,
        request: Request<ListMakeWearRequest>,
    ) -> Answer<ListMakeWearResponse> {
        let asked = request.get_ref();
        let only = parse::open_id("make", &asked.make).map_err(EdgeError::from);
        let page = Page::parse("wear", &[&asked.make], asked.page_size, &asked.page_token);
        let (only, page) = self.read(asked, both(only, page))?;
        let (book, now) = (self.book(), self.desk.now());
        let makes = only
            .as_ref()
            .map_or_else(|| worn_makes(&book), |id| vec![id]);
        let left = makes.into_iter().filter(|id| page.comes(id.as_str()));
        let (makes, next_page_token) = page.take(left, |id| id.to_string());
        let wear = makes
            .into_iter()
            .map(|id| make_wear(&book, id, now).map(show::wear::make_wear))
            .collect::<Result<_, _>>()
            .map_err(EdgeError::from)?;
        Ok(Response::new(ListMakeWearResponse {
            wear,
            next_page_token,
        }))
    }

    async fn get_piece_life(
        &self,
        request: Request<GetPieceLifeRequest>,
    ) -> Answer<GetPieceLifeResponse> {
        let prices = self.caller(&request).prices();
        let tag = parse::tag("tag", &request.get_ref().tag).map_err(EdgeError::from)?;
        let (book, now) = (self.book(), self.desk.now());
        let piece = book
            .piece(tag)
            .ok_or_else(|| EdgeError::from(Refusal::no_tag("tag", tag)))?;
        let (points, about) = self.life_points(&book, tag, prices).await?;
        let mut jobs = BottleJobs::of(&book);
        let shown = show::kit::piece_with_jobs(&book, piece, now, prices, &mut jobs);
        Ok(Response::new(GetPieceLifeResponse {
            piece: Some(shown),
            points,
            left: pad_left(&book, tag, now).map(show::wear::pad_left),
            supply: supply_life(&book, piece, &about, now).map(show::wear::supply_life),
        }))
    }

    async fn list_piece_wear(
        &self,
        request: Request<ListPieceWearRequest>,
    ) -> Answer<ListPieceWearResponse> {
        let asked = request.get_ref();
        let only = parse::open_id("make", &asked.make).map_err(EdgeError::from);
        let page = Page::parse("clocks", &[&asked.make], asked.page_size, &asked.page_token);
        let (only, page) = self.read(asked, both(only, page))?;
        let (book, now) = (self.book(), self.desk.now());
        if let Some(id) = only.as_ref().filter(|id| book.make(id).is_none()) {
            let unknown = Refusal::no_id(Reason::MakeUnknown, "make", "make", id);
            return Err(EdgeError::from(unknown).into());
        }
        let after: Option<Tag> = page.after.as_deref().and_then(|key| key.parse().ok());
        let left = book.pieces().filter(|piece| {
            after.is_none_or(|after| piece.tag > after)
                && is_clocked(piece)
                && only.as_ref().is_none_or(|make| piece.make == *make)
        });
        let (pieces, next_page_token) = page.take(left, |piece| piece.tag.to_string());
        let mut clocks = Clocks::of(&book, now);
        let read = pieces.into_iter().filter_map(|piece| clocks.read(piece));
        Ok(Response::new(ListPieceWearResponse {
            pieces: read.map(|wear| show::wear::piece_wear(wear, now)).collect(),
            next_page_token,
        }))
    }

    async fn get_kit_budget(
        &self,
        request: Request<GetKitBudgetRequest>,
    ) -> Answer<GetKitBudgetResponse> {
        let prices = self.caller(&request).prices();
        let budget = kit_budget(&self.book(), self.desk.now()).map_err(EdgeError::from)?;
        Ok(Response::new(show::budget::budget(budget, prices)))
    }
}

impl Edge {
    /// The entries of a piece, oldest first, each with how it stood after it; of a longer life the
    /// last ones. And those entries as they are.
    async fn life_points(
        &self,
        book: &Book,
        tag: Tag,
        prices: Prices,
    ) -> Result<(Vec<v1::LifePoint>, Vec<Entry>), EdgeError> {
        let (mut points, mut about, mut after) = (VecDeque::new(), VecDeque::new(), None);
        let mut piece = None;
        loop {
            let subject = Some(Subject::Piece(tag));
            let read = self
                .desk
                .entries(subject, false, after, LIST_COUNT_MAX)
                .await?;
            let next = read.last().filter(|_| read.len() == LIST_COUNT_MAX);
            let next = next.map(|last| last.seq);
            for entry in read {
                piece = entry.piece_after(tag, piece);
                let state = piece.as_deref();
                points.push_back(v1::LifePoint {
                    entry: Some(show::entry::entry_of_book(book, &entry, prices)),
                    damage: state.and_then(|piece| damage_of(book, piece)),
                    left_ul: state
                        .and_then(|piece| piece.bottle())
                        .map(|bottle| bottle.left_ul.ul()),
                    wash_count: state.and_then(|piece| piece.wash_count()),
                });
                about.push_back(entry);
                if points.len() > LIST_COUNT_MAX {
                    points.pop_front();
                    about.pop_front();
                }
            }
            if next.is_none() {
                return Ok((points.into(), about.into()));
            }
            after = next;
        }
    }
}

/// Which pieces a list is to hold.
struct Wanted {
    place: Option<Id>,
    make: Option<Id>,
    readiness: Readiness,
    sort: MakeSort,
    binned_too: bool,
}

impl Wanted {
    fn parse(asked: &ListPiecesRequest) -> Result<Self, Refusal> {
        Ok(Self {
            place: parse::open_id("place", &asked.place)?,
            make: parse::open_id("make", &asked.make)?,
            readiness: Readiness::try_from(asked.readiness)
                .map_err(|_| words::unknown("readiness", asked.readiness, "Readiness"))?,
            sort: words::sort_sought(asked.sort)?,
            binned_too: asked.show_binned || asked.readiness == i32::from(Readiness::Binned),
        })
    }

    fn has(&self, book: &Book, piece: &Piece, now: Moment) -> bool {
        let is_of_sort = || {
            let make = book.make(&piece.make);
            make.is_some_and(|make| words::make_sort(&make.figures) == self.sort)
        };
        let readiness = words::readiness_word(piece.readiness.at(now));
        (self.binned_too || !piece.is_binned())
            && self
                .place
                .as_ref()
                .is_none_or(|place| piece.place == *place)
            && self.make.as_ref().is_none_or(|make| piece.make == *make)
            && (self.sort == MakeSort::Unspecified || is_of_sort())
            && (self.readiness == Readiness::Unspecified || i32::from(self.readiness) == readiness)
    }
}
