//! `supplier`: whom one orders from, with terms and price lists.
//!
//! It serves setting up and new price lists. What deliveries have taught of the lead time is the
//! service's to say.

use clap::{Args, Subcommand};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    CreateSupplierRequest, GetSupplierRequest, GetSupplierResponse, ListSuppliersRequest,
    ListSuppliersResponse, Money, Supplier, Weekday,
};

use crate::commands::common::{ListForm, tell_understood};
use crate::commands::noun::{listed, shown};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::days;
use crate::ids;
use crate::money;
use crate::page;
use crate::render::{Printer, supplier, understood};
use crate::request;
use crate::word;

pub(crate) mod edit;
pub(crate) mod price;

/// What can be done with suppliers.
#[derive(Debug, Subcommand)]
pub(crate) enum SupplierCommand {
    /// Set up a supplier
    Add(Add),
    /// List the suppliers
    List(List),
    /// Show one supplier with its terms and price list
    Show(Show),
    /// Change the terms of a supplier
    Edit(edit::Edit),
    /// Put a make on the price list of a supplier, or take it off
    Price(price::Price),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &SupplierCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        SupplierCommand::Add(args) => add(session, args, printer).await,
        SupplierCommand::List(args) => list(session, args, printer).await,
        SupplierCommand::Show(args) => show(session, args, printer).await,
        SupplierCommand::Edit(args) => edit::perform(session, args, printer).await,
        SupplierCommand::Price(args) => price::perform(session, args, printer).await,
    }
}

/// What `supplier add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example tern-quay; without it from the name
    #[arg(value_name = "ID", required_unless_present = "name")]
    pub(crate) supplier: Option<String>,
    /// Name as said, for example 'Tern Quay Supplies'; without it from the id
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// Days from order to delivery, as the supplier says, for example '3 days'
    #[arg(long, value_name = "DAYS", value_parser = days)]
    pub(crate) lead: i64,
    /// Least value of an order, for example '25 EUR'; without it none
    #[arg(long, value_name = "SUM", value_parser = money::read)]
    pub(crate) min_order: Option<Money>,
    /// Value of goods from which delivery is free, for example '80 EUR'; without it never
    #[arg(long, value_name = "SUM", value_parser = money::read)]
    pub(crate) free_from: Option<Money>,
    /// Freight of an order below that, for example '6.90 EUR'; without it none
    #[arg(long, value_name = "SUM", value_parser = money::read)]
    pub(crate) freight: Option<Money>,
    /// Days on which it takes orders, for example mon,wed; without it every day
    #[arg(long, value_name = "DAYS", value_delimiter = ',', value_parser = weekday)]
    pub(crate) order_days: Vec<Weekday>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Sets up the supplier.
/// Its price list is filled with `supplier price`.
pub(crate) async fn add(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let supplier = in_book(session, args.supplier()).await?;
    let told = understood::supplier(None, &supplier);
    let create = CreateSupplierRequest {
        request_id: request::new_id(),
        supplier: Some(supplier),
    };
    let answer = session.call(create).await?;
    tell_understood(printer, &answer, &told)
}

/// The supplier with the book's currency where its terms name none.
pub(crate) async fn in_book(session: &Session, supplier: Supplier) -> Result<Supplier, Fault> {
    let terms = &supplier;
    let min_order = money::in_book(session, "--min-order", terms.min_order.as_ref()).await?;
    let free = terms.free_delivery_from.as_ref();
    let free_delivery_from = money::in_book(session, "--free-from", free).await?;
    let freight = money::in_book(session, "--freight", terms.freight.as_ref()).await?;
    Ok(Supplier {
        min_order,
        free_delivery_from,
        freight,
        ..supplier
    })
}

impl Add {
    /// The supplier as the contract carries it.
    fn supplier(&self) -> Supplier {
        let (supplier, name) = ids::with_name(self.supplier.as_deref(), self.name.as_deref());
        Supplier {
            supplier,
            name,
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

/// What `supplier list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the suppliers.
pub(crate) async fn list(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = ListSuppliersRequest::default();
    listed(
        session,
        printer,
        args.form,
        asked,
        |answer| answer.suppliers.as_slice(),
        supplier::list,
    )
    .await
}

/// Every supplier.
///
/// # Errors
/// What the service refused.
pub(crate) async fn all(session: &Session) -> Result<ListSuppliersResponse, Fault> {
    page::every(session, ListSuppliersRequest::default()).await
}

/// What `supplier show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the supplier
    #[arg(value_name = "SUPPLIER", value_parser = ids::id, add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: String,
}

/// Shows the supplier.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = read(session, &args.supplier).await?;
    shown(
        printer,
        &answer,
        answer.supplier.as_ref(),
        "the supplier",
        supplier::show,
    )
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

/// Letters that a day of the week may be cut to.
const LETTERS: usize = 3;

/// Reads a day of the week, `monday` or `mon`.
pub(crate) fn weekday(text: &str) -> Result<Weekday, String> {
    let lower = text.trim().to_lowercase();
    word::values::<Weekday>()
        .find(|day| {
            let name = word::word(*day);
            lower == name || (lower.len() == LETTERS && name.starts_with(&lower))
        })
        .ok_or_else(|| {
            format!(
                "'{text}' is not a day of the week; write for example mon,wed or one of {}",
                word::list::<Weekday>()
            )
        })
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;
    use fettlebook_contract::v1::Weekday;

    use super::{SupplierCommand, weekday};
    use crate::args::Cli;
    use crate::commands::Command;

    fn typed(words: &[&str]) -> Result<super::Add, clap::Error> {
        let line = ["fettle", "supplier", "add"].iter().chain(words);
        let Some(Command::Supplier(command)) = Cli::try_parse_from(line)?.command else {
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
        for lead in ["3 moons", "soon", "2.5 days"] {
            let refused = typed(&["a", "--name", "A", "--lead", lead]).unwrap_err();
            assert!(refused.to_string().contains("days"), "{lead}: {refused}");
        }
    }

    #[test]
    fn a_day_of_the_week_is_read_whole_or_by_three_letters() {
        assert_eq!(weekday("mon"), Ok(Weekday::Monday));
        assert_eq!(weekday("Wednesday"), Ok(Weekday::Wednesday));
        assert_eq!(weekday(" sun "), Ok(Weekday::Sunday));
        for text in ["", "t", "tu", "thur", "day", "1", "mon-fri", "unspecified"] {
            let refused = weekday(text).unwrap_err();
            assert!(refused.contains("mon,wed"), "{text}: {refused}");
        }
    }
}
