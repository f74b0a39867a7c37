//! One step of the plan: what working its sections takes.
//!
//! Serves the plan of a job, the log of a loose use and the check of a routine's figures. It looks
//! at the step, its makes and the policy, and must never look at the kit.

use fettlebook_quantity::{Area, Length, Volume};

use super::cleaning::cleaning_of;
use crate::Book;
use crate::book::deed::PadWork;
use crate::ground::exact::{half_up, product};
use crate::ground::ids::Id;
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::cleaning::Cleaning;
use crate::trade::dose::{pads_for, prime_dots, refresh_dots, step_volume};
use crate::trade::job::Step;
use crate::trade::make::{Figures, Grade, LiquidFigures, MachineFigures, PadFigures, PadMaterial};
use crate::trade::panel::Panel;
use crate::trade::policy::{Policy, PolicyKey};
use crate::trade::reach::Reach;
use crate::trade::stroke::{Lane, contour_time_ms, section_time_ms, sections_for, strokes};
use crate::trade::wear::{Action, Press, Work};

/// Square millimetres in a square metre.
const MM2_PER_M2: i128 = 1_000_000;
/// What a pad works that is not cleaned in between, in thousandths of its load.
const UNCLEANED_PERMILLE: i64 = 1_000;

/// What one step of a job needs, or one machine's share of it.
#[derive(Debug, Clone, PartialEq)]
pub struct StepPlan {
    /// The step, or the share of it, by which logs and checks tell it.
    pub name: Id,
    /// The step of the routine that it is, or is a share of.
    pub of: Id,
    /// How it is worked, by whom.
    pub step: Step,
    /// What it works of each panel.
    pub panels: Vec<(Panel, Area)>,
    /// Panels of which it works what takes a finer machine, for the step has none.
    pub takes_finer: Vec<(Panel, Reach)>,
    /// Sets that each section gets.
    pub set_count: i64,
    /// Whether it is worked on the second day of a job that takes two.
    pub second_day: bool,
    /// Sections to work, each as often as it gets a set.
    pub section_count: i64,
    /// Area worked.
    pub area: Area,
    /// Pads that work.
    pub pad_count: i64,
    /// How they are cleaned while they work.
    pub cleaning: Cleaning,
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
    /// Strokes that cover a section once; none by hand.
    pub stroke_count: i64,
    /// Whether it is done by hand: no machine runs then.
    pub by_hand: bool,
    /// How all its sections are worked.
    pub whole: PadWork,
}

impl StepPlan {
    /// The work of a share of its sections.
    pub fn share(&self, section_count: i64) -> PadWork {
        let time_ms = half_up(
            product([self.time_ms, section_count]),
            i128::from(self.section_count),
        );
        PadWork {
            section_count,
            time_ms,
            ..self.whole.clone()
        }
    }

    /// Area that is wiped: after each set.
    pub fn wiped(&self) -> Area {
        Area::from_mm2(self.area.mm2().saturating_mul(self.set_count))
    }

    /// Whether it is what a further machine, or the hand, works of a step.
    pub(crate) fn is_share(&self) -> bool {
        self.name != self.of
    }

    /// Time that a machine runs, ms.
    pub const fn machine_ms(&self) -> i64 {
        if self.by_hand { 0 } else { self.time_ms }
    }

    /// Wear work of the whole step.
    pub fn work(&self) -> Work {
        self.whole.work()
    }
}

/// The figures of the makes a step names.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StepMakes<'a> {
    /// Machine; none by hand.
    pub machine: Option<&'a MachineFigures>,
    /// Pad.
    pub pad: &'a PadFigures,
    /// Liquid.
    pub liquid: &'a LiquidFigures,
}

impl StepMakes<'_> {
    /// The grade of the work: the coarser of pad and liquid.
    fn grade(&self) -> Grade {
        self.pad.grade.min(self.liquid.grade)
    }
}

/// The arm's speed where a step states none, mm/s: the book's own for every step, else by the machine
/// and the grade of the work.
fn usual_arm_speed_mm_per_s(policy: &Policy, makes: StepMakes<'_>) -> i64 {
    let own = policy.value(PolicyKey::ArmSpeedMmPerS);
    if own > 0 {
        return own;
    }
    policy.value(match makes.grade() {
        _ if makes.machine.is_some_and(|machine| machine.spot) => PolicyKey::ArmSpeedSpotMmPerS,
        Grade::Coarse => PolicyKey::ArmSpeedCoarseMmPerS,
        Grade::Medium => PolicyKey::ArmSpeedMediumMmPerS,
        Grade::Fine => PolicyKey::ArmSpeedFineMmPerS,
    })
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
    let setup = Setup::of(book, step, field)?;
    let side = setup.lane.side().mm();
    let kept = 1000_i64.saturating_sub(setup.policy.value(PolicyKey::BlendPermille));
    let area = half_up(product([side, side, section_count, kept]), 1000);
    let worked = Worked {
        section_count,
        area: Area::from_mm2(area),
        set_count: 1,
    };
    setup.plan(&worked, cleaning_of(step, false))
}

