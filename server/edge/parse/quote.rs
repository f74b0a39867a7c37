//! What a quote is asked for, from the wire.
//!
//! It serves `QuoteJob`. Which figures go together is for the model to say.

use fettlebook_contract::v1;
use fettlebook_model::job_quote::QuoteAsk;

pub(in crate::edge) const fn ask(sent: &v1::QuoteJobRequest) -> QuoteAsk {
    QuoteAsk {
        markup_permille: sent.markup_permille,
        margin_permille: sent.margin_permille,
        tax_permille: sent.tax_permille,
        valid_days: sent.valid_days,
    }
}
