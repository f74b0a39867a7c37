//! The whole check: every line with its numbers, every piece that goes, every caution in full.
//!
//! The reason, the remedy and what a chance rests on stand under the line they are about, the cautions
//! stand at the end and the verdict in all comes last.

use fettlebook_contract::v1::{CheckJobsResponse, CheckLine, JobCheck, Unit, Verdict};
use textwrap::core::display_width;

use super::items::{listed, reasons};
use super::take_list::take_list;
use super::verdict::{VERDICT_WIDTH, goes_on, overall, taken, tinted};
use crate::render::screen::{Screen, verdict_of};
use crate::render::table::{Column, table};
use crate::render::{amount, gauge, plan, tint};
use crate::word::word;

const NUMBER_WIDTH: usize = 10;
const CHANCE_WIDTH: usize = 8;
/// Columns between a name and the numbers behind it.
const NAME_GAP: usize = 2;
/// Fewest columns for names beside numbers.
const NAME_WIDTH_LEAST: usize = 16;

/// The check of one or several jobs.
pub(crate) fn show(screen: &Screen, answer: &CheckJobsResponse) -> String {
    let mut pages: Vec<String> = answer
        .checks
        .iter()
        .map(|check| job(screen, check))
        .collect();
    if let Some(other) = &answer.or_check {
        let by = format!("The same by {}", tint::strong(&other.routine));
        pages.push(format!("{by}\n{}", job(screen, other)));
    }
    if !answer.assumption.is_empty() {
        pages.push(screen.hung("", "", &answer.assumption));
    }
    pages.push(overall(screen, answer));
    pages.join("\n\n")
}

fn job(screen: &Screen, check: &JobCheck) -> String {
    let mut blocks = vec![heading(screen, check), lines(screen, check)];
    blocks.push(picks(screen, check));
    let cautions: Vec<_> = check
        .cautions
        .iter()
        .map(|caution| screen.hung("Caution: ", "  ", caution))
        .collect();
    blocks.push(cautions.join("\n"));
    blocks.retain(|block| !block.is_empty());
    blocks.join("\n\n")
}

fn heading(screen: &Screen, check: &JobCheck) -> String {
    let when = screen.moment_or(check.start_time.as_ref(), "no start");
    let mut text = format!("{}  {when}  {}", tint::strong(&check.job), check.place);
    text.push_str(&goes_on(screen, check));
    for line in taken(screen, check) {
        text.push('\n');
        text.push_str(&line);
    }
    if let Some(needed) = &check.plan {
        text.push('\n');
        text.push_str(&screen.hung("", "  ", &plan::summary(needed)));
    }
    text
}

/// The lines, under the step they belong to.
fn lines(screen: &Screen, check: &JobCheck) -> String {
    let page = Page::of(screen, check);
    let what_width = page.what_width;
    let mut headings = format!(
        "{:>NUMBER_WIDTH$}{:>NUMBER_WIDTH$}{:>NUMBER_WIDTH$}",
        "Need", "Have", "Short"
    );
    if page.chances {
        headings.push_str(&format!("{:>CHANCE_WIDTH$}", "Chance"));
    }
    let mut text = if page.is_narrow {
        String::new()
    } else {
        let headings = tint::strong(&headings);
        format!("{:VERDICT_WIDTH$}{:what_width$}{headings}", "", "")
    };
    for step in steps(check) {
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&step_heading(screen, check, step));
        for line in check.lines.iter().filter(|line| line.step == step) {
            text.push('\n');
            text.push_str(&page.line(line));
        }
    }
    text
}

/// How the lines of one job are set out.
struct Page<'a> {
    screen: &'a Screen,
    /// Columns for what a line is about.
    what_width: usize,
    /// Whether the numbers stand below the name, each with its word.
    is_narrow: bool,
    /// Whether any line has a carry chance, and so the column for it.
    chances: bool,
    /// The carry chance the book aims at.
    target: f64,
}

impl<'a> Page<'a> {
    fn of(screen: &'a Screen, check: &JobCheck) -> Self {
        let chances = check.lines.iter().any(|line| line.carry_chance.is_some());
        let taken = if chances { CHANCE_WIDTH } else { 0 };
        let room = screen
            .width
            .saturating_sub(VERDICT_WIDTH + 3 * NUMBER_WIDTH + taken);
        let names = check.lines.iter().map(|line| display_width(&line.what));
        let widest = names.max().unwrap_or(0).saturating_add(NAME_GAP);
        Self {
            screen,
            what_width: widest.min(room),
            is_narrow: room < NAME_WIDTH_LEAST,
            chances,
            target: check.carry_target,
        }
    }

    fn line(&self, line: &CheckLine) -> String {
        let indent = " ".repeat(VERDICT_WIDTH);
        let mut text = self.head(line, &indent);
        let why = match reasons(line)[..] {
            [] => String::new(),
            [said] => self.screen.hung(&indent, &indent, said),
            ref several => listed(self.screen, &indent, several),
        };
        if !why.is_empty() {
            text.push('\n');
            text.push_str(&why);
        }
        let mut below = |first: &str, rest: &str, said: &str| {
            text.push('\n');
            text.push_str(&self.screen.hung(first, rest, said));
        };
        if let Some(planned) = planned(line) {
            below(&indent, &indent, &planned);
        }
        if let Some(rests_on) = self.rests_on(line) {
            below(&indent, &indent, rests_on);
        }
        for todo in &line.todos {
            below(&format!("{indent}→ "), &format!("{indent}  "), todo);
        }
        text
    }

