//! The plan: what a job needs, by geometry and the book's policy.
//!
//! It looks at the car, the routine and the makes, and of the kit at nothing but a brush that pads are
//! cleaned with: sections, strokes, time, dots, pads, towels, sundries. The check holds it against the kit, the log
//! takes it as what was used.

mod cleaning;
mod days;
mod shared;
mod step;

use fettlebook_quantity::{Area, Volume, exact_f64};

use self::cleaning::brush_at;
pub(crate) use step::Setup;
pub(crate) use step::{StepMakes, step_makes};
pub use step::{StepPlan, plan_sections};

use crate::Book;
use crate::ground::exact::{ceil_div, product};
use crate::ground::ids::Id;
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::car::{AreaBasis, crowned, share_out, total_from_dimensions};
use crate::trade::job::{Car, Days, Job, PanelFacts, Routine, Step};
use crate::trade::panel::Panel;
use crate::trade::policy::{Policy, PolicyKey, permille};
use crate::trade::towel::towels_by_section;

/// Square millimetres in a square metre.
const MM2_PER_M2: i128 = 1_000_000;

/// What a job needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Steps in order.
    pub steps: Vec<StepPlan>,
    /// Towels for residue, by the rules alone: what the shop's own use says is no part of the plan.
    pub towel_count: i64,
    /// Area wiped of residue, all steps together.
    pub wiped: Area,
    /// Wipe-downs after steps.
    pub wipe_downs: Vec<WipeDown>,
    /// Sundries: make and quantity in its unit.
    pub sundries: Vec<(Id, i64)>,
    /// Painted area in the job.
    pub area: Area,
    /// The least trusted basis among its panels.
    pub area_basis: AreaBasis,
    /// Panels in the job.
    pub panels: Vec<PanelFacts>,
}

/// What a wipe-down after a step needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WipeDown {
    /// The step it comes after.
    pub after: Id,
    /// Towel make.
    pub make: Id,
    /// Towels.
    pub towel_count: i64,
}

impl Plan {
    /// The chance each of its lines with one should have, so that together they have the target:
    /// its steps' pads and its liquids.
    pub(crate) fn line_target(&self, policy: &Policy) -> f64 {
        let liquids = self.liquid_needs().len();
        let lines = self.steps.len().saturating_add(liquids).max(1);
        let lines = i64::try_from(lines).unwrap_or(i64::MAX);
        permille(policy, PolicyKey::CarryTargetPermille).powf(1.0 / exact_f64(lines))
    }

    /// Time that machines run, ms.
    pub(crate) fn machine_ms(&self) -> i64 {
        let times = self.steps.iter().map(StepPlan::machine_ms);
        times.fold(0, i64::saturating_add)
    }

    /// Time worked by hand, ms.
    pub(crate) fn hand_ms(&self) -> i64 {
        let by_hand = self.steps.iter().filter(|step| step.by_hand);
        by_hand.fold(0, |sum, step| sum.saturating_add(step.time_ms))
    }

    /// Liquid it needs by make, in the order of the steps: make, the step it is told of, volume.
    pub(crate) fn liquid_needs(&self) -> Vec<(&Id, &Id, Volume)> {
        let mut needs: Vec<(&Id, &Id, Volume)> = Vec::new();
        for planned in &self.steps {
            let make = &planned.step.liquid_make;
            match needs.iter_mut().find(|(named, ..)| *named == make) {
                Some((_, _, volume)) => *volume = volume.saturating_add(planned.volume),
                None => needs.push((make, self.step_of_liquid(planned), planned.volume)),
            }
        }
        needs
    }

    /// The step that a liquid is told of: the first whose own machine works with it, else the one whose share is
    /// the first to. A share takes little of it, and would make believe that all of it is its own.
    fn step_of_liquid<'a>(&'a self, first: &'a StepPlan) -> &'a Id {
        let make = &first.step.liquid_make;
        let own = self
            .steps
            .iter()
            .find(|part| !part.is_share() && part.step.liquid_make == *make);
        &own.unwrap_or(first).of
    }
}

