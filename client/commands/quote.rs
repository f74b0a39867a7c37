//! `quote JOB`: a price for a job's materials and labour, on the terminal or on paper to hand over.
//!
//! What it costs inside leaves the house only when it was asked for; nothing is worked out or recorded here,
//! the customer's name and car neither.

mod labour;

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{CostLine, Quote, QuoteJobRequest, QuoteJobResponse};

use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::days;
use crate::ids;
use crate::money;
use crate::options::figure;
use crate::paper::{self, Ground, OnPaper};
use crate::render::quote::Letterhead;
use crate::render::{Form, Printer, cost, quote};
use labour::Labour;

/// What `quote` takes.
#[derive(Args, Debug)]
pub(crate) struct QuoteJob {
    /// The job
    #[arg(value_name = "JOB", value_parser = ids::id, add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    /// Markup on cost, for example 30%; without it and --margin the book's policy
    #[arg(long, value_name = "RATE", value_parser = rate, conflicts_with = "margin")]
    pub(crate) markup: Option<i64>,
    /// Margin on price, for example 25%
    #[arg(long, value_name = "RATE", value_parser = rate)]
    pub(crate) margin: Option<i64>,
    /// Tax rate, for example 21% or 8.875%; without it the book's policy
    #[arg(long, value_name = "RATE", value_parser = tax_rate)]
    pub(crate) tax: Option<i64>,
    /// Days it holds, for example '14 days'; without it the book's policy
    #[arg(long, value_name = "DAYS", value_parser = days)]
    pub(crate) valid: Option<i64>,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
    /// Your shop's name and address on that paper; without it a line to write on
    #[arg(long, value_name = "TEXT", requires = "paper")]
    pub(crate) from: Option<String>,
    /// The customer's name; on paper without it a line to write on
    #[arg(long, value_name = "NAME", alias = "customer")]
    pub(crate) to: Option<String>,
    /// The car in words that the customer knows; without it class and note of the car in the book
    #[arg(long, value_name = "TEXT")]
    pub(crate) car_text: Option<String>,
    /// The car's number plate
    #[arg(long, value_name = "TEXT")]
    pub(crate) number_plate: Option<String>,
    /// Labour, net, for example '6 h at 45 EUR' or '270 EUR'; without it the likely hours at the book's
    /// labour_rate_milli, or apart where that is 0
    #[arg(long, value_name = "LABOUR", value_parser = labour::read)]
    pub(crate) labour: Option<Labour>,
    /// No labour along, although the book has a price for the hour
    #[arg(long, conflicts_with = "labour")]
    pub(crate) no_labour: bool,
    /// All materials in one line
    #[arg(long)]
    pub(crate) one_line: bool,
    /// What it costs inside too: not for the customer
    #[arg(long)]
    pub(crate) inside: bool,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Reads a rate with its sign, `30%` or `12.5 %`, in thousandths.
fn rate(text: &str) -> Result<i64, String> {
    per_cent(text, 1, "30%")
}

/// Reads a tax rate with its sign, `21%` or `8.875 %`, in thousandths of a per cent.
fn tax_rate(text: &str) -> Result<i64, String> {
    per_cent(text, 3, "8.875%")
}

/// Reads a rate with its sign and at most so many decimals.
fn per_cent(text: &str, places: u32, example: &str) -> Result<i64, String> {
    let refused =
        || format!("'{text}' is not a rate; write it with its sign, for example {example}");
    let number = text.trim().strip_suffix('%').ok_or_else(refused)?;
    figure(number.trim(), &[], places).map_err(|_| refused())
}

/// A tax rate in the unit that every service knows where that says all of it, else in the finer one.
fn tax_sent(milli_percent: Option<i64>) -> (Option<i64>, Option<i64>) {
    const OF_A_PERMILLE: i64 = 100;
    match milli_percent {
        Some(rate) if rate % OF_A_PERMILLE == 0 => (Some(rate / OF_A_PERMILLE), None),
        fine => (None, fine),
    }
}

/// Makes the quote and puts it out.
pub(crate) async fn perform(
    session: &Session,
    args: &QuoteJob,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let (tax_permille, tax_milli_percent) = tax_sent(args.tax);
    let (labour_time_s, rate, sum) = match &args.labour {
        Some(Labour::Timed(time_s, rate)) => (Some(*time_s), Some(rate), None),
        Some(Labour::Sum(sum)) => (None, None, Some(sum)),
        None => (None, None, None),
    };
    let asked = QuoteJobRequest {
        job: args.job.clone(),
        markup_permille: args.markup,
        margin_permille: args.margin,
        tax_permille,
        tax_milli_percent,
        valid_days: args.valid,
        labour_time_s,
        labour_rate: money::in_book(session, "--labour", rate).await?,
        labour_net: money::in_book(session, "--labour", sum).await?,
        one_line: args.one_line,
        no_labour: args.no_labour,
    };
    let answer = session.call(asked).await?;
    let unpriced = unpriced(&answer);
    let answer = seen_by(answer, args.inside);
    let quote = answer.quote.as_ref();
    let quote = quote.ok_or_else(|| Fault::answer("the quote"))?;
    let head = Letterhead {
        from: args.from.as_deref().unwrap_or_default(),
        to: args.to.as_deref().unwrap_or_default(),
        car: args.car_text.as_deref().unwrap_or(&quote.car),
        number_plate: args.number_plate.as_deref().unwrap_or_default(),
    };
    let sheet = |ground: &Ground<'_>| paper::quote::html(ground, quote, head);
    args.paper.put(session, "The quote", printer, sheet)?;
    put_out(&answer, quote, head, printer)?;
    if let Some(told) = unpriced {
        printer.say(&told);
    }
    Ok(Exit::Done)
}

/// What is not in the price because nobody said what it costs; for the one who quotes.
fn unpriced(answer: &QuoteJobResponse) -> Option<String> {
    let cost = answer.quote.as_ref()?.cost.as_ref()?;
    let lines = cost.lines.iter().filter(|line| line.price_missing);
    let makes: Vec<&str> = lines.map(|line| line.make.as_str()).collect();
    (!makes.is_empty()).then(|| {
        format!(
            "Not in this price, for what they cost is not known: {}.",
            makes.join(", ")
        )
    })
}

/// The answer as it may be seen: without what the job costs inside, unless that was asked for.
fn seen_by(mut answer: QuoteJobResponse, inside: bool) -> QuoteJobResponse {
    if let (Some(quote), false) = (&mut answer.quote, inside) {
        quote.cost = None;
        quote.markup_permille = None;
        quote.margin_permille = None;
    }
    answer
}

fn put_out(
    answer: &QuoteJobResponse,
    quote: &Quote,
    head: Letterhead<'_>,
    printer: &mut Printer,
) -> Result<(), Fault> {
    match (printer.form(), &quote.cost) {
        (Form::Csv, Some(cost)) => {
            printer.list::<_, CostLine>(answer, &cost.lines, |_, _| String::new())
        }
        (Form::Csv, None) => printer.list(answer, &quote.lines, |_, _| String::new()),
        (Form::Json | Form::People, _) => printer.answer(answer, |screen, _| {
            let mut text = quote::show(screen, quote, head);
            if let Some(sheet) = &quote.cost {
                text.push_str("\n\n");
                text.push_str(&cost::inside(screen, quote, sheet));
            }
            text
        }),
    }
}

#[cfg(test)]
mod tests;
