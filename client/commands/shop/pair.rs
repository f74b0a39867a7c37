//! `shop pair`: takes this device into a shop by a code, or makes a code for another device.
//!
//! It serves the minute in which a device is trusted. The secret of a code is sent only to the service
//! whose certificate the code names, and what comes back is on the disk before it is told.

use std::path::Path;

use clap::Args;
use data_encoding::HEXLOWER;
use fettlebook_contract::v1::{InviteDeviceRequest, PairDeviceRequest, PairDeviceResponse, Role};
use serde_json::json;

use crate::call::send;
use crate::commands::common::read_text;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, code as page, shop as words};
use crate::shop::code::{self, Code};
use crate::shop::folder::{self, Paired};
use crate::shop::other_books;
use crate::shop::place::{Place, is_open_to_others};
use crate::shop::trust::{self, Pin};
use crate::shop::wire::{Target, Wire};
use crate::shop::{role, role_word};
use crate::solo::Solo;

const HOW: &str = "\
On the device that is new:        fettle shop pair CODE
On one that owns the shop:        fettle shop pair --name van-b --role work
On the computer that runs it:     fettled pair

A code can be used once, for ten minutes. See that the fingerprint is the same on both.
Whoever else uses this machine may see what is typed as CODE while it runs. 'fettle shop pair -'
reads the code from standard input instead, for example from a file: fettle shop pair - < code.txt";

/// What `shop pair` takes.
#[derive(Args, Debug)]
#[command(after_help = HOW)]
pub(crate) struct Pair {
    /// The code for this device, FETTLE:HOST:PORT/FINGERPRINT/SECRET, or - for standard input
    #[arg(value_name = "CODE", conflicts_with_all = ["name", "role"])]
    pub(crate) code: Option<String>,
    /// Pair this device although it is paired already
    #[arg(long, requires = "code")]
    pub(crate) again: bool,
    /// Make a code for a new device of this name
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    /// What the new device may do: look, work, keep or own; without it work
    #[arg(long, value_name = "ROLE", value_parser = role, requires = "name")]
    pub(crate) role: Option<Role>,
}

/// Makes a code for another device, in the shop that this one is paired with.
pub(crate) async fn invite(
    session: &Session,
    args: &Pair,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let Some(name) = &args.name else {
        let mut fault = Fault::usage(
            "CODE",
            "Give the code that pairs this device, or --name NAME to make a code for another.",
        );
        fault.todo = "For example 'fettle shop pair FETTLE:…', or 'fettle shop pair --name van-b \
                      --role work'."
            .to_owned();
        return Err(fault);
    };
    let asked = InviteDeviceRequest {
        name: name.clone(),
        role: args.role.unwrap_or(Role::Work).into(),
    };
    let answer = session.call(asked.clone()).await?;
    printer.answer(&answer, |screen, answer| {
        page::invited(screen, name, role_word(asked.role()), answer)
    })?;
    Ok(Exit::Done)
}

