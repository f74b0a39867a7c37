//! Many callers at once on a real `fettled`, for a minute or as long as told: does its memory stay
//! flat, and does nothing fail but what is turned away?
//!
//! It serves whoever changes the service. It ends with 1 when any error but shedding came, or when
//! the memory grew by more than is allowed between the half and the end.
//!
//! ```text
//! cargo bench --bench soak
//! cargo bench --bench soak -- --seconds 600 --callers 64 --growth-percent 10
//! ```
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    reason = "it ends by panicking where it cannot go on, and what it prints is what it is for"
)]

#[allow(dead_code, reason = "the kill loop uses the rest of it")]
#[path = "../kill/fettled.rs"]
mod fettled;
#[allow(dead_code, reason = "the kill loop uses the rest of it")]
#[path = "../kill/shop.rs"]
mod shop;
#[path = "../kill/soak.rs"]
mod soak;

use std::process::ExitCode;
use std::time::Duration;

use soak::{Plan, run};

fn plan() -> Plan {
    let mut plan = Plan {
        callers: 64,
        time: Duration::from_secs(60),
        growth_percent_max: 10,
    };
    let mut args = std::env::args().skip(1);
    while let Some(arg) = args.next() {
        let mut number = || args.next().and_then(|text| text.parse().ok());
        let value: Option<u64> = match arg.as_str() {
            "--seconds" | "--callers" | "--growth-percent" => number(),
            // What cargo adds for every bench.
            _ => continue,
        };
        let value = value.unwrap_or_else(|| panic!("{arg} needs a number"));
        match arg.as_str() {
            "--seconds" => plan.time = Duration::from_secs(value),
            "--callers" => plan.callers = value,
            _ => plan.growth_percent_max = value,
        }
    }
    plan
}

fn main() -> ExitCode {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let outcome = runtime.block_on(run(&plan()));
    println!("{outcome}");
    match outcome.broken() {
        None => ExitCode::SUCCESS,
        Some(why) => {
            println!("{why}");
            ExitCode::FAILURE
        }
    }
}
