//! `reorder`: what to order, from whom and by when, and placing it.
//!
//! It serves the week's order. It works nothing out: needs, days and sums are the service's.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    CreateOrderRequest, CreateOrderResponse, ListReorderRequest, ListReorderResponse, OrderLine,
    ReorderLine, SupplierBasket,
};
use jiff::tz::TimeZone;
use serde_json::{Value, json};

use crate::columns::{Decimals, Rows};
use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::paper::{self, Ground, OnPaper};
use crate::render::amount::money;
use crate::render::{Form, Printer, csv, reorder};
use crate::request;
use crate::when;

/// What `reorder` takes.
#[derive(Args, Debug)]
pub(crate) struct Reorder {
    /// Last day of booked jobs that are looked at, for example '+14 days'; without it all of them
    #[arg(long, value_name = "DATE")]
    pub(crate) through: Option<String>,
    /// Only this supplier
    #[arg(long, value_name = "SUPPLIER", add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: Option<String>,
    /// Record an order with each supplier as placed, all lines of the list
    #[arg(long, conflicts_with = "csv")]
    pub(crate) place: bool,
    /// Place what is below the least order of a supplier too
    #[arg(long, requires = "place")]
    pub(crate) anyway: bool,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Says what to order, and places it when asked to.
pub(crate) async fn perform(
    session: &Session,
    args: &Reorder,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = listed(session, args).await?;
    let sheet = |ground: &Ground<'_>| paper::reorder::html(ground, &answer, &args.said());
    args.paper.put(session, "The list", printer, sheet)?;
    if printer.form() == Form::Csv {
        printer.verbatim(&rows(&answer, printer.decimals())?);
        return Ok(Exit::Done);
    }
    if !args.place {
        printer.answer(&answer, |screen, answer| {
            reorder::show(screen, answer, &args.said())
        })?;
        return Ok(Exit::Done);
    }
    if printer.form() == Form::People {
        let page = reorder::show(printer.screen(), &answer, &args.said());
        printer.page(&page);
    }
    let call = async |sent| session.call(sent).await;
    let fates = place_all(&answer.baskets, args.anyway, call).await?;
    if printer.form() == Form::Json {
        printer.document(&document(&answer, &fates)?);
        return Ok(Exit::Done);
    }
    for fate in &fates {
        let line = printer.screen().hung("", "  ", &fate.told());
        printer.page(&format!("\n{line}"));
    }
    Ok(Exit::Done)
}

async fn listed(session: &Session, args: &Reorder) -> Result<ListReorderResponse, Fault> {
    let through = args
        .through
        .as_deref()
        .map(|text| when::day(text, &session.now()))
        .transpose()
        .map_err(|why| Fault::usage("--through", why))?;
    let asked = ListReorderRequest {
        through_date: through.map_or_else(String::new, |day| day.to_string()),
        supplier: args.supplier.clone().unwrap_or_default(),
    };
    session.call(asked).await
}

impl Reorder {
    /// What was asked about, as a part of the sentence that there is nothing to order.
    fn said(&self) -> String {
        let from = self.supplier.as_ref();
        let from = from.map_or_else(String::new, |supplier| format!(" from {supplier}"));
        let through = self.through.as_ref();
        let through = through.map_or_else(String::new, |day| format!(" for jobs through {day}"));
        from + &through
    }
}

/// The lines as comma-separated values, each with its supplier.
fn rows(answer: &ListReorderResponse, decimals: Decimals) -> Result<String, Fault> {
    let lines = answer.baskets.iter().flat_map(|basket| {
        let supplier =
            || [&basket.supplier, &basket.supplier_name].map(|text| text.as_str().into());
        basket
            .lines
            .iter()
            .map(move |line| (supplier().to_vec(), line))
    });
    let columns = Rows::<ReorderLine>::whole()?.led_by(&["supplier", "supplier_name"]);
    // None of its columns is a time.
    csv::table_of(&columns, lines, &TimeZone::UTC, decimals)
}

/// What became of a basket.
enum Fate {
    /// It was placed.
    Placed {
        supplier: String,
        answer: Box<CreateOrderResponse>,
    },
    /// It was not, and why.
    Left { supplier: String, why: String },
}

impl Fate {
    fn told(&self) -> String {
        match self {
            Self::Placed { supplier, answer } => format!(
                "Placed with {supplier}: {order}. When the parcel comes: fettle receive {order}",
                order = answer.order
            ),
            Self::Left { supplier, why } => format!("Not placed with {supplier}: {why}"),
        }
    }
}

/// Places the baskets in turn; what no supplier offers is passed over.
///
/// # Errors
/// What the service refused, with the orders that were placed before it.
async fn place_all(
    baskets: &[SupplierBasket],
    anyway: bool,
    call: impl AsyncFn(CreateOrderRequest) -> Result<CreateOrderResponse, Fault>,
) -> Result<Vec<Fate>, Fault> {
    let mut fates = Vec::new();
    let offered = baskets.iter().filter(|basket| {
        let offered = !basket.supplier.is_empty();
        offered && !basket.lines.is_empty()
    });
    for basket in offered {
        let supplier = basket.supplier.clone();
        if let (Some(gap), false) = (&basket.to_min_order, anyway) {
            let why = format!(
                "{} are missing to its least order. Add to it, or place it as it is with --anyway.",
                money(gap)
            );
            fates.push(Fate::Left { supplier, why });
            continue;
        }
        match call(order(basket)).await {
            Ok(answer) => {
                let answer = Box::new(answer);
                fates.push(Fate::Placed { supplier, answer });
            }
            Err(fault) => return Err(after(&fates, fault)),
        }
    }
    Ok(fates)
}

/// The basket as an order, at the prices that were shown; what is needed of a make and what is kept beside
/// it is one line.
fn order(basket: &SupplierBasket) -> CreateOrderRequest {
    let mut lines: Vec<OrderLine> = Vec::new();
    for line in &basket.lines {
        let same = |other: &&mut OrderLine| other.make == line.make;
        match lines.iter_mut().find(same) {
            Some(other) => other.pack_count = other.pack_count.saturating_add(line.pack_count),
            None => lines.push(OrderLine {
                make: line.make.clone(),
                pack_count: line.pack_count,
                pieces_per_pack: line.pieces_per_pack,
                price: line.price.clone(),
                received_pack_count: 0,
            }),
        }
    }
    CreateOrderRequest {
        request_id: request::new_id(),
        supplier: basket.supplier.clone(),
        lines,
        freight: basket.freight.clone(),
        placed: true,
        ..CreateOrderRequest::default()
    }
}

/// The fault with the orders that stand in the book in spite of it.
fn after(fates: &[Fate], mut fault: Fault) -> Fault {
    let placed = fates.iter().filter_map(|fate| match fate {
        Fate::Placed { supplier, answer } => Some(format!("{} with {supplier}", answer.order)),
        Fate::Left { .. } => None,
    });
    let placed: Vec<_> = placed.collect();
    if !placed.is_empty() {
        fault.message = format!(
            "{} Placed before that: {}.",
            fault.message,
            placed.join(", ")
        );
    }
    fault
}

/// The list and what became of it, in one document.
fn document(answer: &ListReorderResponse, fates: &[Fate]) -> Result<Value, Fault> {
    let mut orders = Vec::new();
    let mut left = Vec::new();
    for fate in fates {
        match fate {
            Fate::Placed { supplier, answer } => {
                let entry = answer.entry.as_ref().map(to_value).transpose()?;
                orders.push(json!({ "supplier": supplier, "order": answer.order, "entry": entry }));
            }
            Fate::Left { supplier, why } => {
                left.push(json!({ "supplier": supplier, "why": why }));
            }
        }
    }
    Ok(json!({ "reorder": to_value(answer)?, "orders": orders, "notPlaced": left }))
}

#[cfg(test)]
mod tests;
