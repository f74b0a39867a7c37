//! Routines and their steps from the wire.
//!
//! It serves setting up and editing routines, and the one step of a loose use.

use std::borrow::Cow;

use fettlebook_contract::v1;
use fettlebook_model::job::{Routine, Share, Step, SundryNeed};
use fettlebook_model::tool::ToolNeed;
use fettlebook_model::{Book, Command, Id, Reason, Refusal};
use fettlebook_quantity::Length;

use super::{id, message, open_id, panels};
use crate::edge::status::EdgeError;
use crate::edge::{mask, show, words};

pub(in crate::edge) fn create(
    sent: v1::CreateRoutineRequest,
    _: &Book,
) -> Result<Command, Refusal> {
    Ok(Command::CreateRoutine {
        routine: routine(message("routine", sent.routine)?)?,
    })
}

pub(in crate::edge) fn edit(
    sent: v1::UpdateRoutineRequest,
    book: &Book,
) -> Result<Command, EdgeError> {
    let fields = message("routine", sent.routine)?;
    let id = id("routine.routine", &fields.routine)?;
    let was = book
        .routine(&id)
        .ok_or_else(|| Refusal::no_id(Reason::RoutineUnknown, "routine.routine", "routine", &id))?;
    let held = show::routine::routine(was);
    let sent = (&fields, sent.update_mask);
    let routine = mask::edited(book, "routine", &held, sent, |edited, _| routine(edited))?;
    Ok(Command::EditRoutine {
        was: Routine::clone(was),
        routine,
    })
}

/// A routine.
pub(in crate::edge) fn routine(sent: v1::Routine) -> Result<Routine, Refusal> {
    let steps = sent.steps.iter().map(|sent| {
        let name = id("routine.steps.step", &sent.step)?;
        step(&format!("routine.steps.{name}"), &name, sent)
    });
    let sundries = sent.sundries.iter().map(|need| {
        Ok(SundryNeed {
            make: id("routine.sundries.make", &need.make)?,
            per_job_quantity: need.per_job_quantity,
            per_m2_quantity: need.per_m2_quantity,
        })
    });
    let tools = sent.tools.iter().map(|need| {
        Ok(ToolNeed {
            make: id("routine.tools.make", &need.make)?,
            must: need.must,
        })
    });
    Ok(Routine {
        id: id("routine.routine", &sent.routine)?,
        steps: steps.collect::<Result<_, _>>()?,
        towel_make: open_id("routine.towel_make", &sent.towel_make)?,
        cells_per_section: sent.cells_per_section_count,
        sundries: sundries.collect::<Result<_, Refusal>>()?,
        tools: tools.collect::<Result<_, Refusal>>()?,
        name: sent.name,
    })
}

/// A step with a name; its fields lie under `field`. Their names take longer to put together than all else here and
/// only a refusal tells them, so what is refused is read once more, for that.
pub(super) fn step(field: &str, name: &Id, sent: &v1::Step) -> Result<Step, Refusal> {
    let named = |part: &str| Cow::Owned(format!("{field}.{part}"));
    step_at(Cow::Borrowed, name, sent).or_else(|_| step_at(named, name, sent))
}

/// A step with a name; `at` says where a part of it lies.
fn step_at<'a>(
    at: impl Fn(&'a str) -> Cow<'a, str>,
    name: &Id,
    sent: &v1::Step,
) -> Result<Step, Refusal> {
    let shares = sent.shares.iter();
    let shares = shares.map(|share| shared(&at("shares"), name, sent, share));
    Ok(Step {
        shares: shares.collect::<Result<_, _>>()?,
        own_panels: panels(&at("own_panels"), &sent.own_panels)?,
        name: name.clone(),
        machine_make: machine(&at("machine_make"), sent)?,
        pad_make: id(&at("pad_make"), &sent.pad_make)?,
        liquid_make: id(&at("liquid_make"), &sent.liquid_make)?,
        side_mm: sent.side_mm.map(Length::from_mm),
        overlap_permille: sent.overlap_permille,
        pass_count: sent.pass_count,
        arm_speed_mm_per_s: sent.arm_speed_mm_per_s,
        press: words::press(&at("press"), sent.press)?,
        speed_per_min: sent.speed_per_min,
        panels: panels(&at("panels"), &sent.panels)?,
        wipe_down_make: open_id(&at("wipe_down_make"), &sent.wipe_down_make)?,
        cleaning: words::cleaning(&at("pad_cleaning"), sent.pad_cleaning)?,
    })
}

