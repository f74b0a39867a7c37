//! `receive ORDER|MAKE`: takes new pieces into the kit.
//!
//! It serves the day a parcel comes, ordered through the book or not. Tags that are not given are the
//! service's to hand out; the entry names them, so that they can be written on the pieces.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{DeliveryLine, GetMakeRequest, Money, Piece};
use fettlebook_quantity::parse_count;

use crate::commands::common::Told;
use crate::commands::labels;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::ids;
use crate::money;
use crate::render::{Form, Printer};

mod order;
mod pieces;

const FORMS: &str = "\
There are two forms. With the id of an order it takes in a parcel of it: all that is still to \
come, or what --line names.
  fettle receive order-3
  fettle receive order-3 --line coarse-foam-150=2 \\
    --line 'fine-polish-500ml=2, lot GY-150, use by 2027-03-01' --freight '6.90 EUR'
With a make it takes in pieces that were not ordered through the book.
  fettle receive coarse-foam-150 --count 2
  fettle receive coarse-compound-1l --lot GY-131 --expires 2027-03-31";

/// Heading of the options of a parcel that was ordered.
const OF_AN_ORDER: &str = "With an order";

/// What `receive` takes.
#[derive(Args, Clone, Debug)]
#[command(after_help = FORMS)]
pub(crate) struct Receive {
    /// Id of an order, for example order-3, or make of the pieces, with how many came before or behind it
    #[arg(required = true, num_args = 1..=3, value_name = "ORDER|MAKE",
          add = ArgValueCompleter::new(complete::makes_and_orders))]
    pub(crate) words: Vec<String>,
    /// The order or the make among the words.
    #[arg(skip)]
    pub(crate) what: String,
    /// Where it goes; without it the bench
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// That place is a new one
    #[arg(long, requires = "place")]
    pub(crate) new_place: bool,
    #[command(flatten)]
    pub(crate) told: Told,
    /// What came, in packs, once for each make; without it all that is still to come:
    /// 'fine-polish-500ml=2, lot GY-150, use by 2027-03-01, tags B-07 B-08'
    #[arg(long, help_heading = OF_AN_ORDER, value_name = "LINE", value_parser = order::line)]
    pub(crate) line: Vec<DeliveryLine>,
    /// Freight of this parcel, for example '6.90 EUR'; without it the order's with its first parcel
    #[arg(long, help_heading = OF_AN_ORDER, value_name = "SUM", value_parser = money::read)]
    pub(crate) freight: Option<Money>,
    #[command(flatten)]
    pub(crate) pieces: pieces::Pieces,
}

/// Says how to mark what came in, to people.
fn say_what_to_write(printer: &mut Printer, pieces: &[Piece], given: &[String]) {
    if printer.form() == Form::People
        && let Some(told) = labels::to_write(pieces, given)
    {
        let told = printer.screen().hung("  ", "  ", &told);
        printer.page(&told);
    }
}

impl Receive {
    /// The same with its words told apart: `wool-150 5`, `5 wool-150`, `5 x wool-150`.
    fn named(&self) -> Result<Self, Fault> {
        let mut named = self.clone();
        let words = self
            .words
            .iter()
            .filter(|word| !matches!(word.as_str(), "x" | "×" | "of"));
        let (counts, names): (Vec<&String>, Vec<&String>) =
            words.partition(|word| whole(word).is_ok());
        match (names.as_slice(), counts.as_slice()) {
            ([what], []) => named.what = ids::id_of(what),
            ([what], [count]) if named.pieces.count.is_none() => {
                named.what = ids::id_of(what);
                let count = parse_count(count.trim_matches(['x', '×']));
                named.pieces.count =
                    Some(count.map_err(|error| Fault::usage("COUNT", error.to_string()))?);
            }
            ([], [number]) => named.what = format!("order-{number}"),
            _ => {
                let said = self.words.join(" ");
                let mut fault = Fault::usage(
                    "ORDER|MAKE",
                    format!("'{said}' is not one make or one order with how many came."),
                );
                fault.todo = "Write for example 'fettle receive coarse-foam-150 5'.".to_owned();
                return Err(fault);
            }
        }
        Ok(named)
    }