/// A step as it is set up: its makes and its strokes, with what it leaves open taken from the
/// policy.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Setup<'a> {
    policy: &'a Policy,
    step: &'a Step,
    /// Figures of the makes it names.
    pub(crate) makes: StepMakes<'a>,
    /// How its strokes are laid.
    pub(crate) lane: Lane,
    field: &'a str,
}

impl<'a> Setup<'a> {
    /// Sets a step up; `field` is where a refusal points.
    ///
    /// # Errors
    /// When the step names what the book does not hold, or its figures make no sense together,
    /// such as a pad wider than any panel.
    pub(crate) fn of(book: &'a Book, step: &'a Step, field: &'a str) -> Result<Self, Refusal> {
        let policy = book.policy();
        let makes = step_makes(book, step, field)?;
        // A hand reaches no further than a spot machine.
        let side_key = if makes.machine.is_none_or(|machine| machine.spot) {
            PolicyKey::SpotSideMm
        } else {
            PolicyKey::BigSideMm
        };
        let by_policy = |given: Option<i64>, key| given.unwrap_or_else(|| policy.value(key));
        let lane = Lane::new(
            Length::from_mm(by_policy(step.side_mm.map(Length::mm), side_key)),
            makes.pad.face_mm,
            step.overlap(policy.value(PolicyKey::OverlapPermille)),
            by_policy(step.pass_count, PolicyKey::PassesCount),
            step.arm_speed_mm_per_s
                .unwrap_or_else(|| usual_arm_speed_mm_per_s(policy, makes)),
        )
        .map_err(|error| {
            Refusal::invalid(
                &format!("{field}.{}", error.field()),
                format!("{}: {error}.", step.name),
                "",
            )
        })?;
        Ok(Self {
            policy,
            step,
            makes,
            lane,
            field,
        })
    }

    /// What it reaches: by its machine and the width of its pad.
    pub(crate) fn reach(&self) -> Reach {
        let face_mm = self.makes.pad.face_mm.mm();
        match self.makes.machine {
            None => Reach::Hand,
            _ if face_mm <= self.policy.value(PolicyKey::ContourFaceMm) => Reach::Pencil,
            Some(machine) if machine.spot => Reach::Spot,
            Some(_) => Reach::Big,
        }
    }

    /// Plans the step on these parts of panels, each section with so many sets; `None` when there are none.
    pub(super) fn on(
        &self,
        panels: Vec<(Panel, Area)>,
        set_count: i64,
        has_brush: bool,
    ) -> Result<Option<StepPlan>, Refusal> {
        let blend = self.policy.value(PolicyKey::BlendPermille);
        let areas = panels.iter().map(|(_, area)| *area);
        let section_count = sections_for(areas.clone(), self.lane.side(), blend);
        if section_count == 0 {
            return Ok(None);
        }
        let worked = Worked {
            section_count: section_count.saturating_mul(set_count),
            area: areas.fold(Area::ZERO, Area::saturating_add),
            set_count,
        };
        let planned = self.plan(&worked, cleaning_of(self.step, has_brush))?;
        Ok(Some(StepPlan { panels, ..planned }))
    }

    /// What working these sections takes.
    fn plan(&self, worked: &Worked, cleaning: Cleaning) -> Result<StepPlan, Refusal> {
        let StepMakes {
            machine,
            pad,
            liquid,
        } = self.makes;
        let section_count = worked.section_count;
        let load = pad.load_sections.unwrap_or(section_count).max(1);
        let more = cleaning.load_key().map(|key| self.policy.value(key));
        let pad_count = pads_for(section_count, load, more.unwrap_or(UNCLEANED_PERMILLE));
        let prime = liquid
            .prime_dot_count
            .unwrap_or_else(|| prime_dots(pad.face_mm));
        let refresh = liquid
            .refresh_dot_count
            .unwrap_or_else(|| refresh_dots(prime));
        let dot = Volume::from_ul(self.policy.value(PolicyKey::DotUl));
        let volume =
            step_volume(section_count, pad_count, prime, refresh, dot).ok_or_else(|| {
                Refusal::new(
                    Reason::NoPlan,
                    self.field,
                    "The liquid of this step is too much to add up.",
                    "Look at its dots.",
                )
            })?;
        let pace = self.pace(worked);
        let whole = match machine {
            Some(machine) => self.by_machine(machine, section_count, pace.time_ms),
            None => self.by_hand(section_count, pace.time_ms),
        };
        Ok(StepPlan {
            name: self.step.name.clone(),
            of: self.step.name.clone(),
            step: Step {
                shares: Vec::new(),
                ..self.step.clone()
            },
            panels: Vec::new(),
            takes_finer: Vec::new(),
            set_count: worked.set_count,
            second_day: false,
            section_count,
            area: worked.area,
            pad_count,
            cleaning,
            spare_count: self.policy.value(PolicyKey::SparePadsCount),
            prime_dot_count: prime,
            refresh_dot_count: refresh,
            volume,
            time_ms: pace.time_ms,
            section_time_ms: pace.section_time_ms,
            stroke_count: pace.stroke_count,
            by_hand: machine.is_none(),
            whole,
        })
    }

