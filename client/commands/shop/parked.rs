//! `shop parked`: deeds of this device that the shop refused, read whole, mended and sent.
//!
//! A mended deed is a new one with the time of the old: the old is given up in the same breath, so that
//! neither is lost and none counts twice.

use clap::Args;
use serde_json::{Value, json};

use crate::exit::Exit;
use crate::fault::Fault;
use crate::json;
use crate::outbox::{Deed, NotKept, Outbox, Standing, ToKeep};
use crate::render::{Form, Printer, shop as words};
use crate::request;
use crate::transport::ShopTransport;

/// What `shop parked` takes.
#[derive(Args, Debug)]
pub(crate) struct Parked {
    /// Number of a deed, to see it whole
    #[arg(value_name = "NUMBER", value_parser = clap::value_parser!(i64).range(1..))]
    pub(crate) number: Option<i64>,
    /// Send it with another name in place of one, for example P-99=P-09
    #[arg(long, value_name = "OLD=NEW", value_parser = instead, requires = "number")]
    pub(crate) instead: Vec<(String, String)>,
}

/// Reads `P-99=P-09`.
fn instead(text: &str) -> Result<(String, String), String> {
    text.split_once('=')
        .map(|(old, new)| (old.trim().to_owned(), new.trim().to_owned()))
        .filter(|(old, new)| !old.is_empty() && !new.is_empty())
        .ok_or_else(|| format!("'{text}' is not written as OLD=NEW, for example P-99=P-09"))
}

/// Lists the parked deeds, shows one, or mends it and sends it.
pub(crate) async fn perform(
    shop: &ShopTransport,
    args: &Parked,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut outbox = shop.open_outbox().map_err(NotKept::into_fault)?;
    let Some(number) = args.number else {
        return list(&outbox, printer);
    };
    let deed = parked(&outbox, number)?.clone();
    if args.instead.is_empty() {
        return show(&deed, printer);
    }
    let mended = mended(&deed, &args.instead, outbox.folded().next_number())?;
    let kept = outbox.replace(number, mended)?;
    drop(outbox);
    send(shop, kept, printer).await
}

