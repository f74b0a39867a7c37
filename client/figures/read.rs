//! How the figures of makes are written on the command line.
//!
//! They serve `make add` and `make edit`. Units may be left out only where a figure has one unit
//! that nobody mistakes; whether a figure makes sense is the service's to say.

use fettlebook_quantity::parse_seconds;

use crate::options::figure;

/// What the contract says where there is no thread.
const NO_THREAD: &str = "none";

/// A thread in a sentence: as marked, or in words that there is none.
pub(crate) fn thread_told(marked: &str) -> String {
    match marked {
        NO_THREAD => "no thread".to_owned(),
        marked => marked.to_owned(),
    }
}

/// A density in mg/mL, from g/mL.
pub(crate) fn density(text: &str) -> Result<i64, String> {
    figure(text, &["g/ml"], 3)
}

/// A speed in turns or orbits a minute.
pub(crate) fn speed(text: &str) -> Result<i64, String> {
    figure(text, &["/min", "per min", "rpm", "opm", "u/min"], 0)
}

/// A vibration value in mm/s², from m/s².
pub(crate) fn vibration(text: &str) -> Result<i64, String> {
    figure(text, &["m/s2", "m/s^2"], 3)
}

/// A noise level in whole decibels.
pub(crate) fn noise(text: &str) -> Result<i64, String> {
    figure(text, &["db(a)", "db"], 0)
}

/// A weight of cloth in g/m².
pub(crate) fn cloth(text: &str) -> Result<i64, String> {
    figure(text, &["g/m2", "gsm", "g/sqm", "g"], 0)
}

/// Running time in whole hours.
pub(crate) fn hours(text: &str) -> Result<i64, String> {
    figure(text, &["hours", "hour", "hrs", "h"], 0)
}

/// Whole days, `3 days`, `3d` or `2 weeks`.
pub(crate) fn days(text: &str) -> Result<i64, String> {
    const DAYS_OF_A_WEEK: i64 = 7;
    let lower = text.trim().to_lowercase();
    let weeks = ["weeks", "week", "w"];
    if let Some(count) = weeks.iter().find_map(|unit| lower.strip_suffix(unit)) {
        let weeks = figure(count, &[], 0).map_err(|_| no_days(text))?;
        return weeks
            .checked_mul(DAYS_OF_A_WEEK)
            .ok_or_else(|| no_days(text));
    }
    figure(text, &["working days", "days", "day", "d"], 0).map_err(|_| no_days(text))
}

fn no_days(text: &str) -> String {
    format!("'{text}' is not a number of days; write for example '3 days' or '2 weeks'")
}

/// A bare whole number; `x2` and `2x` are 2.
pub(crate) fn whole(text: &str) -> Result<i64, String> {
    let lower = text.trim().to_lowercase();
    let bare = lower
        .strip_prefix(['x', '×'])
        .or_else(|| lower.strip_suffix(['x', '×']));
    fettlebook_quantity::parse_count(bare.unwrap_or(text))
        .map(fettlebook_quantity::Count::get)
        .map_err(|error| error.to_string())
}

/// A length in mm; a number without a unit is millimetres.
pub(crate) fn millimetres(text: &str) -> Result<i64, String> {
    fettlebook_quantity::parse_millimetres(text)
        .map(fettlebook_quantity::Length::mm)
        .map_err(|error| error.to_string())
}

/// The diameter of a face or a plate in mm; a small number without a unit may be inches.
pub(crate) fn diameter(text: &str) -> Result<i64, String> {
    /// No face is smaller, and no size in inches is larger.
    const INCHES_BELOW_MM: i64 = 20;
    let read = millimetres(text)?;
    let number = text.trim();
    let is_bare = number.bytes().all(|byte| byte.is_ascii_digit());
    if is_bare && read < INCHES_BELOW_MM {
        return Err(format!(
            "'{number}' has no unit and could be {number} in, {number} cm or {number} mm; write the one \
             it is, for example 150 mm"
        ));
    }
    Ok(read)
}

/// A length or width of a car in mm; a small number without a unit is metres.
pub(crate) fn car_length(text: &str) -> Result<i64, String> {
    /// Nothing that is measured of a car is shorter in mm or longer in m.
    const METRES_BELOW: i64 = 30;
    let number = text.trim().replace(',', ".");
    let (whole, _) = number.split_once('.').unwrap_or((&number, ""));
    let is_bare = number
        .bytes()
        .all(|byte| byte.is_ascii_digit() || byte == b'.');
    if is_bare && whole.parse().is_ok_and(|metres: i64| metres < METRES_BELOW) {
        return millimetres(&format!("{number} metres"));
    }
    millimetres(text)
}

/// A volume in µL; a number without a unit is millilitres.
pub(crate) fn microlitres(text: &str) -> Result<i64, String> {
    fettlebook_quantity::parse_millilitres(text)
        .map(fettlebook_quantity::Volume::ul)
        .map_err(|error| error.to_string())
}

/// A mass in mg; a number without a unit is grams.
pub(crate) fn milligrams(text: &str) -> Result<i64, String> {
    fettlebook_quantity::parse_grams(text)
        .map(fettlebook_quantity::Mass::mg)
        .map_err(|error| error.to_string())
}

/// A thread as marked, or that there is none as people say it.
pub(crate) fn thread(text: &str) -> Result<String, String> {
    const NONE: [&str; 8] = [
        "none",
        "no",
        "no thread",
        "without",
        "without thread",
        "without a thread",
        "threadless",
        "-",
    ];
    let lower = text.trim().to_lowercase();
    let lower = lower.split_whitespace().collect::<Vec<_>>().join(" ");
    Ok(match NONE.contains(&lower.as_str()) {
        true => NO_THREAD.to_owned(),
        false => text.to_owned(),
    })
}

/// Ids, one or several with commas between them.
pub(crate) fn ids(text: &str) -> Result<Vec<String>, String> {
    let ids = text.split([',', ' ']).map(str::trim);
    let ids: Vec<String> = ids
        .filter(|id| !id.is_empty())
        .map(crate::ids::id_of)
        .collect();
    if ids.is_empty() {
        return Err(format!(
            "'{text}' names nothing; write for example orbital-75"
        ));
    }
    Ok(ids)
}

/// A span of time in s; a number alone is minutes.
pub(crate) fn minutes(text: &str) -> Result<i64, String> {
    let text = text.trim();
    let is_bare = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let unit = if is_bare { " min" } else { "" };
    seconds(&format!("{text}{unit}"))
}

/// A span of time in s.
pub(crate) fn seconds(text: &str) -> Result<i64, String> {
    parse_seconds(text)
        .map(fettlebook_quantity::Seconds::s)
        .map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::thread;

    #[test]
    fn no_thread_is_said_in_several_ways_and_a_thread_stays_as_marked() {
        for said in ["none", "None", " no  thread ", "without", "Threadless", "-"] {
            assert_eq!(thread(said).as_deref(), Ok("none"), "{said}");
        }
        for marked in ["M8", "m 14", "5/8-11", "nonesuch"] {
            assert_eq!(thread(marked).as_deref(), Ok(marked));
        }
    }
}
