//! A sentence for each deed, for people who read the book.
//!
//! It serves every entry shown. A sentence opens with what the deed is about, so that several of the
//! same kind can be told together; it says what happened and judges nothing.

use std::fmt::Display;

use fettlebook_model::dose::volume_left;
use fettlebook_model::kit::{PieceCost, Readiness, State};
use fettlebook_model::make::Unit;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Deed, Id, Place};
use fettlebook_quantity::Seconds;

use super::job_text::{booked, done, first_day_done, taken};
use super::{film, money, supply_text};

/// The sentence of a deed.
pub(super) enum Said {
    /// One that opens with what the deed is about: what follows on it, from the blank or the colon on.
    OfSubject(String),
    /// One that stands by itself.
    Alone(String),
}

impl Said {
    /// The whole sentence; `subject` is how the deed's subject is said.
    pub(super) fn text(&self, subject: &str) -> String {
        match self {
            Self::OfSubject(rest) => [subject, rest].concat(),
            Self::Alone(sentence) => sentence.clone(),
        }
    }

    /// Whether a colon stands behind the subject.
    pub(super) fn is_apart(&self) -> bool {
        matches!(self, Self::OfSubject(rest) if rest.starts_with(':'))
    }

    /// What is said of the subject, without the full stop; empty where the sentence stands by itself.
    pub(super) fn clause(&self) -> String {
        match self {
            Self::OfSubject(rest) => {
                let clause = rest.trim_start_matches([':', ' ']);
                clause.trim_end_matches('.').to_owned()
            }
            Self::Alone(_) => String::new(),
        }
    }
}

/// The sentence of a deed; `unit` is that of a sundry.
pub(super) fn said(deed: &Deed, unit: Option<Unit>) -> Said {
    match deed {
        Deed::Reversed { .. } => Said::Alone(text(deed, "", unit)),
        _ => Said::OfSubject(text(deed, "", unit)),
    }
}

/// The sentence of a deed about `subject`; `unit` is that of a sundry.
fn text(deed: &Deed, subject: &str, unit: Option<Unit>) -> String {
    match deed {
        Deed::MakeSet { make } => {
            format!(
                "{subject}: set up as {}, a {}.",
                make.name,
                make.figures.sort()
            )
        }
        Deed::CarSet { car } => super::car::set_up(subject, car),
        Deed::RoutineSet { routine } => {
            format!(
                "{subject}: set up with the steps {}.",
                list(routine.steps.iter().map(|step| &step.name))
            )
        }
        Deed::PolicySet { key, value } => policy(subject, *key, *value),
        Deed::Received {
            readiness: Some(Readiness::Binned(reason)),
            make,
            ..
        } => format!("{subject} was taken over as {make}, binned, {reason}."),
        Deed::Received {
            make,
            place,
            state,
            cost,
            ..
        } => {
            let came = received(make, place, state, unit);
            format!("{subject} came in as {came}{}.", at_cost(cost.as_ref()))
        }
        Deed::Moved { place, .. } => format!("{subject} went to {place}."),
        Deed::Washed { dry_s, .. } => format!("{subject}: washed, dry in {dry_s}."),
        Deed::Dried { .. } => format!("{subject}: found dry."),
        Deed::Labelled { .. } => format!("{subject}: label printed."),
        Deed::Charged { charge_s, .. } => format!("{subject}: on the charger, full in {charge_s}."),
        Deed::Inspected { found, .. } => format!(
            "{subject}: looked at, rebound {}, edge {}, face {} of 5.",
            found.rebound_grade, found.edge_grade, found.face_grade
        ),
        Deed::TakenAlong { .. } => format!("{subject} went along as a spare."),
        Deed::Weighed { .. }
        | Deed::GrossWeighed { .. }
        | Deed::TareFound { .. }
        | Deed::VolumeRead { .. }
        | Deed::TowelsCounted { .. }
        | Deed::SundryCounted { .. } => count_text(deed, subject, unit),
        Deed::PouredOut {
            into, volume_ul, ..
        } => format!("{subject} gave {volume_ul} to {into}."),
        Deed::PouredIn {
            from, volume_ul, ..
        } => format!("{subject} was filled with {volume_ul} from {from}."),
        Deed::SetAside { reason, .. } => format!("{subject}: set aside, {reason}."),
        Deed::Returned {
            check_due_on: Some(due),
            ..
        } => format!("{subject}: checked, due again by {due}."),
        Deed::Returned {
            is_clean: Some(true),
            ..
        } => format!("{subject} came back from aside, clean."),
        Deed::Returned {
            is_clean: Some(false),
            ..
        } => format!("{subject} came back from aside, soiled."),
        Deed::Returned { .. } => format!("{subject} came back from aside."),
        Deed::Binned { reason, .. } => format!("{subject}: binned, {reason}."),
        Deed::TowelsBinned { reason, count, .. } => {
            format!("{subject}: {} binned, {reason}.", towels(*count))
        }
        Deed::Demoted { grade, .. } => format!("{subject} went down to {grade}."),
        Deed::JobSet { job } => booked(subject, job),
        Deed::JobDone {
            left_out, person, ..
        } => done(subject, left_out, person),
        Deed::FirstDayDone {
            left_out, person, ..
        } => first_day_done(subject, left_out, person),
        Deed::JobCalledOff { .. } => format!("{subject}: called off."),
        Deed::JobTaken { picked, .. } => taken(subject, picked),
        Deed::JobReleased { .. } => format!("{subject}: what was taken for it is given back."),
        Deed::SupplierSet { supplier } => supply_text::supplier(subject, supplier),
        Deed::OrderSet { order } => supply_text::order(subject, order),
        Deed::OrderPlaced { due_on, .. } => supply_text::placed(subject, *due_on),
        Deed::OrderClosed { .. } => format!("{subject}: closed, no more of it is expected."),
        Deed::Delivered { packs, .. } => supply_text::delivered(subject, packs),
        Deed::Reversed { seq } => format!("Entry {seq} is reversed."),
        Deed::Restated {
            record: Some(_), ..
        } => {
            format!("{subject} stands as if that entry had not been.")
        }
        Deed::Restated { record: None, .. } => format!("{subject} is taken back."),
        used => use_text(used, subject, unit),
    }
}

