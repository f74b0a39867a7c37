//! What a person says of a reading of film.

use super::Said;
use crate::ground::ids::Id;
use crate::trade::film::{OfJob, PanelSpots};

/// What a gauge read of a car's film.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FilmRead {
    /// When and what.
    pub said: Said,
    /// Car.
    pub car: Id,
    /// Beside which job; none where it was beside no job.
    pub of_job: Option<OfJob>,
    /// Panel by panel.
    pub panels: Vec<PanelSpots>,
}