    /// The first option that was given and belongs to the other form.
    fn of_the_other_form(&self) -> Option<&'static str> {
        let given = if order::is_order(&self.what) {
            self.pieces.given()
        } else {
            vec![
                ("--line", !self.line.is_empty()),
                ("--freight", self.freight.is_some()),
            ]
        };
        given
            .into_iter()
            .find_map(|(option, is)| is.then_some(option))
    }

    /// Refuses an option of the other form.
    fn refuse_the_other_form(&self) -> Result<(), Fault> {
        let Some(option) = self.of_the_other_form() else {
            return Ok(());
        };
        let (is, instead) = if order::is_order(&self.what) {
            ("an order", "say of each make what came with --line")
        } else {
            ("a make", "name an order, for example order-3")
        };
        Err(Fault::usage(
            option,
            format!(
                "{} is {is}, which takes no {option}; leave it out, or {instead}.",
                self.what
            ),
        ))
    }
}

/// Records the receipt.
pub(crate) async fn perform(
    session: &Session,
    args: &Receive,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let args = &args.named()?;
    args.refuse_the_other_form()?;
    if order::is_order(&args.what) {
        return order::perform(session, args, printer).await;
    }
    pieces::perform(session, args, printer).await
}

/// The figures of a make.
///
/// # Errors
/// When the make is not known.
pub(crate) async fn figures_of(session: &Session, make: &str) -> Result<Option<Figures>, Fault> {
    let asked = GetMakeRequest {
        make: make.to_owned(),
    };
    let answer = session.call(asked).await?;
    Ok(answer.make.and_then(|make| make.figures))
}

#[cfg(test)]
mod tests {
    use crate::args::Cli;
    use crate::commands::Command;
    use clap::Parser as _;

    /// The option that is refused, and the sentence that does it.
    fn refused(words: &[&str]) -> Option<(String, String)> {
        let line = ["fettle", "receive"].iter().chain(words);
        match Cli::parse_from(line).command {
            Some(Command::Receive(args)) => args.named().unwrap().refuse_the_other_form().err(),
            _ => unreachable!("another command"),
        }
        .map(|fault| (fault.field.into_string(), fault.message))
    }

    fn other(words: &[&str]) -> Option<String> {
        refused(words).map(|(option, _)| option)
    }

    #[test]
    fn a_refused_option_is_told_with_what_to_do_instead() {
        let (_, order) = refused(&["order-3", "--tag", "P-99"]).unwrap();
        assert!(
            order.contains("takes no --tag") && order.contains("--line"),
            "{order}"
        );
        let (_, make) = refused(&["plate-75-m8", "--freight", "1 EUR"]).unwrap();
        assert!(make.contains("order-3"), "{make}");
    }

    #[test]
    fn each_form_takes_its_own_options_and_refuses_the_other_ones() {
        let make = ["coarse-foam-150", "--count", "2", "--place", "van-a"];
        assert_eq!(other(&make), None);
        assert_eq!(other(&["order-3", "--place", "van-a"]), None);
        let parcel = ["order-3", "--line", "a=2", "--freight", "6.90 EUR"];
        assert_eq!(other(&parcel), None);
        assert_eq!(
            other(&["order-3", "--count", "2"]),
            Some("--count".to_owned())
        );
        assert_eq!(
            other(&["order-3", "--lot", "GY-1"]),
            Some("--lot".to_owned())
        );
        assert_eq!(
            other(&["coarse-foam-150", "--freight", "1 EUR"]),
            Some("--freight".to_owned())
        );
        assert_eq!(
            other(&["order-form", "--line", "a=2"]),
            Some("--line".to_owned())
        );
    }
}
