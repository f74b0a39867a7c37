//! Logs of use from the wire: what a job used, as corrections to its plan, or a use outside any.
//!
//! It serves `LogUse`.

use fettlebook_contract::v1;
use fettlebook_contract::v1::liquid_amount::Amount;
use fettlebook_model::command::{JobLog, LiquidAmount, LooseLog, PadUse, Unbooked, UnbookedCar};
use fettlebook_model::take::Picked;
use fettlebook_model::{Book, Command, Refusal, Tag};
use fettlebook_quantity::{Count, Volume};

use super::job::utc_offset;
use super::routine::step;
use super::{id, moment, open_id, open_place, open_tag, panels, said_and_kept, tag, weighings};
use crate::edge::words;

/// Name of the one step of a loose use that was given none.
const LOOSE_STEP: &str = "loose";

pub(in crate::edge) fn log_use(sent: v1::LogUseRequest, _: &Book) -> Result<Command, Refusal> {
    if sent.unbooked.is_some() && !(sent.job.is_empty() && sent.loose.is_none()) {
        return Err(Refusal::invalid(
            "unbooked",
            "A car that nobody booked has no job yet, and its use is that of a job.",
            "Leave out `unbooked`, or `job` and `loose`.",
        ));
    }
    match (sent.job.is_empty(), sent.loose.is_some()) {
        (true, false) if sent.unbooked.is_some() => job_log(sent),
        (false, false) => job_log(sent),
        (true, true) => loose_log(sent),
        (true, false) => Err(Refusal::missing(
            "job",
            "Name the job that was done, say in `unbooked` which car nobody booked, or in `loose` what was used \
             outside any job.",
        )),
        (false, true) => Err(Refusal::invalid(
            "loose",
            "A use belongs to a job or to none; both are given.",
            "Leave out `job` or `loose`.",
        )),
    }
}

fn job_log(sent: v1::LogUseRequest) -> Result<Command, Refusal> {
    let swaps = sent.swaps.iter().map(|swap| {
        Ok((
            tag("swaps.planned", &swap.planned)?,
            tag("swaps.used", &swap.used)?,
        ))
    });
    let unbooked = sent.unbooked.as_ref().map(unbooked).transpose()?;
    let job = match &sent.unbooked {
        None => id("job", &sent.job)?,
        Some(unbooked) => id("unbooked.job", &unbooked.job)?,
    };
    Ok(Command::LogJob(Box::new(JobLog {
        job: Some(job),
        unbooked,
        first_day: sent.first_day,
        picked: picked("picked", &sent.picked)?,
        left_out: panels("left_out_panels", &sent.left_out_panels)?,
        pads: pads(["pads.tag", "pads.found", "pads.aside"], &sent.pads)?,
        swaps: swaps.collect::<Result<_, Refusal>>()?,
        dropped_towel_count: sent.dropped_towel_count,
        bundles: bundles(&sent.bundles)?,
        weighings: weighings(&sent.weighings)?,
        bottles: bottles(&sent.bottles)?,
        sundries: sundries(&sent.sundries)?,
        machine_time_s: sent.machine_time_s,
        batteries: batteries(&sent.batteries)?,
        machine_times: machine_times(&sent.machines)?,
        person: sent.person,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })))
}

/// What there is to say of a job that nobody booked.
fn unbooked(sent: &v1::UnbookedCar) -> Result<Unbooked, Refusal> {
    let class = words::car_class("unbooked.class", sent.class)?;
    let car = match (class, sent.car.is_empty()) {
        (Some(class), true) => UnbookedCar::OfClass(class),
        (None, false) => UnbookedCar::Known(id("unbooked.car", &sent.car)?),
        (None, true) => {
            return Err(Refusal::missing(
                "unbooked.class",
                "Give the class of the car, or the id of one that the book has.",
            ));
        }
        (Some(_), false) => {
            return Err(Refusal::invalid(
                "unbooked.car",
                "A car of the book has its class; both are given.",
                "Leave out `class` or `car`.",
            ));
        }
    };
    Ok(Unbooked {
        car,
        routine: id("unbooked.routine", &sent.routine)?,
        place: open_place("unbooked.place", &sent.place)?,
        starts_at: moment("unbooked.start_time", sent.start_time)?,
        utc_offset_s: utc_offset("unbooked.utc_offset_s", sent.utc_offset_s)?,
    })
}