/// The sentence of a count.
fn count_text(deed: &Deed, subject: &str, unit: Option<Unit>) -> String {
    match deed {
        Deed::Weighed {
            gross_mg,
            tare_mg,
            density_mg_per_ml,
            ..
        }
        | Deed::GrossWeighed {
            gross_mg,
            tare_mg: Some(tare_mg),
            density_mg_per_ml,
            ..
        } => match volume_left(*gross_mg, *tare_mg, *density_mg_per_ml) {
            Some(left) => format!("{subject} weighed {gross_mg}: {left} left."),
            None => format!("{subject} weighed {gross_mg}."),
        },
        Deed::GrossWeighed { gross_mg, .. } => {
            format!(
                "{subject} weighed {gross_mg}; what is left follows once its empty weight is known."
            )
        }
        Deed::TareFound { tare_mg, .. } => {
            format!("{subject}: weighs {tare_mg} empty, as worked out.")
        }
        Deed::VolumeRead {
            left_ul, seen_ul, ..
        } => {
            let seen = where_seen(seen_ul.as_ref());
            format!("{subject}: {left_ul} left, read off{seen}.")
        }
        Deed::TowelsCounted {
            clean_count,
            soiled_count,
            seen,
            ..
        } => {
            let seen = seen.map(|(clean, soiled)| format!("{clean} and {soiled}"));
            let seen = where_seen(seen.as_ref());
            format!("{subject}: counted, {clean_count} clean and {soiled_count} soiled{seen}.")
        }
        Deed::SundryCounted {
            left_quantity,
            seen_quantity,
            ..
        } => {
            let seen = seen_quantity.map(|seen| quantity(seen, unit));
            format!(
                "{subject}: counted, {} left{}.",
                quantity(*left_quantity, unit),
                where_seen(seen.as_ref())
            )
        }
        _ => format!("{subject}."),
    }
}

/// The sentence of a use of a bottle that was weighed after it.
pub(super) fn used_by_weight() -> Said {
    Said::OfSubject(" was used; its weight says how much.".to_owned())
}

