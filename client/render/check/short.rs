//! The short check: the verdict first, what is not *go*, what to take, cautions, the verdict once more.

use std::collections::BTreeSet;

use fettlebook_contract::v1::{CheckJobsResponse, JobCheck, Unit, Verdict};

use super::items::{Length, few, first_thing, gravest, of_check};
use super::take_list::sort;
use super::verdict::{carried, goes_on, sentence, taken, tinted};
use super::{cautions, line_count, lines_max};
use crate::render::picks::{Goes, Sort};
use crate::render::screen::{Screen, several, verdict_of};
use crate::render::{amount, picks, tint};

/// The short check of one or several jobs; `known` are the cautions that were shown here before.
pub(crate) fn show(
    screen: &Screen,
    answer: &CheckJobsResponse,
    known: &BTreeSet<String>,
) -> String {
    let jobs = answer.checks.iter().map(|check| job(screen, check, known));
    let mut pages: Vec<String> = jobs.collect();
    if !answer.assumption.is_empty() {
        pages.push(screen.hung("", "", &answer.assumption));
    }
    if answer.checks.len() > 1 {
        pages.push(format!("{} in all.", tinted(verdict_of(answer.verdict))));
    }
    pages.join("\n\n")
}

/// The check of a job by its own routine and by another: both verdicts, then the better one as it is.
pub(crate) fn either(
    screen: &Screen,
    own: &JobCheck,
    other: &JobCheck,
    known: &BTreeSet<String>,
) -> String {
    let better = better_of(own, other);
    let line = |check: &JobCheck| {
        let verdict = verdict_of(check.verdict);
        let mut told = format!("{}{}", tinted(verdict), carried(check));
        if let Some(thing) = first_thing(&of_check(check)).filter(|_| verdict != Verdict::Go) {
            told.push_str(&format!(" → {thing}"));
        }
        screen.hung(&format!("{}: ", tint::strong(&check.routine)), "  ", &told)
    };
    let by = format!(
        "The better of them, {}; '--full' shows both:",
        better.routine
    );
    let by = screen.hung("", "", &by);
    let page = job(screen, better, known);
    format!("{}\n{}\n\n{by}\n{page}", line(own), line(other))
}

/// The check with the better verdict, and of two alike the one with the better chance; a job's own routine where
/// nothing is between them.
pub(crate) fn better_of<'a>(own: &'a JobCheck, other: &'a JobCheck) -> &'a JobCheck {
    let chance = |check: &JobCheck| check.carry_chance.unwrap_or_default();
    let is_better = other.verdict.cmp(&own.verdict).is_lt()
        || (other.verdict == own.verdict && chance(other) > chance(own));
    if is_better { other } else { own }
}

fn job(screen: &Screen, check: &JobCheck, known: &BTreeSet<String>) -> String {
    let items = of_check(check);
    let goes = goes(check);
    let page = Page {
        heading: heading(screen, check),
        take: take(screen, &goes),
        cautions: cautions::block(screen, check, known),
        cautions_again: line_count(&cautions::block(screen, check, &all_known(check))),
        last: last(screen, check),
    };
    let room = lines_max(screen);
    let counted = goes
        .iter()
        .map(|one| one.tag)
        .collect::<BTreeSet<_>>()
        .len();
    let bare = Page {
        take: if counted > 0 && check.verdict() == Verdict::Stop {
            let pieces = several(
                i64::try_from(counted).unwrap_or(i64::MAX),
                "piece",
                "pieces",
            );
            let text = format!("{pieces}; 'fettle check {} --full' lists them.", check.job);
            screen.hung(&tint::strong("Take  "), "  ", &text)
        } else {
            page.take.clone()
        },
        ..page.clone()
    };
    let forms = [
        (&page, Length::Apart),
        (&page, Length::RunOn),
        (&bare, Length::Apart),
        (&bare, Length::RunOn),
        (&bare, Length::Brief),
    ];
    for (page, length) in forms {
        let Some(told) = few(screen, &items, length) else {
            break;
        };
        for gap in ["\n\n", "\n"] {
            if page.lines(&told, gap) <= room {
                return page.text(&told, gap);
            }
        }
    }
    let others = bare.lines(&[], "\n");
    let told = gravest(screen, &check.job, &items, room.saturating_sub(others));
    bare.text(&told, "\n")
}

