//! How the figures of makes are written on the command line.
//!
//! They serve `make add` and `make edit`. Units may be left out only where a figure has one unit
//! that nobody mistakes; whether a figure makes sense is the service's to say.

use fettlebook_quantity::parse_seconds;

use crate::options::figure;

/// A density in mg/mL, from g/mL.
pub(crate) fn density(text: &str) -> Result<i64, String> {
    figure(text, &["g/ml"], 3)
}

/// A speed in turns or orbits a minute.
pub(crate) fn speed(text: &str) -> Result<i64, String> {
    figure(text, &["/min", "rpm", "opm"], 0)
}

/// A vibration value in mm/s², from m/s².
pub(crate) fn vibration(text: &str) -> Result<i64, String> {
    figure(text, &["m/s2"], 3)
}

/// A noise level in whole decibels.
pub(crate) fn noise(text: &str) -> Result<i64, String> {
    figure(text, &["db(a)", "db"], 0)
}

/// A weight of cloth in g/m².
pub(crate) fn cloth(text: &str) -> Result<i64, String> {
    figure(text, &["g/m2"], 0)
}

/// Running time in whole hours.
pub(crate) fn hours(text: &str) -> Result<i64, String> {
    figure(text, &["h"], 0)
}

/// Whole days, `3 days`.
pub(crate) fn days(text: &str) -> Result<i64, String> {
    figure(text, &["days", "day"], 0)
}

/// A bare whole number.
pub(crate) fn whole(text: &str) -> Result<i64, String> {
    fettlebook_quantity::parse_count(text)
        .map(fettlebook_quantity::Count::get)
        .map_err(|error| error.to_string())
}

/// A length in mm.
pub(crate) fn millimetres(text: &str) -> Result<i64, String> {
    fettlebook_quantity::parse_length(text)
        .map(fettlebook_quantity::Length::mm)
        .map_err(|error| error.to_string())
}

/// A volume in µL.
pub(crate) fn microlitres(text: &str) -> Result<i64, String> {
    fettlebook_quantity::parse_volume(text)
        .map(fettlebook_quantity::Volume::ul)
        .map_err(|error| error.to_string())
}

/// A mass in mg.
pub(crate) fn milligrams(text: &str) -> Result<i64, String> {
    fettlebook_quantity::parse_mass(text)
        .map(fettlebook_quantity::Mass::mg)
        .map_err(|error| error.to_string())
}

/// A span of time in s.
pub(crate) fn seconds(text: &str) -> Result<i64, String> {
    parse_seconds(text)
        .map(fettlebook_quantity::Seconds::s)
        .map_err(|error| error.to_string())
}