fn list(outbox: &Outbox, printer: &mut Printer) -> Result<Exit, Fault> {
    let parked: Vec<&Deed> = outbox.folded().parked().collect();
    match printer.form() {
        Form::Json => {
            let parked: Result<Vec<Value>, Fault> = parked.into_iter().map(document).collect();
            printer.document(&json!({ "parked": parked? }));
        }
        Form::People | Form::Csv => {
            let text = words::all_parked(printer.screen(), &parked);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

fn show(deed: &Deed, printer: &mut Printer) -> Result<Exit, Fault> {
    let document = document(deed)?;
    match printer.form() {
        Form::Json => printer.document(&document),
        Form::People | Form::Csv => {
            let request = document.get("request").map(serde_json::to_string_pretty);
            let request = request.and_then(Result::ok).unwrap_or_default();
            let text = words::one_parked(printer.screen(), deed, &request);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// Sends a deed that was mended, with everything else that waits.
async fn send(shop: &ShopTransport, number: i64, printer: &mut Printer) -> Result<Exit, Fault> {
    shop.begin().await;
    let outbox = shop.open_outbox().map_err(NotKept::into_fault)?;
    let deed = outbox.folded().deed(number);
    let standing = deed.map_or(&Standing::Lost, |deed| &deed.standing);
    match printer.form() {
        Form::Json => printer.document(&json!({
            "number": number,
            "seq": match standing { Standing::Sent(seq) => Some(*seq), _ => None },
            "standing": words::standing(standing),
            "message": refused(standing),
        })),
        Form::People | Form::Csv => {
            printer.page(&words::mended_deed(number, standing));
        }
    }
    Ok(match standing {
        Standing::Sent(_) => Exit::Done,
        Standing::Waiting => Exit::Unreachable,
        _ => Exit::Conflict,
    })
}

/// Why the shop refused a deed; nothing where it did not.
fn refused(standing: &Standing) -> Option<&str> {
    match standing {
        Standing::Parked { message, .. } => Some(message),
        _ => None,
    }
}

fn parked(outbox: &Outbox, number: i64) -> Result<&Deed, Fault> {
    let deed = outbox.folded().deed(number);
    let wrong = |what: String, exit| {
        let mut fault = Fault::usage("NUMBER", what);
        fault.exit = exit;
        fault.todo = "'fettle shop parked' lists those that are.".to_owned();
        fault
    };
    match deed {
        None => Err(wrong(
            format!("No deed {number} was kept on this device."),
            Exit::NotFound,
        )),
        Some(deed) if !matches!(deed.standing, Standing::Parked { .. }) => Err(wrong(
            format!(
                "Deed {number} {}, and is not parked.",
                words::standing(&deed.standing)
            ),
            Exit::Conflict,
        )),
        Some(deed) => Ok(deed),
    }
}

/// A deed with other names in it, under a number of its own.
fn mended(deed: &Deed, instead: &[(String, String)], number: i64) -> Result<ToKeep, Fault> {
    let mut request = json::request_of(&deed.method, &deed.body)?;
    let mut told = deed.told.clone();
    for (old, new) in instead {
        if replace(&mut request, old, new) == 0 {
            return Err(Fault::usage(
                "--instead",
                format!("Deed {} names no {old}: {}.", deed.number, deed.told),
            ));
        }
        told = told.replace(old.as_str(), new);
    }
    let request_id = request::new_id();
    let kept_time = deed.kept_time.parse();
    if let Some(fields) = request.as_object_mut() {
        fields.insert("requestId".to_owned(), json!(request_id));
    }
    if let Some(kept) = request.get_mut("kept").and_then(Value::as_object_mut) {
        kept.insert("number".to_owned(), json!(number.to_string()));
    }
    Ok(ToKeep {
        request_id,
        method: deed.method.clone(),
        body: json::request_bytes(&deed.method, &request)?,
        kept_time: kept_time.map_err(|_| Fault::answer("when it was kept"))?,
        told,
    })
}

/// Puts a name in the place of another wherever that stands; gives how often.
fn replace(value: &mut Value, old: &str, new: &str) -> usize {
    match value {
        Value::String(text) if text.eq_ignore_ascii_case(old) => {
            new.clone_into(text);
            1
        }
        Value::Array(values) => values
            .iter_mut()
            .map(|value| replace(value, old, new))
            .sum(),
        Value::Object(fields) => fields
            .iter_mut()
            .filter(|(name, _)| *name != "note" && *name != "requestId")
            .map(|(_, value)| replace(value, old, new))
            .sum(),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => 0,
    }
}

fn document(deed: &Deed) -> Result<Value, Fault> {
    let (reason, message, todo) = match &deed.standing {
        Standing::Parked {
            reason,
            message,
            todo,
        } => (reason.as_str(), message.as_str(), todo.as_str()),
        _ => ("", "", ""),
    };
    Ok(json!({
        "number": deed.number,
        "told": deed.told,
        "keptTime": deed.kept_time,
        "reason": reason,
        "message": message,
        "todo": todo,
        "method": deed.method,
        "request": json::request_of(&deed.method, &deed.body)?,
    }))
}

#[cfg(test)]
mod tests {
    use super::{instead, replace};
    use serde_json::json;

    #[test]
    fn a_name_is_replaced_wherever_it_stands_but_in_what_a_person_said() {
        let mut request = json!({
            "tags": ["P-99", "P-01"],
            "swaps": [{ "planned": "p-99", "used": "P-02" }],
            "note": "P-99",
        });
        assert_eq!(replace(&mut request, "P-99", "P-09"), 2);
        assert_eq!(request["tags"], json!(["P-09", "P-01"]));
        assert_eq!(request["swaps"][0]["planned"], "P-09");
        assert_eq!(request["note"], "P-99");
        assert_eq!(replace(&mut request, "P-77", "P-09"), 0);
        assert!(instead("P-99").is_err() && instead("=P-01").is_err());
    }
}
