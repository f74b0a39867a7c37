//! The job service: cars, routines, jobs, plan, check and log.
//!
//! It serves the way from a booking to what was used. Plans, checks and previews read the published
//! book and never wait for the writer.

use fettlebook_contract::v1;
use fettlebook_contract::v1::job_service_server::JobService;
use fettlebook_contract::v1::{
    BookJobRequest, BookJobResponse, CallOffJobRequest, CallOffJobResponse, CheckJobsRequest,
    CheckJobsResponse, CreateCarRequest, CreateCarResponse, CreateRoutineRequest,
    CreateRoutineResponse, GetCarRequest, GetCarResponse, GetJobRequest, GetJobResponse,
    GetRoutineRequest, GetRoutineResponse, GetTodayRequest, GetTodayResponse, JobState,
    ListCarsRequest, ListCarsResponse, ListJobsRequest, ListJobsResponse, ListRoutinesRequest,
    ListRoutinesResponse, LogUseRequest, LogUseResponse, PlanJobRequest, PlanJobResponse,
    RecordFilmRequest, RecordFilmResponse, TakeJobRequest, TakeJobResponse, UpdateCarRequest,
    UpdateCarResponse, UpdateJobRequest, UpdateJobResponse, UpdateRoutineRequest,
    UpdateRoutineResponse,
};
use fettlebook_model::check::{check_by, check_jobs, likely_sundries, likely_use};
use fettlebook_model::film::FILM_CAUTION;
use fettlebook_model::film_cut::film_cuts;
use fettlebook_model::job::Job;
use fettlebook_model::pick::bring_by;
use fettlebook_model::plan::plan_job;
use fettlebook_model::times::likely_times;
use fettlebook_model::today::today;
use fettlebook_model::{Book, Id, Reason, Refusal};
use tonic::{Request, Response};

use super::faults::both;
use super::paging::Page;
use super::prices::Prices;
use super::status::EdgeError;
use super::{Answer, Edge, parse, show, words};

