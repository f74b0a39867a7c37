//! What a quote is asked for, from the wire.
//!
//! It serves `QuoteJob`. Which figures go together is for the model to say, but for those that say one
//! thing in two units.

use fettlebook_contract::v1;
use fettlebook_model::Refusal;
use fettlebook_model::job_quote::{Labour, QuoteAsk};

use super::{money, open_money};

/// Thousandths of a per cent in a thousandth.
pub(in crate::edge) const MILLI_PERCENT_PER_PERMILLE: i64 = 100;

pub(in crate::edge) fn ask(sent: &v1::QuoteJobRequest) -> Result<QuoteAsk, Refusal> {
    let tax_milli_percent = match (sent.tax_permille, sent.tax_milli_percent) {
        (Some(_), Some(_)) => {
            return Err(Refusal::invalid(
                "tax_milli_percent",
                "The tax rate is given twice, in two units.",
                "Give one of them.",
            ));
        }
        (Some(permille), None) => Some(permille.saturating_mul(MILLI_PERCENT_PER_PERMILLE)),
        (None, fine) => fine,
    };
    Ok(QuoteAsk {
        markup_permille: sent.markup_permille,
        margin_permille: sent.margin_permille,
        tax_milli_percent,
        valid_days: sent.valid_days,
        labour: labour(sent)?,
        is_without_labour: without_labour(sent)?,
        is_one_line: sent.one_line,
    })
}

/// Whether no labour is quoted along: then none is given.
fn without_labour(sent: &v1::QuoteJobRequest) -> Result<bool, Refusal> {
    let is_given =
        sent.labour_time_s.is_some() || sent.labour_rate.is_some() || sent.labour_net.is_some();
    if sent.no_labour && is_given {
        return Err(Refusal::invalid(
            "no_labour",
            "A labour is given, and none is to be quoted along.",
            "Leave out one of them.",
        ));
    }
    Ok(sent.no_labour)
}

/// Labour as a time with its price, or as one sum.
fn labour(sent: &v1::QuoteJobRequest) -> Result<Option<Labour>, Refusal> {
    let sum = open_money("labour_net", sent.labour_net.as_ref())?;
    match (sent.labour_time_s, sent.labour_rate.as_ref(), sum) {
        (None, None, sum) => Ok(sum.map(Labour::Sum)),
        (_, _, Some(_)) => Err(Refusal::invalid(
            "labour_net",
            "The labour is given twice, as a sum and by the hour.",
            "Give one of them.",
        )),
        (Some(time_s), rate, None) => Ok(Some(Labour::Timed {
            time_s,
            rate: money("labour_rate", rate)?,
        })),
        (None, Some(_), None) => Err(Refusal::missing(
            "labour_time_s",
            "Say how long the labour takes, or give it as one sum.",
        )),
    }
}
