//! What is said of a command line that was not understood, and that its example is understood.

use std::ffi::OsString;

use super::{fault, filled};
use crate::args::{Cli, tree};
use clap::ColorChoice;

/// What is said of a line, and its example as the invented shop fills it in.
fn told(line: &str) -> (String, String) {
    let args: Vec<OsString> = words(line).into_iter().map(Into::into).collect();
    let error = Cli::read(&args, ColorChoice::Never).expect_err(line);
    let fault = fault(&args, &error, &tree());
    assert_eq!(fault.exit.code(), 2, "{line}");
    let example = filled(&fault.hints.example, |_| None);
    (format!("{} {}", fault.message, fault.todo), example)
}

/// The words of a line in which some are in single quotes.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (at, part) in line.split('\'').enumerate() {
        if at % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

#[test]
fn what_was_read_is_named_and_the_example_is_what_was_typed_put_right() {
    for (line, named, example) in [
        ("fettle bottle", "'bottle'", "fettle kit list"),
        (
            "fettle job delete hatch",
            "'delete'",
            "fettle job call-off saloon-thursday",
        ),
        ("fettle kit lst", "'lst'", "fettle kit list"),
        ("fettle kit list --csvv", "'--csvv'", "fettle kit list"),
        ("fettle check hatch --csv", "'--csv'", "fettle check hatch"),
        (
            "fettle kit list --decimal-comma",
            "--csv",
            "fettle kit list --decimal-comma --csv",
        ),
        ("fettle bin", "TAG", "fettle bin P-01"),
        (
            "fettle bin P-08 --because mistake",
            "'mistake'",
            "fettle bin P-08 --because torn",
        ),
        (
            "fettle count T-01 --clean -1 --soiled 3",
            "'-1'",
            "fettle count T-01 --clean 2 --soiled 3",
        ),
        (
            "fettle make add pad wool-150 --material wool --grade coarse --face 6",
            "'6'",
            "fettle make add pad wool-150 --material wool --grade coarse --face '150 mm'",
        ),
        (
            "fettle make add towel white --weight heavy",
            "'heavy'",
            "fettle make add towel white --weight '400 g/m2'",
        ),
        (
            "fettle log hatch --swap P-24",
            "'P-24'",
            "fettle log hatch --swap P-01=P-09",
        ),
        ("fettle kit show", "TAG", "fettle kit show P-01"),
        (
            "fettle quote hatch --markup dear",
            "'dear'",
            "fettle quote hatch --markup 25%",
        ),
    ] {
        let (said, found) = told(line);
        assert!(said.contains(named), "{line}: {said}");
        assert_eq!(found, example, "{line}");
    }
}

#[test]
fn every_example_is_understood() {
    for line in [
        "fettle bottle",
        "fettle make add machine big --throw 21mm",
        "fettle make add liquid a --grade shiny --price dear --bottle big",
        "fettle supplier add a --lead soon --freight none",
        "fettle routine add one --step 'edges: foo=3'",
        "fettle car add a --class spaceship --film bonnet=thin",
        "fettle log a --pad P-01:eaten --weigh B-02=-5g --panels roof --used B-03=+10ml",
        "fettle kit aside P-08",
        "fettle book backup",
        "fettle order add",
        "fettle job add",
        "fettle shop pair --name",
        "fettle reorder --palce",
        "fettle completions tcsh",
    ] {
        let (_, example) = told(line);
        let args: Vec<OsString> = words(&example).into_iter().map(Into::into).collect();
        if let Err(error) = Cli::read(&args, ColorChoice::Never) {
            assert!(!error.use_stderr(), "{line}: {example}: {error}");
        }
    }
}

#[test]
fn a_word_of_the_trade_is_led_to_its_command() {
    let (said, _) = told("fettle bin S-01 --because mistake");
    assert!(said.contains("fettle undo"), "{said}");
    let (said, _) = told("fettle car cost black-suv");
    assert!(said.contains("fettle job cost"), "{said}");
}

/// A book may be called as a command is.
#[test]
fn what_stands_behind_an_option_is_no_command() {
    let (said, example) = told("fettle --book demo quote");
    assert!(said.contains("'fettle quote' lacks <JOB>"), "{said}");
    assert_eq!(example, "fettle --book demo quote saloon-thursday");
}
