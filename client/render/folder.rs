//! What an export wrote, and what an import took over or would.
//!
//! What was left out or passed over is always told, with why or where else it is.

use std::collections::BTreeMap;

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::tint;
use crate::sheets::plan::Plan;

/// Names told of those that were passed over for one reason, before the rest is counted.
const NAMES_TOLD: usize = 12;

/// What an export leaves out; the head of its README.txt says where each is.
pub(crate) const LEFT_OUT: [&str; 5] = [
    "the entries themselves",
    "the orders",
    "the book's policy",
    "what is worked out",
    "and devices, codes and keys",
];

/// The files that were written.
pub(crate) fn exported(screen: &Screen, folder: &str, counts: &[(&str, usize)]) -> String {
    let rows = counts
        .iter()
        .map(|(file, count)| vec![(*file).to_owned(), count.to_string()]);
    let headings = [("File", Column::Text), ("Holds", Column::Right)];
    let files = table(screen, &headings, rows);
    let where_it_is =
        format!("All of it is in {folder}; README.txt there says what the columns are.");
    let left_out = format!("{}. README.txt says where each is.", LEFT_OUT.join(", "));
    let left_out = screen.hung("Left out: ", "  ", &left_out);
    format!("{files}\n\n{where_it_is}\n\n{left_out}")
}

/// What was taken over, or would be in a dry run.
pub(crate) fn imported(screen: &Screen, plan: &Plan, dry_run: bool) -> String {
    let passed = |file: &str| {
        let of_file = plan.passed_over.iter().filter(|one| one.file == file);
        of_file.count()
    };
    let rows = plan.counts().map(|(file, count)| {
        let passed = passed(file).to_string();
        vec![file.to_owned(), count.to_string(), passed]
    });
    let headings = [
        ("File", Column::Text),
        ("New", Column::Right),
        ("Passed over", Column::Right),
    ];
    let mut parts = vec![table(screen, &headings, rows)];
    parts.extend(reasons(screen, plan));
    parts.extend(
        plan.left_behind
            .iter()
            .map(|said| screen.hung("", "  ", said)),
    );
    let count = several(
        i64::try_from(plan.count()).unwrap_or(i64::MAX),
        "thing",
        "things",
    );
    parts.push(if dry_run {
        format!(
            "Nothing is wrong with the files. {count} would be taken over; nothing was recorded."
        )
    } else {
        format!("{count} taken over.")
    });
    let last = parts.pop().map(|last| tint::strong(&last));
    parts.extend(last);
    parts.join("\n\n")
}

/// Why what was passed over was, a sentence for each file and reason.
fn reasons(screen: &Screen, plan: &Plan) -> Vec<String> {
    let mut reasons: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
    for one in &plan.passed_over {
        reasons
            .entry((one.file, one.why))
            .or_default()
            .push(&one.id);
    }
    let told = reasons.iter().map(|((file, why), ids)| {
        let more = ids.len().saturating_sub(NAMES_TOLD);
        let names: Vec<_> = ids.iter().take(NAMES_TOLD).copied().collect();
        let mut names = names.join(", ");
        if more > 0 {
            names.push_str(&format!(" and {more} more"));
        }
        let said = format!("Passed over in {file}, because it {why}: {names}.");
        screen.hung("", "  ", &said)
    });
    told.collect()
}
