//! What the check says of pads that work on both days of a job.

use fettlebook_quantity::Seconds;

use super::line::{Line, Verdict, local};
use crate::Moment;
use crate::ground::ids::{Tag, list};
use crate::ready::pick::{PadOffer, Scene, StepAsked, wash_by};

/// Watches pads that work on both days: in the evening between they are to be washed.
pub(super) fn say(line: &mut Line, scene: &Scene<'_>, asked: &StepAsked<'_>, offer: &PadOffer<'_>) {
    let both = offer.picked().filter(|choice| choice.first_day.is_some());
    let mut both: Vec<Tag> = both.map(|choice| choice.piece.tag).collect();
    if both.is_empty() {
        return;
    }
    both.sort_unstable();
    let works = if both.len() == 1 { "Works" } else { "Work" };
    let tags = list(&both);
    line.raise(Verdict::Watch, format!("{works} both days: {tags}."));
    if let Some(by) = wash_by(scene, asked.figures.dry_time_s.unwrap_or(Seconds::ZERO)) {
        line.todo(format!(
            "Log the first day in its evening, and wash {tags} by {} to be dry for the second.",
            local(scene, by)
        ));
    }
}

/// Says of pads that work on the first day why the second does not have them.
pub(super) fn say_not_dry(line: &mut Line, scene: &Scene<'_>, dry_at: Moment, tags: &[Tag]) {
    let (tags, works) = (list(tags), if tags.len() == 1 { "Works" } else { "Work" });
    line.raise(
        Verdict::Watch,
        format!("{works} on the first day, and not dry by the second: {tags}."),
    );
    line.todo(format!(
        "Washed in the evening, {tags} would be dry on {}; begin the second day then, or take others.",
        local(scene, dry_at)
    ));
}
