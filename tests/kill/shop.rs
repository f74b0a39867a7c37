//! The invented shop that the callers work in, set up over gRPC like any other.
//!
//! It serves the kill loop and the soak: a dozen pads, a plate, a machine, bottles, towels and
//! gloves, and a job booked far ahead.

use fettlebook_contract::v1;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_yard::{
    CAR, GLOVES_MAKE, LIQUID_MAKE, MACHINE_MAKE, PAD_MAKE, PLATE_MAKE, ROUTINE, TOWEL_MAKE, makes,
    one_step, saloon,
};
use tonic::transport::Channel;
use uuid::Uuid;

/// Pads that are there from the start: `P-01` and on.
pub(crate) const PAD_COUNT: usize = 12;
/// Bottles: `B-01` and on.
pub(crate) const BOTTLE_COUNT: usize = 4;

/// A new request id.
pub(crate) fn fresh() -> String {
    Uuid::now_v7().to_string()
}

/// The tag of a piece.
pub(crate) fn tag(letters: &str, number: usize) -> String {
    format!("{letters}-{number:02}")
}

/// Sets the shop up in an empty book, and gives the number of entries that took.
pub(crate) async fn stock(channel: &Channel) -> i64 {
    let mut kit = KitServiceClient::new(channel.clone());
    let mut entry_count = 0;
    for make in makes() {
        let request = v1::CreateMakeRequest {
            request_id: fresh(),
            make: Some(make),
        };
        kit.create_make(request).await.unwrap();
        entry_count += 1;
    }
    let pieces = [
        (PAD_MAKE, PAD_COUNT, 0),
        (PLATE_MAKE, 1, 0),
        (MACHINE_MAKE, 1, 0),
        (LIQUID_MAKE, BOTTLE_COUNT, 0),
        (TOWEL_MAKE, 1, 20),
        (GLOVES_MAKE, 1, 0),
    ];
    for (make, piece_count, towel_count) in pieces {
        let request = v1::ReceiveKitRequest {
            request_id: fresh(),
            make: make.to_owned(),
            piece_count: i64::try_from(piece_count).unwrap(),
            towel_count,
            ..Default::default()
        };
        kit.receive_kit(request).await.unwrap();
        entry_count += 1;
    }
    entry_count + book_job(channel).await
}

/// A car, a routine and a job in a month, for the check to look at.
async fn book_job(channel: &Channel) -> i64 {
    let mut jobs = JobServiceClient::new(channel.clone());
    let car = v1::CreateCarRequest {
        request_id: fresh(),
        car: Some(saloon()),
        ..Default::default()
    };
    let made = jobs.create_car(car).await.unwrap().into_inner();
    let mut start_time = made.entry.unwrap().recorded_time.unwrap();
    start_time.seconds += 30 * 24 * 3_600;
    let routine = v1::CreateRoutineRequest {
        request_id: fresh(),
        routine: Some(one_step()),
    };
    jobs.create_routine(routine).await.unwrap();
    let job = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(v1::Job {
            job: "saloon-some-day".to_owned(),
            car: CAR.to_owned(),
            routine: ROUTINE.to_owned(),
            place: "bench".to_owned(),
            start_time: Some(start_time),
            ..Default::default()
        }),
    };
    jobs.book_job(job).await.unwrap();
    3
}
