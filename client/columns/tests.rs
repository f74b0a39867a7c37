//! Every column there is: of each list of values, of each file that is written and read, of the register and of a
//! notebook; and that all are spelt alike.

use std::collections::BTreeMap;

use super::{Decimals, Rows};
use crate::notebook;
use crate::render::register;
use crate::sheets::{self, Contents};
use fettlebook_contract::v1::{
    Car, CostLine, Device, Job, Make, MakeWear, OpenCode, Order, PadLeft, Piece, PolicyLine,
    QuoteLine, ReorderLine, Routine, Shop, Supplier,
};
use prost::{Message, Name};

fn names<M: Message + Name>() -> Vec<String> {
    let rows = Rows::<M>::whole().unwrap();
    rows.names().into_iter().map(str::to_owned).collect()
}

/// Each list and file with its columns.
fn places() -> Vec<(&'static str, Vec<String>)> {
    let own = |columns: &[&str]| columns.iter().map(|name| (*name).to_owned()).collect();
    let of_supplier = |columns: Vec<String>| {
        let supplier: Vec<String> = own(&["supplier", "supplier_name"]);
        supplier.into_iter().chain(columns).collect()
    };
    let mut places = vec![
        ("make list", names::<Make>()),
        ("car list", names::<Car>()),
        ("routine list", names::<Routine>()),
        ("supplier list", names::<Supplier>()),
        ("kit list", names::<Piece>()),
        ("job list", names::<Job>()),
        ("job cost, quote --inside", names::<CostLine>()),
        ("quote", names::<QuoteLine>()),
        ("order list", names::<Order>()),
        ("reorder", of_supplier(names::<ReorderLine>())),
        ("wear", names::<MakeWear>()),
        ("wear MAKE", names::<PadLeft>()),
        ("book policy", names::<PolicyLine>()),
        ("shop devices", names::<Device>()),
        ("shop codes", names::<OpenCode>()),
        ("shops", names::<Shop>()),
        ("entries", own(&register::COLUMNS)),
        ("book import --pads", own(&notebook::COLUMNS)),
    ];
    let files = sheets::written(&Contents::default(), Decimals::Point).unwrap();
    places.extend(files.into_iter().map(|(file, text, _)| {
        let header = text.lines().next().unwrap().split(',');
        (file, header.map(str::to_owned).collect())
    }));
    places
}

#[test]
fn all_columns_and_where_they_stand() {
    let mut all: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for (place, columns) in places() {
        for column in columns {
            all.entry(column).or_default().push(place);
        }
    }
    let lines = all
        .iter()
        .map(|(name, places)| format!("{name}: {}", places.join("; ")));
    insta::assert_snapshot!("all", lines.collect::<Vec<_>>().join("\n"));
}

#[test]
fn all_columns_are_spelt_alike_and_no_two_are_one_but_for_the_spelling() {
    let mut bare: BTreeMap<String, String> = BTreeMap::new();
    for (place, columns) in places() {
        for column in columns {
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit();
            let well_spelt = column
                .split(['.', '_'])
                .all(|part| !part.is_empty() && part.chars().all(plain));
            assert!(well_spelt, "{place}: {column}");
            let letters: String = column.chars().filter(|c| plain(*c)).collect();
            let known = bare.entry(letters).or_insert_with(|| column.clone());
            assert_eq!(*known, column, "{place}");
        }
    }
}

/// A list of values may be read in under the name of a file, so the file has no column that it has not.
#[test]
fn a_file_of_an_export_has_the_columns_of_the_list_of_the_same_things() {
    let places: BTreeMap<&str, Vec<String>> = places().into_iter().collect();
    for (file, list) in [
        ("makes.csv", "make list"),
        ("cars.csv", "car list"),
        ("routines.csv", "routine list"),
        ("suppliers.csv", "supplier list"),
        ("kit.csv", "kit list"),
        ("jobs.csv", "job list"),
    ] {
        for column in &places[file] {
            // The day on which a piece was binned or set aside is in no list.
            let is_known = places[list].contains(column) || column == "date";
            assert!(is_known, "{file}: {column}");
        }
    }
}
