//! Where the shop stands: one screen, each line with the command that does it.

use fettlebook_contract::v1::{
    ComingOrder, DryingKit, DueOrder, EmptyBatteries, GetTodayResponse, Job, KitToBring, SoiledKit,
    Verdict,
};

use textwrap::core::display_width;

use crate::render::screen::{NO_BREAK, Screen, day, several, verdict_of};
use crate::render::{check, tags, tint};

/// Most things of a sort that are told one by one where there is room.
const EACH_MAX: usize = 3;
/// Most names in a line.
const NAMES_MAX: usize = 4;
/// Columns of what a line is about.
const LABEL_WIDTH: usize = 11;
/// Narrowest page on which what a line is about has a column of its own.
const COLUMNS_WIDE: usize = 60;

/// The screen; so many deeds wait on this device for the shop.
pub(crate) fn show(screen: &Screen, answer: &GetTodayResponse, waiting: usize) -> String {
    let now = screen.moment_or(answer.as_of_time.as_ref(), "Today");
    let title = tint::strong(&now);
    if answer.empty {
        let told = "This book is empty. 'fettle start' sets it up with you; 'fettle demo --keep DIR' \
                    makes an invented shop to play with.";
        return format!("{title}\n{}", screen.hung("", "", told));
    }
    let page = |each: usize| {
        let lines = Lines { screen, each }.all(answer, waiting);
        format!("{title}\n{}", lines.join("\n"))
    };
    let pages = (1..=EACH_MAX).rev().map(page);
    let fits = |page: &String| page.lines().count() <= check::lines_max(screen);
    pages.clone().find(fits).unwrap_or_else(|| page(1))
}

/// The lines of the screen.
struct Lines<'a> {
    screen: &'a Screen,
    /// Most things of a sort that are told one by one.
    each: usize,
}

impl Lines<'_> {
    fn all(&self, answer: &GetTodayResponse, waiting: usize) -> Vec<String> {
        let mut lines = self.unlogged(&answer.unlogged);
        lines.extend(self.next(answer));
        lines.extend(self.to_bring(&answer.to_bring));
        lines.extend(self.to_wash(&answer.to_wash));
        lines.extend(self.to_charge(&answer.to_charge));
        lines.extend(self.to_order(answer));
        lines.extend(self.drying(&answer.drying));
        lines.extend(self.coming(&answer.coming));
        lines.extend(self.waiting(waiting));
        lines
    }

    /// A line about something; on a narrow page what it is about stands before it.
    fn line(&self, about: &str, told: &str) -> String {
        let told = &with_whole_command(told, self.screen.width.saturating_sub(LABEL_WIDTH));
        if self.screen.width < COLUMNS_WIDE && about.is_empty() {
            return self.screen.hung("  ", "  ", told);
        }
        if self.screen.width < COLUMNS_WIDE {
            return self
                .screen
                .hung(&format!("{}: ", tint::strong(about)), "  ", told);
        }
        let gap = " ".repeat(LABEL_WIDTH.saturating_sub(display_width(about)));
        let first = format!("{}{gap}", tint::strong(about));
        self.screen.hung(&first, &" ".repeat(LABEL_WIDTH), told)
    }

    fn unlogged(&self, jobs: &[Job]) -> Vec<String> {
        let told = jobs.iter().take(self.each).map(|job| {
            let when = self.screen.moment_or(job.start_time.as_ref(), "no start");
            let name = &job.job;
            self.line("Log", &format!("{name}, of {when}: fettle log {name}"))
        });
        let mut lines: Vec<String> = told.collect();
        let more = jobs.len().saturating_sub(self.each);
        if more > 0 {
            let more = several(count(more), "more job", "more jobs");
            lines.push(self.line("", &format!("and {more}: fettle job list")));
        }
        lines
    }

    /// The next job with its verdict, and the one thing to do.
    fn next(&self, answer: &GetTodayResponse) -> Vec<String> {
        let Some(job) = &answer.next_job else {
            return vec![self.line("Next", "no job is booked: fettle job add")];
        };
        let mut when = self.screen.moment_or(job.start_time.as_ref(), "no start");
        if let Some(second) = &job.second_start_time {
            when.push_str(&format!(", goes on {},", self.screen.moment(second)));
        }
        let (name, place) = (&job.job, &job.place);
        let Some(found) = &answer.next_check else {
            let why = &answer.next_unchecked;
            let told = format!("{name}, {when} at {place}: cannot be checked. {why}");
            return vec![self.line("Next", &told)];
        };
        let verdict = check::tinted(verdict_of(found.verdict));
        let chance = check::carried(found);
        let taken = if found.taken.is_some() { ", taken" } else { "" };
        let told =
            format!("{name}, {when} at {place}{taken}: {verdict}{chance}: fettle check {name}");
        let mut lines = vec![self.line("Next", &told)];
        let first = check::first_thing(found);
        if let Some(first) = first.filter(|_| found.verdict() != Verdict::Go) {
            lines.push(self.line("", &format!("→ {first}")));
        }
        if found.verdict() != Verdict::Stop && found.taken.is_none() {
            lines.push(self.line("", &format!("what goes along: fettle take {name}")));
        }
        lines
    }

    /// What is not in the van yet; a take of the job moves it in the book too.
    fn to_bring(&self, kit: &[KitToBring]) -> Vec<String> {
        let told = kit.iter().take(self.each).map(|one| {
            let by = one.bring_by_time.as_ref();
            let by = by.map_or_else(
                || format!("{}: ", tint::warn("now")),
                |by| format!("by {}: ", self.screen.moment(by)),
            );
            let (tags, from, place) = (ranges(&one.tags), &one.from_place, &one.place);
            let how = if one.taken { "check" } else { "take" };
            let told = format!(
                "{by}{tags} from {from} to {place}: fettle {how} {}",
                one.job
            );
            self.line("Bring", &told)
        });
        told.collect()
    }

    fn to_wash(&self, soiled: &[SoiledKit]) -> Vec<String> {
        let told = soiled.iter().take(self.each).map(|one| {
            let by = one.wash_by_time.as_ref();
            let by = by.map_or_else(String::new, |by| format!("by {}: ", self.screen.moment(by)));
            let towels = if one.towel_count > 0 {
                let towels = several(one.towel_count, "towel", "towels");
                format!(", of these {towels}")
            } else {
                String::new()
            };
            let tags = ranges(&one.tags);
            self.line(
                "Wash",
                &format!("{by}{tags} at {}{towels}: fettle wash", one.place),
            )
        });
        told.collect()
    }

    fn to_charge(&self, empty: &[EmptyBatteries]) -> Vec<String> {
        let told = empty.iter().take(self.each).map(|one| {
            let by = one.charge_by_time.as_ref();
            let by = by.map_or_else(String::new, |by| format!("by {}: ", self.screen.moment(by)));
            let tags = ranges(&one.tags);
            self.line(
                "Charge",
                &format!("{by}{tags} at {}: fettle charge", one.place),
            )
        });
        told.collect()
    }

    fn to_order(&self, answer: &GetTodayResponse) -> Vec<String> {
        if !answer.order_trouble.is_empty() {
            let told = format!("{} fettle reorder", answer.order_trouble);
            return vec![self.line("Order", &told)];
        }
        let mut days: Vec<(&str, bool, Vec<&DueOrder>)> = Vec::new();
        for due in &answer.to_order {
            match days.iter_mut().find(|(by, ..)| *by == due.order_by_date) {
                Some((.., lines)) => lines.push(due),
                None => days.push((&due.order_by_date, due.late, vec![due])),
            }
        }
        let told = days.iter().take(self.each).map(|(by, late, lines)| {
            let names = lines
                .iter()
                .map(|due| format!("{} {}", due.need_count, due.make_name));
            let names = first_few(&names.collect::<Vec<_>>());
            let by = if *late {
                tint::warn("too late by the lead time")
            } else {
                format!("by {}", day(by))
            };
            self.line("Order", &format!("{by}: {names}: fettle reorder"))
        });
        told.collect()
    }

    fn drying(&self, drying: &[DryingKit]) -> Vec<String> {
        let told = drying.iter().take(self.each).map(|one| {
            let until = self.screen.moment_or(one.dry_time.as_ref(), "later");
            let tags = ranges(&one.tags);
            self.line("Drying", &format!("until {until}: {tags} at {}", one.place))
        });
        told.collect()
    }

    fn coming(&self, coming: &[ComingOrder]) -> Vec<String> {
        let told = coming.iter().take(self.each).map(|one| {
            let names = first_few(&one.make_names);
            let (about, due) = if one.late {
                (tint::warn("Late"), format!("since {}", day(&one.due_date)))
            } else {
                (
                    "On its way".to_owned(),
                    format!("by {}", day(&one.due_date)),
                )
            };
            let due = if one.due_date.is_empty() {
                String::new()
            } else {
                format!("{due}: ")
            };
            let order = &one.order;
            self.line(&about, &format!("{due}{names}: fettle receive {order}"))
        });
        told.collect()
    }

    fn waiting(&self, waiting: usize) -> Option<String> {
        (waiting > 0).then(|| {
            let deeds = several(count(waiting), "deed waits", "deeds wait");
            let told = format!("{deeds} here for signal: fettle shop sync");
            self.line("Waiting", &told)
        })
    }
}