fn loose_log(sent: v1::LogUseRequest) -> Result<Command, Refusal> {
    let stray = [
        ("left_out_panels", !sent.left_out_panels.is_empty()),
        ("pads", !sent.pads.is_empty()),
        ("swaps", !sent.swaps.is_empty()),
        ("dropped_towel_count", sent.dropped_towel_count != 0),
        ("picked", !sent.picked.is_empty()),
        ("machine_time_s", sent.machine_time_s.is_some()),
        ("batteries", !sent.batteries.is_empty()),
        ("machines", !sent.machines.is_empty()),
        ("person", !sent.person.is_empty()),
        ("first_day", sent.first_day),
    ];
    if let Some((field, _)) = stray.iter().find(|(_, given)| *given) {
        return Err(Refusal::invalid(
            field,
            format!("`{field}` corrects the plan of a job; a loose use has none."),
            "Leave it out; pads of a loose use go into `loose.pads`.",
        ));
    }
    let loose = sent.loose.unwrap_or_default();
    let worked = loose.step.as_ref().map(|sent| {
        let name = if sent.step.is_empty() {
            LOOSE_STEP
        } else {
            &sent.step
        };
        step("loose.step", &id("loose.step.step", name)?, sent)
    });
    Ok(Command::LogLoose(Box::new(LooseLog {
        step: worked.transpose()?,
        machine: open_tag("loose.machine", &loose.machine)?,
        plate: open_tag("loose.plate", &loose.plate)?,
        section_count: loose.section_count,
        pads: pads(
            ["loose.pads.tag", "loose.pads.found", "loose.pads.aside"],
            &loose.pads,
        )?,
        bottles: bottles(&sent.bottles)?,
        bundles: bundles(&sent.bundles)?,
        sundries: sundries(&sent.sundries)?,
        weighings: weighings(&sent.weighings)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })))
}

/// A pick as it was shown.
pub(super) fn picked(field: &str, sent: &[v1::PickedPiece]) -> Result<Vec<Picked>, Refusal> {
    sent.iter()
        .map(|piece| {
            Ok(Picked {
                tag: tag(&format!("{field}.tag"), &piece.tag)?,
                step: open_id(&format!("{field}.step"), &piece.step)?,
                quantity: piece.quantity,
                spare: piece.spare,
            })
        })
        .collect()
}

/// Pads, whose three fields lie where it is said.
fn pads(
    [tag_at, found_at, aside_at]: [&str; 3],
    sent: &[v1::PadUse],
) -> Result<Vec<PadUse>, Refusal> {
    sent.iter()
        .map(|pad| {
            Ok(PadUse {
                tag: tag(tag_at, &pad.tag)?,
                section_count: pad.section_count,
                found: words::bin_reason(found_at, pad.found)?,
                aside: words::aside_reason(aside_at, pad.aside)?,
            })
        })
        .collect()
}

fn bundles(sent: &[v1::BundleUse]) -> Result<Vec<(Tag, i64)>, Refusal> {
    sent.iter()
        .map(|used| Ok((tag("bundles.bundle", &used.bundle)?, used.used_count)))
        .collect()
}

fn bottles(sent: &[v1::BottleUse]) -> Result<Vec<(Tag, LiquidAmount)>, Refusal> {
    sent.iter()
        .map(|used| {
            let amount = used
                .amount
                .as_ref()
                .and_then(|amount| amount.amount.as_ref());
            let amount = match amount {
                Some(Amount::VolumeUl(volume_ul)) => {
                    LiquidAmount::Volume(Volume::from_ul(*volume_ul))
                }
                Some(Amount::DotCount(count)) => LiquidAmount::Dots(Count::new(*count)),
                None => {
                    let todo = "Give a volume in µL or a number of dots.";
                    return Err(Refusal::missing("bottles.amount", todo));
                }
            };
            Ok((tag("bottles.bottle", &used.bottle)?, amount))
        })
        .collect()
}

fn machine_times(sent: &[v1::MachineTime]) -> Result<Vec<(Tag, i64)>, Refusal> {
    sent.iter()
        .map(|ran| Ok((tag("machines.machine", &ran.machine)?, ran.time_s)))
        .collect()
}

