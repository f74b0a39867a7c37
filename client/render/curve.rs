//! The curve of lives on the terminal: what was seen as steps, what is believed as dots.
//!
//! It serves `wear`. It keeps to the page and to a screen of 24 lines, and where there are no line
//! characters it draws with plain ones.

use fettlebook_contract::v1::MakeWear;
use fettlebook_quantity::{exact_f64, round_to_i64};

use crate::render::screen::Screen;
use crate::render::{lives, tint};

/// Rows from 100 % down to 0 %, ten hundredths each.
const ROWS: usize = 11;
/// Room for the labels of the vertical axis, its line included.
const AXIS_WIDTH: usize = 7;
/// Widest field; wider the curve says no more.
const FIELD_MAX: usize = 100;
/// Columns that a label of the horizontal axis takes with the gap after it.
const LABEL_WIDTH: usize = 8;

/// Characters of a drawing.
struct Ink {
    level: char,
    top: char,
    drop: char,
    foot: char,
    belief: char,
    rating: char,
    side: char,
    notch: char,
    corner: char,
    base: char,
    tick: char,
}

const LINES: Ink = Ink {
    level: '━',
    top: '┓',
    drop: '┃',
    foot: '┗',
    belief: '·',
    rating: '┊',
    side: '│',
    notch: '┤',
    corner: '└',
    base: '─',
    tick: '┴',
};

const PLAIN: Ink = Ink {
    level: '#',
    top: '#',
    drop: '#',
    foot: '#',
    belief: '.',
    rating: ':',
    side: '|',
    notch: '+',
    corner: '+',
    base: '-',
    tick: '+',
};

/// The plot of a make's lives with its axes and what its marks mean.
pub(crate) fn plot(screen: &Screen, wear: &MakeWear) -> String {
    let ink = if screen.unicode { &LINES } else { &PLAIN };
    let width = screen.width.saturating_sub(AXIS_WIDTH + 1).min(FIELD_MAX);
    let field = Field {
        ink,
        width,
        reach: lives::reach(wear),
    };
    let rows = field.drawn(wear);
    let mut lines = vec!["Pads still working".to_owned()];
    for (index, row) in rows.iter().enumerate() {
        let side = if index % 2 == 0 {
            let percent = 100_usize.saturating_sub(index * 10);
            format!("{percent:>3} % {}", ink.notch)
        } else {
            format!("{:6}{}", "", ink.side)
        };
        lines.push(
            format!("{side}{}", field.dressed(row))
                .trim_end()
                .to_owned(),
        );
    }
    lines.extend(field.base());
    lines.push(legend(screen, ink, wear));
    lines.join("\n")
}

fn legend(screen: &Screen, ink: &Ink, wear: &MakeWear) -> String {
    let mut marks = Vec::new();
    if !wear.curve.is_empty() {
        marks.push(format!("{} seen here", ink.level));
    }
    if !wear.belief.is_empty() {
        marks.push(format!("{} believed of a new pad", ink.belief));
    }
    marks.push(format!("{} rating", ink.rating));
    let indent = " ".repeat(AXIS_WIDTH);
    screen.hung(&indent, &indent, &marks.join("   "))
}

/// The field between the axes.
struct Field<'a> {
    ink: &'a Ink,
    width: usize,
    reach: f64,
}

impl Field<'_> {
    /// Rows of the field, from the top.
    fn drawn(&self, wear: &MakeWear) -> Vec<Vec<char>> {
        let mut rows = vec![vec![' '; self.width]; ROWS];
        let rating = self.column(1.0);
        for row in 0..ROWS {
            put(&mut rows, row, rating, self.ink.rating);
        }
        for column in 0..self.width {
            if let Some(share) = lives::belief_at(&wear.belief, self.damage(column)) {
                put(&mut rows, level(share), column, self.ink.belief);
            }
        }
        let corners = lives::seen(wear);
        let mut before = None;
        for column in 0..self.width {
            let Some(share) = lives::step_at(&corners, self.damage(column)) else {
                break;
            };
            self.step(&mut rows, column, before, level(share));
            before = Some(level(share));
        }
        if let (Some(before), Some(&(end, share))) = (before, corners.last()) {
            self.step(&mut rows, self.column(end), Some(before), level(share));
        }
        rows
    }

    /// One column of the steps: level, or down from where it was.
    fn step(&self, rows: &mut [Vec<char>], column: usize, before: Option<usize>, now: usize) {
        let from = before.unwrap_or(now);
        if from >= now {
            put(rows, now, column, self.ink.level);
            return;
        }
        put(rows, from, column, self.ink.top);
        for row in from + 1..now {
            put(rows, row, column, self.ink.drop);
        }
        put(rows, now, column, self.ink.foot);
    }

    /// The damage that a column stands for.
    fn damage(&self, column: usize) -> f64 {
        let last = self.width.saturating_sub(1).max(1);
        whole(column) / whole(last) * self.reach
    }

    /// The column of a damage; what lies beyond the reach sits in the last.
    fn column(&self, damage: f64) -> usize {
        let last = self.width.saturating_sub(1);
        nearest(damage / self.reach * whole(last)).min(last)
    }

    /// A row with its lighter marks made faint.
    fn dressed(&self, row: &[char]) -> String {
        let light = |mark: char| mark == self.ink.belief || mark == self.ink.rating;
        row.chunk_by(|one, other| light(*one) == light(*other))
            .map(|run| {
                let text: String = run.iter().collect();
                if run.first().is_some_and(|mark| light(*mark)) {
                    tint::faint(&text)
                } else {
                    text
                }
            })
            .collect()
    }

    /// The horizontal axis: its line, its labels and what it measures.
    fn base(&self) -> Vec<String> {
        let most = u32::try_from(self.width / LABEL_WIDTH).unwrap_or(2);
        let mut line = vec![vec![self.ink.base; self.width]];
        let mut labels = " ".repeat(AXIS_WIDTH);
        for mark in lives::marks(self.reach, most) {
            let column = self.column(mark);
            put(&mut line, 0, column, self.ink.tick);
            let label = format!("{:.0} %", mark * 100.0);
            // Centred on its mark, but never over the edge of the page.
            let start = (AXIS_WIDTH + column).saturating_sub(label.len() / 2);
            let start = start.min((AXIS_WIDTH + self.width + 1).saturating_sub(label.len()));
            if start > labels.len() || labels.trim().is_empty() {
                labels.truncate(start);
                labels.push_str(&" ".repeat(start.saturating_sub(labels.len())));
                labels.push_str(&label);
            }
        }
        let line: String = line.into_iter().flatten().collect();
        let title = "Wear, % of the rated life";
        let indent = AXIS_WIDTH + self.width.saturating_sub(title.len()) / 2;
        vec![
            format!("{:6}{}{line}", "", self.ink.corner),
            labels,
            format!("{:indent$}{title}", ""),
        ]
    }
}

fn put(rows: &mut [Vec<char>], row: usize, column: usize, mark: char) {
    if let Some(cell) = rows.get_mut(row).and_then(|row| row.get_mut(column)) {
        *cell = mark;
    }
}

/// The row of a share.
fn level(share: f64) -> usize {
    nearest((1.0 - lives::share(share)) * whole(ROWS - 1))
}

fn whole(count: usize) -> f64 {
    exact_f64(i64::try_from(count).unwrap_or(i64::MAX))
}

fn nearest(value: f64) -> usize {
    usize::try_from(round_to_i64(value)).unwrap_or(0)
}