/// Which batteries are empty, a line a place, with when they would be full.
pub(crate) fn empty(screen: &Screen, empty: &[EmptyBatteries]) -> String {
    let lines = empty.iter().map(|one| {
        let full = screen.moment_or(one.full_time.as_ref(), "later");
        let tags = ranges(&one.tags);
        let told = format!("{tags}. On the charger now they are full by {full}.");
        screen.hung(&format!("{}  ", tint::strong(&one.place)), "  ", &told)
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// What is soiled, a line a place, with when it would be dry.
pub(crate) fn soiled(screen: &Screen, soiled: &[SoiledKit]) -> String {
    let lines = soiled.iter().map(|one| {
        let towels = if one.towel_count > 0 {
            let towels = several(one.towel_count, "towel", "towels");
            format!(", of these {towels}")
        } else {
            String::new()
        };
        let dry = screen.moment_or(one.dry_time.as_ref(), "later");
        let tags = ranges(&one.tags);
        let told = format!("{tags}{towels}. Washed now it is dry by {dry}.");
        screen.hung(&format!("{}  ", tint::strong(&one.place)), "  ", &told)
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn count(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

fn ranges(of: &[String]) -> String {
    tags::ranges(&of.iter().map(String::as_str).collect::<Vec<_>>())
}

/// The first few names, and how many more there are.
fn first_few(names: &[String]) -> String {
    let told: Vec<&str> = names.iter().take(NAMES_MAX).map(String::as_str).collect();
    let more = names.len().saturating_sub(NAMES_MAX);
    let told = told.join(", ");
    if more > 0 {
        format!("{told} and {more} more")
    } else {
        told
    }
}

/// A text whose command, which ends it, is copied as it stands and so not broken where it has room.
fn with_whole_command(told: &str, room: usize) -> String {
    match told.rfind("fettle ").map(|at| told.split_at(at)) {
        Some((before, command)) if display_width(command) <= room => {
            format!("{before}{}", command.replace(' ', &NO_BREAK.to_string()))
        }
        _ => told.to_owned(),
    }
}
