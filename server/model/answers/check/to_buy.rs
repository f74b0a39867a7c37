//! What is to be bought, told by the lines that lack it.
//!
//! Serves the check. Each piece is told once; what is on its way is told beside it, and what washing brings
//! back is not bought.

use super::JobCheck;
use super::buy::Bought;
use super::line::{Line, LineKind, Verdict};
use crate::answers::ahead::needs::Need;
use crate::answers::ahead::on_its_way;
use crate::ground::exact::ceil_div;
use crate::ground::ids::Id;
use crate::trade::make::Figures;
use crate::{Book, Moment};

/// What a line is short of must be there, whatever else is done: said with every sundry that is short.
const PROTECTS: &str = "do not do without what protects skin, eyes or paint";

/// Puts what a job has to buy of all needs, and what is on its way for it, into the lines that lack it.
pub(super) fn tell(book: &Book, check: &mut JobCheck, needs: &[Need], now: Moment) {
    let is_below = check.is_below();
    let JobCheck { job, lines, .. } = check;
    for line in lines.iter_mut() {
        line.buy = 0;
    }
    for need in needs.iter().filter(|need| need.job == job.id) {
        give_out(book, lines, &need.bought);
    }
    for line in lines.iter_mut() {
        let Some(make) = line.make.clone().filter(|_| can_lack(line)) else {
            continue;
        };
        let lacks = line.short > 0 || (is_below && line.chance.is_some());
        let coming = if lacks {
            on_its_way(book, &make, job, now)
        } else {
            0
        };
        if coming > 0 {
            line.raise(Verdict::Go, format!("On their way: {coming}."));
        }
        if line.buy > 0 && line.verdict == Verdict::Go {
            line.raise(
                Verdict::Watch,
                "The job is below the chance that you aim at.",
            );
        }
        say(line, name_of(book, &make), coming > 0);
    }
}

const fn can_lack(line: &Line) -> bool {
    matches!(
        line.kind,
        LineKind::Pad | LineKind::Liquid | LineKind::Towel | LineKind::Sundry
    )
}

fn name_of<'a>(book: &'a Book, make: &Id) -> &'a str {
    book.make(make).map_or("", |make| make.name.as_str())
}

/// Gives the lines of a make what they are short of, and the weakest of them what is left.
fn give_out(book: &Book, lines: &mut [Line], bought: &Bought) {
    let mut left = bought.count;
    let mut of_make: Vec<&mut Line> = lines
        .iter_mut()
        .filter(|line| can_lack(line) && line.make.as_ref() == Some(&bought.make))
        .collect();
    for line in &mut of_make {
        let part = left.min(pieces_short(book, line));
        line.buy = line.buy.saturating_add(part);
        left = left.saturating_sub(part);
    }
    let chance = |line: &&mut Line| line.chance.unwrap_or(f64::INFINITY);
    let weakest = of_make
        .into_iter()
        .min_by(|a, b| chance(a).total_cmp(&chance(b)));
    if let Some(weakest) = weakest {
        weakest.buy = weakest.buy.saturating_add(left);
    }
}

/// What a line is short of, in pieces as they are bought.
fn pieces_short(book: &Book, line: &Line) -> i64 {
    let make = line.make.as_ref().and_then(|make| book.make(make));
    let holds = match make.map(|make| &make.figures) {
        Some(Figures::Liquid(liquid)) => liquid.bottle_ul.ul(),
        Some(Figures::Sundry(sundry)) => sundry.pack_quantity,
        _ => 1,
    };
    ceil_div(line.short.into(), holds.max(1).into())
}

/// Says what to buy, with what can be done in its place.
fn say(line: &mut Line, name: &str, is_coming: bool) {
    let (buy, is_short) = (line.buy, line.short > 0);
    let bottles = if buy == 1 {
        name.to_owned()
    } else {
        format!("{buy} bottles of {name}")
    };
    match (line.kind, buy > 0) {
        (LineKind::Sundry, true) => line.todo(format!("Buy {name} before the start; {PROTECTS}.")),
        (LineKind::Sundry, false) if is_short => {
            line.todo(format!(
                "See that {name} comes before the start; {PROTECTS}."
            ));
        }
        (LineKind::Pad, true) if is_short => line.todo(format!(
            "Buy {buy} more of {name} before the start, or leave panels out."
        )),
        (LineKind::Liquid, true) if is_short => {
            line.todo(format!(
                "Buy {bottles} before the start, or leave panels out."
            ));
        }
        (LineKind::Towel, true) => {
            line.todo(format!("Buy {buy} more of {name}, or leave panels out."));
        }
        (_, true) => line.todo(format!(
            "Buy {buy} more of {name} for the chance that you aim at."
        )),
        (_, false) if is_short && is_coming => {
            line.todo("See that what is on its way comes before the start, or leave panels out.");
        }
        (_, false) => {}
    }
    if is_short && line.todos.is_empty() {
        line.todo("Wash what is soiled now; with that there is enough.");
    }
}
