//! How long the machines of a job run, or ran by its log: what an exposure is counted by.

use super::{Paces, planned_times};
use crate::ground::exact::{half_up, product};
use crate::ground::ids::Id;
use crate::ready::plan::{Plan, StepPlan};
use crate::trade::job::Job;

/// How long the machines of one job run.
pub(crate) struct RealTimes<'a> {
    paces: &'a Paces<'a>,
    /// By make, by the plan of today.
    planned: Vec<(&'a Id, i64)>,
    job: &'a Job,
}

/// How long the machine of a step runs, ms.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StepTime {
    pub planned_ms: i64,
    /// By the minutes that logs say.
    pub learnt_ms: i64,
}

impl StepTime {
    /// What an exposure is counted by: the longer of both.
    pub(crate) fn counted_ms(self) -> i64 {
        self.planned_ms.max(self.learnt_ms)
    }
}

impl<'a> RealTimes<'a> {
    pub(super) fn of(paces: &'a Paces<'a>, job: &'a Job, plan: &'a Plan) -> Self {
        Self {
            paces,
            planned: planned_times(plan),
            job,
        }
    }

    /// How long the machine of a step ran by the log, which is all there is to say of it then; else by plan and
    /// pace.
    pub(crate) fn of_step(&self, planned: &StepPlan) -> StepTime {
        let ran_ms = self.ran_ms(planned);
        StepTime {
            planned_ms: ran_ms.unwrap_or_else(|| planned.machine_ms()),
            learnt_ms: ran_ms.unwrap_or_else(|| self.paces.of_step(planned)),
        }
    }

    /// Its part of what its machine ran by the log, as the steps are planned today.
    fn ran_ms(&self, planned: &StepPlan) -> Option<i64> {
        let machine = planned.step.machine_make.as_ref()?;
        let ran = self.job.ran().find(|ran| ran.machine == *machine)?;
        let (_, whole_ms) = self.planned.iter().find(|(make, _)| *make == machine)?;
        let part = product([planned.machine_ms(), ran.time_ms]);
        (*whole_ms > 0).then(|| half_up(part, (*whole_ms).into()))
    }
}
