//! What the contract's values are called on a page: words of its enums, quantities, moments.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    AsideReason, BinReason, BundleState, CheckLine, MakeSort, Money, OrderState, Piece, Readiness,
    Role, Unit, Verdict, WearBand,
};
use fettlebook_quantity::{Length, Seconds, Thickness, Volume};
pub(crate) use fettlebook_quantity::{chance, percent};
use jiff::tz::{Offset, TimeZone};
use prost_types::Timestamp;

/// A value of an enum of the contract in words: `BIN_REASON_CROSS_LOADED` is "cross loaded".
fn plain(name: &str, before: &str) -> String {
    let name = name.strip_prefix(before).unwrap_or(name);
    name.to_ascii_lowercase().replace('_', " ")
}

/// A role.
pub(crate) fn role(role: Role) -> String {
    plain(role.as_str_name(), "ROLE_")
}

/// A verdict, which is also the name of its colour.
pub(crate) fn verdict(verdict: Verdict) -> String {
    plain(verdict.as_str_name(), "VERDICT_")
}

/// How an order stands.
pub(crate) fn order(state: OrderState) -> String {
    plain(state.as_str_name(), "ORDER_STATE_")
}

/// A reason to bin something.
pub(crate) fn bin(reason: BinReason) -> String {
    plain(reason.as_str_name(), "BIN_REASON_")
}

/// Why something is kept off paint.
pub(crate) fn aside(reason: AsideReason) -> String {
    plain(reason.as_str_name(), "ASIDE_REASON_")
}

/// Whether a piece can go on paint, and what else there is to say of that.
pub(crate) fn standing(piece: &Piece, clock: &Clock) -> String {
    let plain_word = plain(piece.readiness().as_str_name(), "READINESS_");
    let mut text = match (piece.readiness(), &piece.state) {
        (Readiness::Ready | Readiness::Soiled, Some(State::Bundle(bundle))) => towels(bundle),
        (Readiness::Drying, state) => {
            let what = match state {
                Some(State::Bundle(bundle)) => towels(bundle),
                _ => plain_word,
            };
            match &piece.ready_time {
                Some(until) => format!("{what} until {}", clock.moment(until)),
                None => format!("{what} until it is said to be dry"),
            }
        }
        (Readiness::Aside, _) if piece.aside_reason() != AsideReason::Unspecified => {
            format!("aside: {}", aside(piece.aside_reason()))
        }
        (Readiness::Binned, _) if piece.bin_reason() != BinReason::Unspecified => {
            format!("binned: {}", bin(piece.bin_reason()))
        }
        (Readiness::Unspecified, _) => String::new(),
        _ => plain_word,
    };
    if piece.needs_count {
        text.push_str(", count it");
    }
    if !piece.taken_for_jobs.is_empty() {
        let jobs = piece.taken_for_jobs.join(", ");
        text.push_str(&format!(", taken for {jobs}"));
    }
    text
}

fn towels(bundle: &BundleState) -> String {
    let parts = [
        (bundle.clean_count, "clean"),
        (bundle.soiled_count, "soiled"),
        (bundle.drying_count, "drying"),
    ];
    let told = parts
        .iter()
        .filter(|(count, name)| *count != 0 || *name == "clean")
        .map(|(count, name)| format!("{count} {name}"));
    told.collect::<Vec<_>>().join(", ")
}

/// How worn a piece is, or how much is left of it; empty for what neither wears nor runs down.
pub(crate) fn figure(piece: &Piece) -> String {
    match &piece.state {
        Some(State::Pad(pad)) => worn(pad.damage, pad.band()),
        Some(State::Plate(plate)) => worn(plate.damage, plate.band()),
        Some(State::Bottle(bottle)) => Volume::from_ul(bottle.left_ul).to_string(),
        Some(State::Sundry(sundry)) => quantity(sundry.left_quantity, sundry.unit()),
        Some(State::Machine(machine)) if machine.run_time_s > 0 => time(machine.run_time_s),
        _ => String::new(),
    }
}

/// Wear as a share of the rating, with its band.
fn worn(damage: f64, band: WearBand) -> String {
    let share = percent(damage);
    match band {
        WearBand::Unspecified => share,
        _ => format!("{share} worn, {}", plain(band.as_str_name(), "WEAR_BAND_")),
    }
}

