//! Quantities in integer units, how people write them and how they are printed back.
//!
//! The ledger counts in whole millimetres, micrometres, microlitres, milligrams and seconds, so
//! that what is added up stays exact. This crate serves the model, which computes with the types,
//! and the client, which reads and prints them. It never counts in floating point and never panics.

mod error;
mod field;
mod float;
#[cfg(test)]
mod fuzz;
mod grammar;
mod kind;
mod money;
mod number;
mod percent;
mod print;
mod ratio;
mod share;
mod time;
mod unit_words;
mod units;
mod unseen;

pub use error::QuantityError;
pub use field::{field_words, out_of_bounds};
pub use float::{exact_f64, round_to_i64};
pub use grammar::{
    Amount, parse_amount, parse_area, parse_count, parse_grams, parse_micrometres,
    parse_millilitres, parse_millimetres,
};
pub use kind::{
    AMOUNT_FORMS, AREA_FORMS, COUNT_FORMS, Kind, LENGTH_FORMS, MASS_FORMS, SECONDS_FORMS,
    THICKNESS_FORMS, VOLUME_FORMS,
};
pub use money::{MoneyError, Price, parse_price};
pub use percent::{chance, percent};
pub use ratio::Ratio;
pub use share::parse_share;
pub use time::parse_seconds;
pub use units::{Area, Count, Length, Mass, Seconds, Thickness, Volume};
pub use unseen::{code_point, is_unseen};
