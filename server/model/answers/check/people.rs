//! The lines about person and car: vibration, noise, and how well the areas are known.
//!
//! They guide and defer; none of them is an assessment.

use fettlebook_quantity::{Seconds, exact_f64};

use super::Exposure;
use super::line::{Line, LineKind, Verdict};
use crate::Book;
use crate::ready::plan::Plan;
use crate::trade::car::AreaBasis;
use crate::trade::exposure::{
    NoiseBand, VibrationBand, a8_m_per_s2, effective, lex8_db, noise_band, points, vibration_band,
};
use crate::trade::job::Routine;
use crate::trade::make::Figures;

/// How well the areas are known.
pub(super) fn car_line(plan: &Plan) -> Option<Line> {
    let mut line = Line::new(LineKind::Car, None, "panel areas");
    match plan.area_basis {
        AreaBasis::Measured => return None,
        AreaBasis::ClassDefault => line.raise(
            Verdict::Go,
            format!(
                "{} by the class default; measure panels to be surer.",
                plan.area
            ),
        ),
        AreaBasis::Dimensions => line.raise(
            Verdict::Go,
            format!("{} from outer dimensions, within about 20 %.", plan.area),
        ),
    }
    Some(line)
}

/// What one day asks of the person who holds the machines.
#[derive(Debug, Clone, Default)]
pub(super) struct DayLoad {
    vibration: Vec<(f64, Seconds)>,
    noise: Vec<(f64, Seconds)>,
    unknown_vibration: bool,
    unknown_noise: bool,
}

impl DayLoad {
    /// Adds the machine time of a job's plan.
    pub(super) fn add(&mut self, book: &Book, routine: &Routine, plan: &Plan) {
        for (planned, step) in plan.with_steps(routine) {
            let make = step.machine_make.as_ref().and_then(|id| book.make(id));
            let Some(Figures::Machine(machine)) = make.map(|make| &make.figures) else {
                continue;
            };
            let time = Seconds::from_s(planned.time_ms.saturating_add(999).div_euclid(1000));
            match machine.vibration_mm_per_s2 {
                Some(value) => {
                    let a = effective(exact_f64(value) / 1000.0, machine.vibration_measured);
                    self.vibration.push((a, time));
                }
                None => self.unknown_vibration = true,
            }
            match machine.noise_db {
                Some(level) => self.noise.push((exact_f64(level), time)),
                None => self.unknown_noise = true,
            }
        }
    }

    fn a8(&self) -> f64 {
        a8_m_per_s2(&self.vibration).unwrap_or(0.0)
    }

    fn points(&self) -> f64 {
        self.vibration
            .iter()
            .filter_map(|(a, time)| points(*a, *time))
            .sum()
    }

    /// Noise of the day, energies added: 10·log₁₀ Σ 10^(Lᵢ/10), each Lᵢ over 8 h (ISO 9612).
    fn noise_lex_db(&self) -> Option<f64> {
        let energy: f64 = self
            .noise
            .iter()
            .filter_map(|(level, time)| lex8_db(*level, *time))
            .map(|level| 10_f64.powf(level / 10.0))
            .sum();
        (energy > 0.0).then(|| 10.0 * energy.log10())
    }

    /// The exposure up to and with a job.
    pub(super) fn exposure(&self, plan: &Plan) -> Exposure {
        let ms = plan.machine_ms();
        Exposure {
            machine_time_s: ms.saturating_add(999).div_euclid(1000),
            a8_m_per_s2: self.a8(),
            points: self.points(),
            noise_lex_db: self.noise_lex_db(),
        }
    }

    /// The vibration and noise lines.
    pub(super) fn lines(&self) -> Vec<Line> {
        vec![self.vibration_line(), self.noise_line()]
    }

    fn vibration_line(&self) -> Line {
        let mut line = Line::new(LineKind::Vibration, None, "hand-arm vibration");
        let (a8, points) = (self.a8(), self.points());
        let figures = format!("{a8:.1} m/s² over 8 h, {points:.0} points that day");
        match vibration_band(a8) {
            VibrationBand::BelowAction => {
                line.raise(Verdict::Go, format!("{figures}; action 2.5, limit 5."))
            }
            VibrationBand::Action => {
                line.raise(
                    Verdict::Watch,
                    format!("{figures}: above the action value of 2.5."),
                );
                line.todo(
                    "Take breaks, share the machine time, keep hands warm; follow local rules.",
                );
            }
            VibrationBand::Limit => {
                line.raise(
                    Verdict::Stop,
                    format!("{figures}: at or above the limit of 5."),
                );
                line.todo(
                    "Spread the work over days or people, or take a machine with less vibration.",
                );
            }
        }
        if self.unknown_vibration {
            line.raise(
                Verdict::Watch,
                "A machine's vibration is not known and not counted.",
            );
            line.todo("Enter the value from the machine's manual.");
        }
        line
    }

    fn noise_line(&self) -> Line {
        let mut line = Line::new(LineKind::Noise, None, "noise");
        if let Some(lex) = self.noise_lex_db() {
            let figures = format!("{lex:.0} dB(A) over 8 h");
            match noise_band(lex) {
                NoiseBand::BelowAction => line.raise(Verdict::Go, format!("{figures}; action 80.")),
                NoiseBand::LowerAction => {
                    line.raise(
                        Verdict::Watch,
                        format!("{figures}: above the lower action value of 80."),
                    );
                    line.todo("Have hearing protection at hand.");
                }
                NoiseBand::UpperAction | NoiseBand::Limit => {
                    line.raise(
                        Verdict::Watch,
                        format!("{figures}: above the upper action value of 85."),
                    );
                    line.todo("Wear hearing protection; the limit of 87 counts with it worn.");
                }
            }
        }
        if self.unknown_noise {
            line.raise(
                Verdict::Watch,
                "A machine's noise is not known and not counted.",
            );
            line.todo("Enter the level from the machine's manual.");
        }
        line
    }
}
