//! What a job needs, by geometry and policy.
//!
//! It serves `job plan`, and the headings of the check. It says nothing of what is there.

use fettlebook_contract::v1::{PadCleaning, Plan, StepPlan, TimeNeed};

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::{amount, car, tint};

/// The whole plan of a job.
pub(crate) fn show(screen: &Screen, job: &str, plan: &Plan) -> String {
    let needed = screen.hung("", "  ", &summary(plan));
    let mut text = format!("{}\n{needed}\n\n", tint::strong(job));
    text.push_str(&table(
        screen,
        &[
            ("Step", Column::Text),
            ("Sections", Column::Right),
            ("Pads", Column::Right),
            ("Spare", Column::Right),
            ("Dots", Column::Whole),
            ("Liquid", Column::Right),
            ("Machine time", Column::Right),
        ],
        plan.steps.iter().map(|step| {
            vec![
                step.step.clone(),
                step.section_count.to_string(),
                step.pad_count.to_string(),
                step.spare_count.to_string(),
                format!("{}, then {}", step.prime_dot_count, step.refresh_dot_count),
                amount::volume(step.volume_ul),
                time(step),
            ]
        }),
    ));
    for told in [deeper(plan), later(plan)].into_iter().flatten() {
        text.push_str("\n\n");
        text.push_str(&screen.hung("", "  ", &told));
    }
    text.push_str("\n\nDots: to prime a pad, then for each further section.");
    for step in plan.steps.iter().filter(|step| step.hand_time_s == 0) {
        text.push('\n');
        text.push_str(&screen.hung("", "  ", &each_section(step)));
    }
    text.push('\n');
    text.push_str(&screen.hung("", "  ", &beside(plan)));
    let (liquids, counted) = used_up(plan);
    let heading = if counted.is_empty() {
        "Liquid"
    } else {
        "Used up"
    };
    let used = [liquids, counted].concat();
    if !used.is_empty() {
        text.push_str("\n\n");
        text.push_str(&likely(screen, heading, &used));
    }
    if plan.times.iter().any(is_learnt) {
        text.push_str("\n\n");
        text.push_str(&times(screen, &plan.times));
    }
    text
}

/// Whether logs say otherwise than the plan.
const fn is_learnt(need: &TimeNeed) -> bool {
    need.expected_s != need.planned_s
}

/// Machine time as planned and as it will likely be, then what each figure rests on.
fn times(screen: &Screen, needs: &[TimeNeed]) -> String {
    let mut text = table(
        screen,
        &[
            ("Machine", Column::Text),
            ("Planned", Column::Right),
            ("Expected", Column::Right),
            ("Range", Column::Whole),
        ],
        needs.iter().map(|need| {
            vec![
                need.make.clone(),
                amount::time(need.planned_s),
                amount::time(need.expected_s),
                format!(
                    "{} – {}",
                    amount::time(need.low_s),
                    amount::time(need.high_s)
                ),
            ]
        }),
    );
    for need in needs.iter().filter(|need| !need.rests_on.is_empty()) {
        text.push('\n');
        text.push_str(&screen.hung(&format!("{}: ", need.make), "  ", &need.rests_on));
    }
    text
}

/// Which steps give a section more sets than one, in a sentence.
fn deeper(plan: &Plan) -> Option<String> {
    let deep = plan.steps.iter().filter(|step| step.set_count > 1);
    let told: Vec<_> = deep
        .map(|step| format!("{} {}", step.step, several(step.set_count, "set", "sets")))
        .collect();
    (!told.is_empty()).then(|| format!("Each section gets: {}.", told.join(", ")))
}

/// What is worked on the second day, in a sentence.
fn later(plan: &Plan) -> Option<String> {
    let later = plan.steps.iter().filter(|step| step.second_day);
    let told: Vec<_> = later.map(|step| step.step.as_str()).collect();
    (!told.is_empty()).then(|| format!("On the second day: {}.", told.join(", ")))
}

/// Towels and sundries, in a sentence.
fn beside(plan: &Plan) -> String {
    let mut text = format!(
        "Beside them: {}",
        several(plan.towel_count, "towel", "towels")
    );
    for sundry in &plan.sundries {
        text.push_str(&format!(
            ", {} of {}",
            amount::quantity(sundry.quantity, sundry.unit()),
            sundry.make
        ));
    }
    text.push('.');
    text
}

/// What a job will likely use of a make.
#[derive(Clone)]
struct Likely<'a> {
    make: &'a str,
    planned: String,
    expected: String,
    range: String,
    rests_on: &'a str,
}