    /// How a machine works all its sections.
    fn by_machine(&self, machine: &MachineFigures, section_count: i64, time_ms: i64) -> PadWork {
        let (face_mm, speed) = (self.makes.pad.face_mm, self.step.speed_per_min);
        PadWork {
            section_count,
            time_ms,
            force_mn: self
                .step
                .press
                .unwrap_or_else(|| Press::usual(self.makes.grade()))
                .force_mn(face_mm, self.policy.press_forces()),
            action: machine.action,
            throw_mm: machine.throw_mm,
            speed_per_min: speed.unwrap_or_else(|| machine.usual_speed_per_min()),
            face_mm,
            liquid: self.makes.liquid.grade,
        }
    }

    /// How a hand works them: nothing orbits or turns, so that what an applicator has behind it is
    /// counted by its washes alone.
    fn by_hand(&self, section_count: i64, time_ms: i64) -> PadWork {
        PadWork {
            section_count,
            time_ms,
            force_mn: 0,
            action: Action::Orbital,
            throw_mm: Length::from_mm(0),
            speed_per_min: 0,
            face_mm: self.makes.pad.face_mm,
            liquid: self.makes.liquid.grade,
        }
    }

    /// Time on paint. A pad up to the policy's contour width follows the area in one stroke; a
    /// wider one works section by section. By hand the area alone decides.
    fn pace(&self, worked: &Worked) -> Pace {
        let (face, lane) = (self.makes.pad.face_mm, self.lane);
        let section_count = worked.section_count;
        let section_of = |time_ms| half_up(i128::from(time_ms), i128::from(section_count));
        if self.makes.machine.is_none() {
            let minutes = self.policy.value(PolicyKey::HandMinutesPerM2);
            let minutes = product([worked.area.mm2(), worked.set_count, minutes, 60_000]);
            let time_ms = half_up(minutes, MM2_PER_M2);
            return Pace {
                time_ms,
                section_time_ms: section_of(time_ms),
                stroke_count: 0,
            };
        }
        if face.mm() <= self.policy.value(PolicyKey::ContourFaceMm) {
            let passes = lane.passes().saturating_mul(worked.set_count);
            let time_ms = contour_time_ms(worked.area, face, lane.arm_speed_mm_per_s(), passes);
            return Pace {
                time_ms,
                section_time_ms: section_of(time_ms),
                stroke_count: 1,
            };
        }
        let section_time_ms = section_time_ms(&lane);
        Pace {
            time_ms: section_time_ms.saturating_mul(section_count),
            section_time_ms,
            stroke_count: strokes(&lane),
        }
    }
}

/// What is worked of a car in a step.
struct Worked {
    /// Sections, each as often as it gets a set.
    section_count: i64,
    area: Area,
    set_count: i64,
}

/// Time on paint and strokes of a step.
struct Pace {
    time_ms: i64,
    section_time_ms: i64,
    stroke_count: i64,
}

/// Finds the figures of the makes a step names.
///
/// # Errors
/// When a make is not in the book, or is of another sort than its part in the step.
pub(crate) fn step_makes<'a>(
    book: &'a Book,
    step: &Step,
    field: &str,
) -> Result<StepMakes<'a>, Refusal> {
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
    let machine = match &step.machine_make {
        None => None,
        Some(id) => match figures(id, "machine_make")? {
            Figures::Machine(machine) => Some(machine),
            other => return Err(wrong(id, "machine_make", other, "machine")),
        },
    };
    let pad = match figures(&step.pad_make, "pad_make")? {
        Figures::Pad(pad) => pad,
        other => return Err(wrong(&step.pad_make, "pad_make", other, "pad")),
    };
    let is_applicator = pad.material == PadMaterial::Applicator;
    if is_applicator == machine.is_some() {
        return Err(wrong_hand(step, field, is_applicator));
    }
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

/// The refusal of an applicator on a machine, or of a machine's pad by hand.
fn wrong_hand(step: &Step, field: &str, is_applicator: bool) -> Refusal {
    let (name, make) = (&step.name, &step.pad_make);
    let (what, todo) = if is_applicator {
        (
            format!("The make {make} is an applicator; step {name} is worked with a machine."),
            "Name a pad for the machine, or have the step done by hand.",
        )
    } else {
        (
            format!("The make {make} is no applicator; step {name} is done by hand."),
            "Name an applicator, or the machine it is worked with.",
        )
    };
    Refusal::new(Reason::WrongSort, format!("{field}.pad_make"), what, todo)
}
