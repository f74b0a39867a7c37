//! The line about the car: how well its areas are known.

use super::line::{Line, LineKind, Verdict};
use crate::ready::plan::Plan;
use crate::trade::car::AreaBasis;

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
