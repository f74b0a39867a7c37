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
mod tests {
    use super::*;
    use fettlebook_model::Seq;
    use fettlebook_model::deed::Within;
    use fettlebook_model::kit::PlateState;
    use fettlebook_model::tool::ToolState;
    use fettlebook_model::wear::BinReason;
    use fettlebook_quantity::{Mass, Volume};

    /// A plate that came in so.
    fn came(state: State) -> Deed {
        Deed::Received {
            tag: "BP-01".parse().unwrap(),
            make: "plate-125-m8".parse().unwrap(),
            place: "bench".parse().unwrap(),
            state,
            readiness: None,
            at: None,
            cost: None,
        }
    }

    /// The whole sentence, which is put together from its parts as a client does.
    fn said(deed: &Deed) -> String {
        let (said, subject) = (super::said(deed, None), deed.subject().word());
        let text = said.text(&subject);
        let colon = if said.is_apart() { ":" } else { "" };
        match said.clause().as_str() {
            "" => assert!(!text.starts_with(&subject), "{text}"),
            clause => assert_eq!(format!("{subject}{colon} {clause}."), text),
        }
        text
    }

    #[test]
    fn a_deed_is_told_with_its_subject_first() {
        let tag = |text: &str| text.parse().unwrap();
        let within = Within::default;
        let cases = [
            (
                Deed::Weighed {
                    tag: tag("B-03"),
                    gross_mg: Mass::from_mg(121_000),
                    tare_mg: Mass::from_mg(60_500),
                    density_mg_per_ml: 1_100,
                },
                "B-03 weighed 121 g: 55 mL left.",
            ),
            (
                Deed::TowelsUsed {
                    tag: tag("T-01"),
                    within: within(),
                    used_count: 6,
                    dropped_count: 2,
                    wiped_mm2: None,
                },
                "T-01: 6 towels used, 2 of them dropped.",
            ),
            (
                Deed::LiquidUsed {
                    tag: tag("B-03"),
                    within: within(),
                    volume_ul: Volume::from_ul(35_000),
                    planned_ul: Volume::from_ul(35_000),
                    stated: false,
                    rules: 1,
                },
                "B-03 gave 35 mL, as planned.",
            ),
            (
                came(State::Plate(PlateState {
                    run_time_ms: 90_000_000,
                    change_count: 40,
                })),
                "BP-01 came in as plate-125-m8 with 25 h and 40 pad changes behind it, to bench.",
            ),
            (
                came(State::Plate(PlateState::default())),
                "BP-01 came in as plate-125-m8, to bench.",
            ),
            (
                Deed::PlateUsed {
                    tag: tag("BP-01"),
                    within: within(),
                    time_ms: 3_900_000,
                    change_count: 1,
                },
                "BP-01 ran 1 h 5 min with 1 pad change.",
            ),
            (
                Deed::Binned {
                    tag: tag("P-07"),
                    reason: BinReason::Torn,
                },
                "P-07: binned, torn.",
            ),
            (
                Deed::PolicySet {
                    key: PolicyKey::DotUl,
                    value: None,
                },
                "policy: dot_ul is back to its default, 250 µL.",
            ),
            (Deed::Reversed { seq: Seq(12) }, "Entry 12 is reversed."),
        ];
        for (deed, expected) in cases {
            assert_eq!(said(&deed), expected);
        }
    }

    #[test]
    fn weights_without_a_tare_and_tools_are_told_with_what_is_known() {
        let tag = |text: &str| text.parse().unwrap();
        let cases = [
            (
                Deed::GrossWeighed {
                    tag: tag("B-03"),
                    gross_mg: Mass::from_mg(121_000),
                    density_mg_per_ml: 1_100,
                    tare_mg: None,
                },
                "B-03 weighed 121 g; what is left follows once its empty weight is known.",
            ),
            (
                Deed::GrossWeighed {
                    tag: tag("B-03"),
                    gross_mg: Mass::from_mg(121_000),
                    density_mg_per_ml: 1_100,
                    tare_mg: Some(Mass::from_mg(60_500)),
                },
                "B-03 weighed 121 g: 55 mL left.",
            ),
            (
                Deed::Returned {
                    tag: tag("TL-01"),
                    check_due_on: Some("2027-06-30".parse().unwrap()),
                    is_clean: None,
                },
                "TL-01: checked, due again by 2027-06-30.",
            ),
            (
                Deed::Returned {
                    tag: tag("P-07"),
                    check_due_on: None,
                    is_clean: Some(true),
                },
                "P-07 came back from aside, clean.",
            ),
            (
                Deed::Received {
                    tag: tag("TL-01"),
                    make: "film-gauge".parse().unwrap(),
                    place: "bench".parse().unwrap(),
                    state: State::Tool(ToolState {
                        check_due_on: Some("2027-06-30".parse().unwrap()),
                    }),
                    readiness: None,
                    at: None,
                    cost: None,
                },
                "TL-01 came in as film-gauge, to bench, to be checked by 2027-06-30.",
            ),
            (
                Deed::TareFound {
                    tag: tag("B-03"),
                    tare_mg: Mass::from_mg(60_500),
                },
                "B-03: weighs 60.5 g empty, as worked out.",
            ),
        ];
        for (deed, expected) in cases {
            assert_eq!(said(&deed), expected);
        }
    }

    #[test]
    fn a_sundry_is_told_in_its_own_unit() {
        let used = Deed::SundryUsed {
            tag: "S-03".parse().unwrap(),
            within: Within::default(),
            quantity: 14_980,
            planned_quantity: None,
            stated: true,
        };
        assert_eq!(
            text(&used, "S-03", Some(Unit::Millimetre)),
            "S-03: 14.98 m used."
        );
        assert_eq!(text(&used, "S-03", None), "S-03: 14980 used.");
    }

    #[test]
    fn words_are_listed_as_people_do() {
        assert_eq!(list(["cut"]), "cut");
        assert_eq!(list(["cut", "refine", "finish"]), "cut, refine and finish");
    }
}
