//! What a shop begins with, from the wire.
//!
//! It serves the start. Every part that cannot be read is found, by its row, so that a person mends a sheet
//! once; what can be read is looked at by the model all the same.

use fettlebook_contract::numbers::{At, Numbers};
use fettlebook_contract::v1;
use fettlebook_model::command::{OfRow, Receipt, Said, Start, StartPiece, StartPrice};
use fettlebook_model::decide::{RowProblem, refused_start, start_problems};
use fettlebook_model::starter::StarterKit;
use fettlebook_model::{Book, Command, Moment, Refusal};
use fettlebook_quantity::{Mass, Volume};

use super::{car, id, job, make, money, open_date, open_place};

/// What is to be set up, and everything that is wrong with it, by row.
pub(in crate::edge) fn look(
    sent: v1::StartRequest,
    book: &Book,
    now: Moment,
) -> (Start, Vec<RowProblem>) {
    let (start, mut found) = read(sent);
    // What cannot be read is missing; what rests on it would be told as wrong too.
    if found.is_empty() {
        found = start_problems(book, &start, now);
    }
    found.sort_by_key(|problem| problem.line);
    (start, found)
}

/// What is to be set up, where all of it can be read; else the first of everything that cannot.
pub(in crate::edge) fn start(sent: v1::StartRequest, _: &Book) -> Result<Command, Refusal> {
    let (start, mut found) = read(sent);
    found.sort_by_key(|problem| problem.line);
    if found.is_empty() {
        return Ok(Command::Start(Box::new(start)));
    }
    Err(refused_start(&found))
}

fn read(sent: v1::StartRequest) -> (Start, Vec<RowProblem>) {
    let mut found = Vec::new();
    let kit = keep(0, starter_kit("starter_kit", &sent.starter_kit), &mut found).flatten();
    let mut start = Start {
        note: sent.note,
        kit,
        ..Start::default()
    };
    for v1::StartMake { row, make } in sent.makes {
        beyond(row, At::TOP.down("make"), make.as_ref(), &mut found);
        let read = super::message("make", make).and_then(make::new_make);
        let read = keep(row, read, &mut found);
        start.makes.extend(read.map(|what| OfRow { row, what }));
    }
    for price in sent.prices {
        let row = price.row;
        beyond(row, At::TOP, Some(&price), &mut found);
        let read = keep(row, self::price(&price), &mut found);
        start.prices.extend(read.map(|what| OfRow { row, what }));
    }
    for piece in sent.pieces {
        let row = piece.row;
        beyond(row, At::TOP, Some(&piece), &mut found);
        let read = keep(row, self::piece(piece), &mut found);
        start.pieces.extend(read.map(|what| OfRow { row, what }));
    }
    beyond(0, At::TOP.down("car"), sent.car.as_ref(), &mut found);
    start.car = sent
        .car
        .and_then(|sent| keep(0, car::car(sent), &mut found));
    beyond(0, At::TOP.down("job"), sent.job.as_ref(), &mut found);
    start.job = sent
        .job
        .and_then(|sent| keep(0, job::new_job(sent), &mut found));
    (start, found)
}

/// The value, or nothing and what is wrong put with the rest.
fn keep<T>(row: i64, read: Result<T, Refusal>, found: &mut Vec<RowProblem>) -> Option<T> {
    let wrong = |refusal| found.push(RowProblem { line: row, refusal });
    read.map_err(wrong).ok()
}

/// Numbers of a part outside the contract's bounds.
fn beyond<M: Numbers>(row: i64, at: At<'_>, sent: Option<&M>, found: &mut Vec<RowProblem>) {
    let mut numbers = Vec::new();
    if let Some(sent) = sent {
        sent.beyond(at, &mut numbers);
    }
    found.extend(numbers.into_iter().map(|number| {
        let what = number.to_string();
        RowProblem {
            line: row,
            refusal: Refusal::quantity(&number.field, what, "Look at the figure and its unit."),
        }
    }));
}

/// A starter kit by its word; nothing where none is named.
pub(in crate::edge) fn starter_kit(field: &str, word: &str) -> Result<Option<StarterKit>, Refusal> {
    if word.is_empty() {
        return Ok(None);
    }
    let kit = word.parse().map(Some);
    kit.map_err(|error: <StarterKit as std::str::FromStr>::Err| {
        Refusal::invalid(field, format!("{error}."), "")
    })
}

fn price(sent: &v1::StartPrice) -> Result<StartPrice, Refusal> {
    Ok(StartPrice {
        make: id("make", &sent.make)?,
        price: money("price", sent.price.as_ref())?,
        pack_count: sent.pack_count,
    })
}

fn piece(sent: v1::StartPiece) -> Result<StartPiece, Refusal> {
    Ok(StartPiece {
        receipt: Receipt {
            said: Said::default(),
            make: id("make", &sent.make)?,
            place: open_place("place", &sent.place)?,
            piece_count: sent.piece_count,
            tags: Vec::new(),
            towel_count: sent.towel_count,
            lot: sent.lot,
            expiry: open_date("expiry_date", &sent.expiry_date)?,
            volume_ul: sent.volume_ul.map(Volume::from_ul),
            tare_mg: sent.tare_mg.map(Mass::from_mg),
            quantity: sent.quantity,
            towel_grade: None,
            work: None,
            wash_count: sent.wash_count,
            check_due: None,
            run_time: None,
            change_count: None,
            charge_count: None,
            landed: None,
            landed_quantity: None,
        },
        job_count: sent.job_count,
        full_permille: sent.full_permille,
        gross_mg: sent.gross_mg.map(Mass::from_mg),
    })
}
