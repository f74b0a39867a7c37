//! `offers.csv`: what suppliers ask, one line for each price.
//!
//! It serves export and import. An offer with prices from several packs on takes several lines.

use fettlebook_contract::v1::{Offer, Supplier};

use super::Read;
use super::sheet::Sheet;
use super::table::Source;
use crate::columns::{Cell, Decimals};
use crate::fault::Fault;

/// An offer and whose it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Offered {
    /// Id of the supplier.
    pub(crate) supplier: String,
    /// What it asks.
    pub(crate) offer: Offer,
}

fn sheet() -> Result<Sheet<Offer>, Fault> {
    let sheet = Sheet::new(|_| true)?;
    Ok(sheet.led_by(&["supplier"]))
}

/// The file of the offers of suppliers.
///
/// # Errors
/// When one cannot be written.
pub(super) fn written(suppliers: &[Supplier], decimals: Decimals) -> Result<String, Fault> {
    let offers = suppliers.iter().flat_map(|supplier| {
        let id = &supplier.supplier;
        let offers = supplier.offers.iter();
        offers.map(move |offer| (vec![Cell::Text(id.clone())], offer))
    });
    sheet()?.written_led(offers, decimals)
}

/// Reads the file.
///
/// # Errors
/// When it cannot be read at all.
pub(super) fn read(source: &mut Source, file: &str) -> Result<Vec<Read<Offered>>, Fault> {
    let offers = sheet()?.read_led(source, file)?;
    let offers = offers.into_iter().map(|read| {
        read.turned(|(before, offer)| Offered {
            supplier: before.into_iter().next().unwrap_or_default(),
            offer,
        })
    });
    Ok(offers.collect())
}