/// What a further machine, or the hand, works of a step, whose shares lie under `field`.
fn shared(
    field: &str,
    step_name: &Id,
    of: &v1::Step,
    sent: &v1::StepShare,
) -> Result<Share, Refusal> {
    let at = format!("{field}.reach");
    let reach = words::required(&at, words::reach(&at, sent.reach)?)?;
    let field = format!("{field}.{reach}");
    let name = Share::name_of(step_name, reach).map_err(|_| {
        Refusal::invalid(
            &field,
            format!("{step_name} is too long a name for a step that is shared."),
            "Give the step a shorter one.",
        )
    })?;
    let sent = sent.clone();
    let worked = v1::Step {
        machine_make: sent.machine_make,
        pad_make: sent.pad_make,
        liquid_make: if sent.liquid_make.is_empty() {
            of.liquid_make.clone()
        } else {
            sent.liquid_make
        },
        side_mm: sent.side_mm,
        overlap_permille: sent.overlap_permille,
        pass_count: sent.pass_count,
        arm_speed_mm_per_s: sent.arm_speed_mm_per_s,
        press: sent.press,
        speed_per_min: sent.speed_per_min,
        panels: sent.panels,
        by_hand: sent.by_hand,
        pad_cleaning: sent.pad_cleaning,
        ..v1::Step::default()
    };
    Ok(Share {
        reach,
        worked: step(&field, &name, &worked)?,
    })
}

/// The machine of a step; none by hand, which has to be said.
fn machine(field: &str, sent: &v1::Step) -> Result<Option<Id>, Refusal> {
    match (sent.by_hand, sent.machine_make.is_empty()) {
        (true, true) => Ok(None),
        (false, _) => id(field, &sent.machine_make).map(Some),
        (true, false) => Err(Refusal::invalid(
            field,
            format!(
                "A step by hand has no machine, but {} is named.",
                sent.machine_make
            ),
            "Leave the machine or *by hand* out.",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::cleaning::Cleaning;
    use fettlebook_model::panel::Panel;
    use fettlebook_model::reach::Reach;
    use fettlebook_model::wear::Press;

    fn two_step() -> Routine {
        let id = |text: &str| text.parse().unwrap();
        let step = |name: &str| Step {
            name: id(name),
            machine_make: Some(id("orbital-150")),
            pad_make: id("coarse-foam-150"),
            liquid_make: id("coarse-compound-1-l"),
            side_mm: Some(Length::from_mm(450)),
            overlap_permille: Some(500),
            pass_count: Some(4),
            arm_speed_mm_per_s: None,
            press: Some(Press::Firm),
            speed_per_min: Some(4_500),
            panels: vec![Panel::Bonnet, Panel::Roof],
            wipe_down_make: Some(id("final-towel-350-g")),
            cleaning: Some(Cleaning::AfterSections),
            shares: Vec::new(),
            own_panels: Vec::new(),
        };
        let spot = Share {
            reach: Reach::Spot,
            worked: Step {
                wipe_down_make: None,
                panels: vec![Panel::RearBumper],
                ..step("cut-spot")
            },
        };
        let by_hand = Share {
            reach: Reach::Pencil,
            worked: Step {
                machine_make: None,
                wipe_down_make: None,
                pad_make: id("hand-applicator"),
                ..step("cut-pencil")
            },
        };
        let cut = Step {
            shares: vec![spot, by_hand],
            own_panels: vec![Panel::SillLeft],
            ..step("cut")
        };
        Routine {
            id: id("two-step"),
            name: "two step".to_owned(),
            steps: vec![cut, step("finish")],
            towel_make: Some(id("edgeless-towel-400-g")),
            cells_per_section: Some(2),
            sundries: vec![SundryNeed {
                make: id("nitrile-gloves"),
                per_job_quantity: 2,
                per_m2_quantity: 1,
            }],
            tools: vec![ToolNeed {
                make: id("film-gauge"),
                must: true,
            }],
        }
    }

    #[test]
    fn a_routine_comes_back_from_the_wire_as_it_was() {
        assert_eq!(routine(show::routine::routine(&two_step())), Ok(two_step()));
    }

    #[test]
    fn a_step_is_named_in_the_field_that_is_wrong() {
        let mut sent = show::routine::routine(&two_step());
        sent.steps[1].pad_make.clear();
        assert_eq!(
            routine(sent).unwrap_err().field,
            "routine.steps.finish.pad_make"
        );
    }

    #[test]
    fn what_a_step_does_not_say_stays_open() {
        let mut sent = show::routine::routine(&two_step());
        (sent.steps[0].press, sent.steps[0].pad_cleaning) = (0, 0);
        let read = routine(sent.clone()).unwrap();
        assert_eq!((read.steps[0].press, read.steps[0].cleaning), (None, None));
        let shown = show::routine::routine(&read).steps.swap_remove(0);
        assert_eq!(shown, sent.steps[0]);
    }
}
