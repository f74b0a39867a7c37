//! The pieces that a row says there are, by the sort of thing.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Make, StartPiece, Unit};

use super::cells::bare_count;
use super::{Reader, Wrong, unclear};
use crate::said::bottles;
use crate::said::is_none;
use crate::said::packs::{self, Packs};
use crate::said::pads::{self, Pads};
use crate::sheets::own::Column;
use crate::sheets::own::grid::Line;
use crate::sheets::own::words::plain;

impl Reader<'_> {
    /// The pieces of a row.
    pub(super) fn pieces(
        &self,
        line: &Line,
        make: &Make,
        count: &str,
        taken: &mut Vec<String>,
    ) -> Result<Vec<StartPiece>, Wrong> {
        let whole = StartPiece {
            row: line.row,
            make: make.make.clone(),
            place: self.at_place(line)?,
            wash_count: self.number(line, Column::Washes)?,
            ..StartPiece::default()
        };
        let left = self.measured(line, Column::Left);
        if is_none(count) && !count.is_empty() {
            return Ok(Vec::new());
        }
        if count.is_empty() && left.is_empty() {
            taken.push("one".to_owned());
        }
        match &make.figures {
            Some(Figures::Pad(_)) => self.pads(line, &whole, count, &left),
            Some(Figures::Liquid(_)) => self.bottles(line, &whole, count, &left),
            Some(Figures::Sundry(sundry)) => {
                let of = (sundry.unit(), sundry.pack_quantity);
                packed(&whole, of, count, &left)
            }
            Some(Figures::Towel(_)) => {
                let bundles = packs::towels(&bare_count(count))
                    .map_err(|why| unclear(Column::Count, &why))?;
                let bundles = bundles.into_iter();
                Ok(bundles
                    .map(|towel_count| StartPiece {
                        towel_count,
                        ..whole.clone()
                    })
                    .collect())
            }
            _ => {
                let pads =
                    pads::read(&bare_count(count)).map_err(|why| unclear(Column::Count, &why))?;
                let pieces = pads.iter();
                let pieces = pieces.map(|pads| StartPiece {
                    piece_count: pads.count,
                    wash_count: None,
                    ..whole.clone()
                });
                Ok(pieces.collect())
            }
        }
    }

    /// A whole number of a column.
    fn number(&self, line: &Line, column: Column) -> Result<Option<i64>, Wrong> {
        let cell = self.cell(line, column);
        let digits = cell.trim_end_matches(|letter: char| !letter.is_ascii_digit());
        if cell.is_empty() {
            return Ok(None);
        }
        if is_none(&cell) {
            return Ok(Some(0));
        }
        digits.parse().map(Some).map_err(|_| {
            let text = format!("'{cell}' is not a whole number.");
            Wrong(column, text, "Write one, such as 8.".to_owned())
        })
    }

    fn pads(
        &self,
        line: &Line,
        whole: &StartPiece,
        count: &str,
        left: &str,
    ) -> Result<Vec<StartPiece>, Wrong> {
        let said = pads::read(&bare_count(count)).map_err(|why| unclear(Column::Count, &why))?;
        let of_column = self.number(line, Column::Jobs)?;
        let of_standing = if of_column.is_none() {
            jobs_behind(left)?
        } else {
            None
        };
        let each = of_column.or(of_standing);
        let pieces = said.into_iter().map(|Pads { count, jobs }| StartPiece {
            piece_count: count,
            job_count: Some(if jobs > 0 { jobs } else { each.unwrap_or(0) })
                .filter(|jobs| *jobs > 0),
            ..whole.clone()
        });
        Ok(pieces.collect())
    }

    fn bottles(
        &self,
        line: &Line,
        whole: &StartPiece,
        count: &str,
        left: &str,
    ) -> Result<Vec<StartPiece>, Wrong> {
        let weight = self.measured(line, Column::Weight);
        let (column, left) = match (left.is_empty(), weight.is_empty()) {
            (true, true) => (Column::Count, bare_count(count)),
            (true, false) => (Column::Weight, grams(&weight)),
            (false, _) => (Column::Left, left.to_owned()),
        };
        let is_bare_number =
            column == Column::Left && left.bytes().all(|byte| byte.is_ascii_digit());
        if is_bare_number && left.parse() != Ok(1) && left.parse() != Ok(0) {
            let text = format!("'{left}' may be millilitres, grams or per cent.");
            let todo = "Write which, such as 350 ml, 431 g on the scale or 75 %.".to_owned();
            return Err(Wrong(Column::Left, text, todo));
        }
        let mut said = bottles::read(&left).map_err(|why| unclear(column, &why))?;
        let number = bare_count(count).parse::<usize>();
        if let (true, Ok(number), [one]) = (column != Column::Count, number, said.as_slice()) {
            said = vec![*one; number.min(500)];
        }
        let expiry_date = self.expiry(line)?;
        let lot = self.cell(line, Column::Lot);
        let mut pieces: Vec<StartPiece> = Vec::new();
        for left in said {
            let piece = left.put(StartPiece {
                piece_count: 1,
                wash_count: None,
                lot: lot.clone(),
                expiry_date: expiry_date.clone(),
                ..whole.clone()
            });
            let alike = |last: &StartPiece| {
                StartPiece {
                    piece_count: 1,
                    ..last.clone()
                } == piece
            };
            match pieces.last_mut() {
                Some(last) if alike(last) => last.piece_count = last.piece_count.saturating_add(1),
                _ => pieces.push(piece),
            }
        }
        Ok(pieces)
    }
}

