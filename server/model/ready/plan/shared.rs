//! A step over the machines that share it: each panel, or part of one, for the machine that reaches it.
//!
//! Every part of a panel that the step works is worked once. A step that nobody shares is one part, with
//! all of its panels.

use fettlebook_quantity::Area;

use super::step::{Setup, StepPlan};
use crate::Book;
use crate::ground::refusal::Refusal;
use crate::trade::job::{PanelFacts, Share, Step};
use crate::trade::panel::Panel;
use crate::trade::reach::Reach;

/// One of those that work a step, and what falls to it.
struct Worker<'a> {
    setup: Setup<'a>,
    reach: Reach,
    panels: Vec<(Panel, Area)>,
    takes_finer: Vec<(Panel, Reach)>,
}

/// Plans a step on these panels, a plan for each of those that work it; none for whom nothing is left.
///
/// # Errors
/// When the step names what the book does not hold, or its figures make no sense together.
pub(super) fn on(
    book: &Book,
    step: &Step,
    panels: &[PanelFacts],
    set_count: i64,
    has_brush: bool,
) -> Result<Vec<StepPlan>, Refusal> {
    let field = format!("routine.steps.{}", step.name);
    let worked = panels.iter().filter(|facts| step.works(facts.panel));
    if step.shares.is_empty() {
        let whole = worked.map(|facts| (facts.panel, facts.area)).collect();
        let planned = Setup::of(book, step, &field)?.on(whole, set_count, has_brush)?;
        return Ok(planned.into_iter().collect());
    }
    let mut workers = workers(book, step, &field)?;
    for facts in worked {
        give_out(step, &mut workers, facts);
    }
    let mut plans = Vec::with_capacity(workers.len());
    for worker in workers {
        if let Some(planned) = worker.setup.on(worker.panels, set_count, has_brush)? {
            plans.push(StepPlan {
                of: step.name.clone(),
                takes_finer: worker.takes_finer,
                ..planned
            });
        }
    }
    Ok(plans)
}

/// The step's own machine, and those that share it.
fn workers<'a>(book: &'a Book, step: &'a Step, field: &'a str) -> Result<Vec<Worker<'a>>, Refusal> {
    let own = Setup::of(book, step, field)?;
    let worker = |setup, reach| Worker {
        setup,
        reach,
        panels: Vec::new(),
        takes_finer: Vec::new(),
    };
    let mut workers = vec![worker(own, own.reach())];
    for share in &step.shares {
        workers.push(worker(Setup::of(book, &share.worked, field)?, share.reach));
    }
    Ok(workers)
}

/// Gives a panel to the one that is to work it whole, else each part of it to the nearest that reaches it.
fn give_out(step: &Step, workers: &mut [Worker<'_>], facts: &PanelFacts) {
    let panel = facts.panel;
    let by_share = |share: &Share| share.worked.panels.contains(&panel);
    let whole = if step.own_panels.contains(&panel) {
        Some(0)
    } else {
        let at = step.shares.iter().position(by_share);
        at.map(|at| at.saturating_add(1))
    };
    if let Some(worker) = whole.and_then(|at| workers.get_mut(at)) {
        worker.panels.push((panel, facts.area));
        return;
    }
    for (reach, area) in facts.parts() {
        let nearest = reach
            .in_place()
            .into_iter()
            .find_map(|wanted| workers.iter().position(|worker| worker.reach == wanted));
        if let Some(worker) = nearest.and_then(|at| workers.get_mut(at)) {
            worker.take(panel, reach, area);
        }
    }
}

impl Worker<'_> {
    /// Takes a part of a panel, beside what it has of it.
    fn take(&mut self, panel: Panel, reach: Reach, area: Area) {
        if !self.reach.is_as_fine_as(reach) {
            self.takes_finer.push((panel, reach));
        }
        match self.panels.iter_mut().find(|(held, _)| *held == panel) {
            Some((_, held)) => *held = held.saturating_add(area),
            None => self.panels.push((panel, area)),
        }
    }
}