/// The sentence of a use, or of what a gauge read.
fn use_text(deed: &Deed, subject: &str, unit: Option<Unit>) -> String {
    match deed {
        Deed::FilmRead { of_job, panels, .. } => film::read(subject, of_job.as_ref(), panels),
        Deed::PadUsed { work, .. } => {
            format!(
                "{subject} worked {} in {}.",
                sections(work.section_count),
                time(work.time_ms)
            )
        }
        Deed::PlateUsed {
            time_ms,
            change_count: 1,
            ..
        } => {
            format!("{subject} ran {} with 1 pad change.", time(*time_ms))
        }
        Deed::PlateUsed {
            time_ms,
            change_count,
            ..
        } => {
            format!(
                "{subject} ran {} with {change_count} pad changes.",
                time(*time_ms)
            )
        }
        Deed::MachineUsed { time_ms, .. } => format!("{subject} ran {}.", time(*time_ms)),
        Deed::BatteryUsed { time_ms, .. } => {
            format!("{subject} ran {} and is empty.", time(*time_ms))
        }
        Deed::LiquidUsed {
            volume_ul,
            stated: true,
            ..
        } => format!("{subject} gave {volume_ul}."),
        Deed::LiquidUsed { volume_ul, .. } => format!("{subject} gave {volume_ul}, as planned."),
        Deed::TowelsUsed {
            used_count,
            dropped_count: 0,
            ..
        } => {
            format!("{subject}: {} used.", towels(*used_count))
        }
        Deed::TowelsUsed {
            used_count,
            dropped_count,
            ..
        } => {
            format!(
                "{subject}: {} used, {dropped_count} of them dropped.",
                towels(*used_count)
            )
        }
        Deed::SundryUsed { quantity: used, .. } => {
            format!("{subject}: {} used.", quantity(*used, unit))
        }
        _ => format!("{subject}."),
    }
}

fn policy(subject: &str, key: PolicyKey, value: Option<i64>) -> String {
    let spec = key.spec();
    match value {
        Some(value) => format!("{subject}: {key} is {value} {} now.", spec.unit),
        None => format!(
            "{subject}: {key} is back to its default, {} {}.",
            spec.default, spec.unit
        ),
    }
}

fn received(make: &Id, place: &Place, state: &State, unit: Option<Unit>) -> String {
    let more = match state {
        State::Bundle(bundle) => format!(" with {}", towels(bundle.total_count())),
        State::Bottle(bottle) => format!(" with {}", bottle.left_ul),
        State::Sundry(sundry) => format!(" with {}", quantity(sundry.left_quantity, unit)),
        State::Plate(plate) => behind(plate.run_time_ms, plate.change_count),
        State::Machine(machine) => behind(machine.run_time_ms, 0),
        State::Battery(battery) => match battery.charge_count {
            0 => String::new(),
            1 => " with 1 charge behind it".to_owned(),
            count => format!(" with {count} charges behind it"),
        },
        State::Pad(_) | State::Tool(_) => String::new(),
    };
    let check = match state {
        State::Tool(tool) => tool.check_due_on,
        _ => None,
    };
    let check = check.map_or_else(String::new, |due| format!(", to be checked by {due}"));
    format!("{make}{more}, to {place}{check}")
}

/// What a machine or a plate has run before it came; empty for nothing.
fn behind(run_time_ms: i64, change_count: i64) -> String {
    let run = (run_time_ms > 0).then(|| time(run_time_ms).to_string());
    let changes = match change_count {
        0 => None,
        1 => Some("1 pad change".to_owned()),
        count => Some(format!("{count} pad changes")),
    };
    let told: Vec<String> = run.into_iter().chain(changes).collect();
    if told.is_empty() {
        return String::new();
    }
    format!(" with {} behind it", told.join(" and "))
}

/// What the device that counted had seen, where others had changed it meanwhile.
fn where_seen(seen: Option<&impl Display>) -> String {
    seen.map(|seen| format!(", where its device had seen {seen}"))
        .unwrap_or_default()
}

fn at_cost(cost: Option<&PieceCost>) -> String {
    cost.map(|cost| format!(", at {}", money::text(cost.landed)))
        .unwrap_or_default()
}

/// A quantity of a sundry; of one whose make is gone, the bare number.
fn quantity(quantity: i64, unit: Option<Unit>) -> String {
    unit.unwrap_or(Unit::Piece).show(quantity)
}

fn towels(count: i64) -> String {
    if count == 1 {
        "1 towel".to_owned()
    } else {
        format!("{count} towels")
    }
}

fn sections(count: i64) -> String {
    if count == 1 {
        "1 section".to_owned()
    } else {
        format!("{count} sections")
    }
}

fn time(time_ms: i64) -> Seconds {
    Seconds::from_s(super::seconds(time_ms))
}

/// Words as a person lists them: `cut, refine and finish`.
pub(super) fn list<T: Display>(words: impl IntoIterator<Item = T>) -> String {
    let words: Vec<String> = words.into_iter().map(|word| word.to_string()).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

#[cfg(test)]
mod tests;