fn batteries(sent: &[v1::BatteryUse]) -> Result<Vec<(Tag, i64)>, Refusal> {
    sent.iter()
        .map(|used| Ok((tag("batteries.battery", &used.battery)?, used.left_permille)))
        .collect()
}

fn sundries(sent: &[v1::SundryUse]) -> Result<Vec<(Tag, i64)>, Refusal> {
    sent.iter()
        .map(|used| Ok((tag("sundries.tag", &used.tag)?, used.quantity)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::Reason;
    use fettlebook_model::wear::BinReason;

    fn parsed(sent: v1::LogUseRequest) -> Result<Command, Refusal> {
        log_use(sent, &Book::new())
    }

    #[test]
    fn a_use_belongs_to_a_job_or_to_none() {
        let job = v1::LogUseRequest {
            job: "j".to_owned(),
            ..Default::default()
        };
        let loose = v1::LogUseRequest {
            loose: Some(v1::LooseUse::default()),
            ..Default::default()
        };
        let both = v1::LogUseRequest {
            loose: loose.loose.clone(),
            ..job.clone()
        };
        assert!(matches!(parsed(job), Ok(Command::LogJob(_))));
        assert!(matches!(parsed(loose), Ok(Command::LogLoose(_))));
        let refused = parsed(both).unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (Reason::FieldInvalid, "loose")
        );
        let refused = parsed(v1::LogUseRequest::default()).unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (Reason::FieldMissing, "job")
        );
    }

    #[test]
    fn corrections_of_a_plan_do_not_go_with_a_loose_use() {
        let sent = v1::LogUseRequest {
            loose: Some(v1::LooseUse::default()),
            dropped_towel_count: 1,
            ..Default::default()
        };
        assert_eq!(parsed(sent).unwrap_err().field, "dropped_towel_count");
    }

    #[test]
    fn a_log_keeps_every_correction() {
        let pad = v1::PadUse {
            tag: "p-7".to_owned(),
            section_count: Some(9),
            found: v1::BinReason::Torn.into(),
            aside: 0,
        };
        let amount = v1::LiquidAmount {
            amount: Some(Amount::DotCount(6)),
        };
        let sent = v1::LogUseRequest {
            job: "j".to_owned(),
            pads: vec![pad],
            swaps: vec![v1::Swap {
                planned: "P-01".to_owned(),
                used: "P-02".to_owned(),
            }],
            bottles: vec![v1::BottleUse {
                bottle: "B-03".to_owned(),
                amount: Some(amount),
            }],
            sundries: vec![v1::SundryUse {
                tag: "S-01".to_owned(),
                quantity: 2,
            }],
            bundles: vec![v1::BundleUse {
                bundle: "T-01".to_owned(),
                used_count: 5,
            }],
            weighings: vec![v1::Weighing {
                bottle: "B-03".to_owned(),
                gross_mg: 412_000,
            }],
            ..Default::default()
        };
        let Ok(Command::LogJob(log)) = parsed(sent) else {
            panic!("not a job's log")
        };
        let tag = |text: &str| text.parse::<Tag>().unwrap();
        assert_eq!(
            (log.pads[0].tag, log.pads[0].found),
            (tag("P-07"), Some(BinReason::Torn))
        );
        assert_eq!(log.swaps, [(tag("P-01"), tag("P-02"))]);
        assert_eq!(
            log.bottles,
            [(tag("B-03"), LiquidAmount::Dots(Count::new(6)))]
        );
        assert_eq!(
            (log.sundries[0], log.bundles[0]),
            ((tag("S-01"), 2), (tag("T-01"), 5))
        );
        assert_eq!(log.weighings[0].gross_mg.mg(), 412_000);
    }

    #[test]
    fn a_bottle_without_an_amount_is_refused() {
        let sent = v1::LogUseRequest {
            job: "j".to_owned(),
            bottles: vec![v1::BottleUse {
                bottle: "B-03".to_owned(),
                amount: None,
            }],
            ..Default::default()
        };
        assert_eq!(parsed(sent).unwrap_err().field, "bottles.amount");
    }
}
