//! The small shop as its owner sets it up, and what else its owner does.

use fettlebook_yard::{makes, one_step};

use super::*;

impl World {
    /// Sets the small shop up as its owner does.
    pub(super) async fn set_up(&self) {
        let mut kit = KitServiceClient::new(self.services());
        for mut make in makes() {
            if make.make == fettlebook_yard::PAD_MAKE {
                MARKUP.clone_into(&mut make.name);
            }
            let make = Some(make);
            let request_id = fresh();
            let asked = v1::CreateMakeRequest { request_id, make };
            kit.create_make(asked).await.unwrap();
        }
        let pads: Vec<String> = (1..=6).map(|number| format!("P-0{number}")).collect();
        let pads: Vec<&str> = pads.iter().map(String::as_str).collect();
        for (make, tags) in [
            (fettlebook_yard::PAD_MAKE, pads.as_slice()),
            (fettlebook_yard::PLATE_MAKE, &["BP-01"]),
            (fettlebook_yard::MACHINE_MAKE, &["M-01"]),
            (fettlebook_yard::TOWEL_MAKE, &["T-01"]),
            (fettlebook_yard::LIQUID_MAKE, &["B-01"]),
            (fettlebook_yard::GLOVES_MAKE, &["S-01"]),
        ] {
            let asked = v1::ReceiveKitRequest {
                request_id: fresh(),
                make: make.to_owned(),
                tags: tags.iter().map(|tag| (*tag).to_owned()).collect(),
                towel_count: if make == fettlebook_yard::TOWEL_MAKE {
                    20
                } else {
                    0
                },
                ..Default::default()
            };
            kit.receive_kit(asked).await.unwrap();
        }
        self.have_the_plan().await;
        self.book_at(JOB, "2026-06-04T06:00:00Z").await;
    }

    /// A car and what is done to it.
    async fn have_the_plan(&self) {
        let mut jobs = JobServiceClient::new(self.services());
        let asked = v1::CreateCarRequest {
            request_id: fresh(),
            car: Some(saloon()),
            ..Default::default()
        };
        jobs.create_car(asked).await.unwrap();
        let asked = v1::CreateRoutineRequest {
            request_id: fresh(),
            routine: Some(one_step()),
        };
        jobs.create_routine(asked).await.unwrap();
    }

    /// Books a job at the bench, two hours east of Greenwich.
    pub(super) async fn book_at(&self, job: &str, start: &str) {
        let start: jiff::Timestamp = start.parse().unwrap();
        let job = v1::Job {
            job: job.to_owned(),
            car: fettlebook_yard::CAR.to_owned(),
            routine: fettlebook_yard::ROUTINE.to_owned(),
            place: "bench".to_owned(),
            start_time: Some(prost_types::Timestamp {
                seconds: start.as_second(),
                nanos: 0,
            }),
            utc_offset_s: 7_200,
            ..Default::default()
        };
        let asked = v1::BookJobRequest {
            request_id: fresh(),
            job: Some(job),
        };
        let mut jobs = JobServiceClient::new(self.services());
        jobs.book_job(asked).await.unwrap();
    }

    /// Takes a piece to another place.
    pub(super) async fn move_to(&self, tag: &str, place: &str) {
        let asked = v1::MoveKitRequest {
            request_id: fresh(),
            tags: vec![tag.to_owned()],
            place: place.to_owned(),
            ..Default::default()
        };
        let mut kit = KitServiceClient::new(self.services());
        kit.move_kit(asked).await.unwrap();
    }

    /// Loses every pad.
    pub(super) async fn lose_the_pads(&self) {
        let mut kit = KitServiceClient::new(self.services());
        let asked = v1::BinKitRequest {
            request_id: fresh(),
            tags: (1..=6).map(|number| format!("P-0{number}")).collect(),
            reason: v1::BinReason::Lost.into(),
            ..Default::default()
        };
        kit.bin_kit(asked).await.unwrap();
    }
}
