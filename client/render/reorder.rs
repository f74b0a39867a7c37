//! What to order: a basket a supplier, each line with why, by when and what it costs.
//!
//! It serves `reorder`. Figures, sums and sentences are the service's; what is late is told in words,
//! and what no supplier offers is told with what to do about it.

use fettlebook_contract::v1::{ListReorderResponse, ReorderLine, SupplierBasket};
use textwrap::core::display_width;

use crate::render::amount::{money, money_or};
use crate::render::screen::{Screen, day, several};
use crate::render::tint;

/// Blanks before a line, and before what is said of it.
const INDENT: usize = 2;
/// Blanks between the name of a line and its packs.
const GAP: usize = 2;
/// What stands between packs at a price and what they cost.
const COSTS: &str = " = ";
/// Columns that a name keeps before it is wrapped.
const NAME_WIDTH_MIN: usize = 12;

/// Over what can be had nowhere.
pub(crate) const UNOFFERED: &str = "No supplier offers these";

/// The list, or the sentence that there is nothing on it.
pub(crate) fn show(screen: &Screen, answer: &ListReorderResponse, asked: &str) -> String {
    let lines = || answer.baskets.iter().flat_map(|basket| &basket.lines);
    if lines().next().is_none() {
        let nothing = screen.hung("", "  ", &nothing(answer, asked));
        return blocks([nothing, assumptions(screen, &answer.assumptions)]);
    }
    let baskets = answer.baskets.iter().map(|basket| {
        if basket.supplier.is_empty() {
            unoffered(screen, basket)
        } else {
            offered(screen, basket)
        }
    });
    let late = late(lines().filter(|line| line.late).count());
    blocks(baskets.chain([late, assumptions(screen, &answer.assumptions)]))
}

/// That there is nothing to order, and why.
pub(crate) fn nothing(answer: &ListReorderResponse, asked: &str) -> String {
    if answer.job_count == 0 {
        format!(
            "Nothing to order{asked}: no job is booked. Book one with 'fettle job add', and what it \
             lacks stands here."
        )
    } else {
        format!(
            "Nothing to order{asked}: what booked jobs need, and what is kept beside it, is there or \
             on its way."
        )
    }
}

fn blocks(parts: impl IntoIterator<Item = String>) -> String {
    let told = parts.into_iter().filter(|part| !part.is_empty());
    told.collect::<Vec<_>>().join("\n\n")
}

/// How many lines are late; empty when none is.
fn late(count: usize) -> String {
    match i64::try_from(count).unwrap_or(i64::MAX) {
        0 => String::new(),
        1 => format!("1 line is {}.", tint::bad("late")),
        more => format!("{more} lines are {}.", tint::bad("late")),
    }
}

/// What the list takes for granted.
fn assumptions(screen: &Screen, sentences: &[String]) -> String {
    if sentences.is_empty() {
        return String::new();
    }
    let mut lines = vec![tint::strong("Taken for granted")];
    lines.extend(sentences.iter().map(|said| screen.hung("- ", "  ", said)));
    lines.join("\n")
}

/// What to order from one supplier, with its sums.
fn offered(screen: &Screen, basket: &SupplierBasket) -> String {
    let when = when(basket);
    let name = tint::strong(&basket.supplier_name);
    let title = format!("{name} ({}), {when}", basket.supplier);
    let columns = Columns::of(screen, basket);
    let mut text = screen.hung("", "  ", &title);
    for line in &basket.lines {
        text.push('\n');
        text.push_str(&columns.head(&line.make_name, &packs(line), &cost(line)));
        text.push('\n');
        text.push_str(&said(screen, line, &by_when(line)));
    }
    text.push('\n');
    for (name, sum) in [
        ("Goods", &basket.goods),
        ("Freight", &basket.freight),
        ("Total", &basket.total),
    ] {
        if let Some(sum) = sum {
            text.push('\n');
            text.push_str(&columns.sum(name, &money(sum)));
        }
    }
    for gap in gaps(basket) {
        text.push('\n');
        text.push_str(&screen.hung("  ", "    ", &gap));
    }
    text
}

/// By when a basket is to be ordered.
pub(crate) fn when(basket: &SupplierBasket) -> String {
    if basket.lines.iter().any(|line| line.late) {
        tint::bad("order at once")
    } else {
        format!("order by {}", day(&basket.order_by_date))
    }
}

/// What is missing to free delivery and to the least order, a sentence each.
pub(crate) fn gaps(basket: &SupplierBasket) -> Vec<String> {
    let free = basket.to_free_delivery.as_ref();
    let least = basket.to_min_order.as_ref();
    let told = [
        least.map(|gap| {
            format!(
                "{}: {} more to the least order.",
                tint::warn("too small"),
                money(gap)
            )
        }),
        free.map(|gap| format!("{} more to free delivery.", money(gap))),
    ];
    told.into_iter().flatten().collect()
}

