//! Every reason of the contract is met by clients that we did not write: the table that says how is
//! `tests/public/reasons.json`. Here are the rows that any book shows; `states` has the others.

use std::collections::BTreeMap;
use std::fs;

use fettlebook_contract::v1::ErrorReason;
use serde_json::Value;

use crate::binaries::{Fettled, kept_demo};
use crate::clients;
use crate::python::root;

/// States that `states` puts a service into.
const DRIVEN: [&str; 8] = [
    "watched", "harmed", "damaged", "lost", "edited", "long", "stopped", "full",
];

/// States of a service that answers for access: one that speaks TLS and knows devices, and one that does
/// not. This service does not answer for it, so the rows of these states are written and not run.
const OF_ACCESS: [&str; 2] = ["shop", "plain"];

#[test]
fn every_reason_of_the_contract_has_one_row_and_every_row_is_run() {
    let text = fs::read_to_string(root().join("tests/public/reasons.json")).unwrap();
    let rows: Vec<Value> = serde_json::from_str(&text).unwrap();
    let mut found = BTreeMap::new();
    for row in &rows {
        *found.entry(row["reason"].as_str().unwrap()).or_insert(0) += 1;
        if let Some(state) = row.get("state").map(|state| state.as_str().unwrap()) {
            let known = DRIVEN.contains(&state) || OF_ACCESS.contains(&state);
            assert!(known, "nobody drives the state {state}");
        }
    }
    let reasons = (1..).map_while(|number| ErrorReason::try_from(number).ok());
    let mut count = 0;
    for reason in reasons {
        let name = reason.as_str_name().trim_start_matches("ERROR_REASON_");
        assert_eq!(found.get(name), Some(&1), "{name}");
        count += 1;
    }
    assert_eq!(count, rows.len());
}

#[test]
fn three_clients_meet_every_refusal_of_an_ordinary_day_and_do_its_work() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(&kept_demo(folder.path(), &[]));
    clients::all(fettled.address(), "rows");
    clients::all(fettled.address(), "use");
    fettled.stop();
}
