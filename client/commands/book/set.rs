//! `book set KEY=VALUE..`: changes defaults, all or none.
//!
//! It serves a shop that knows its own figures. A value is a whole number in the unit of the key.

use clap::Args;
use fettlebook_contract::v1::{PolicyChange, UpdatePolicyRequest};

use crate::commands::common::record;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `book set` takes.
#[derive(Args, Debug)]
pub(crate) struct Set {
    /// Key and its new value, a whole number in the key's unit, or KEY=default to go back
    #[arg(required = true, value_name = "KEY=VALUE", value_parser = change)]
    pub(crate) changes: Vec<PolicyChange>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

fn change(text: &str) -> Result<PolicyChange, String> {
    const FORMS: &str = "KEY=VALUE with a whole number, for example dot_ul=260, or dot_ul=default";
    let refused = || format!("'{text}' is not written as {FORMS}");
    let (key, value) = text
        .split_once('=')
        .map(|(key, value)| (key.trim(), value.trim()))
        .filter(|(key, _)| !key.is_empty())
        .ok_or_else(refused)?;
    let value = match value {
        "default" => None,
        number => Some(number.parse().map_err(|_| refused())?),
    };
    Ok(PolicyChange {
        key: key.to_owned(),
        value,
    })
}

/// Changes the defaults.
pub(crate) async fn perform(
    session: &Session,
    args: &Set,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let update = UpdatePolicyRequest {
        request_id: request::new_id(),
        note: args.note.clone().unwrap_or_default(),
        changes: args.changes.clone(),
    };
    record(session, printer, update).await
}

#[cfg(test)]
mod tests {
    use super::change;

    #[test]
    fn a_default_is_set_to_a_whole_number_or_taken_back() {
        assert_eq!(change("dot_ul=260").unwrap().value, Some(260));
        assert_eq!(change("dot_ul=default").unwrap().value, None);
        for text in ["dot_ul", "=260", "dot_ul=", "dot_ul=2.5", "dot_ul=1,000"] {
            assert!(change(text).unwrap_err().contains("dot_ul=260"), "{text}");
        }
    }
}