#[tonic::async_trait]
impl JobService for Edge {
    async fn create_car(&self, request: Request<CreateCarRequest>) -> Answer<CreateCarResponse> {
        let done = self.record_or_look(request, parse::car::create).await?;
        Ok(Response::new(CreateCarResponse {
            car: done.cars().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn get_car(&self, request: Request<GetCarRequest>) -> Answer<GetCarResponse> {
        let id = parse::id("car", &request.get_ref().car).map_err(EdgeError::from)?;
        let book = self.book();
        let car = book.car(&id).ok_or_else(|| {
            EdgeError::from(Refusal::no_id(Reason::CarUnknown, "car", "car", &id))
        })?;
        let cuts = film_cuts(&book, car);
        Ok(Response::new(GetCarResponse {
            car: Some(show::car::car(car, book.policy())),
            film_readings: show::film::readings(car),
            film_cuts: cuts.iter().map(show::film::cut).collect(),
            caution_line_um: show::film::caution_line(book.policy()).um(),
            film_caution: FILM_CAUTION.to_owned(),
        }))
    }

    async fn list_cars(&self, request: Request<ListCarsRequest>) -> Answer<ListCarsResponse> {
        let asked = request.get_ref();
        let page = Page::parse("cars", &[], asked.page_size, &asked.page_token)?;
        let book = self.book();
        let left = book.cars().filter(|car| page.comes(car.id.as_str()));
        let (cars, next_page_token) = page.take(left, |car| car.id.to_string());
        let cars = cars
            .into_iter()
            .map(|car| show::car::car(car, book.policy()))
            .collect();
        Ok(Response::new(ListCarsResponse {
            cars,
            next_page_token,
        }))
    }

    async fn update_car(&self, request: Request<UpdateCarRequest>) -> Answer<UpdateCarResponse> {
        let done = self.record_or_look(request, parse::car::edit).await?;
        Ok(Response::new(UpdateCarResponse {
            car: done.cars().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn record_film(&self, request: Request<RecordFilmRequest>) -> Answer<RecordFilmResponse> {
        let asked = request.get_ref();
        let is_after = asked.moment() == v1::FilmMoment::After;
        let job: Option<Id> = asked.job.parse().ok().filter(|_| is_after);
        let done = self.record_or_look(request, parse::film::record).await?;
        let cut = job.and_then(|job| done.film_cut(&job));
        Ok(Response::new(RecordFilmResponse {
            film_cut: cut,
            car: done.cars().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn create_routine(
        &self,
        request: Request<CreateRoutineRequest>,
    ) -> Answer<CreateRoutineResponse> {
        let done = self.record(request, parse::routine::create).await?;
        Ok(Response::new(CreateRoutineResponse {
            routine: done.routines().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn get_routine(&self, request: Request<GetRoutineRequest>) -> Answer<GetRoutineResponse> {
        let id = parse::id("routine", &request.get_ref().routine).map_err(EdgeError::from)?;
        let book = self.book();
        let routine = book.routine(&id).ok_or_else(|| {
            EdgeError::from(Refusal::no_id(
                Reason::RoutineUnknown,
                "routine",
                "routine",
                &id,
            ))
        })?;
        let routine = show::routine::routine(routine);
        Ok(Response::new(GetRoutineResponse {
            routine: Some(routine),
        }))
    }

    async fn list_routines(
        &self,
        request: Request<ListRoutinesRequest>,
    ) -> Answer<ListRoutinesResponse> {
        let asked = request.get_ref();
        let page = Page::parse("routines", &[], asked.page_size, &asked.page_token)?;
        let book = self.book();
        let left = book
            .routines()
            .filter(|routine| page.comes(routine.id.as_str()));
        let (routines, next_page_token) = page.take(left, |routine| routine.id.to_string());
        let routines = routines
            .into_iter()
            .map(|routine| show::routine::routine(routine))
            .collect();
        Ok(Response::new(ListRoutinesResponse {
            routines,
            next_page_token,
        }))
    }

    async fn update_routine(
        &self,
        request: Request<UpdateRoutineRequest>,
    ) -> Answer<UpdateRoutineResponse> {
        let done = self.record(request, parse::routine::edit).await?;
        Ok(Response::new(UpdateRoutineResponse {
            routine: done.routines().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn book_job(&self, request: Request<BookJobRequest>) -> Answer<BookJobResponse> {
        let done = self.record(request, parse::job::book).await?;
        Ok(Response::new(BookJobResponse {
            job: done.jobs().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn get_job(&self, request: Request<GetJobRequest>) -> Answer<GetJobResponse> {
        let book = self.book();
        let job = find_job(&book, &request.get_ref().job)?;
        Ok(Response::new(GetJobResponse {
            job: Some(show::job::job_at(job, self.desk.now())),
        }))
    }

    async fn list_jobs(&self, request: Request<ListJobsRequest>) -> Answer<ListJobsResponse> {
        let asked = request.get_ref();
        let wanted = JobState::try_from(asked.state)
            .map_err(|_| EdgeError::from(words::unknown("state", asked.state, "JobState")));
        let same = ListJobsRequest {
            page_size: 0,
            page_token: String::new(),
            ..asked.clone()
        };
        let page = Page::of("jobs", &same, asked.page_size, &asked.page_token);
        let of = parse::job::listed(asked).map_err(EdgeError::from);
        let (wanted, (page, of)) = self.read(asked, both(wanted, both(page, of)))?;
        let book = self.book();
        let now = self.desk.now();
        let mut jobs: Vec<&Job> = book.jobs().map(AsRef::as_ref).collect();
        jobs.sort_by_cached_key(|job| start_key(job));
        let left = jobs
            .into_iter()
            .filter(|job| page.comes(&start_key(job)) && of.takes(job))
            .map(|job| show::job::job_at(job, now));
        let left =
            left.filter(|job| wanted == JobState::Unspecified || job.state == i32::from(wanted));
        let (jobs, next_page_token) = page.take(left, shown_start_key);
        Ok(Response::new(ListJobsResponse {
            jobs,
            next_page_token,
        }))
    }

    async fn update_job(&self, request: Request<UpdateJobRequest>) -> Answer<UpdateJobResponse> {
        let done = self.record(request, parse::job::edit).await?;
        Ok(Response::new(UpdateJobResponse {
            job: done.jobs().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn call_off_job(
        &self,
        request: Request<CallOffJobRequest>,
    ) -> Answer<CallOffJobResponse> {
        let done = self.record(request, parse::job::call_off).await?;
        Ok(Response::new(CallOffJobResponse {
            job: done.jobs().pop(),
            entry: Some(done.entry),
        }))
    }

    async fn plan_job(&self, request: Request<PlanJobRequest>) -> Answer<PlanJobResponse> {
        let book = self.book();
        let job = find_job(&book, &request.get_ref().job)?;
        let plan = plan_job(&book, job).map_err(EdgeError::from)?;
        Ok(Response::new(PlanJobResponse {
            plan: Some(show::plan::plan(
                &book,
                &plan,
                &likely_use(&book, &plan),
                &likely_sundries(&book, &plan),
                &likely_times(&book, job, &plan),
            )),
        }))
    }

    async fn check_jobs(&self, request: Request<CheckJobsRequest>) -> Answer<CheckJobsResponse> {
        let book = self.book();
        let asked = request.get_ref();
        let now = self.desk.now();
        let meant = self.read(asked, parse::job::to_check(asked, &book, now))?;
        let mut checks = check_jobs(&book, &meant.ids, now).map_err(EdgeError::from)?;
        let place = meant.place.as_ref();
        checks.retain(|check| place.is_none_or(|place| check.job.place == *place));
        let or_check = match self.read(asked, parse::job::or_routine(asked))? {
            Some((job, routine)) => {
                let check = check_by(&book, &job, &routine, now).map_err(EdgeError::from)?;
                Some(show::check::job_check(&book, check, now))
            }
            None => None,
        };
        let elsewhere = meant.elsewhere.and_then(|id| book.job(&id));
        Ok(Response::new(CheckJobsResponse {
            next_elsewhere: elsewhere.map(|job| show::job::job_at(job, now)),
            or_check,
            ..show::check::checks(&book, checks, now)
        }))
    }

    async fn get_today(&self, request: Request<GetTodayRequest>) -> Answer<GetTodayResponse> {
        let here = parse::job::here(request.get_ref()).map_err(EdgeError::from)?;
        let book = self.book();
        let now = self.desk.now();
        let mut today = today(&book, here.as_ref(), now);
        // Whoever sees no prices sees no orders, and has none on a copy either.
        if self.caller(&request).prices() == Prices::Hidden {
            today.on_their_way.clear();
        }
        Ok(Response::new(show::today::today(&book, today, now)))
    }

    async fn take_job(&self, request: Request<TakeJobRequest>) -> Answer<TakeJobResponse> {
        let parse = parse::take::take;
        let asked = request.get_ref().job.clone();
        let (done, picked) = if request.get_ref().validate_only {
            self.look(request, parse)?
        } else {
            (self.record(request, parse).await?, Vec::new())
        };
        let book = self.book();
        let moves = |deed: &v1::Deed| deed.kind() == v1::DeedKind::Moved;
        let job: Option<Id> = asked.parse().ok();
        let job = job.and_then(|id| book.job(&id).cloned());
        let job = job.filter(|_| done.entry.deeds.iter().any(moves));
        Ok(Response::new(TakeJobResponse {
            bring_by_time: job.map(|job| show::moment(bring_by(&book, &job))),
            job: done.jobs().pop(),
            entry: Some(done.entry),
            picked,
        }))
    }

    async fn log_use(&self, request: Request<LogUseRequest>) -> Answer<LogUseResponse> {
        let parse = parse::log::log_use;
        let (done, picked) = if request.get_ref().validate_only {
            self.look(request, parse)?
        } else {
            (self.record(request, parse).await?, Vec::new())
        };
        Ok(Response::new(LogUseResponse {
            pieces: done.pieces(),
            job: done.jobs().pop(),
            entry: Some(done.entry),
            picked,
        }))
    }
}

pub(super) fn find_job<'a>(book: &'a Book, word: &str) -> Result<&'a Job, EdgeError> {
    let id = parse::id("job", word)?;
    let job = book.job(&id).map(AsRef::as_ref);
    job.ok_or_else(|| Refusal::no_id(Reason::JobUnknown, "job", "job", &id).into())
}

/// Orders jobs by start, then by id. Digits enough for any second, from an offset so that none is
/// negative.
fn key(seconds: i64, nanos: i32, id: &str) -> String {
    const OFFSET_S: i128 = 1_000_000_000_000;
    let seconds = i128::from(seconds).saturating_add(OFFSET_S);
    format!("{seconds:014}.{nanos:09} {id}")
}

fn start_key(job: &Job) -> String {
    let start = show::moment(job.starts_at);
    key(start.seconds, start.nanos, job.id.as_str())
}

fn shown_start_key(job: &v1::Job) -> String {
    let start = job.start_time.unwrap_or_default();
    key(start.seconds, start.nanos, &job.job)
}
