//! The lines of what must be there and is not used up: gauge, light, brush.
//!
//! A tool that is missing is watched, for work can be done without it; it stops only a routine that says
//! it must be there.

use super::line::{Line, LineKind, Pick, Verdict};
use crate::ground::ids::list;
use crate::ready::pick::{Reach, Scene, offer_tools};
use crate::trade::job::Routine;
use crate::trade::make::Unit;
use crate::trade::tool::ToolNeed;

/// A line for each tool that the routine names.
pub(super) fn tool_lines(scene: &Scene<'_>, routine: &Routine) -> Vec<Line> {
    let line = |need| tool_line(scene, need);
    routine.tools.iter().map(line).collect()
}

fn tool_line(scene: &Scene<'_>, need: &ToolNeed) -> Line {
    let make = scene.book.make(&need.make);
    let name = make.map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Tool, None, name);
    line.make = Some(need.make.clone());
    line.need = 1;
    line.unit = Some(Unit::Piece);
    let offer = offer_tools(scene, &need.make);
    let here = offer.ready.iter();
    let here = here.filter(|tool| scene.reach(tool) == Reach::Here).count();
    line.have = i64::try_from(here).unwrap_or(i64::MAX);
    let Some(best) = offer.ready.first() else {
        line.short = 1;
        let (grave, why) = if need.must {
            (
                Verdict::Stop,
                "Not there, and this routine must not start without it.",
            )
        } else {
            (Verdict::Watch, "Not there.")
        };
        line.raise(grave, why);
        if offer.aside.is_empty() {
            line.todo(format!("Borrow or buy {name}."));
        } else {
            let tags = list(&offer.aside);
            line.raise(grave, format!("Set aside: {tags}."));
            line.todo(format!("Look {tags} over and bring it back."));
        }
        return line;
    };
    let tag = best.tag;
    line.picks.push(Pick::of(tag, 1));
    if best.make != need.make {
        let other = scene.book.make(&best.make);
        let other = other.map_or("", |make| make.name.as_str());
        line.raise(Verdict::Go, format!("{tag}, {other}, does for it."));
    }
    if let Some(due) = best.tool().and_then(|tool| tool.overdue_on(scene.day)) {
        line.raise(
            Verdict::Watch,
            format!("{tag} was to be checked by {due}; until then do not rely on what it shows."),
        );
        line.todo(format!(
            "Have {tag} checked and say when the next check is due, or take another."
        ));
    }
    line.ask_to_move(scene, [best]);
    line
}