/// Packs of what is counted or measured: so many, each with what is left.
fn packed(
    whole: &StartPiece,
    (unit, pack): (Unit, i64),
    count: &str,
    left: &str,
) -> Result<Vec<StartPiece>, Wrong> {
    let (column, text) = if left.is_empty() {
        (Column::Count, bare_count(count))
    } else {
        (Column::Left, left.to_owned())
    };
    let said = packs::read(&text, unit, pack).map_err(|why| unclear(column, &why))?;
    let number = bare_count(count)
        .parse::<i64>()
        .ok()
        .filter(|_| column == Column::Left);
    let pieces = said
        .into_iter()
        .map(|Packs { count, quantity }| StartPiece {
            piece_count: number.unwrap_or(count),
            quantity,
            wash_count: None,
            ..whole.clone()
        });
    Ok(pieces.collect())
}

/// Refuses a count that is none of anything.
pub(super) fn counts_something(count: &str) -> Result<(), Wrong> {
    let count = bare_count(count);
    let is_read = bottles::read(&count).is_ok() || packs::towels(&count).is_ok();
    let read = pads::read(&count).map(|_| ());
    if is_read {
        return Ok(());
    }
    read.map_err(|why| unclear(Column::Count, &why))
}

/// Jobs behind pads by how somebody says that they stand; nothing for new ones.
fn jobs_behind(standing: &str) -> Result<Option<i64>, Wrong> {
    let text = plain(standing);
    if text.is_empty()
        || matches!(
            text.as_str(),
            "new" | "neu" | "nieuw" | "nuevo" | "unused" | "full" | "sealed"
        )
    {
        return Ok(None);
    }
    let digits: String = text
        .chars()
        .skip_while(|letter| !letter.is_ascii_digit())
        .take_while(char::is_ascii_digit)
        .collect();
    let tells_jobs = ["job", "car", "use", "x"]
        .iter()
        .any(|word| text.contains(word));
    digits
        .parse()
        .ok()
        .filter(|_| tells_jobs)
        .map(Some)
        .ok_or_else(|| {
            Wrong(
                Column::Left,
                format!("'{standing}' does not say how many jobs such a pad has done."),
                "Write new, or the jobs, such as: used, 8 jobs.".to_owned(),
            )
        })
}

/// A weight; a bare number is grams.
fn grams(text: &str) -> String {
    if text.ends_with(|letter: char| letter.is_ascii_digit()) {
        format!("{text} g")
    } else {
        text.to_owned()
    }
}
