//! The service as clients meet it: real calls over a pipe in memory, on a book in a folder of its
//! own.
//!
//! The world is the invented shop at its smallest: one of each make, a few pieces, a car, a routine
//! and a job booked for the morning.

/// Expects calls to be refused with a reason and a field.
macro_rules! refused {
    ($($call:expr => $reason:literal $field:literal;)+) => {
        $({
            let status = $call.await.unwrap_err();
            super::assert_told(&status, $reason, $field);
        })+
    };
}

mod asks;
mod bad_definitions;
mod bad_jobs;
mod bad_kit;
mod changed;
mod clocks;
mod condition;
mod copy;
mod day;
mod devices;
mod edits;
mod formats;
mod fuzz;
mod health;
mod keep;
mod kept;
mod lists;
mod lives;
mod load;
mod looked;
mod month;
mod notebook;
mod numbers;
mod prices;
mod quote;
mod raw;
mod required;
mod retries;
mod several;
mod sought;
mod start;
mod supply;
mod take;
mod tcp;
mod traced;
mod unreadable;
mod wear;

use std::path::Path;
use std::sync::Arc;

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_contract::v1::supply_service_client::SupplyServiceClient;
use fettlebook_yard::{coarse_foam, make, makes, one_step, saloon};
use prost_types::Timestamp;
use tonic::transport::Channel;
use tonic::{Response, Status};
use tonic_types::StatusExt as _;
use uuid::Uuid;

use super::Caller;
use super::status::code_of;
use crate::access::Role;
use crate::desk::{Desk, DeskOptions};
use crate::solo::{self, SoloService};
use crate::store::FolderStore;
use crate::testing::TestClock;

/// The evening before the job.
const NOW: &str = "2026-06-03T18:00:00Z";
/// Eight in the morning, local time.
const START: &str = "2026-06-04T06:00:00Z";

/// A call of which the answer alone matters: a refusal fails the test.
trait Answered<T>: Future<Output = Result<Response<T>, Status>> + Sized {
    /// The answer.
    async fn answer(self) -> T {
        self.await.unwrap().into_inner()
    }
}

impl<T, F: Future<Output = Result<Response<T>, Status>>> Answered<T> for F {}

struct World {
    folder: tempfile::TempDir,
    clock: Arc<TestClock>,
    service: SoloService,
}

