//! Any text is a quantity or is refused, and a quantity that is printed is read as what was printed.
//!
//! Goal: the grammar takes whatever people and files hold. Method: what can be made of the accepted
//! forms is given to every parser; see `tests/fuzz`.

use std::fmt::Display;

use fettlebook_fuzz::run;

use crate::grammar::{
    parse_amount, parse_area, parse_count, parse_length, parse_mass, parse_thickness, parse_volume,
};
use crate::parse_seconds;

/// Inputs of the quick form.
const COUNT: u32 = 5_000;

const WORDS: &[&str] = &[
    "ml",
    "l",
    "fl oz (US)",
    "g",
    "kg",
    "lb",
    "mm",
    "in",
    "metres",
    "um",
    "mil",
    "m2",
    " x ",
    "3*",
    "dots",
    "h",
    "min",
    "days",
    ".",
    ",",
    " ",
    "µ",
    "²",
    "000",
];

/// Reads a text, prints what it is, and reads that: the two must print alike.
fn comes_back<T: Display, E: Display>(text: &str, read: impl Fn(&str) -> Result<T, E>) {
    match read(text) {
        Ok(quantity) => {
            let printed = quantity.to_string();
            match read(&printed) {
                Ok(again) => assert_eq!(again.to_string(), printed, "from {text:?}"),
                Err(error) => panic!("{text:?} prints as {printed:?}: {error}"),
            }
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

#[test]
fn fuzz_a_quantity_is_refused_or_comes_back() {
    run("quantity", WORDS, COUNT, |bytes| {
        let text = &String::from_utf8_lossy(bytes);
        comes_back(text, parse_volume);
        comes_back(text, parse_mass);
        comes_back(text, parse_thickness);
        comes_back(text, parse_area);
        comes_back(text, parse_count);
        comes_back(text, parse_seconds);
        comes_back(text, parse_length);
        if let Err(error) = parse_amount(text) {
            assert!(!error.to_string().is_empty());
        }
    });
}
