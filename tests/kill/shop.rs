//! The invented shop that the callers work in, set up over gRPC like any other.
//!
//! It serves the kill loop and the soak: a dozen pads, a plate, a machine, bottles, towels and
//! gloves, and a job booked far ahead.

use fettlebook_contract::v1;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_contract::v1::make::Figures;
use tonic::transport::Channel;
use uuid::Uuid;

/// Pads that are there from the start: `P-01` and on.
pub(crate) const PAD_COUNT: usize = 12;
/// Bottles: `B-01` and on.
pub(crate) const BOTTLE_COUNT: usize = 4;
/// The make of the pads.
pub(crate) const PAD_MAKE: &str = "coarse-foam-150";

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
        ("plate-125-m8", 1, 0),
        ("orbital-150", 1, 0),
        ("coarse-compound-1-l", BOTTLE_COUNT, 0),
        ("edgeless-towel-400-g", 1, 20),
        ("nitrile-gloves", 1, 0),
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
        car: Some(v1::Car {
            car: "medium-saloon-silver".to_owned(),
            class: v1::CarClass::MediumSaloon.into(),
            ..Default::default()
        }),
        ..Default::default()
    };
    let made = jobs.create_car(car).await.unwrap().into_inner();
    let mut start_time = made.entry.unwrap().recorded_time.unwrap();
    start_time.seconds += 30 * 24 * 3_600;
    let routine = v1::CreateRoutineRequest {
        request_id: fresh(),
        routine: Some(v1::Routine {
            routine: "one-step".to_owned(),
            name: "one step".to_owned(),
            steps: vec![step()],
            towel_make: "edgeless-towel-400-g".to_owned(),
            ..Default::default()
        }),
    };
    jobs.create_routine(routine).await.unwrap();
    let job = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(v1::Job {
            job: "saloon-some-day".to_owned(),
            car: "medium-saloon-silver".to_owned(),
            routine: "one-step".to_owned(),
            place: "bench".to_owned(),
            start_time: Some(start_time),
            ..Default::default()
        }),
    };
    jobs.book_job(job).await.unwrap();
    3
}

/// The one step that is worked here.
pub(crate) fn step() -> v1::Step {
    v1::Step {
        step: "cut".to_owned(),
        machine_make: "orbital-150".to_owned(),
        pad_make: PAD_MAKE.to_owned(),
        liquid_make: "coarse-compound-1-l".to_owned(),
        ..Default::default()
    }
}

fn make(id: &str, figures: Figures) -> v1::Make {
    v1::Make {
        make: id.to_owned(),
        name: id.replace('-', " "),
        figures: Some(figures),
        ..Default::default()
    }
}

fn makes() -> [v1::Make; 6] {
    let pad = v1::PadFigures {
        material: v1::PadMaterial::ThinFoam.into(),
        grade: v1::Grade::Coarse.into(),
        face_mm: 150,
        ..Default::default()
    };
    let plate = v1::PlateFigures {
        diameter_mm: 135,
        thread: "M8".to_owned(),
        rated_speed_per_min: Some(12_000),
        ..Default::default()
    };
    let machine = v1::MachineFigures {
        action: v1::MachineAction::Orbital.into(),
        throw_mm: Some(15),
        thread: "M8".to_owned(),
        max_speed_per_min: 5_500,
        work_speed_per_min: Some(4_500),
        ..Default::default()
    };
    let towel = v1::TowelFigures {
        weight_g_per_m2: 400,
        ..Default::default()
    };
    let liquid = v1::LiquidFigures {
        grade: v1::Grade::Coarse.into(),
        bottle_ul: 1_000_000,
        tare_mg: Some(60_500),
        ..Default::default()
    };
    let gloves = v1::SundryFigures {
        unit: v1::Unit::Pair.into(),
        pack_quantity: 50,
    };
    [
        make(PAD_MAKE, Figures::Pad(pad)),
        make("plate-125-m8", Figures::Plate(plate)),
        make("orbital-150", Figures::Machine(machine)),
        make("edgeless-towel-400-g", Figures::Towel(towel)),
        make("coarse-compound-1-l", Figures::Liquid(liquid)),
        make("nitrile-gloves", Figures::Sundry(gloves)),
    ]
}