/// The liquids, and the sundries of which counts have shown how much jobs use.
fn used_up(plan: &Plan) -> (Vec<Likely<'_>>, Vec<Likely<'_>>) {
    let liquids = plan.liquids.iter().map(|need| Likely {
        make: &need.make,
        planned: amount::volume(need.planned_ul),
        expected: amount::volume(need.expected_ul),
        range: range(need.low_ul, need.high_ul, amount::volume),
        rests_on: &need.rests_on,
    });
    let counted = plan
        .sundries
        .iter()
        .filter(|sundry| !sundry.rests_on.is_empty());
    let sundries = counted.map(|need| {
        let told = |quantity| amount::quantity(quantity, need.unit());
        Likely {
            make: &need.make,
            planned: told(need.quantity),
            expected: told(need.expected_quantity),
            range: range(need.low_quantity, need.high_quantity, told),
            rests_on: &need.rests_on,
        }
    });
    (liquids.collect(), sundries.collect())
}

fn range(low: i64, high: i64, told: impl Fn(i64) -> String) -> String {
    format!("{} – {}", told(low), told(high))
}

/// What is used up, as planned and as it will likely be used, then what each figure rests on.
fn likely(screen: &Screen, heading: &str, used: &[Likely<'_>]) -> String {
    let mut text = table(
        screen,
        &[
            (heading, Column::Text),
            ("Planned", Column::Right),
            ("Expected", Column::Right),
            ("Range", Column::Whole),
        ],
        used.iter().map(|one| {
            vec![
                one.make.to_owned(),
                one.planned.clone(),
                one.expected.clone(),
                one.range.clone(),
            ]
        }),
    );
    text.push_str(
        "\n\nRange: one job in ten uses less than the first, one in ten more than the last.",
    );
    for one in used.iter().filter(|one| !one.rests_on.is_empty()) {
        text.push('\n');
        text.push_str(&screen.hung(&format!("{}: ", one.make), "  ", one.rests_on));
    }
    text
}

/// One line on the area and the machine time.
pub(crate) fn summary(plan: &Plan) -> String {
    let machine_s = plan
        .steps
        .iter()
        .map(|step| step.machine_time_s)
        .fold(0, i64::saturating_add);
    let first_parts = plan.steps.iter().filter(|step| is_first_part(plan, step));
    let steps = i64::try_from(first_parts.count()).unwrap_or(i64::MAX);
    let basis = car::basis(plan.area_basis());
    let known = if basis.is_empty() {
        String::new()
    } else {
        format!(" ({basis})")
    };
    let hand = plan.steps.iter().map(|step| step.hand_time_s);
    let hand_s = hand.fold(0, i64::saturating_add);
    let mut text = format!(
        "{} of paint{known} · {}",
        amount::area(plan.area_mm2),
        several(steps, "step", "steps"),
    );
    if machine_s > 0 || hand_s == 0 {
        text.push_str(&format!(" · {} on the machine", amount::time(machine_s)));
        let expected = plan.times.iter().map(|need| need.expected_s);
        let expected_s = expected.fold(0, i64::saturating_add);
        if plan.times.iter().any(is_learnt) {
            text.push_str(&format!(", {} as you work", amount::time(expected_s)));
        }
    }
    if hand_s > 0 {
        text.push_str(&format!(" · {} by hand", amount::time(hand_s)));
    }
    text
}

/// Whether a part of a plan is the first of its step: those that share it are no steps of their own.
fn is_first_part(plan: &Plan, part: &StepPlan) -> bool {
    let mut of_step = plan
        .steps
        .iter()
        .filter(|other| other.of_step == part.of_step);
    part.of_step.is_empty() || of_step.next().is_some_and(|first| first.step == part.step)
}

/// One line on a step, for a heading.
pub(crate) fn step_line(step: &StepPlan) -> String {
    let mut sections = several(step.section_count, "section", "sections");
    if step.set_count > 1 {
        sections.push_str(&format!(" in {} sets", step.set_count));
    }
    let mut parts = vec![sections];
    let mut pads = several(step.pad_count, "pad", "pads");
    if step.spare_count > 0 {
        pads.push_str(&format!(" and {} spare", step.spare_count));
    }
    match step.pad_cleaning() {
        PadCleaning::Unspecified | PadCleaning::None => {}
        PadCleaning::BetweenPanels => pads.push_str(", cleaned between panels"),
        PadCleaning::AfterSections => pads.push_str(", cleaned after each section"),
    }
    parts.push(pads);
    parts.push(amount::volume(step.volume_ul));
    parts.push(time(step));
    if step.second_day {
        parts.push("second day".to_owned());
    }
    parts.join(" · ")
}

/// Time on paint, and that it is the hand's where no machine runs.
fn time(step: &StepPlan) -> String {
    if step.hand_time_s > 0 {
        format!("{} by hand", amount::time(step.hand_time_s))
    } else {
        amount::time(step.machine_time_s)
    }
}

fn each_section(step: &StepPlan) -> String {
    format!(
        "Each section of {}: {} to cover it, {} on paint.",
        step.step,
        several(step.stroke_count, "stroke", "strokes"),
        amount::time(step.section_time_ms / 1_000)
    )
}
