//! Bad input about jobs, logs and the book: every command is given something it cannot take,
//! answers with the reason and the field, and leaves the journal as it was, to the byte.

use fettlebook_contract::v1;

use super::{World, fresh, job, stamp, words};

#[tokio::test]
async fn jobs_and_logs_that_make_no_sense_are_not_recorded() {
    let world = World::shop().await;
    let (before, mut jobs) = (world.journal(), world.jobs());
    let book = |job: v1::Job| v1::BookJobRequest {
        request_id: fresh(),
        job: Some(job),
    };
    let new = job("saloon-friday");
    let past = v1::Job {
        start_time: stamp("2026-06-02T06:00:00Z"),
        ..new.clone()
    };
    let timeless = v1::Job {
        start_time: None,
        ..new.clone()
    };
    let unknown = v1::Job {
        car: "hearse".to_owned(),
        ..new.clone()
    };
    let no_panel = v1::Job {
        left_out_panels: words(&["hood-left"]),
        ..new.clone()
    };
    let nothing = v1::Job {
        left_out_panels: all_panels(),
        ..new
    };
    let off = |job: &str| v1::CallOffJobRequest {
        request_id: fresh(),
        job: job.to_owned(),
        ..Default::default()
    };
    let log = |job: &str| v1::LogUseRequest {
        request_id: fresh(),
        job: job.to_owned(),
        ..Default::default()
    };
    let of_job = || log("saloon-thursday");
    let pad = |tag: &str| v1::PadUse {
        tag: tag.to_owned(),
        ..Default::default()
    };
    let stranger = v1::LogUseRequest {
        pads: vec![pad("P-99")],
        ..of_job()
    };
    let machine = v1::LogUseRequest {
        pads: vec![pad("M-01")],
        ..of_job()
    };
    let swap = v1::Swap {
        planned: "P-01".to_owned(),
        used: "P-99".to_owned(),
    };
    let swapped = v1::LogUseRequest {
        swaps: vec![swap],
        ..of_job()
    };
    let fallen = v1::LogUseRequest {
        dropped_towel_count: -1,
        ..of_job()
    };
    let poured = v1::LiquidAmount {
        amount: Some(v1::liquid_amount::Amount::VolumeUl(-5_000)),
    };
    let poured = v1::BottleUse {
        bottle: "B-01".to_owned(),
        amount: Some(poured),
    };
    let poured = v1::LogUseRequest {
        bottles: vec![poured],
        ..of_job()
    };
    let both = v1::LogUseRequest {
        loose: Some(v1::LooseUse::default()),
        ..of_job()
    };
    refused! {
        jobs.book_job(book(past)) => "TIME_PAST" "job.start_time";
        jobs.book_job(book(timeless)) => "FIELD_MISSING" "job.start_time";
        jobs.book_job(book(unknown)) => "CAR_UNKNOWN" "job.car";
        jobs.book_job(book(no_panel)) => "PANEL_UNKNOWN" "job.left_out_panels";
        jobs.book_job(book(nothing)) => "NO_PLAN" "job.left_out_panels";
        jobs.book_job(book(job("saloon-thursday"))) => "ID_TAKEN" "job.job";
        jobs.call_off_job(off("never")) => "JOB_UNKNOWN" "job";
        jobs.log_use(log("never")) => "JOB_UNKNOWN" "job";
        jobs.log_use(log("")) => "FIELD_MISSING" "job";
        jobs.log_use(stranger) => "TAG_UNKNOWN" "pads.tag";
        jobs.log_use(machine) => "WRONG_SORT" "pads.tag";
        jobs.log_use(swapped) => "TAG_UNKNOWN" "swaps.used";
        jobs.log_use(fallen) => "QUANTITY_INVALID" "dropped_towel_count";
        jobs.log_use(poured) => "QUANTITY_INVALID" "bottles.amount.volume_ul";
        jobs.log_use(both) => "FIELD_INVALID" "loose";
    }
    assert_eq!(world.journal(), before);
}

fn all_panels() -> Vec<String> {
    fettlebook_model::panel::Panel::ALL
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[tokio::test]
async fn reversals_and_policies_that_make_no_sense_are_not_recorded() {
    let world = World::shop().await;
    let (before, mut book) = (world.journal(), world.book());
    let reverse = |seq| v1::ReverseEntryRequest {
        request_id: fresh(),
        seq,
        ..Default::default()
    };
    let policy = |key: &str, value| v1::UpdatePolicyRequest {
        request_id: fresh(),
        changes: vec![v1::PolicyChange {
            key: key.to_owned(),
            value,
        }],
        ..Default::default()
    };
    let none = v1::UpdatePolicyRequest {
        changes: Vec::new(),
        ..policy("", None)
    };
    refused! {
        book.reverse_entry(reverse(0)) => "FIELD_MISSING" "seq";
        book.reverse_entry(reverse(-3)) => "QUANTITY_INVALID" "seq";
        book.reverse_entry(reverse(9_999)) => "ENTRY_UNKNOWN" "seq";
        book.update_policy(policy("dot_size", Some(300))) => "POLICY_UNKNOWN" "changes.key";
        book.update_policy(policy("", Some(300))) => "FIELD_MISSING" "changes.key";
        book.update_policy(policy("dot_ul", Some(-300))) => "QUANTITY_INVALID" "changes.dot_ul";
        book.update_policy(none) => "FIELD_MISSING" "changes";
    }
    assert_eq!(world.journal(), before);
}