/// What a job needs.
///
/// # Errors
/// When the car or routine is missing, or nothing is left to work.
pub fn plan_job(book: &Book, job: &Job) -> Result<Plan, Refusal> {
    plan(book, job, &job.left_out, Days::All)
}

/// What is to come of a job needs: the whole, or its second day once the first is logged.
///
/// # Errors
/// As [`plan_job`].
pub(crate) fn plan_to_come(book: &Book, job: &Job) -> Result<Plan, Refusal> {
    plan(book, job, &job.left_out, job.days_to_come())
}

/// The car of a job.
pub(crate) fn car_of<'a>(book: &'a Book, job: &Job) -> Result<&'a Car, Refusal> {
    let car = book.car(&job.car).map(AsRef::as_ref);
    car.ok_or_else(|| Refusal::no_id(Reason::CarUnknown, "job.car", "car", &job.car))
}

/// The routine of a job.
pub(crate) fn routine_of<'a>(book: &'a Book, job: &Job) -> Result<&'a Routine, Refusal> {
    let (field, id) = ("job.routine", &job.routine);
    let routine = book.routine(id).map(AsRef::as_ref);
    routine.ok_or_else(|| Refusal::no_id(Reason::RoutineUnknown, field, "routine", id))
}

/// What these days of a job need, with these panels left out. Sundries count with the last of its days.
///
/// # Errors
/// When the car or routine is missing, or nothing is left to work.
pub(crate) fn plan(
    book: &Book,
    job: &Job,
    left_out: &[Panel],
    days: Days,
) -> Result<Plan, Refusal> {
    let (car, routine) = (car_of(book, job)?, routine_of(book, job)?);
    let panels = worked(book.policy(), car, routine, left_out);
    if panels.is_empty() {
        return Err(Refusal::new(
            Reason::NoPlan,
            "job.left_out_panels",
            format!(
                "Nothing of {} is left to work: every panel is left out.",
                car.id
            ),
            "Leave fewer panels out.",
        ));
    }
    let has_brush = brush_at(book, &job.place);
    let mut steps = Vec::with_capacity(routine.steps.len());
    for step in &routine.steps {
        let set_count = job.sets_of(&step.name);
        steps.extend(shared::on(book, step, &panels, set_count, has_brush)?);
    }
    if let Some(second) = &job.second_day {
        days::lay(&mut steps, routine, second);
    }
    match days {
        Days::All => {}
        Days::First => steps.retain(|part| !part.second_day),
        Days::Second => steps.retain(|part| part.second_day),
    }
    let area = area_of(&panels);
    let basis = panels
        .iter()
        .map(|facts| facts.basis)
        .max()
        .unwrap_or(AreaBasis::ClassDefault);
    let wiped = steps
        .iter()
        .fold(Area::ZERO, |sum, step| sum.saturating_add(step.wiped()));
    Ok(Plan {
        towel_count: towels(book.policy(), routine, &steps, wiped),
        wipe_downs: wipe_downs(book.policy(), routine, &steps),
        wiped,
        steps,
        sundries: match days {
            Days::First => Vec::new(),
            Days::All | Days::Second => sundries(routine, area),
        },
        area,
        area_basis: basis,
        panels,
    })
}

/// The panels that a routine works of a car, without those that are left out.
fn worked(policy: &Policy, car: &Car, routine: &Routine, left_out: &[Panel]) -> Vec<PanelFacts> {
    panels(car, policy)
        .into_iter()
        .filter(|facts| !facts.left_out && !left_out.contains(&facts.panel))
        .filter(|facts| routine.steps.iter().any(|step| step.works(facts.panel)))
        .collect()
}

fn area_of(panels: &[PanelFacts]) -> Area {
    let areas = panels.iter().map(|facts| facts.area);
    areas.fold(Area::ZERO, Area::saturating_add)
}

