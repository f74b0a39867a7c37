//! `supplier edit`: other terms, or a term that no longer holds.
//!
//! What is not given stays as it is.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Money, Supplier, UpdateSupplierRequest, Weekday};
use prost_types::FieldMask;

use super::{in_book, read, weekday};
use crate::commands::common::{AsRead, tell_understood};
use crate::commands::noun::changes_something;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::days;
use crate::ids;
use crate::money;
use crate::render::{Printer, understood};
use crate::request;

/// What `supplier edit` takes.
#[derive(Args, Debug)]
pub(crate) struct Edit {
    /// Id of the supplier
    #[arg(value_name = "SUPPLIER", value_parser = ids::id, add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: String,
    /// Name as said
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// Days from order to delivery, as the supplier says, for example '3 days'
    #[arg(long, value_name = "DAYS", value_parser = days)]
    pub(crate) lead: Option<i64>,
    /// Least value of an order, for example '25 EUR'
    #[arg(long, value_name = "SUM", value_parser = money::read)]
    pub(crate) min_order: Option<Money>,
    /// There is no least value of an order any more
    #[arg(long, conflicts_with = "min_order")]
    pub(crate) no_min_order: bool,
    /// Value of goods from which delivery is free, for example '80 EUR'
    #[arg(long, value_name = "SUM", value_parser = money::read)]
    pub(crate) free_from: Option<Money>,
    /// Delivery is never free any more
    #[arg(long, conflicts_with = "free_from")]
    pub(crate) never_free: bool,
    /// Freight of an order below that, for example '6.90 EUR'
    #[arg(long, value_name = "SUM", value_parser = money::read)]
    pub(crate) freight: Option<Money>,
    /// There is no freight any more
    #[arg(long, conflicts_with = "freight")]
    pub(crate) no_freight: bool,
    /// All days on which it takes orders, for example mon,wed
    #[arg(long, value_name = "DAYS", value_delimiter = ',', value_parser = weekday)]
    pub(crate) order_days: Vec<Weekday>,
    /// It takes orders every day
    #[arg(long, conflicts_with = "order_days")]
    pub(crate) every_day: bool,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
    #[command(flatten)]
    pub(crate) as_read: AsRead,
}

/// Changes the supplier.
/// Only what is given is changed; a term that no longer holds is taken off by an option of its own.
pub(crate) async fn perform(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let (supplier, paths) = args.change()?;
    let mut supplier = in_book(session, supplier).await?;
    supplier.etag = args.as_read.or(supplier.etag);
    let update = UpdateSupplierRequest {
        request_id: request::new_id(),
        supplier: Some(supplier),
        update_mask: Some(FieldMask {
            paths: paths.into_iter().map(str::to_owned).collect(),
        }),
    };
    let old = read(session, &args.supplier).await?.supplier;
    let answer = session.call(update).await?;
    let new = read(session, &args.supplier).await?.supplier;
    let told = new.map(|new| understood::supplier(old.as_ref(), &new));
    tell_understood(printer, &answer, &told.unwrap_or_default())
}

impl Edit {
    /// The supplier with what was given, and the mask that names it.
    fn change(&self) -> Result<(Supplier, Vec<&'static str>), Fault> {
        let mut supplier = Supplier {
            supplier: self.supplier.clone(),
            min_order: self.min_order.clone(),
            free_delivery_from: self.free_from.clone(),
            freight: self.freight.clone(),
            order_days: self.order_days.iter().map(|day| (*day).into()).collect(),
            ..Supplier::default()
        };
        let mut paths = Vec::new();
        if let Some(name) = &self.name {
            supplier.name.clone_from(name);
            paths.push("name");
        }
        if let Some(lead) = self.lead {
            supplier.lead_days = lead;
            paths.push("lead_days");
        }
        if let Some(note) = &self.note {
            supplier.note.clone_from(note);
            paths.push("note");
        }
        // A path that is named without a value takes the term off.
        let terms = [
            ("min_order", self.min_order.is_some() || self.no_min_order),
            (
                "free_delivery_from",
                self.free_from.is_some() || self.never_free,
            ),
            ("freight", self.freight.is_some() || self.no_freight),
            ("order_days", !self.order_days.is_empty() || self.every_day),
        ];
        let named = terms.iter().filter(|(_, given)| *given);
        paths.extend(named.map(|(path, _)| *path));
        changes_something("supplier edit", &paths)?;
        Ok((supplier, paths))
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;

    use super::Edit;
    use crate::args::Cli;
    use crate::commands::Command;
    use crate::commands::supplier::SupplierCommand;

    fn edited(words: &[&str]) -> Edit {
        let line = ["fettle", "supplier", "edit", "tern-quay"];
        let Some(Command::Supplier(command)) = Cli::parse_from(line.iter().chain(words)).command
        else {
            unreachable!("another command");
        };
        match *command {
            SupplierCommand::Edit(args) => args,
            _ => unreachable!("another command"),
        }
    }

    #[test]
    fn the_mask_names_what_was_given_and_nothing_else() {
        let (supplier, paths) = edited(&["--lead", "4 days", "--freight", "7.50 EUR"])
            .change()
            .unwrap();
        assert_eq!(paths, ["lead_days", "freight"]);
        assert_eq!(supplier.lead_days, 4);
        assert_eq!(supplier.freight.unwrap().amount, "7.50");
    }

    #[test]
    fn a_term_is_taken_off_by_a_path_without_a_value() {
        let (supplier, paths) = edited(&["--no-min-order", "--never-free", "--every-day"])
            .change()
            .unwrap();
        assert_eq!(paths, ["min_order", "free_delivery_from", "order_days"]);
        assert_eq!(supplier.min_order, None);
        assert!(supplier.order_days.is_empty());
    }

    #[test]
    fn an_edit_of_nothing_is_refused() {
        assert_eq!(edited(&[]).change().unwrap_err().exit.code(), 2);
    }
}
