//! Tools: what must be there for a job and is not used up, such as a film gauge or an inspection light.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::ground::ids::Id;
use crate::ground::word::word_enum;

word_enum! {
    /// What a tool is for.
    ToolKind is "a sort of tool" {
        /// Measures paint film.
        FilmGauge = "film-gauge",
        /// Shows what is left to correct.
        InspectionLight = "inspection-light",
        /// Cleans a pad between sections.
        PadBrush = "pad-brush",
        /// Sets a pad further from the machine.
        ExtensionShaft = "extension-shaft",
        /// Keeps what falls off the floor.
        Mat = "mat",
        /// Anything else.
        Other = "other",
    }
}

/// Figures of a tool.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ToolFigures {
    /// What it is for.
    pub kind: ToolKind,
}

/// How a tool stands.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ToolState {
    /// Day by which it is to be checked, as a gauge is against its standards; none when it is not.
    pub check_due_on: Option<Date>,
}

impl ToolState {
    /// The day by which it was to be checked, where that has passed on this day.
    pub(crate) fn overdue_on(&self, day: Date) -> Option<Date> {
        self.check_due_on.filter(|due| *due < day)
    }
}

/// A tool that a routine wants to be there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ToolNeed {
    /// Make; another of the same sort does as well.
    pub make: Id,
    /// Whether the job must not start without it.
    pub must: bool,
}
