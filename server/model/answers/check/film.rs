//! The film line: what the lowest readings of the worked panels allow.
//!
//! It guides and defers; it is no assessment, and a thin panel stops the job whatever else is there.

use super::line::{Line, LineKind, Verdict};
use crate::Book;
use crate::ready::plan::{Plan, StepPlan};
use crate::trade::film::{FilmBand, Means};
use crate::trade::job::Step;
use crate::trade::make::{Figures, Grade};
use crate::trade::panel::Panel;

/// What the film readings of the worked panels allow; the lowest decides.
pub(super) fn film_line(book: &Book, plan: &Plan) -> Line {
    let mut line = Line::new(LineKind::Film, None, "paint film");
    let limits = book.policy().film_limits();
    let missing = plan
        .panels
        .iter()
        .filter(|facts| facts.film.is_none())
        .count();
    if missing > 0 {
        line.raise(
            Verdict::Watch,
            format!("{missing} of {} panels not measured.", plan.panels.len()),
        );
        line.todo("Measure each panel in several spots before cutting.");
    }
    let mut panels: Vec<_> = plan
        .panels
        .iter()
        .filter_map(|facts| facts.film.map(|film| (film, facts.panel)))
        .collect();
    panels.sort();
    if let Some((film, panel)) = panels.first() {
        line.raise(Verdict::Go, format!("Lowest reading: {film}, {panel}."));
    }
    for (film, panel) in panels {
        let band = limits.band(film);
        if band == FilmBand::Ordinary {
            continue;
        }
        let hardest = hardest(book, plan, panel);
        let is_allowed = hardest.is_none_or(|means| band.allows(means));
        let grave = if is_allowed {
            Verdict::Watch
        } else {
            Verdict::Stop
        };
        line.raise(grave, format!("{panel} {film}."));
        let advice = band.guidance().to_owned();
        if !line.todos.contains(&advice) {
            line.todo(advice);
        }
        if !is_allowed {
            line.todo(what_ends_it(band, panel));
        }
    }
    line
}

/// The hardest that any machine or hand works a panel, or a part of it; `None` when none does.
fn hardest(book: &Book, plan: &Plan, panel: Panel) -> Option<Means> {
    let on_it = |planned: &&StepPlan| planned.panels.iter().any(|(worked, _)| *worked == panel);
    let steps = plan.steps.iter().filter(on_it);
    steps.map(|planned| means(book, &planned.step)).max()
}

fn means(book: &Book, step: &Step) -> Means {
    match book.make(&step.liquid_make).map(|make| &make.figures) {
        Some(Figures::Liquid(liquid)) if liquid.grade == Grade::Fine && step.is_by_hand() => {
            Means::FineByHand
        }
        Some(Figures::Liquid(liquid)) if liquid.grade == Grade::Fine => Means::FineByMachine,
        _ => Means::Coarser,
    }
}

fn what_ends_it(band: FilmBand, panel: Panel) -> String {
    let way_out = band
        .way_out()
        .map_or_else(String::new, |way_out| format!(" {way_out},"));
    format!("Leave {panel} out of this job,{way_out} or have a specialist measure it first.")
}
