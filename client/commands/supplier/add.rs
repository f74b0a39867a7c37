//! `supplier add ID`: sets up a supplier with its terms.
//!
//! It serves setting up. Its price list is filled with `supplier price`.

use clap::Args;
use fettlebook_contract::v1::{CreateSupplierRequest, Money, Supplier, Weekday};

use super::terms::weekday;
use crate::commands::common::record;
use crate::commands::make::figures::days;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::render::Printer;
use crate::request;

/// What `supplier add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example tern-quay
    #[arg(value_name = "ID")]
    pub(crate) supplier: String,
    /// Name as said, for example 'Tern Quay Supplies'
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: String,
    /// Days from order to delivery, as the supplier says, for example '3 days'
    #[arg(long, value_name = "DAYS", value_parser = days)]
    pub(crate) lead: i64,
    /// Least value of an order, for example '25 EUR'; without it none
    #[arg(long, value_name = "SUM", value_parser = options::money)]
    pub(crate) min_order: Option<Money>,
    /// Value of goods from which delivery is free, for example '80 EUR'; without it never
    #[arg(long, value_name = "SUM", value_parser = options::money)]
    pub(crate) free_from: Option<Money>,
    /// Freight of an order below that, for example '6.90 EUR'; without it none
    #[arg(long, value_name = "SUM", value_parser = options::money)]
    pub(crate) freight: Option<Money>,
    /// Days on which it takes orders, for example mon,wed; without it every day
    #[arg(long, value_name = "DAYS", value_delimiter = ',', value_parser = weekday)]
    pub(crate) order_days: Vec<Weekday>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Sets up the supplier.
pub(crate) async fn perform(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let create = CreateSupplierRequest {
        request_id: request::new_id(),
        supplier: Some(args.supplier()),
    };
    record(session, printer, create).await
}

impl Add {
    /// The supplier as the contract carries it.
    fn supplier(&self) -> Supplier {
        Supplier {
            supplier: self.supplier.clone(),
            name: self.name.clone(),
            lead_days: self.lead,
            min_order: self.min_order.clone(),
            free_delivery_from: self.free_from.clone(),
            freight: self.freight.clone(),
            order_days: self.order_days.iter().map(|day| (*day).into()).collect(),
            note: self.note.clone().unwrap_or_default(),
            ..Supplier::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::args::Cli;
    use crate::commands::Command;
    use crate::commands::supplier::SupplierCommand;
    use clap::Parser as _;
    use fettlebook_contract::v1::Weekday;

    fn typed(words: &[&str]) -> Result<super::Add, clap::Error> {
        let line = ["fettle", "supplier", "add"].iter().chain(words);
        let Command::Supplier(command) = Cli::try_parse_from(line)?.command else {
            unreachable!("another command");
        };
        match *command {
            SupplierCommand::Add(args) => Ok(args),
            _ => unreachable!("another command"),
        }
    }

    #[test]
    fn a_supplier_is_sent_with_the_terms_that_were_typed_and_no_others() {
        let args = typed(&[
            "tern-quay",
            "--name",
            "Tern Quay Supplies",
            "--lead",
            "3 days",
            "--free-from",
            "80 EUR",
            "--freight",
            "6.90 EUR",
            "--order-days",
            "mon,wed",
        ]);
        let supplier = args.unwrap().supplier();
        assert_eq!(supplier.lead_days, 3);
        assert_eq!(supplier.freight.as_ref().unwrap().amount, "6.90");
        assert_eq!(supplier.free_delivery_from.as_ref().unwrap().amount, "80");
        assert_eq!(supplier.min_order, None);
        let days: Vec<_> = supplier.order_days().collect();
        assert_eq!(days, [Weekday::Monday, Weekday::Wednesday]);
    }

    #[test]
    fn a_supplier_without_a_lead_time_or_with_an_unclear_one_is_refused() {
        assert!(typed(&["a", "--name", "A"]).is_err());
        for lead in ["3 weeks", "soon", "2.5 days"] {
            let refused = typed(&["a", "--name", "A", "--lead", lead]).unwrap_err();
            assert!(refused.to_string().contains("days"), "{lead}: {refused}");
        }
    }
}