/// A quantity in its unit.
pub(crate) fn quantity(quantity: i64, unit: Unit) -> String {
    match unit {
        Unit::Microlitre => Volume::from_ul(quantity).to_string(),
        Unit::Millimetre => Length::from_mm(quantity).to_string(),
        Unit::Micrometre => Thickness::from_um(quantity).to_string(),
        Unit::Pair if quantity == 1 => "1 pair".to_owned(),
        Unit::Pair => format!("{quantity} pairs"),
        Unit::Piece | Unit::Unspecified => quantity.to_string(),
    }
}

/// A sum of money; empty where there is none.
pub(crate) fn money(sum: Option<&Money>) -> String {
    sum.map_or_else(String::new, |sum| {
        format!("{} {}", sum.amount, sum.currency_code)
    })
}

/// Sorts of kit in the order in which they are told, each with its word for several.
pub(crate) const SORTS: [(MakeSort, &str); 7] = [
    (MakeSort::Pad, "pads"),
    (MakeSort::Plate, "plates"),
    (MakeSort::Machine, "machines"),
    (MakeSort::Towel, "towels"),
    (MakeSort::Liquid, "liquids"),
    (MakeSort::Sundry, "sundries"),
    (MakeSort::Tool, "tools"),
];

/// The sort that goes by a word; unspecified for any other word.
pub(crate) fn sort_of(word: &str) -> MakeSort {
    let found = SORTS.iter().find(|(_, held)| *held == word);
    found.map_or(MakeSort::Unspecified, |(sort, _)| *sort)
}

/// What is wrong with a figure that was typed, and what became of it.
pub(crate) fn wrong(what: &str, why: &str) -> String {
    format!(
        "{what}: {}. Nothing was recorded.",
        why.trim_end_matches('.')
    )
}

/// Why a line says what it says, sentence by sentence where nothing may run together.
pub(crate) fn reasons(line: &CheckLine) -> Vec<String> {
    if line.reasons.is_empty() {
        let whole = Some(line.reason.clone());
        return whole.into_iter().filter(|why| !why.is_empty()).collect();
    }
    line.reasons.clone()
}

/// A length of time.
pub(crate) fn time(time_s: i64) -> String {
    Seconds::from_s(time_s).to_string()
}

/// A day of the contract, as it is; empty stays empty.
pub(crate) fn day(date: &str) -> String {
    match date.parse::<jiff::civil::Date>() {
        Ok(day) => day.strftime("%a %-d %b %Y").to_string(),
        Err(_) => date.to_owned(),
    }
}

/// In which zone moments are told: that of a job where it is known, else the service's own.
pub(crate) struct Clock(TimeZone);

impl Clock {
    /// The zone of the machine that holds the book.
    pub(crate) fn own() -> Self {
        Self(TimeZone::system())
    }

    /// That of a job, so far from UTC.
    pub(crate) fn of_job(utc_offset_s: i64) -> Self {
        let offset_s = i32::try_from(utc_offset_s).ok();
        let offset = offset_s.and_then(|offset_s| Offset::from_seconds(offset_s).ok());
        offset.map_or_else(Self::own, |offset| Self(offset.to_time_zone()))
    }

    /// A moment to the minute.
    pub(crate) fn moment(&self, moment: &Timestamp) -> String {
        match jiff::Timestamp::new(moment.seconds, moment.nanos) {
            Ok(moment) => {
                let there = moment.to_zoned_datetime(self.0.clone());
                there.strftime("%a %-d %b %Y %H:%M").to_string()
            }
            Err(_) => "no moment".to_owned(),
        }
    }

    /// The day of a moment, as the contract writes days.
    pub(crate) fn day(&self, moment: &Timestamp) -> String {
        let moment = jiff::Timestamp::new(moment.seconds, moment.nanos);
        let there =
            moment.map(|moment| moment.to_zoned_datetime(self.0.clone()).date().to_string());
        there.unwrap_or_default()
    }

    /// A moment that may be absent; empty then.
    pub(crate) fn moment_or_none(&self, moment: Option<&Timestamp>) -> String {
        moment.map_or_else(String::new, |moment| self.moment(moment))
    }
}
