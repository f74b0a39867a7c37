//! `fill B-06 from B-01`: records that one bottle was filled from another of the same make.
//!
//! Without an amount it is as much as fits and is there; what the book then thinks odd is asked about.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::FillBottleRequest;

use crate::commands::common::Told;
use crate::commands::doubt::record_if_meant;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::microlitres;
use crate::render::Printer;
use crate::request;
use crate::tags;

/// What `fill` takes.
#[derive(Args, Debug)]
pub(crate) struct Fill {
    /// The bottle that was filled, the one it was filled from and perhaps how much: B-06 from B-01, B-06 from
    /// B-01 200 ml
    #[arg(value_name = "BOTTLE from BOTTLE", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) words: Vec<String>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records it.
pub(crate) async fn perform(
    session: &Session,
    args: &Fill,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let poured = read(&args.words)?;
    let fill = FillBottleRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        bottle: tags::one(session, &poured.bottle).await?,
        from: tags::one(session, &poured.from).await?,
        volume_ul: poured.volume_ul,
        validate_only: false,
        kept: None,
    };
    record_if_meant(session, printer, fill).await
}

/// What was said of a filling.
#[derive(Debug, PartialEq, Eq)]
struct Poured {
    bottle: String,
    from: String,
    volume_ul: Option<i64>,
}

/// Words that only stand between the others.
const BETWEEN: [&str; 4] = ["with", "into", "to", "of"];

/// Reads it: two bottles, of which the one behind `from` is the source, else the second; what is left is the
/// amount.
fn read(words: &[String]) -> Result<Poured, Fault> {
    let typed = words.join(" ");
    let mut bottles: Vec<String> = Vec::new();
    let (mut source, mut amount, mut behind_from) = (None, Vec::new(), false);
    for word in typed.split([' ', '=', ':']).filter(|word| !word.is_empty()) {
        let lower = word.to_lowercase();
        if lower == "from" {
            behind_from = true;
        } else if BETWEEN.contains(&lower.as_str()) {
            continue;
        } else if let Some(tag) = tags::spelt(word) {
            if std::mem::take(&mut behind_from) {
                source = Some(tag);
            } else {
                bottles.push(tag);
            }
        } else {
            amount.push(word);
        }
    }
    let mut bottles = bottles.into_iter();
    let bottle = bottles.next();
    let from = source.or_else(|| bottles.next());
    let (Some(bottle), Some(from), None) = (bottle, from, bottles.next()) else {
        return Err(refused(format!("'{typed}' does not name two bottles.")));
    };
    let amount = amount.join(" ");
    let volume_ul = match amount.as_str() {
        "" => None,
        amount => Some(microlitres(amount).map_err(|why| refused(format!("{why}.")))?),
    };
    Ok(Poured {
        bottle,
        from,
        volume_ul,
    })
}

fn refused(why: String) -> Fault {
    let mut fault = Fault::usage("BOTTLE from BOTTLE", why);
    fault.todo = "Write for example 'fettle fill B-06 from B-01', with '200 ml' behind it where the bottle was not \
                  filled up."
        .to_owned();
    fault.with_example("fettle kit list bottles")
}

#[cfg(test)]
mod tests {
    use super::read;

    fn told(line: &str) -> Result<(String, String, Option<i64>), String> {
        let words: Vec<String> = line.split('|').map(str::to_owned).collect();
        let read = read(&words).map_err(|fault| fault.message)?;
        Ok((read.bottle, read.from, read.volume_ul))
    }

    #[test]
    fn the_bottle_behind_from_is_the_source_and_what_is_left_the_amount() {
        let filled = |volume_ul| Ok(("B-06".to_owned(), "B-01".to_owned(), volume_ul));
        assert_eq!(told("B-06|from|B-01"), filled(None));
        assert_eq!(told("b6 from b1"), filled(None));
        assert_eq!(told("B-06|B-01"), filled(None));
        assert_eq!(told("B-06|from|B-01|200|ml"), filled(Some(200_000)));
        assert_eq!(told("200ml|from|B-01|into|B-06"), filled(Some(200_000)));
        assert_eq!(told("B-06|with|0,2l|from|B-01"), filled(Some(200_000)));
    }

    #[test]
    fn one_bottle_three_or_no_amount_is_refused_and_named() {
        for (line, named) in [
            ("B-06", "'B-06'"),
            ("B-06|from", "'B-06 from'"),
            ("B-06|from|B-01|B-02", "B-02"),
            ("B-06|from|B-01|much", "'much'"),
        ] {
            let why = told(line).unwrap_err();
            assert!(why.contains(named), "{line}: {why}");
        }
    }
}
