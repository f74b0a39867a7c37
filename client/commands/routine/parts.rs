//! How steps and sundries of a routine are written: `cut: machine=…, pad=…, liquid=…`.
//!
//! It serves `routine add`, `routine edit` and a loose use. What a step leaves open is the book's
//! policy; nothing is filled in here.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{
    PadCleaning, Press, Reach, Step, StepShare, SundryNeed, ToolNeed, Unit,
};

use crate::commands::receive::figures_of;
use crate::connect::Session;
use crate::fault::Fault;
use crate::figures::read::{millimetres, speed, whole};
use crate::options::{self, Kept, Stock, figure};
use crate::word;

/// How a step is written.
pub(crate) const STEP_FORMS: &str = "'cut: machine=MAKE, pad=MAKE, liquid=MAKE' and, where they \
     differ from the book's policy, press=light|moderate|firm, side=450 mm, passes=4, overlap=50 %, \
     arm=50 mm/s, speed=4500/min, panels=bonnet+roof, wipe-down=TOWELMAKE, clean=none|between-panels|after-sections, \
     own=PANELS that its machine works whole where others share it; by=hand stands for the machine \
     where there is none";

/// How a share of a step is written.
const SHARE_FORMS: &str = "'cut spot: machine=MAKE, pad=MAKE', which is step and reach (big, spot, pencil or \
     hand), and where they differ from the step's or the book's policy, liquid=MAKE and how it is worked as of \
     a step; panels=mirrors for those that it works whole";

/// Reads a step with its name.
pub(crate) fn step(text: &str) -> Result<Step, String> {
    let (name, rest) = text
        .split_once(':')
        .map(|(name, rest)| (name.trim(), rest))
        .filter(|(name, _)| !name.is_empty())
        .ok_or_else(|| format!("'{text}' names no step; write {STEP_FORMS}"))?;
    let mut step = loose_step(rest)?;
    name.clone_into(&mut step.step);
    Ok(step)
}

/// Reads a step without a name.
pub(crate) fn loose_step(text: &str) -> Result<Step, String> {
    let mut step = Step::default();
    for part in text
        .split(',')
        .map(str::trim)
        .filter(|part| !part.is_empty())
    {
        let (key, value) = part
            .split_once('=')
            .map(|(key, value)| (key.trim(), value.trim()))
            .filter(|(_, value)| !value.is_empty())
            .ok_or_else(|| format!("'{part}' is not written as KEY=VALUE; write {STEP_FORMS}"))?;
        put(&mut step, key, value)?;
    }
    Ok(step)
}

fn put(step: &mut Step, key: &str, value: &str) -> Result<(), String> {
    match key {
        "machine" => value.clone_into(&mut step.machine_make),
        "by" if value == "hand" => step.by_hand = true,
        "by" => return Err(format!("'by={value}' is not understood; write by=hand")),
        "pad" => value.clone_into(&mut step.pad_make),
        "liquid" => value.clone_into(&mut step.liquid_make),
        "press" => {
            let press = word::find::<Press>(value)
                .ok_or_else(|| format!("'{value}' is not one of {}", word::list::<Press>()))?;
            step.set_press(press);
        }
        "side" => step.side_mm = Some(millimetres(value)?),
        "passes" => step.pass_count = Some(whole(value)?),
        "overlap" => step.overlap_permille = Some(figure(value, &["%"], 1)?),
        "arm" => step.arm_speed_mm_per_s = Some(figure(value, &["mm/s"], 0)?),
        "speed" => step.speed_per_min = Some(speed(value)?),
        "wipe-down" => value.clone_into(&mut step.wipe_down_make),
        "clean" => {
            let cleaning = word::find::<PadCleaning>(value).ok_or_else(|| {
                format!("'{value}' is not one of {}", word::list::<PadCleaning>())
            })?;
            step.set_pad_cleaning(cleaning);
        }
        "panels" => step.panels = panels(value),
        "own" => step.own_panels = panels(value),
        _ => return Err(format!("'{key}' is no part of a step; write {STEP_FORMS}")),
    }
    Ok(())
}

/// What a further machine, or the hand, works of a step that is named.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shared {
    step: String,
    share: StepShare,
}

/// Reads what a further machine, or the hand, works of a step: `cut spot: machine=MAKE, pad=MAKE`.
pub(crate) fn share(text: &str) -> Result<Shared, String> {
    let refused = || format!("'{text}' names no step and reach; write {SHARE_FORMS}");
    let (head, rest) = text.split_once(':').ok_or_else(refused)?;
    let (step, reach) = head.trim().rsplit_once(' ').ok_or_else(refused)?;
    let reach = word::find::<Reach>(reach)
        .ok_or_else(|| format!("'{reach}' is not one of {}", word::list::<Reach>()))?;
    let worked = loose_step(rest)?;
    if !worked.wipe_down_make.is_empty() || !worked.own_panels.is_empty() {
        return Err(format!(
            "a wipe-down and panels of one's own are said of the whole step; write {SHARE_FORMS}"
        ));
    }
    Ok(Shared {
        step: step.trim().to_owned(),
        share: StepShare {
            reach: reach.into(),
            by_hand: worked.by_hand || (reach == Reach::Hand && worked.machine_make.is_empty()),
            machine_make: worked.machine_make,
            pad_make: worked.pad_make,
            liquid_make: worked.liquid_make,
            side_mm: worked.side_mm,
            overlap_permille: worked.overlap_permille,
            pass_count: worked.pass_count,
            arm_speed_mm_per_s: worked.arm_speed_mm_per_s,
            press: worked.press,
            speed_per_min: worked.speed_per_min,
            panels: worked.panels,
            pad_cleaning: worked.pad_cleaning,
        },
    })
}