/// The cautions of a check as if all were shown before.
fn all_known(check: &JobCheck) -> BTreeSet<String> {
    check.cautions.iter().cloned().collect()
}

/// What stands around the lines that are not *go*.
#[derive(Clone)]
struct Page {
    heading: String,
    take: String,
    cautions: String,
    /// Lines that the cautions take once all were shown; in full they are told once.
    cautions_again: usize,
    last: String,
}

impl Page {
    fn text(&self, items: &[String], gap: &str) -> String {
        let items = items.join("\n");
        let blocks = [
            &self.heading,
            &items,
            &self.take,
            &self.cautions,
            &self.last,
        ];
        let blocks = blocks.into_iter().filter(|block| !block.is_empty());
        blocks.map(String::as_str).collect::<Vec<_>>().join(gap)
    }

    /// How long the page is, with cautions as they are told when they were shown before.
    fn lines(&self, items: &[String], gap: &str) -> usize {
        let over = line_count(&self.cautions).saturating_sub(self.cautions_again);
        line_count(&self.text(items, gap)).saturating_sub(over)
    }
}

/// What job, when and where, and the verdict with its chance.
fn heading(screen: &Screen, check: &JobCheck) -> String {
    let when = screen.moment_or(check.start_time.as_ref(), "no start");
    let named = format!(
        "{}  {when}  {}{}",
        tint::strong(&check.job),
        check.place,
        goes_on(screen, check)
    );
    let mut lines = vec![screen.hung("", "  ", &named)];
    lines.extend(taken(screen, check));
    let verdict = verdict_of(check.verdict);
    lines.push(screen.hung(&format!("{}: ", tinted(verdict)), "  ", &sentence(check)));
    lines.join("\n")
}

/// The verdict once more, as one sentence.
fn last(screen: &Screen, check: &JobCheck) -> String {
    let verdict = verdict_of(check.verdict);
    let job = &check.job;
    let told = match verdict {
        Verdict::Go => format!("the kit carries {job}."),
        Verdict::Watch => format!("the kit carries {job}, with an eye on the above."),
        Verdict::Stop => format!("do not start {job} before the above is mended."),
        Verdict::Unspecified => format!("nothing is said about {job}."),
    };
    screen.hung(&format!("{}: ", tinted(verdict)), "  ", &told)
}

fn take(screen: &Screen, goes: &[Goes<'_>]) -> String {
    if goes.is_empty() {
        return String::new();
    }
    format!("{}\n{}", tint::strong("Take"), picks::lines(screen, goes))
}

/// The pieces that the lines pick.
fn goes(check: &JobCheck) -> Vec<Goes<'_>> {
    let mut goes = Vec::new();
    for line in &check.lines {
        let Some(sort) = sort(line.kind()) else {
            continue;
        };
        for pick in &line.picks {
            let amount = match sort {
                Sort::Liquids | Sort::Sundries => Some(amount::rounded(pick.quantity, line.unit())),
                Sort::Towels => Some(several(pick.quantity, "towel", "towels")),
                Sort::Pads
                | Sort::Plates
                | Sort::Machines
                | Sort::Batteries
                | Sort::Tools
                | Sort::Others => None,
            };
            goes.push(Goes {
                tag: &pick.tag,
                sort,
                step: &line.step,
                amount: amount.filter(|_| line.unit() != Unit::Unspecified),
                spare: pick.spare,
                what: if sort == Sort::Sundries {
                    &line.what
                } else {
                    ""
                },
            });
        }
    }
    goes
}
