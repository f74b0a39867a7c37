//! What a quote is asked for, from the wire.
//!
//! It serves `QuoteJob`. Which figures go together is for the model to say, but for those that say one
//! thing in two units.

use fettlebook_contract::v1;
use fettlebook_model::Refusal;
use fettlebook_model::job_quote::QuoteAsk;

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
    })
}
