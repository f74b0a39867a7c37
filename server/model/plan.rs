//! The plan: what a job needs, by geometry and the book's policy.
//!
//! It looks at the car, the routine and the makes, never at the kit: sections, strokes, time, dots,
//! pads, towels, sundries. The check holds it against the kit, the log takes it as what was used.

use fettlebook_quantity::{Area, Length, Volume};

use crate::Book;
use crate::car::{AreaBasis, crowned, share_out, total_from_dimensions};
use crate::deed::PadWork;
use crate::dose::{pads_for, prime_dots, refresh_dots, step_volume};
use crate::ids::Id;
use crate::job::{Car, Job, PanelFacts, Routine, Step};
use crate::make::{Figures, LiquidFigures, MachineFigures, PadFigures};
use crate::panel::Panel;
use crate::policy::{Policy, PolicyKey};
use crate::refusal::{Reason, Refusal};
use crate::stroke::{Lane, contour_time_ms, section_time_ms, sections_for, strokes};
use crate::towel::towels_for;
use crate::wear::Work;

/// What a job needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Steps in order.
    pub steps: Vec<StepPlan>,
    /// Towels for residue.
    pub towel_count: i64,
    /// Sundries: make and quantity in its unit.
    pub sundries: Vec<(Id, i64)>,
    /// Painted area in the job.
    pub area: Area,
    /// The least trusted basis among its panels.
    pub area_basis: AreaBasis,
    /// Panels in the job.
    pub panels: Vec<PanelFacts>,
}

/// What one step of a job needs.
#[derive(Debug, Clone, PartialEq)]
pub struct StepPlan {
    /// Step.
    pub name: Id,
    /// Sections to work.
    pub section_count: i64,
    /// Area worked.
    pub area: Area,
    /// Pads that work.
    pub pad_count: i64,
    /// Spare pads beside them.
    pub spare_count: i64,
    /// Dots that prime a pad.
    pub prime_dot_count: i64,
    /// Dots for each further section.
    pub refresh_dot_count: i64,
    /// Liquid.
    pub volume: Volume,
    /// Time on paint, all sections, ms.
    pub time_ms: i64,
    /// Time on paint of one section, ms.
    pub section_time_ms: i64,
    /// Strokes that cover a section once.
    pub stroke_count: i64,
    /// How all its sections are worked.
    pub whole: PadWork,
}

impl StepPlan {
    /// The work of a share of its sections.
    pub fn share(&self, section_count: i64) -> PadWork {
        let time_ms = mul_div(self.time_ms, section_count, self.section_count.max(1));
        PadWork {
            section_count,
            time_ms,
            ..self.whole.clone()
        }
    }

    /// Wear work of the whole step.
    pub fn work(&self) -> Work {
        self.whole.work()
    }
}

/// The figures of the makes a step names.
#[derive(Debug, Clone, Copy)]
pub struct StepMakes<'a> {
    /// Machine.
    pub machine: &'a MachineFigures,
    /// Pad.
    pub pad: &'a PadFigures,
    /// Liquid.
    pub liquid: &'a LiquidFigures,
}

/// Finds the figures of the makes a step names.
///
/// # Errors
/// When a make is not in the book, or is of another sort than its part in the step.
pub fn step_makes<'a>(book: &'a Book, step: &Step, field: &str) -> Result<StepMakes<'a>, Refusal> {
    let figures = |id: &Id, part: &str| {
        book.make(id).map(|make| &make.figures).ok_or_else(|| {
            Refusal::no_id(Reason::MakeUnknown, &format!("{field}.{part}"), "make", id)
        })
    };
    let wrong = |id: &Id, part: &str, is: &Figures, needs: &str| {
        Refusal::new(
            Reason::WrongSort,
            format!("{field}.{part}"),
            format!(
                "The make {id} is a {}; step {} needs a {needs} there.",
                is.sort(),
                step.name
            ),
            "Name another make.",
        )
    };
    let machine = match figures(&step.machine_make, "machine_make")? {
        Figures::Machine(machine) => machine,
        other => return Err(wrong(&step.machine_make, "machine_make", other, "machine")),
    };
    let pad = match figures(&step.pad_make, "pad_make")? {
        Figures::Pad(pad) => pad,
        other => return Err(wrong(&step.pad_make, "pad_make", other, "pad")),
    };
    let liquid = match figures(&step.liquid_make, "liquid_make")? {
        Figures::Liquid(liquid) => liquid,
        other => {
            return Err(wrong(
                &step.liquid_make,
                "liquid_make",
                other,
                "compound or polish",
            ));
        }
    };
    Ok(StepMakes {
        machine,
        pad,
        liquid,
    })
}

