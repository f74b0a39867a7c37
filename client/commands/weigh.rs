//! `weigh B-03=412g ..`: records the weight of bottles, from which what is left follows.
//!
//! It serves whoever has a scale at the bench. It turns no weight into a volume itself.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{WeighBottlesRequest, Weighing};

use crate::commands::common::Told;
use crate::commands::doubt::record_if_meant;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::render::Printer;
use crate::request;
use crate::tags;

/// What `weigh` takes.
#[derive(Args, Debug)]
pub(crate) struct Weigh {
    /// Bottle and its weight as it stands with its cap, for example B-03=412g or B-03 412
    #[arg(required = true, value_name = "BOTTLE=WEIGHT", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) weighings: Vec<String>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the weigh-ins.
pub(crate) async fn perform(
    session: &Session,
    args: &Weigh,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut weighings = read(&args.weighings)?;
    for weighing in &mut weighings {
        weighing.bottle = tags::one(session, &weighing.bottle).await?;
    }
    let weigh = WeighBottlesRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        weighings,
        validate_only: false,
        kept: None,
    };
    record_if_meant(session, printer, weigh).await
}

/// Reads the weighings, each in one word or in several: `B-03=412g`, `B-03 412`, `B-03 412 g`.
fn read(words: &[String]) -> Result<Vec<Weighing>, Fault> {
    let refused = |word: &str, why: String| {
        let mut fault = Fault::usage("BOTTLE=WEIGHT", format!("{why}."));
        fault.todo =
            "Write for example B-03=412g, the bottle as it stands with its cap.".to_owned();
        let bottle = word.split(['=', ':', ' ']).next().and_then(tags::spelt);
        let bottle = bottle.unwrap_or_else(|| "{bottle}".to_owned());
        fault.with_example(format!("fettle weigh {bottle}=412g"))
    };
    let mut found = Vec::new();
    let mut left = words;
    while let [word, rest @ ..] = left {
        left = rest;
        if let Ok(weighing) = options::weighing(word) {
            found.push(weighing);
            continue;
        }
        if word.contains('=') || rest.is_empty() {
            return Err(refused(
                word,
                options::weighing(word).err().unwrap_or_default(),
            ));
        }
        let mut read = Err(String::new());
        for count in (1..=rest.len().min(2)).rev() {
            let amount = rest.get(..count).unwrap_or_default().join(" ");
            read = options::weighing(&format!("{word}={amount}"));
            if read.is_ok() {
                left = rest.get(count..).unwrap_or_default();
                break;
            }
        }
        found.push(read.map_err(|why| refused(word, why))?);
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::read;

    fn told(line: &str) -> Result<Vec<(String, i64)>, String> {
        let words: Vec<String> = line.split('|').map(str::to_owned).collect();
        let read = read(&words).map_err(|fault| fault.message)?;
        let pairs = read
            .into_iter()
            .map(|one| (one.bottle, one.gross_mg / 1_000));
        Ok(pairs.collect())
    }

    #[test]
    fn a_weighing_is_read_in_one_word_or_in_several() {
        let both = vec![("B-02".to_owned(), 330), ("B-03".to_owned(), 412)];
        for line in [
            "B-02=330g|B-03=412g",
            "B-02|330|B-03|412",
            "b2=330|B03:412",
            "B-02|330|g|B-03=412 g",
            "B-02 330gr|B-03 0,412kg",
        ] {
            assert_eq!(told(line), Ok(both.clone()), "{line}");
        }
    }

    #[test]
    fn what_is_no_weight_is_refused_and_named() {
        for (line, named) in [
            ("B-02=-5g", "'-5g'"),
            ("B-02", "'B-02'"),
            ("B-02|heavy", "'heavy'"),
            ("B-02=330ml", "'ml'"),
        ] {
            let why = told(line).unwrap_err();
            assert!(why.contains(named), "{line}: {why}");
        }
    }
}