/// Pairs this device.
pub(crate) async fn perform(
    args: &Pair,
    folder: &Path,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let given = args.code.as_deref().unwrap_or_default();
    let text = code_text(given, || read_text("CODE", "-", "see that it is the code"))?;
    let code = code::parse(&text).map_err(|why| Fault::usage("CODE", why))?;
    if folder::is_paired(folder) && !args.again {
        return Err(paired_already(folder));
    }
    let place = Place::prepare(folder)?;
    let (pin, answer) = ask(&code).await?;
    let paired = taken_in(&code, &pin, &answer)?;
    other_books::note_known(folder, solo)
        .and_then(|()| folder::write(folder, &paired))
        .map_err(|error| unwritten(folder, &paired, &error))?;
    place.keep();
    for sentence in words::settled(&other_books::settle(folder, solo)) {
        printer.say(&printer.screen().hung("", "", &sentence));
    }
    if is_open_to_others(folder) {
        printer.say(&words::open_to_others(&folder.display().to_string()));
    }
    match printer.form() {
        Form::Json => printer.document(&json!({
            "address": paired.address(),
            "device": paired.device,
            "role": paired.role,
            "bookId": paired.book_id,
            "fingerprint": paired.fingerprint,
            "folder": folder.display().to_string(),
        })),
        Form::People | Form::Csv => {
            let text = words::paired(printer.screen(), &paired);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// The text of the code: what was typed, or for `-` what standard input has.
fn code_text(
    given: &str,
    standard_input: impl FnOnce() -> Result<String, Fault>,
) -> Result<String, Fault> {
    if given == "-" {
        return standard_input();
    }
    Ok(given.to_owned())
}

/// What this device holds from now on.
fn taken_in(code: &Code, pin: &Pin, answer: &PairDeviceResponse) -> Result<Paired, Fault> {
    if !other_books::is_plain(&answer.book_id) {
        return Err(Fault::answer("the id of the book"));
    }
    let device = answer.device.clone().unwrap_or_default();
    let mut paired = Paired::new(code.host.clone(), code.port);
    paired.certificate = pin
        .to_pem()
        .ok_or_else(|| Fault::answer("its certificate"))?;
    paired.fingerprint = HEXLOWER.encode(&code.fingerprint);
    paired.book_id.clone_from(&answer.book_id);
    paired.device.clone_from(&device.name);
    role_word(device.role()).clone_into(&mut paired.role);
    paired.token.clone_from(&answer.token);
    Ok(paired)
}

/// Sends the secret to the service that proves itself, and hands back its answer and its certificate.
async fn ask(code: &Code) -> Result<(Pin, PairDeviceResponse), Fault> {
    let pin = Pin::of_code(code.fingerprint);
    let target = Target {
        host: code.host.clone(),
        port: code.port,
        pin: pin.clone(),
    };
    let wire = Wire::open(&target, None).await.map_err(|trouble| {
        let mut fault =
            Fault::unreachable(&code::address(&code.host, code.port), &trouble.to_string());
        fault.todo =
            "The secret was not sent. See that fettled runs there and that the code is the \
                      one it shows, or ask for a new one."
                .to_owned();
        fault
    })?;
    let token_secret = trust::random::<32>()
        .map_err(|error| Fault::usage("CODE", format!("No token can be made: {error}.")))?;
    let asked = PairDeviceRequest {
        code_secret: code.secret.clone(),
        token_secret: token_secret.to_vec(),
    };
    let answer = send(&wire, asked).await?;
    Ok((pin, answer))
}

fn paired_already(folder: &Path) -> Fault {
    let what = match folder::read(folder) {
        Ok(paired) => format!(
            "This device is paired already, as {} with the shop at {}.",
            paired.device,
            paired.address()
        ),
        Err(_) => format!("This device is paired already, in {}.", folder.display()),
    };
    let mut fault = Fault::usage("--again", what);
    fault.exit = Exit::Conflict;
    fault.todo =
        "To pair it anew give --again too; for a second shop name another folder with --shop \
                  DIR."
            .to_owned();
    fault
}

fn unwritten(folder: &Path, paired: &Paired, error: &std::io::Error) -> Fault {
    let mut fault = Fault::file(&folder.display().to_string(), error);
    fault.message = format!(
        "The shop has paired this device as {}, but that could not be written down: {}",
        paired.device, fault.message
    );
    fault.todo = format!(
        "Make room, have the device revoked ('fettle shop devices --revoke {}' on one that owns the \
         shop), and pair it again under another name.",
        paired.device
    );
    fault
}

#[cfg(test)]
mod tests {
    use super::code_text;

    #[test]
    fn a_code_is_typed_or_comes_from_standard_input() {
        let input = || Ok("FETTLE:from/standard/input".to_owned());
        assert_eq!(code_text("-", input).unwrap(), "FETTLE:from/standard/input");
        let unread = || unreachable!("a code that is typed asks for no input");
        assert_eq!(code_text("FETTLE:h", unread).unwrap(), "FETTLE:h");
    }
}