/// How a step lays its strokes, with what it leaves open taken from the policy.
///
/// # Errors
/// When the figures make no sense together, such as a pad wider than any panel.
pub fn lane(
    policy: &Policy,
    step: &Step,
    makes: StepMakes<'_>,
    field: &str,
) -> Result<Lane, Refusal> {
    let side_key = if makes.machine.spot {
        PolicyKey::SpotSideMm
    } else {
        PolicyKey::BigSideMm
    };
    let side = step
        .side_mm
        .unwrap_or_else(|| Length::from_mm(policy.value(side_key)));
    let passes = step
        .pass_count
        .unwrap_or_else(|| policy.value(PolicyKey::PassesCount));
    let arm = step
        .arm_speed_mm_per_s
        .unwrap_or_else(|| policy.value(PolicyKey::ArmSpeedMmPerS));
    let overlap = step.overlap(policy.value(PolicyKey::OverlapPermille));
    Lane::new(side, makes.pad.face_mm, overlap, passes, arm).map_err(|error| {
        Refusal::invalid(
            &format!("{field}.{}", error.field()),
            format!("{}: {error}.", step.name),
            "",
        )
    })
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
            let note = car.panels.iter().find(|note| note.panel == panel);
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
                film: note.and_then(|note| note.film_um),
            }
        })
        .collect()
}

/// What a job needs.
///
/// # Errors
/// When the car or routine is missing, or nothing is left to work.
pub fn plan_job(book: &Book, job: &Job) -> Result<Plan, Refusal> {
    let car = book
        .car(&job.car)
        .ok_or_else(|| Refusal::no_id(Reason::CarUnknown, "job.car", "car", &job.car))?;
    let routine = book.routine(&job.routine).ok_or_else(|| {
        Refusal::no_id(
            Reason::RoutineUnknown,
            "job.routine",
            "routine",
            &job.routine,
        )
    })?;
    plan(book, car, routine, &job.left_out)
}

/// What a routine on a car needs, with these panels left out.
///
/// # Errors
/// When nothing is left to work, or the routine names what the book does not hold.
pub fn plan(
    book: &Book,
    car: &Car,
    routine: &Routine,
    left_out: &[Panel],
) -> Result<Plan, Refusal> {
    let panels: Vec<PanelFacts> = panels(car, book.policy())
        .into_iter()
        .filter(|facts| !facts.left_out && !left_out.contains(&facts.panel))
        .filter(|facts| routine.steps.iter().any(|step| step.works(facts.panel)))
        .collect();
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
    let mut steps = Vec::with_capacity(routine.steps.len());
    for step in &routine.steps {
        if let Some(planned) = plan_step(book, step, &panels)? {
            steps.push(planned);
        }
    }
    let area = total(panels.iter().map(|facts| facts.area));
    let cells = routine
        .cells_per_section
        .unwrap_or_else(|| book.policy().value(PolicyKey::CellsPerSection));
    let sections = steps
        .iter()
        .fold(0_i64, |sum, step| sum.saturating_add(step.section_count));
    let per_towel = book.policy().value(PolicyKey::CellsPerTowel);
    let towel_count = if routine.towel_make.is_some() {
        towels_for(sections, cells, per_towel)
    } else {
        0
    };
    let basis = panels
        .iter()
        .map(|facts| facts.basis)
        .max()
        .unwrap_or(AreaBasis::ClassDefault);
    Ok(Plan {
        steps,
        towel_count,
        sundries: sundries(routine, area),
        area,
        area_basis: basis,
        panels,
    })
}

/// Plans one step; `None` when it works none of the panels.
fn plan_step(book: &Book, step: &Step, panels: &[PanelFacts]) -> Result<Option<StepPlan>, Refusal> {
    let policy = book.policy();
    let field = format!("routine.steps.{}", step.name);
    let makes = step_makes(book, step, &field)?;
    let lane = lane(policy, step, makes, &field)?;
    let mine = || panels.iter().filter(|facts| step.works(facts.panel));
    let blend = policy.value(PolicyKey::BlendPermille);
    let section_count = mine().fold(0_i64, |sum, facts| {
        sum.saturating_add(sections_for(facts.area, lane.side(), blend))
    });
    if section_count == 0 {
        return Ok(None);
    }
    let area = total(mine().map(|facts| facts.area));
    worked(policy, step, makes, lane, section_count, area, &field).map(Some)
}