/// Puts shares into the steps that they name, in place of those that a step had.
///
/// # Errors
/// When no step has that name.
pub(crate) fn put_shares(steps: &mut [Step], shared: &[Shared]) -> Result<(), Fault> {
    for step in steps.iter_mut() {
        if shared.iter().any(|one| one.step == step.step) {
            step.shares.clear();
        }
    }
    for Shared { step: name, share } in shared {
        let Some(step) = steps.iter_mut().find(|step| step.step == *name) else {
            let names: Vec<_> = steps.iter().map(|step| step.step.as_str()).collect();
            return Err(Fault::usage(
                "--share",
                format!(
                    "The routine has no step {name}; its steps are {}.",
                    names.join(", ")
                ),
            ));
        };
        step.shares.push(share.clone());
    }
    Ok(())
}

/// The panels of a step: `bonnet+roof`, `bonnet roof`.
fn panels(text: &str) -> Vec<String> {
    let words = text
        .split(['+', ' ', ';', '/'])
        .filter(|word| !word.is_empty());
    words.map(str::to_owned).collect()
}

/// Reads `film-gauge`, or `film-gauge=must` for one that the job must not start without.
pub(crate) fn tool(text: &str) -> Result<ToolNeed, String> {
    let (make, must) = match text.split_once('=') {
        None => (text, false),
        Some((make, word)) if word.trim() == "must" => (make, true),
        Some(_) => {
            return Err(format!(
                "'{text}' is not written as MAKE, or MAKE=must where the job must not start without it"
            ));
        }
    };
    Ok(ToolNeed {
        make: make.trim().to_owned(),
        must,
    })
}

/// A sundry as it was written, before the unit of its make is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Need {
    make: String,
    per_job: Option<Stock>,
    per_m2: Option<Stock>,
}

/// Reads `gloves=2 pairs`, `wipe=100 ml per m2` or `wipe=50 ml + 20 ml per m2`.
pub(crate) fn need(text: &str) -> Result<Need, String> {
    const FORMS: &str = "MAKE=AMOUNT, 'MAKE=AMOUNT per m2' or 'MAKE=AMOUNT + AMOUNT per m2'";
    let (make, amounts) = text
        .split_once('=')
        .filter(|(make, _)| !make.trim().is_empty())
        .ok_or_else(|| format!("'{text}' is not written as {FORMS}"))?;
    let mut need = Need {
        make: make.trim().to_owned(),
        per_job: None,
        per_m2: None,
    };
    for amount in amounts.split('+') {
        let amount = amount.trim().replace('²', "2");
        let (amount, field) = match amount.strip_suffix("per m2") {
            Some(amount) => (amount.trim(), &mut need.per_m2),
            None => (amount.as_str(), &mut need.per_job),
        };
        if field.is_some() {
            return Err(format!(
                "'{text}' gives the same thing twice; write {FORMS}"
            ));
        }
        *field = Some(options::stock(amount)?);
    }
    Ok(need)
}

/// The needs as the contract carries them, in the units of their makes.
///
/// # Errors
/// When a make is not known, is no sundry, or is kept in another unit.
pub(crate) async fn in_units(session: &Session, needs: &[Need]) -> Result<Vec<SundryNeed>, Fault> {
    let mut sundries = Vec::new();
    for need in needs {
        let kept = Kept {
            unit: sundry_unit(session, &need.make).await?,
            full: None,
        };
        let quantity = |stock: Option<Stock>| {
            stock.map_or(Ok(0), |stock| stock.in_unit(kept, "--sundry", &need.make))
        };
        sundries.push(SundryNeed {
            make: need.make.clone(),
            per_job_quantity: quantity(need.per_job)?,
            per_m2_quantity: quantity(need.per_m2)?,
        });
    }
    Ok(sundries)
}

async fn sundry_unit(session: &Session, make: &str) -> Result<Unit, Fault> {
    match figures_of(session, make).await? {
        Some(Figures::Sundry(sundry)) => Ok(sundry.unit()),
        Some(
            Figures::Pad(_)
            | Figures::Plate(_)
            | Figures::Machine(_)
            | Figures::Towel(_)
            | Figures::Liquid(_)
            | Figures::Tool(_)
            | Figures::Battery(_),
        )
        | None => Err(Fault::usage(
            "--sundry",
            format!("{make} is no sundry; pads, plates and liquids belong to a step."),
        )),
    }
}

#[cfg(test)]
mod tests;