    /// Verdict, what it is about and the numbers, the name wrapped to its own column.
    fn head(&self, line: &CheckLine, indent: &str) -> String {
        let verdict = verdict_of(line.verdict);
        if self.is_narrow {
            return self.narrow_head(line, indent);
        }
        let numbers = self.numbers(line);
        let room = if numbers.is_empty() {
            self.screen.width.saturating_sub(VERDICT_WIDTH)
        } else {
            self.what_width.saturating_sub(1)
        };
        let mut names = textwrap::wrap(&line.what, room.max(1)).into_iter();
        let first = names.next().unwrap_or_default();
        let gap = " ".repeat(self.what_width.saturating_sub(display_width(&first)));
        let pad = " ".repeat(VERDICT_WIDTH.saturating_sub(word(verdict).len()));
        let mut text = format!("{}{pad}{first}{gap}{numbers}", tinted(verdict))
            .trim_end()
            .to_owned();
        for name in names {
            text.push_str(&format!("\n{indent}{name}"));
        }
        text
    }

    /// The same where the page has no room for columns.
    fn narrow_head(&self, line: &CheckLine, indent: &str) -> String {
        let verdict = verdict_of(line.verdict);
        let pad = " ".repeat(VERDICT_WIDTH.saturating_sub(word(verdict).len()));
        let first = format!("{}{pad}", tinted(verdict));
        let mut text = self.screen.hung(&first, indent, &line.what);
        let mut numbers = Vec::new();
        if line.unit() != Unit::Unspecified {
            let told = |value| amount::quantity(value, line.unit());
            numbers.push(format!("need {}", told(line.need_quantity)));
            numbers.push(format!("have {}", told(line.have_quantity)));
            if line.short_quantity > 0 {
                numbers.push(format!("short {}", told(line.short_quantity)));
            }
        }
        if let Some(chance) = line.carry_chance {
            numbers.push(format!("chance {}", gauge::chance(chance, self.target)));
        }
        if !numbers.is_empty() {
            text.push('\n');
            text.push_str(&self.screen.hung(indent, indent, &numbers.join(" · ")));
        }
        text
    }

    /// Need, have and short, where the line is about a quantity, and the carry chance.
    fn numbers(&self, line: &CheckLine) -> String {
        let chance = line
            .carry_chance
            .map(|chance| format!("{:>CHANCE_WIDTH$}", gauge::chance(chance, self.target)))
            .unwrap_or_default();
        if line.unit() == Unit::Unspecified {
            if chance.is_empty() {
                return chance;
            }
            return format!("{:width$}{chance}", "", width = 3 * NUMBER_WIDTH);
        }
        let told = |value| amount::quantity(value, line.unit());
        let short = if line.short_quantity == 0 {
            "-".to_owned()
        } else {
            told(line.short_quantity)
        };
        format!(
            "{:>NUMBER_WIDTH$}{:>NUMBER_WIDTH$}{short:>NUMBER_WIDTH$}{chance}",
            told(line.need_quantity),
            told(line.have_quantity),
        )
    }

    /// What the chance rests on, where it is low or the line gives cause to look.
    fn rests_on<'b>(&self, line: &'b CheckLine) -> Option<&'b str> {
        let chance = line.carry_chance?;
        let looked_at = line.verdict() != Verdict::Go || chance < self.target;
        (looked_at && !line.rests_on.is_empty()).then_some(&line.rests_on)
    }
}

/// The quantity by the plan alone, where what the shop really uses makes it another.
fn planned(line: &CheckLine) -> Option<String> {
    let planned = line.planned_quantity?;
    (planned != line.need_quantity)
        .then(|| format!("planned {}", amount::quantity(planned, line.unit())))
}

/// Steps that have lines, as they first come; what is about the whole job comes last.
fn steps(check: &JobCheck) -> Vec<&str> {
    let mut steps: Vec<&str> = Vec::new();
    for line in &check.lines {
        if !steps.contains(&line.step.as_str()) {
            steps.push(&line.step);
        }
    }
    steps.sort_by_key(|step| step.is_empty());
    steps
}

fn step_heading(screen: &Screen, check: &JobCheck, step: &str) -> String {
    if step.is_empty() {
        return tint::strong("The whole job");
    }
    let planned = check
        .plan
        .iter()
        .flat_map(|plan| &plan.steps)
        .find(|planned| planned.step == step)
        .map(plan::step_line);
    let title = tint::strong(step);
    match planned {
        Some(planned) => screen.hung("", "  ", &format!("{title} · {planned}")),
        None => title,
    }
}

/// What to take, by tag.
fn picks(screen: &Screen, check: &JobCheck) -> String {
    let mut list = take_list(check);
    list.sort_by_key(|along| along.tag);
    if list.is_empty() {
        return String::new();
    }
    table(
        screen,
        &[
            ("Take", Column::Whole),
            ("What", Column::Text),
            ("For", Column::Text),
            ("Use", Column::Right),
            ("Wear so far", Column::Right),
        ],
        list.iter().map(|along| {
            vec![
                along.tag.to_owned(),
                along.what.clone(),
                along.goes_for(),
                along.exact(),
                along.worn(),
            ]
        }),
    )
}
