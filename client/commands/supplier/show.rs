//! `supplier show ID`: one supplier with its terms, its lead time as it turned out, its price list.
//!
//! It serves ordering by telephone and checking a new price list.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{GetSupplierRequest, GetSupplierResponse};

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, supplier};

/// What `supplier show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the supplier
    #[arg(value_name = "SUPPLIER", add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: String,
}

/// Shows the supplier.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = read(session, &args.supplier).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .supplier
            .as_ref()
            .map_or_else(String::new, |found| supplier::show(screen, found))
    })?;
    Ok(Exit::Done)
}

/// Reads one supplier.
///
/// # Errors
/// When it is not known.
pub(crate) async fn read(session: &Session, id: &str) -> Result<GetSupplierResponse, Fault> {
    let asked = GetSupplierRequest {
        supplier: id.to_owned(),
    };
    session.call(asked).await
}