impl World {
    /// A service on an empty book.
    async fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let clock = TestClock::at(NOW);
        let service = solo::open(
            folder.path(),
            DeskOptions::new(clock.clone(), Uuid::now_v7()),
        )
        .await
        .unwrap();
        Self {
            folder,
            clock,
            service,
        }
    }

    /// The same book served to a caller of this role.
    async fn again_as(self, role: Role) -> Self {
        self.service.close().await.unwrap();
        let options = DeskOptions::new(self.clock.clone(), Uuid::now_v7());
        let (desk, report) =
            Desk::open(Arc::new(FolderStore::at(self.folder.path())), &options).unwrap();
        let caller = Caller {
            name: "van-a".into(),
            role,
            place: "".into(),
            tag_letter: None,
            office: None,
        };
        let service = solo::serve(desk, report, caller).await.unwrap();
        Self { service, ..self }
    }

    /// A service on the small shop.
    async fn shop() -> Self {
        let world = Self::empty().await;
        for make in makes() {
            let request = v1::CreateMakeRequest {
                request_id: fresh(),
                make: Some(make),
            };
            world.kit().create_make(request).await.unwrap();
        }
        let coarse: Vec<String> = (1..=6).map(|n| format!("P-0{n}")).collect();
        world
            .receive(
                "coarse-foam-150",
                &coarse.iter().map(String::as_str).collect::<Vec<_>>(),
            )
            .await;
        world.receive("plate-125-m8", &["BP-01"]).await;
        world.receive("orbital-150", &["M-01"]).await;
        world.receive("edgeless-towel-400-g", &["T-01"]).await;
        world.receive("coarse-compound-1-l", &["B-01"]).await;
        world.receive("nitrile-gloves", &["S-01"]).await;
        let car = Some(saloon());
        let request = v1::CreateCarRequest {
            request_id: fresh(),
            car,
            ..Default::default()
        };
        world.jobs().create_car(request).await.unwrap();
        let routine = Some(one_step());
        let request = v1::CreateRoutineRequest {
            request_id: fresh(),
            routine,
        };
        world.jobs().create_routine(request).await.unwrap();
        let request = v1::BookJobRequest {
            request_id: fresh(),
            job: Some(job("saloon-thursday")),
        };
        world.jobs().book_job(request).await.unwrap();
        world
    }

    async fn receive(&self, make: &str, tags: &[&str]) -> v1::Entry {
        let request = v1::ReceiveKitRequest {
            request_id: fresh(),
            make: make.to_owned(),
            tags: tags.iter().map(|tag| (*tag).to_owned()).collect(),
            towel_count: if make.contains("towel") { 20 } else { 0 },
            ..Default::default()
        };
        self.kit()
            .receive_kit(request)
            .answer()
            .await
            .entry
            .unwrap()
    }

    /// Takes a battery of the machine into the kit, BT-01, which is empty.
    async fn receive_battery(&self) {
        let figures = v1::BatteryFigures {
            machine_makes: vec!["orbital-150".to_owned()],
            run_time_s: 1_500,
            ..Default::default()
        };
        let request = v1::CreateMakeRequest {
            request_id: fresh(),
            make: Some(make("battery-18", v1::make::Figures::Battery(figures))),
        };
        self.kit().create_make(request).await.unwrap();
        self.receive("battery-18", &["BT-01"]).await;
    }

    fn kit(&self) -> KitServiceClient<Channel> {
        KitServiceClient::new(self.service.channel())
    }

    fn jobs(&self) -> JobServiceClient<Channel> {
        JobServiceClient::new(self.service.channel())
    }

    fn book(&self) -> BookServiceClient<Channel> {
        BookServiceClient::new(self.service.channel())
    }

    fn supply(&self) -> SupplyServiceClient<Channel> {
        SupplyServiceClient::new(self.service.channel())
    }

    async fn piece(&self, tag: &str) -> v1::Piece {
        let request = v1::GetPieceRequest {
            tag: tag.to_owned(),
        };
        self.kit().get_piece(request).answer().await.piece.unwrap()
    }

    /// Every byte of the journal.
    fn journal(&self) -> Vec<u8> {
        journal_of(self.folder.path())
    }
}

fn journal_of(folder: &Path) -> Vec<u8> {
    let mut files: Vec<_> = std::fs::read_dir(folder.join("journal"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    files
        .iter()
        .flat_map(|file| std::fs::read(file).unwrap())
        .collect()
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn fresh() -> String {
    Uuid::now_v7().to_string()
}

fn stamp(text: &str) -> Option<Timestamp> {
    Some(super::show::moment(text.parse().unwrap()))
}

fn job(id: &str) -> v1::Job {
    v1::Job {
        job: id.to_owned(),
        car: "medium-saloon-silver".to_owned(),
        routine: "one-step".to_owned(),
        place: "bench".to_owned(),
        start_time: stamp(START),
        utc_offset_s: 7_200,
        ..Default::default()
    }
}

/// Asserts what a refusal says to programs: reason, the code that goes with it, and the field.
#[track_caller]
fn assert_told(status: &Status, reason: &str, field: &str) {
    let info = status
        .get_details_error_info()
        .unwrap_or_else(|| panic!("no reason: {status:?}"));
    assert_eq!(info.reason, reason, "{status:?}");
    assert_eq!(info.domain, fettlebook_contract::ERROR_DOMAIN);
    let known = v1::ErrorReason::from_str_name(&format!("ERROR_REASON_{reason}")).unwrap();
    assert_eq!(status.code(), code_of(known), "{status:?}");
    let violation = status
        .get_details_bad_request()
        .and_then(|bad| bad.field_violations.into_iter().next())
        .map(|violation| violation.field)
        .unwrap_or_default();
    assert_eq!(violation, field, "{status:?}");
    assert!(
        status.message().ends_with(['.', '…']),
        "{}",
        status.message()
    );
}
