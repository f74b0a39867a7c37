//! Goal: the formulas agree with what others have published.
//!
//! Method: every case of `cases/wear.json`, `cases/use.json` and `cases/stock.json` is computed with our
//! functions and compared at the case's own tolerance, exact decimals to the last digit, and with the
//! printed figure at the tolerance of its rounding; each case names its source. A case without an
//! implementation fails, and so does a figure, unless a comment says that nothing here asks for it.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod cars;
mod case;
mod chances;
mod costs;
mod levels;
mod liquid;
mod lives;
mod netting;
mod wear;

use serde_json::Value;

const WEAR_CASES: &str = include_str!("../cases/wear.json");
const USE_CASES: &str = include_str!("../cases/use.json");
const STOCK_CASES: &str = include_str!("../cases/stock.json");

/// Sources: beside each case in the file.
#[test]
fn every_published_case_of_wear_and_lives_agrees_at_its_tolerance() {
    assert_eq!(agreeing_cases(WEAR_CASES), 27);
}

/// Sources: beside each case in the file.
#[test]
fn every_published_case_of_real_use_agrees_at_its_tolerance() {
    assert_eq!(agreeing_cases(USE_CASES), 4);
}

/// Sources: beside each case in the file.
#[test]
fn every_published_case_of_supply_and_cost_agrees_at_its_tolerance() {
    assert_eq!(agreeing_cases(STOCK_CASES), 21);
}

fn agreeing_cases(file: &str) -> usize {
    let file: Value = serde_json::from_str(file).unwrap();
    let cases = file["cases"].as_array().unwrap();
    for case in cases {
        let (computation, inputs) = (case["computation"].as_str().unwrap(), &case["inputs"]);
        let figures = wear::compute(computation, inputs)
            .or_else(|| lives::compute(computation, inputs))
            .or_else(|| chances::compute(computation, inputs))
            .or_else(|| liquid::compute(computation, case))
            .or_else(|| levels::compute(computation, inputs))
            .or_else(|| netting::compute(computation, inputs))
            .or_else(|| costs::compute(computation, inputs))
            .unwrap_or_else(|| panic!("{}: {computation} has no implementation", case["id"]));
        figures.agree_with(case);
    }
    cases.len()
}
