//! Examples for lines that were refused, before names of a book stand in them.

use std::ffi::OsString;

use super::{found, respelt, with_value, without};
use crate::args::tree;
use crate::exit::Exit;
use crate::fault::Fault;

fn words(line: &str) -> Vec<OsString> {
    line.split('|').map(Into::into).collect()
}

fn fault(name: &str, meant: &str) -> Fault {
    let mut fault = Fault::own("ROUTINE_UNKNOWN", Exit::NotFound, "No.", "");
    name.clone_into(&mut fault.hints.name);
    meant.clone_into(&mut fault.hints.meant);
    fault
}

#[test]
fn a_name_that_is_only_spelt_otherwise_is_put_right() {
    let line = words("fettle|job|add|a|--routine|twostep");
    let put = respelt(&line, &fault("twostep", "two-step")).unwrap();
    assert_eq!(put.last().unwrap(), "two-step");
    let line = words("fettle|routine|add|a|--step|cut: machine=big_orbital, pad=x");
    let put = respelt(&line, &fault("big_orbital", "big-orbital")).unwrap();
    assert_eq!(put.last().unwrap(), "cut: machine=big-orbital, pad=x");
}

#[test]
fn another_name_is_not_taken_for_one_that_was_meant() {
    let line = words("fettle|log|estate");
    assert_eq!(respelt(&line, &fault("estate", "estate-mon")), None);
    assert_eq!(respelt(&line, &fault("estate", "")), None);
}

#[test]
fn no_example_names_one_thing_twice_for_another() {
    let mut unknown = fault("B-06", "B-01");
    unknown.reason = "TAG_UNKNOWN";
    let line = words("fettle|fill|B-06|from|B-01");
    assert_eq!(found(&line, &tree(), &unknown), "fettle kit list");
    let line = words("fettle|fill|B-06|from|B-02");
    assert_eq!(
        found(&line, &tree(), &unknown),
        "fettle fill B-01 from B-02"
    );
}

#[test]
fn an_option_is_left_out_or_given_another_value() {
    let line: Vec<String> = ["fettle", "wash", "P-01", "--done", "tomorrow", "--json"]
        .map(Into::into)
        .to_vec();
    assert_eq!(
        without(&line, "--done").join(" "),
        "fettle wash P-01 --json"
    );
    let put = with_value(&line, "--done", "now").unwrap();
    assert_eq!(put.join(" "), "fettle wash P-01 --done now --json");
    assert_eq!(with_value(&line, "--start", "now"), None);
}

#[test]
fn an_option_that_takes_no_value_is_left_out_or_added() {
    let told = |line: &str, option: &str| {
        let fault = Fault::usage(option, "It cannot be so.");
        found(&words(line), &tree(), &fault)
    };
    assert_eq!(
        told("fettle|entries|--follow|--about|P-01", "--follow"),
        "fettle entries --about P-01"
    );
    assert_eq!(
        told("fettle|start|--kit|big", "--yes"),
        "fettle start --kit big --yes"
    );
    assert_eq!(told("fettle|start", "--kit"), "fettle start --kit big");
}