/// What no supplier offers, and what to do about it.
fn unoffered(screen: &Screen, basket: &SupplierBasket) -> String {
    let mut text = tint::warn(UNOFFERED);
    for line in &basket.lines {
        text.push('\n');
        let head = format!("{} ({})", line.make_name, line.make);
        text.push_str(&screen.hung("  ", "    ", &head));
        text.push('\n');
        text.push_str(&said(screen, line, &by_when(line)));
    }
    let make = match basket.lines.as_slice() {
        [line] => line.make.as_str(),
        _ => "MAKE",
    };
    text.push('\n');
    let todo = "Put what it costs on a price list, then look again:";
    text.push_str(&screen.hung("  → ", "    ", todo));
    text.push('\n');
    let how = format!("fettle supplier price SUPPLIER {make} 'each: 18.90 EUR'");
    text.push_str(&screen.hung("    ", "      ", &how));
    text
}

/// Where the columns of a basket stand, so that its costs and sums are under one another.
struct Columns {
    name: usize,
    packs: usize,
    cost: usize,
    /// A page too narrow for columns, on which each stands below the other.
    narrow: Option<Screen>,
}

impl Columns {
    fn of(screen: &Screen, basket: &SupplierBasket) -> Self {
        let widest = |texts: &mut dyn Iterator<Item = String>| {
            texts.map(|text| display_width(&text)).max().unwrap_or(0)
        };
        let sums = [&basket.goods, &basket.freight, &basket.total];
        let sums = sums.iter().map(|sum| money_or(sum.as_ref(), ""));
        let cost = widest(&mut basket.lines.iter().map(cost).chain(sums));
        let packs = widest(&mut basket.lines.iter().map(packs));
        let name = widest(&mut basket.lines.iter().map(|line| line.make_name.clone()));
        let room = screen
            .width
            .saturating_sub(INDENT + packs + cost + GAP + COSTS.len());
        Self {
            name: name.min(room.max(NAME_WIDTH_MIN)),
            packs,
            cost,
            narrow: (room < NAME_WIDTH_MIN).then(|| screen.clone()),
        }
    }

    /// The first line of what is ordered; a long name goes on below.
    fn head(&self, name: &str, packs: &str, cost: &str) -> String {
        if let Some(screen) = &self.narrow {
            let name = screen.hung("  ", "    ", &tint::strong(name));
            let told = screen.hung("    ", "      ", &format!("{packs} = {cost}"));
            return format!("{name}\n{told}");
        }
        let mut names = textwrap::wrap(name, self.name.max(1)).into_iter();
        let first = names.next().unwrap_or_default();
        let blank = self.name.saturating_sub(display_width(&first));
        let mut text = format!(
            "{:INDENT$}{}{:blank$}{:GAP$}{packs:>packs_width$}{COSTS}{cost:>cost_width$}",
            "",
            tint::strong(&first),
            "",
            "",
            packs_width = self.packs,
            cost_width = self.cost,
        );
        for rest in names {
            text.push_str(&format!("\n{:INDENT$}{}", "", tint::strong(&rest)));
        }
        text
    }

    /// A sum of the basket under its costs.
    fn sum(&self, name: &str, sum: &str) -> String {
        if let Some(screen) = &self.narrow {
            return screen.hung("  ", "    ", &format!("{name} {sum}"));
        }
        let before = INDENT + self.name + GAP + self.packs;
        let between = COSTS.len();
        format!(
            "{name:>before$}{:between$}{sum:>width$}",
            "",
            width = self.cost
        )
    }
}

/// `3 packs of 2 × 18.90 EUR`.
pub(crate) fn packs(line: &ReorderLine) -> String {
    let packs = several(line.pack_count, "pack", "packs");
    let of = match line.pieces_per_pack {
        0 | 1 => String::new(),
        pieces => format!(" of {pieces}"),
    };
    let price = line.price.as_ref();
    let price = price.map_or_else(String::new, |price| format!(" × {}", money(price)));
    format!("{packs}{of}{price}")
}

/// What a line costs; empty where that is not known.
pub(crate) fn cost(line: &ReorderLine) -> String {
    money_or(line.cost.as_ref(), "")
}

/// By when a line is to be ordered, or that it is late.
pub(crate) fn by_when(line: &ReorderLine) -> String {
    let last = day(&line.order_by_date);
    if line.late {
        format!(
            "{}, the last day was {last}",
            tint::bad("late: order at once")
        )
    } else {
        last
    }
}

/// What is said of a line, under its name.
fn said(screen: &Screen, line: &ReorderLine, by_when: &str) -> String {
    let hint = line.economic_count.map(|count| {
        format!(
            "at a steady use {} at a time would be cheapest",
            several(count, "piece", "pieces")
        )
    });
    let rows = [
        ("Order by", by_when.to_owned()),
        ("Needed", needed(line)),
        ("Why", line.reason.clone()),
        ("If skipped", line.if_skipped.clone()),
        ("Instead", line.instead.clone()),
        ("Hint", hint.unwrap_or_default()),
    ];
    let width = rows.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    let told = rows.iter().filter(|(_, text)| !text.is_empty());
    let told = told.map(|(name, text)| {
        let first = format!("    {name:<width$}  ");
        screen.hung(&first, &" ".repeat(width + 6), text)
    });
    told.collect::<Vec<_>>().join("\n")
}

/// How many are needed, by when and for which jobs.
pub(crate) fn needed(line: &ReorderLine) -> String {
    let mut text = format!(
        "{} by {}",
        several(line.need_count, "piece", "pieces"),
        day(&line.need_date)
    );
    if !line.jobs.is_empty() {
        text.push_str(&format!(" for {}", line.jobs.join(", ")));
    }
    text
}