/// What a job is planned to take of a sundry make, without the rest of its plan; none where that cannot be told.
pub(crate) fn sundry_need(book: &Book, job: &Job, make: &Id) -> Option<i64> {
    let car = car_of(book, job).ok()?;
    let routine = routine_of(book, job).ok()?;
    let panels = worked(book.policy(), car, routine, &job.left_out);
    let needs = sundries(routine, area_of(&panels));
    let (_, need) = needs.into_iter().find(|(needed, _)| needed == make)?;
    Some(need)
}

/// Towels for residue over all steps; none when the routine uses none.
fn towels(policy: &Policy, routine: &Routine, steps: &[StepPlan], wiped: Area) -> i64 {
    if routine.towel_make.is_none() {
        return 0;
    }
    let reach = policy.towel_reach(false);
    sides_per_section(policy, routine).map_or_else(
        || reach.towels_for(wiped),
        |sides| {
            let sections = steps
                .iter()
                .fold(0_i64, |sum, step| sum.saturating_add(step.section_count));
            towels_by_section(sections, sides, reach.side_count)
        },
    )
}

/// Towels of the wipe-downs, whose wipe soaks through: each once over all that its step works.
fn wipe_downs(policy: &Policy, routine: &Routine, steps: &[StepPlan]) -> Vec<WipeDown> {
    let reach = policy.towel_reach(true);
    let wiped = |step: &Step| {
        let parts = steps.iter().filter(|planned| planned.of == step.name);
        let areas = parts.map(|planned| planned.area);
        areas.reduce(Area::saturating_add)
    };
    let wipe_down = |step: &Step| {
        Some(WipeDown {
            after: step.name.clone(),
            make: step.wipe_down_make.clone()?,
            towel_count: reach.towels_for(wiped(step)?),
        })
    };
    routine.steps.iter().filter_map(wipe_down).collect()
}

/// Clean sides used on a section, where the routine or the book set them; else towels go by area.
pub(crate) fn sides_per_section(policy: &Policy, routine: &Routine) -> Option<i64> {
    let of_book = policy.value(PolicyKey::CellsPerSection);
    routine
        .cells_per_section
        .or((of_book > 0).then_some(of_book))
}

/// What the routine takes of each sundry: so much a job, and so much a square metre, rounded up.
fn sundries(routine: &Routine, area: Area) -> Vec<(Id, i64)> {
    routine
        .sundries
        .iter()
        .map(|need| {
            let by_area = ceil_div(product([need.per_m2_quantity, area.mm2()]), MM2_PER_M2);
            (
                need.make.clone(),
                need.per_job_quantity.saturating_add(by_area),
            )
        })
        .filter(|(_, quantity)| *quantity > 0)
        .collect()
}

/// The panels of a car, each with its area and how that is known.
///
/// A panel the user measured goes by that; the rest by the outer dimensions when the user gave
/// them, else by the class.
pub fn panels(car: &Car, policy: &Policy) -> Vec<PanelFacts> {
    let (total, basis) = match car.dimensions {
        Some(dimensions) => (
            total_from_dimensions(dimensions, car.class.k_permille()),
            AreaBasis::Dimensions,
        ),
        None => (car.class.total(), AreaBasis::ClassDefault),
    };
    let crown = policy.value(PolicyKey::CrownPermille);
    let mut shared = share_out(total, car.class);
    // A panel that its class has not, such as the rear door of a van, is there once it is measured.
    for note in car.panels.iter().filter(|note| note.area_mm2.is_some()) {
        if !shared.iter().any(|(panel, _)| *panel == note.panel) {
            shared.push((note.panel, Area::ZERO));
        }
    }
    shared
        .into_iter()
        .map(|(panel, area)| {
            let note = car.note(panel);
            let own = note.and_then(|note| note.area_mm2);
            PanelFacts {
                panel,
                area: own.map_or(area, |flat| crowned(flat, crown)),
                basis: if own.is_some() {
                    AreaBasis::Measured
                } else {
                    basis
                },
                left_out: note.is_some_and(|note| note.left_out),
                film: car.film_of(panel),
                split: note.and_then(|note| note.split.clone()),
            }
        })
        .collect()
}
