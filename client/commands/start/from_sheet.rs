//! A start from a sheet: its rows as a request, and what the service says is wrong, by row and cell.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read as _;

use fettlebook_contract::v1::{
    ListMakesRequest, StartMake, StartRequest, StartResponse, StarterKit,
};

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::{Fault, Problem};
use crate::page;
use crate::sheets::own::{Beside, Column, Sheet};

/// Largest sheet that is read, the service's own limit.
const BYTES_MAX: u64 = 4 * 1024 * 1024;

/// Reads the sheet that an option names, or standard input for `-`.
pub(super) fn bytes(path: &str) -> Result<Vec<u8>, Fault> {
    let mut bytes = Vec::new();
    let limit = BYTES_MAX + 1;
    let named = if path == "-" { "standard input" } else { path };
    let read = if path == "-" {
        std::io::stdin().take(limit).read_to_end(&mut bytes)
    } else {
        File::open(path).and_then(|file| file.take(limit).read_to_end(&mut bytes))
    };
    read.map_err(|error| Fault::file(named, &error))?;
    if bytes.len() > usize::try_from(BYTES_MAX).unwrap_or(usize::MAX) {
        return Err(Fault::usage(
            "--sheet",
            format!("{named} is larger than 4 MiB; split it."),
        ));
    }
    if bytes.starts_with(b"PK\x03\x04") {
        let mut fault = Fault::usage(
            "--sheet",
            format!("{named} is a workbook and no list of cells."),
        );
        fault.todo = "Save it as CSV from the spreadsheet, and name that file.".to_owned();
        return Err(fault);
    }
    Ok(bytes)
}

/// What is known beside a sheet: the makes of the book and of a kit that is set up with it.
pub(super) async fn beside(
    session: &Session,
    kit: Option<&StarterKit>,
    currency: Option<String>,
) -> Result<Beside, Fault> {
    let listed = page::every(session, ListMakesRequest::default()).await?;
    let of_kit = kit.into_iter().flat_map(|kit| &kit.makes);
    let of_kit = of_kit.filter_map(|one| one.make.clone());
    // What the book has goes before what a kit would bring.
    let all = of_kit.chain(listed.makes);
    let makes: BTreeMap<_, _> = all.map(|make| (make.make.clone(), make)).collect();
    Ok(Beside { makes, currency })
}

/// The rows of a sheet as a request.
pub(super) fn put(sheet: &Sheet, request: &mut StartRequest) {
    for row in &sheet.rows {
        let mut known = request.makes.iter().filter_map(|known| known.make.as_ref());
        if let Some(make) = &row.make
            && !known.any(|known| known.make == make.make)
        {
            request.makes.push(StartMake {
                row: row.row,
                make: Some(make.clone()),
            });
        }
        let mut priced = request.prices.iter();
        if let Some(price) = &row.price
            && !priced.any(|known| known.make == price.make)
        {
            request.prices.push(price.clone());
        }
        request.pieces.extend(row.pieces.iter().cloned());
    }
}

/// What the service says is wrong with the rows of a sheet.
pub(super) fn problems(file: &str, sheet: &Sheet, looked: &StartResponse) -> Vec<Problem> {
    let named = |field: &str| {
        let column = column_of(field);
        let heading = sheet.headings.iter().find(|(known, _)| *known == column);
        heading.map_or_else(
            || column.heading().to_owned(),
            |(_, heading)| heading.clone(),
        )
    };
    let problems = looked.problems.iter();
    problems
        .map(|problem| Problem {
            file: file.to_owned(),
            line: problem.line,
            column: named(&problem.column),
            text: problem.text.clone(),
            todo: problem.todo.clone(),
        })
        .collect()
}

/// The column that a field of the contract is from.
fn column_of(field: &str) -> Column {
    match field.rsplit('.').next().unwrap_or_default() {
        "piece_count" | "towel_count" => Column::Count,
        "job_count" | "work_micro_sections" => Column::Jobs,
        "wash_count" => Column::Washes,
        "volume_ul" | "full_permille" | "quantity" => Column::Left,
        "gross_mg" | "tare_mg" => Column::Weight,
        "place" => Column::Where,
        "lot" => Column::Lot,
        "expiry_date" => Column::Expiry,
        "price" | "amount" | "currency_code" => Column::Price,
        "pack_count" => Column::Pack,
        "note" => Column::Note,
        "face_mm" | "diameter_mm" | "bottle_ul" | "weight_g_per_m2" | "pack_quantity"
        | "throw_mm" => Column::Size,
        _ => Column::What,
    }
}

/// A sheet with everything that is wrong with it; nothing was taken over.
pub(super) fn wrong(file: &str, problems: Vec<Problem>) -> Fault {
    let count = match problems.len() {
        1 => "One thing is".to_owned(),
        more => format!("{more} things are"),
    };
    let mut fault = Fault::own(
        "SHEET",
        Exit::Usage,
        format!("{count} wrong in {file}, and nothing was taken over."),
        "Mend the cells that are named and run it again; --dry-run shows each row as it was understood.",
    );
    fault.field = "--sheet".into();
    fault.problems = problems.into_boxed_slice();
    fault
}