/// Plans a number of sections outside any car.
///
/// # Errors
/// When the step names what the book does not hold, or its figures make no sense together.
pub fn plan_sections(
    book: &Book,
    step: &Step,
    section_count: i64,
    field: &str,
) -> Result<StepPlan, Refusal> {
    let policy = book.policy();
    let makes = step_makes(book, step, field)?;
    let lane = lane(policy, step, makes, field)?;
    let side = lane.side().mm();
    let kept = 1000_i64.saturating_sub(policy.value(PolicyKey::BlendPermille));
    let area = mul_div(
        side.saturating_mul(side).saturating_mul(section_count),
        kept,
        1000,
    );
    worked(
        policy,
        step,
        makes,
        lane,
        section_count,
        Area::from_mm2(area),
        field,
    )
}

/// What working these sections takes.
fn worked(
    policy: &Policy,
    step: &Step,
    makes: StepMakes<'_>,
    lane: Lane,
    section_count: i64,
    area: Area,
    field: &str,
) -> Result<StepPlan, Refusal> {
    let face = makes.pad.face_mm;
    let contour = face.mm() <= policy.value(PolicyKey::ContourFaceMm);
    let (time_ms, one_ms) = if contour {
        let whole = contour_time_ms(area, face, lane.arm_speed_mm_per_s(), lane.passes());
        (whole, mul_div(whole, 1, section_count))
    } else {
        let one = section_time_ms(&lane);
        (one.saturating_mul(section_count), one)
    };
    let load = makes.pad.load_sections.unwrap_or(section_count).max(1);
    let pad_count = pads_for(section_count, load);
    let prime = makes
        .liquid
        .prime_dot_count
        .unwrap_or_else(|| prime_dots(face));
    let refresh = makes
        .liquid
        .refresh_dot_count
        .unwrap_or_else(|| refresh_dots(prime));
    let dot = Volume::from_ul(policy.value(PolicyKey::DotUl));
    let volume = step_volume(section_count, pad_count, prime, refresh, dot).ok_or_else(|| {
        Refusal::new(
            Reason::NoPlan,
            field,
            "The liquid of this step is too much to add up.",
            "Look at its dots.",
        )
    })?;
    let usual = makes.machine.usual_speed_per_min();
    Ok(StepPlan {
        name: step.name.clone(),
        section_count,
        area,
        pad_count,
        spare_count: policy.value(PolicyKey::SparePadsCount),
        prime_dot_count: prime,
        refresh_dot_count: refresh,
        volume,
        time_ms,
        section_time_ms: one_ms,
        stroke_count: if contour { 1 } else { strokes(&lane) },
        whole: PadWork {
            section_count,
            time_ms,
            force_mn: step.press.force_mn(face, policy.press_forces()),
            action: makes.machine.action,
            throw_mm: makes.machine.throw_mm,
            speed_per_min: step.speed_per_min.unwrap_or(usual),
            face_mm: face,
            liquid: makes.liquid.grade,
        },
    })
}

fn sundries(routine: &Routine, area: Area) -> Vec<(Id, i64)> {
    routine
        .sundries
        .iter()
        .map(|need| {
            let by_area = mul_div_up(need.per_m2_quantity, area.mm2(), 1_000_000);
            (
                need.make.clone(),
                need.per_job_quantity.saturating_add(by_area),
            )
        })
        .filter(|(_, quantity)| *quantity > 0)
        .collect()
}

fn total(areas: impl Iterator<Item = Area>) -> Area {
    areas.fold(Area::ZERO, Area::saturating_add)
}

/// a·b/c rounded half up, saturating; c > 0.
pub(crate) fn mul_div(a: i64, b: i64, c: i64) -> i64 {
    let wide = i128::from(a)
        .saturating_mul(i128::from(b))
        .saturating_mul(2);
    let c = i128::from(c.max(1));
    let rounded = wide.saturating_add(c).div_euclid(c.saturating_mul(2));
    i64::try_from(rounded).unwrap_or(i64::MAX)
}

/// a·b/c rounded up, saturating; c > 0, a and b not negative.
fn mul_div_up(a: i64, b: i64, c: i64) -> i64 {
    let wide = i128::from(a).saturating_mul(i128::from(b));
    let c = i128::from(c.max(1));
    let up = wide.saturating_add(c.saturating_sub(1)).div_euclid(c);
    i64::try_from(up).unwrap_or(i64::MAX)
}
