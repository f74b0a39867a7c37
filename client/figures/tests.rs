//! No figure is left out anywhere: what the contract has of a make can be typed, changed, shown, exported
//! and imported.

use std::collections::BTreeSet;

use clap::Parser as _;
use fettlebook_contract::v1::Make;
use prost_reflect::Kind;

use super::{FIGURES, Held};
use crate::args::Cli;
use crate::json;

/// Fields that are told by the option of another.
const WITH_ANOTHER: [&str; 1] = ["sundry.unit"];

/// Every figure of the contract, as `pad.face_mm`.
fn of_the_contract() -> BTreeSet<String> {
    let make = json::descriptor::<Make>().unwrap();
    let choice = make.oneofs().find(|one| !one.is_synthetic()).unwrap();
    let mut found = BTreeSet::new();
    for sort in choice.fields() {
        let Kind::Message(figures) = sort.kind() else {
            panic!("{} is no message", sort.name())
        };
        let fields = figures
            .fields()
            .map(|field| format!("{}.{}", sort.name(), field.name()));
        found.extend(fields);
    }
    found
}

#[test]
fn every_figure_of_the_contract_is_in_the_table_once() {
    let in_table: Vec<String> = FIGURES
        .iter()
        .map(|figure| format!("{}.{}", figure.sort, figure.field))
        .collect();
    let mut expected = of_the_contract();
    for field in WITH_ANOTHER {
        assert!(expected.remove(field), "{field}");
    }
    assert_eq!(in_table.iter().cloned().collect::<BTreeSet<_>>(), expected);
    assert_eq!(in_table.len(), expected.len());
}

#[test]
fn every_figure_is_an_option_of_adding_and_of_editing() {
    let help = |line: &[&str]| {
        let words = ["fettle", "make"].iter().chain(line).chain(&["--help"]);
        Cli::try_parse_from(words).unwrap_err().to_string()
    };
    for figure in FIGURES {
        let option = format!("--{}", figure.option);
        for line in [&["add", figure.sort][..], &["edit"]] {
            let text = help(line);
            let words: Vec<&str> = text.split_whitespace().collect();
            assert!(words.contains(&option.as_str()), "{option} of {line:?}");
        }
    }
}

#[test]
fn every_figure_that_is_there_is_shown() {
    let mut blind = Vec::new();
    for figure in FIGURES.iter().filter(|figure| !figure.label.is_empty()) {
        let mut held = Held::new(&Make::default(), figure.sort).unwrap();
        let typed = match figure.read {
            super::Read::Number(_) => super::Typed::Number(4711),
            super::Read::Word(words) => super::Typed::Word(words().known[0].1),
            super::Read::Text(_) => super::Typed::Text("M8".to_owned()),
            super::Read::Ids => super::Typed::Ids(vec!["orbital-75".to_owned()]),
            super::Read::Yes => super::Typed::Yes(true),
            super::Read::Stock => super::Typed::Stock(crate::options::stock("50 pairs").unwrap()),
        };
        let before = (figure.told)(&held, figure.field);
        held.put(figure, &typed).unwrap();
        if (figure.told)(&held, figure.field) == before {
            blind.push(figure.field);
        }
    }
    assert!(blind.is_empty(), "{blind:?}");
}

#[test]
fn every_figure_has_a_column_to_export_and_import() {
    let columns = crate::sheets::columns_of_makes().unwrap();
    for field in of_the_contract() {
        assert!(columns.contains(&field), "{field} is in no sheet");
    }
}
