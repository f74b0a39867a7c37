//! The invented shop, read from `demo-stock/`: in the binary, or a folder of the person's own.
//!
//! It serves the demo. Everything is read and understood before anything is sent, so that a corrupt
//! file leaves no half a book.

use std::path::Path;

use fettlebook_contract::v1::{
    Car, CreateCarRequest, CreateMakeRequest, CreateRoutineRequest, CreateSupplierRequest,
    ImportPadsRequest, Make, PadRow, ReceiveKitRequest, Routine, Supplier,
};
use prost::{Message, Name};
use serde_json::Value;

use crate::commands::common::read_from;
use crate::connect::Session;
use crate::fault::Fault;
use crate::{json, notebook, request};

/// The files, as they were when this was built.
const BUILT_IN: [(&str, &str); 4] = [
    ("makes.json", include_str!("../../../demo-stock/makes.json")),
    ("kit.json", include_str!("../../../demo-stock/kit.json")),
    ("cars.json", include_str!("../../../demo-stock/cars.json")),
    (
        "routines.json",
        include_str!("../../../demo-stock/routines.json"),
    ),
];

/// Whom the shop orders from.
const SUPPLIERS: (&str, &str) = (
    "suppliers.json",
    include_str!("../../../demo-stock/suppliers.json"),
);
/// What the shop wrote down before it kept a book.
const NOTEBOOK: (&str, &str) = (
    "notebook.csv",
    include_str!("../../../demo-stock/notebook.csv"),
);

/// What the shop has.
pub(super) struct Stock {
    makes: Vec<Make>,
    kit: Vec<ReceiveKitRequest>,
    cars: Vec<Car>,
    routines: Vec<Routine>,
    notebook: Vec<PadRow>,
    suppliers: Vec<Supplier>,
}

impl Stock {
    /// Reads it from a folder, or from the binary.
    ///
    /// # Errors
    /// Names the file, the row and what was expected there.
    pub(super) fn read(folder: Option<&Path>) -> Result<Self, Fault> {
        let [makes, kit, cars, routines] = BUILT_IN;
        Ok(Self {
            makes: rows(folder, makes)?,
            kit: rows(folder, kit)?,
            cars: rows(folder, cars)?,
            routines: rows(folder, routines)?,
            notebook: notebook(folder)?,
            suppliers: suppliers(folder)?,
        })
    }

    /// How much there is, a sentence.
    pub(super) fn sentence(&self) -> String {
        format!(
            "{} makes, {} receipts of kit, {} cars, {} routines, {} pads in a notebook, {} suppliers.",
            self.makes.len(),
            self.kit.len(),
            self.cars.len(),
            self.routines.len(),
            self.notebook.len(),
            self.suppliers.len()
        )
    }

    /// Enters all of it in the book.
    ///
    /// # Errors
    /// What the service refused.
    pub(super) async fn enter(&self, session: &Session) -> Result<(), Fault> {
        for make in &self.makes {
            let asked = CreateMakeRequest {
                request_id: request::new_id(),
                make: Some(make.clone()),
            };
            session.call(asked).await?;
        }
        for receipt in &self.kit {
            let asked = ReceiveKitRequest {
                request_id: request::new_id(),
                ..receipt.clone()
            };
            session.call(asked).await?;
        }
        for car in &self.cars {
            let asked = CreateCarRequest {
                request_id: request::new_id(),
                car: Some(car.clone()),
                validate_only: false,
            };
            session.call(asked).await?;
        }
        for routine in &self.routines {
            let asked = CreateRoutineRequest {
                request_id: request::new_id(),
                routine: Some(routine.clone()),
            };
            session.call(asked).await?;
        }
        self.enter_notebook(session).await?;
        self.enter_suppliers(session).await
    }

    async fn enter_suppliers(&self, session: &Session) -> Result<(), Fault> {
        for supplier in &self.suppliers {
            let asked = CreateSupplierRequest {
                request_id: request::new_id(),
                supplier: Some(supplier.clone()),
            };
            session.call(asked).await?;
        }
        Ok(())
    }

    async fn enter_notebook(&self, session: &Session) -> Result<(), Fault> {
        if self.notebook.is_empty() {
            return Ok(());
        }
        let asked = ImportPadsRequest {
            request_id: request::new_id(),
            note: "from the notebook".to_owned(),
            rows: self.notebook.clone(),
            validate_only: false,
        };
        session.call(asked).await?;
        Ok(())
    }
}

/// The suppliers; a folder of the person's own may have none.
fn suppliers(folder: Option<&Path>) -> Result<Vec<Supplier>, Fault> {
    match folder {
        Some(own) if !own.join(SUPPLIERS.0).exists() => Ok(Vec::new()),
        _ => rows(folder, SUPPLIERS),
    }
}

/// The notebook; a folder of the person's own may have none.
fn notebook(folder: Option<&Path>) -> Result<Vec<PadRow>, Fault> {
    let (name, built_in) = NOTEBOOK;
    let Some(folder) = folder else {
        return notebook::read(name, built_in);
    };
    let path = folder.join(name);
    if !path.exists() {
        return Ok(Vec::new());
    }
    let path = path.display().to_string();
    notebook::read(&path, &read_from(&path)?)
}

/// The messages of one file.
fn rows<M: Message + Name + Default>(
    folder: Option<&Path>,
    (name, built_in): (&str, &str),
) -> Result<Vec<M>, Fault> {
    let (shown, text) = match folder {
        None => (name.to_owned(), built_in.to_owned()),
        Some(folder) => {
            let path = folder.join(name).display().to_string();
            let text = read_from(&path)?;
            (path, text)
        }
    };
    let corrupt = |what: String| {
        let mut fault = Fault::usage("--stock", format!("{shown}: {what}"));
        fault.todo = "Mend the file; nothing was entered.".to_owned();
        fault
    };
    let list: Vec<Value> = serde_json::from_str(&text)
        .map_err(|error| corrupt(format!("not a list of objects in JSON: {error}.")))?;
    list.iter()
        .enumerate()
        .map(|(at, row)| {
            json::from_json::<M>(&row.to_string())
                .map_err(|fault| corrupt(format!("row {}: {}", at + 1, fault.message)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Stock, rows};
    use fettlebook_contract::v1::Make;

    #[test]
    fn the_stock_in_the_binary_is_whole() {
        let stock = Stock::read(None).map_err(|fault| fault.message);
        assert_eq!(
            stock.map(|stock| stock.sentence()),
            Ok(
                "23 makes, 31 receipts of kit, 4 cars, 3 routines, 14 pads in a notebook, 2 suppliers."
                    .to_owned()
            )
        );
    }

    #[test]
    fn a_corrupt_file_is_named_with_its_row() {
        let said = |text| {
            rows::<Make>(None, ("makes.json", text))
                .unwrap_err()
                .message
        };
        assert!(said("[{\"make\": \"a\"}, {\"mako\": \"b\"}]").contains("makes.json: row 2"));
        assert!(said("[{\"make\": ").contains("makes.json: not a list"));
    }
}
