//! The book itself: how it stands, whether it is whole, what it works with.
//!
//! It serves `book where`, `book verify` and `book policy`.

use fettlebook_contract::v1::{Basis, GetBookResponse, Make, PolicyLine, VerifyBookResponse};

use crate::fault::Fault;
use crate::figures::{Held, Typed, from_policy};
use crate::render::screen::{Screen, several};
use crate::render::table::{Column, sheet, table};
use crate::render::{amount, tint};

/// Where the book is and how it stands.
pub(crate) fn standing(screen: &Screen, place: &str, book: &GetBookResponse) -> String {
    sheet(
        screen,
        [
            ("Book", place.to_owned()),
            ("Id", book.book_id.clone()),
            ("Entries", book.head_seq.to_string()),
            ("Kit", several(book.piece_count, "piece", "pieces")),
            ("Booked", several(book.booked_job_count, "job", "jobs")),
            ("Places", book.places.join(", ")),
            ("Chain", book.head_chain.clone()),
            ("Life", life(book)),
            (
                "Read-only",
                if book.read_only_reason.is_empty() {
                    String::new()
                } else {
                    tint::bad(&book.read_only_reason)
                },
            ),
        ],
    )
}

/// Which life of the book it is; nothing for the first.
fn life(book: &GetBookResponse) -> String {
    if book.incarnation_id.is_empty() || book.incarnation_id == book.book_id {
        return String::new();
    }
    format!(
        "{}, restored or mended at entry {}",
        book.incarnation_id, book.incarnation_seq
    )
}

/// Figures of makes that are from the policy, beside what it gives today.
///
/// # Errors
/// When the contract cannot be read.
pub(crate) fn renewal(screen: &Screen, makes: &[Make]) -> Result<String, Fault> {
    if makes.is_empty() {
        return Ok("Every figure that is from the policy is as the policy gives it.".to_owned());
    }
    let mut rows = Vec::new();
    for make in makes {
        let has = Held::of(make)?;
        for (figure, from) in from_policy(make) {
            let mut would_have = Held::of(make)?;
            would_have.put(figure, &Typed::Number(from.policy_value))?;
            let told = |held: &Held| (figure.told)(held, figure.field);
            rows.push(vec![
                make.make.clone(),
                figure.label.to_owned(),
                told(&has),
                told(&would_have),
            ]);
        }
    }
    let headings = [
        ("Make", Column::Text),
        ("Figure", Column::Text),
        ("Has", Column::Text),
        ("Policy gives", Column::Text),
    ];
    Ok(table(screen, &headings, rows))
}

/// What verification found.
pub(crate) fn verified(screen: &Screen, answer: &VerifyBookResponse) -> String {
    let read = several(answer.entry_count, "entry", "entries");
    let mut text = if answer.whole {
        format!("{}: {read} read, nothing wrong.", tint::good("whole"))
    } else if answer.newer_seq > 0 && !answer.damaged {
        format!(
            "{}: {read} read, up to the entry of a later fettle.",
            tint::bad("not read to the end")
        )
    } else {
        format!("{}: {read} read.", tint::bad("not whole"))
    };
    for finding in &answer.findings {
        text.push('\n');
        text.push_str(&screen.hung("  ", "  ", finding));
    }
    if answer.damaged {
        text.push('\n');
        text.push_str(&screen.hung("", "", DAMAGED));
    }
    if answer.newer_seq > 0 && !answer.damaged {
        text.push('\n');
        text.push_str(&screen.hung("", "", NEWER));
    }
    if !answer.head_chain.is_empty() {
        text.push_str("\nChain ");
        text.push_str(&answer.head_chain);
    }
    text
}

const DAMAGED: &str = "Keep it as it is. Bring the book back from a backup with 'fettle book restore', or make \
    a new one of what is whole with 'fettle book mend'; where PostgreSQL keeps it, with 'fettled mend'.";

const NEWER: &str = "No line of the journal is damaged. Update this fettle, or verify the book with the \
    one that wrote it.";

/// Every default by what it belongs to, the ten that matter first before all; its value and where it comes
/// from.
pub(crate) fn policy(screen: &Screen, lines: &[PolicyLine]) -> String {
    let mut first: Vec<&PolicyLine> = lines.iter().filter(|line| line.rank > 0).collect();
    first.sort_by_key(|line| line.rank);
    let mut groups: Vec<(&str, Vec<&PolicyLine>)> = Vec::new();
    if !first.is_empty() {
        groups.push(("what to look at first", first));
    }
    for line in lines {
        match groups.iter_mut().find(|(group, _)| *group == line.group) {
            Some((_, of_it)) => of_it.push(line),
            None => groups.push((&line.group, vec![line])),
        }
    }
    let mut pages: Vec<String> = groups
        .iter()
        .map(|(group, lines)| policies(screen, group, lines))
        .collect();
    let how = "Change one with 'fettle book set KEY=VALUE', a whole number in the unit at the end of its \
               name, or back with KEY=default.";
    pages.push(screen.hung("", "", how));
    pages.join("\n\n")
}

/// The defaults of one group.
fn policies(screen: &Screen, group: &str, lines: &[&PolicyLine]) -> String {
    let headings = [
        ("Key", Column::Whole),
        ("Value", Column::Right),
        ("Meaning", Column::Text),
    ];
    let rows = lines.iter().map(|line| {
        vec![
            line.key.clone(),
            figure(line.value, &line.unit),
            format!("{} ({})", line.meaning.trim_end_matches('.'), basis(line)),
        ]
    });
    let table = table(screen, &headings, rows);
    let mut title = group.to_owned();
    if let Some(letter) = title.get_mut(..1) {
        letter.make_ascii_uppercase();
    }
    if title.is_empty() {
        return table;
    }
    format!("{}\n{table}", tint::strong(&title))
}

/// A figure of the policy in the unit that a person uses.
fn figure(value: i64, unit: &str) -> String {
    match unit {
        "" => value.to_string(),
        "thousandths" => amount::percent(value),
        "thousandths of a per cent" => format!("{} %", amount::thousandths(value)),
        "thousandths of a day" => format!("{} days", amount::thousandths(value)),
        "mm" => amount::length(value),
        "mm²" => amount::area(value),
        "µm" => amount::film(value),
        "µL" => amount::volume(value),
        "mL" => amount::volume(value.saturating_mul(1_000)),
        "mN" => format!("{} N", amount::thousandths(value)),
        "s" => amount::time(value),
        unit => format!("{value} {unit}"),
    }
}

fn basis(line: &PolicyLine) -> String {
    match line.basis() {
        Basis::Unspecified => String::new(),
        Basis::Standard => "standard".to_owned(),
        Basis::Geometry => "geometry".to_owned(),
        Basis::CommonPractice => "common practice, no source".to_owned(),
        Basis::Memory => "from memory".to_owned(),
        Basis::Derived => "derived here".to_owned(),
        Basis::Own => format!("your own, was {}", figure(line.default_value, &line.unit)),
    }
}
