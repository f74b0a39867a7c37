//! Every reason of the contract is met by clients that we did not write: the table that says how is
//! `tests/public/reasons.json`. Here is a service without TLS; `shop_clients` has the rows that any
//! book of a shop shows and those of access, `states` the others.

use std::collections::BTreeMap;
use std::fs;

use fettlebook_contract::v1::ErrorReason;
use serde_json::Value;

use crate::binaries::{Fettled, kept_demo};
use crate::clients;
use crate::python::root;

/// States that `states` puts a service into, that of a shop with devices (`shop_clients`), that of a service
/// without TLS, which has none, that of one whose book another has (`two_nodes`), and that of one whose engine
/// takes nothing (`engine_figures`).
const DRIVEN: [&str; 14] = [
    "watched",
    "harmed",
    "damaged",
    "newer",
    "lost",
    "edited",
    "long",
    "stopped",
    "full",
    "rested",
    "shop",
    "plain",
    "elsewhere",
    "unready",
];

#[test]
fn every_reason_of_the_contract_has_one_row_and_every_row_is_run() {
    let text = fs::read_to_string(root().join("tests/public/reasons.json")).unwrap();
    let rows: Vec<Value> = serde_json::from_str(&text).unwrap();
    let mut found = BTreeMap::new();
    for row in &rows {
        *found.entry(row["reason"].as_str().unwrap()).or_insert(0) += 1;
        if let Some(state) = row.get("state").map(|state| state.as_str().unwrap()) {
            assert!(DRIVEN.contains(&state), "nobody drives the state {state}");
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
fn three_clients_do_a_days_work_without_tls_and_are_told_that_there_are_no_devices() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(&kept_demo(folder.path(), &[]));
    clients::all(fettled.address(), "use");
    clients::all(fettled.address(), "TLS_NEEDED");
    fettled.stop();
}
