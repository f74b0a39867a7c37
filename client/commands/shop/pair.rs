//! `shop pair`: takes this device into a shop by a code, or makes a code for another device.
//!
//! It serves the minute in which a device is trusted. The letters of a typed code are never sent, the
//! secret of a long one only to the service whose certificate it names; what comes back is on the disk
//! before it is told.

use std::path::Path;

use clap::Args;
use data_encoding::{BASE64URL_NOPAD, HEXLOWER};
use fettlebook_contract::pairing::{Key, TypedCode, host_and_port};
use fettlebook_contract::v1::{InviteDeviceRequest, PairDeviceRequest, PairDeviceResponse, Role};
use serde_json::json;
use sha2::{Digest as _, Sha256};

use crate::ask::{is_it_so, somebody_is_there};
use crate::call::send;
use crate::commands::common::read_text;
use crate::commands::shop::meant::leaves_an_owner;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::paper::{Ground, OnPaper, pairing};
use crate::render::{Form, Printer, code as page, shop as words};
use crate::shop::code::{self, Given};
use crate::shop::folder::{self, Paired};
use crate::shop::other_books;
use crate::shop::place::{Place, is_open_to_others};
use crate::shop::target::Target;
use crate::shop::trust::{self, Pin};
use crate::shop::wire::Wire;
use crate::shop::{role, role_word};
use crate::solo::{Solo, SoloClock, SoloCopy};
use crate::transport::ShopTransport;

const HOW: &str = "\
On one that owns the shop:        fettle shop pair --name van-b
On the device that is new:        fettle shop pair 192.168.1.7/K7Q2-9XJM-4TB, as it is shown there
On a telephone:                   scan the picture; its browser opens the page at the bench

A code can be used once, for ten minutes. Blanks, hyphens and small letters do not matter. Whether the \
service is the one that made the code is found out by the program: there is nothing to compare. \
--at HOST:PORT with --name says where the device will reach the shop, where that is not the address of \
the machine with the book in its own network. --again pairs a name anew, for example another laptop in \
van-a; the one before is shut out as soon as the code is used. --paper FILE writes a sheet with the code, how a \
telephone's browser warns at first, and what to compare.
'fettle shop pair -' reads the code from standard input.";

/// What `shop pair` takes.
#[derive(Args, Debug)]
#[command(after_help = HOW)]
pub(crate) struct Pair {
    /// The code for this device, HOST/LETTERS or what its picture holds, or - for standard input
    #[arg(value_name = "CODE", conflicts_with_all = ["name", "role", "paper"])]
    pub(crate) code: Vec<String>,
    /// Pair this device although it is paired already; with --name, a name that was used before
    #[arg(long)]
    pub(crate) again: bool,
    /// Make a code for a new device of this name
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    /// What the new device may do: look, work, keep or own; without it work
    #[arg(long, value_name = "ROLE", value_parser = role, requires = "name")]
    pub(crate) role: Option<Role>,
    /// With --name: where the new device reaches the shop; without it the address of its machine
    #[arg(long, value_name = "HOST:PORT")]
    pub(crate) at: Option<String>,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
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
        fault.todo =
            "For example 'fettle shop pair 192.168.1.7/K7Q2-9XJM-4TB', or 'fettle shop pair \
                      --name van-b'."
                .to_owned();
        return Err(fault);
    };
    let asked = InviteDeviceRequest {
        name: name.clone(),
        role: args.role.unwrap_or(Role::Work).into(),
        address: looked_up(args.at.as_deref()).await?,
        again: args.again,
    };
    let answer = session.call(asked.clone()).await?;
    let role = role_word(asked.role());
    printer.answer(&answer, |screen, answer| {
        page::invited(screen, name, role, answer)
    })?;
    let sheet = |ground: &Ground<'_>| pairing::html(ground, name, role, &answer);
    args.paper
        .put(session, "The sheet with the code", printer, sheet)?;
    Ok(Exit::Done)
}

/// The address that devices are to use, once it is known that it can be looked up; empty for none.
///
/// # Errors
/// When it is no address, or its name leads nowhere.
pub(crate) async fn looked_up(at: Option<&str>) -> Result<String, Fault> {
    let Some(text) = at else {
        return Ok(String::new());
    };
    let wrong = |what: String| {
        let mut fault = Fault::usage("--at", what);
        fault.todo =
            "Write where the device reaches the shop, for example --at bench.example:7420 or --at \
                      203.0.113.5."
                .to_owned();
        fault
    };
    let (host, port) =
        host_and_port(text).ok_or_else(|| wrong(format!("'{text}' is not a host and a port.")))?;
    match tokio::net::lookup_host((host.as_str(), port)).await {
        Ok(_) => Ok(code::address(&host, port)),
        Err(error) => Err(wrong(format!(
            "The name {host} cannot be looked up: {error}."
        ))),
    }
}

/// Pairs this device.
pub(crate) async fn perform(
    args: &Pair,
    folder: &Path,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let text = code_text(&args.code, || {
        read_text("CODE", "-", "see that it is the code")
    })?;
    let given = code::given(&text).map_err(|why| Fault::usage("CODE", why))?;
    may_pair(folder, &given, args.again, printer)?;
    leaves_an_owner(folder).await?;
    let place = Place::prepare(folder)?;
    let paired = ask(&given).await?.for_a_device()?;
    settle_in(&paired, folder, solo, printer)?;
    place.keep();
    let copy = take_copy(folder, solo, printer).await;
    match printer.form() {
        Form::Json => printer.document(&json!({
            "address": paired.address(),
            "device": paired.device,
            "role": paired.role,
            "bookId": paired.book_id,
            "fingerprint": paired.fingerprint,
            "folder": folder.display().to_string(),
            "copySeq": copy.as_ref().ok().map(|copy| copy.head_seq),
        })),
        Form::People | Form::Csv => {
            let text = words::paired(printer.screen(), &paired, copy.as_ref().err());
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// Writes down what this device holds from now on, and brings outbox and copy in line with it.
///
/// # Errors
/// When it cannot be written.
pub(crate) fn settle_in(
    paired: &Paired,
    folder: &Path,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<(), Fault> {
    other_books::note_known(folder, solo)
        .and_then(|()| folder::write(folder, paired))
        .map_err(|error| unwritten(folder, paired, &error))?;
    for sentence in words::settled(&other_books::settle(folder, solo)) {
        printer.say(&printer.screen().hung("", "", &sentence));
    }
    if is_open_to_others(folder) {
        printer.say(&words::open_to_others(&folder.display().to_string()));
    }
    Ok(())
}

/// Takes a copy of the book along at once, so that the first way without signal has one.
async fn take_copy(
    folder: &Path,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<SoloCopy, Fault> {
    let shop = ShopTransport::open(folder, false, solo, SoloClock::System).await?;
    let copy = shop.bring_up().await;
    for sentence in shop.take_talk() {
        printer.say(&printer.screen().hung("", "", &sentence));
    }
    copy
}

/// Whether this device may be paired: it is not yet, or with the same machine, or that is wanted.
fn may_pair(folder: &Path, given: &Given, again: bool, printer: &Printer) -> Result<(), Fault> {
    if again || !folder::is_paired(folder) {
        return Ok(());
    }
    let held = folder::read(folder).ok();
    let (host, port) = given.place();
    if held.is_some_and(|held| held.host == host && held.port == port) {
        return Ok(());
    }
    let fault = paired_already(folder);
    if somebody_is_there(printer) && is_it_so(&format!("{} Pair it anew?", fault.message))? {
        return Ok(());
    }
    Err(fault)
}

/// The text of the code: what was typed, or for `-` what standard input has.
fn code_text(
    given: &[String],
    standard_input: impl FnOnce() -> Result<String, Fault>,
) -> Result<String, Fault> {
    if given == ["-"] {
        return standard_input();
    }
    Ok(given.join(" "))
}

/// What a shop has given.
pub(crate) struct Taken {
    /// With the certificate that was shown.
    paired: Paired,
    /// The certificate to hold on to instead, in DER; empty for the one that was shown.
    authority: Vec<u8>,
}

impl Taken {
    /// For whoever says in no handshake which certificate it believes: what was shown is shown to them again.
    pub(crate) fn for_a_script(self) -> Paired {
        self.paired
    }

    /// For a device, which holds on to what the shop says.
    ///
    /// # Errors
    /// When that is no certificate.
    pub(crate) fn for_a_device(self) -> Result<Paired, Fault> {
        let mut paired = self.paired;
        if !self.authority.is_empty() {
            let pin = Pin::of_der(&self.authority);
            pin_to(
                &mut paired,
                &pin.ok_or_else(|| Fault::answer("its certificate"))?,
            )?;
        }
        Ok(paired)
    }
}

/// Has a device hold on to this certificate.
fn pin_to(paired: &mut Paired, pin: &Pin) -> Result<(), Fault> {
    let unknown = || Fault::answer("its certificate");
    paired.certificate = pin.to_pem().ok_or_else(unknown)?;
    paired.fingerprint = HEXLOWER.encode(&pin.fingerprint().ok_or_else(unknown)?);
    Ok(())
}

/// What was given by a service that showed this.
fn taken_in(
    place: (&str, u16),
    pin: &Pin,
    answer: &PairDeviceResponse,
    token: String,
) -> Result<Taken, Fault> {
    if !other_books::is_plain(&answer.book_id) {
        return Err(Fault::answer("the id of the book"));
    }
    let device = answer.device.clone().unwrap_or_default();
    let mut paired = Paired::new(place.0.to_owned(), place.1);
    pin_to(&mut paired, pin)?;
    paired.book_id.clone_from(&answer.book_id);
    paired.device.clone_from(&device.name);
    role_word(device.role()).clone_into(&mut paired.role);
    paired.token = token;
    Ok(Taken {
        paired,
        authority: answer.authority.clone(),
    })
}

/// Pairs with the service that proves itself.
///
/// # Errors
/// When it cannot be reached, does not prove itself, or refuses.
pub(crate) async fn ask(given: &Given) -> Result<Taken, Fault> {
    let token_secret = trust::random::<32>()
        .map_err(|error| Fault::usage("CODE", format!("No token can be made: {error}.")))?;
    match given {
        Given::Long(code) => {
            let pin = Pin::of_code(code.fingerprint);
            let wire = open(given.place(), &pin).await?;
            let asked = PairDeviceRequest {
                code_secret: code.secret.clone(),
                token_secret: token_secret.to_vec(),
                ..PairDeviceRequest::default()
            };
            let answer = send(&wire, asked).await?;
            taken_in(given.place(), &pin, &answer, answer.token.clone())
        }
        Given::Typed(code) => ask_by_proof(code, token_secret).await,
    }
}

/// Pairs by a typed code: nothing that is sent is of use to anybody but the service that made it.
async fn ask_by_proof(code: &TypedCode, token_secret: [u8; 32]) -> Result<Taken, Fault> {
    let (pin, place) = (Pin::last(), (code.host.as_str(), code.port));
    let wire = open(place, &pin).await?;
    let fingerprint = pin.fingerprint();
    let fingerprint = fingerprint.ok_or_else(|| Fault::answer("its certificate"))?;
    let key = Key::of(&code.secret, &fingerprint);
    let token_hash: [u8; 32] = Sha256::digest(token_secret).into();
    let asked = PairDeviceRequest {
        code_proof: key.device_proof(&fingerprint, &token_hash).to_vec(),
        token_hash: token_hash.to_vec(),
        ..PairDeviceRequest::default()
    };
    let answer = send(&wire, asked).await?;
    let wanted = key.shop_proof(&fingerprint, &token_hash, &answer.token_start);
    if answer.shop_proof != wanted {
        return Err(Fault::own(
            "NOT_PROVED",
            Exit::NotAllowed,
            format!(
                "What answers at {} does not prove that it knows the code, so nothing of it is believed.",
                code.address()
            ),
            "Nothing secret was sent. See that the address is that of the machine with the book, or ask \
             for a new code.",
        ));
    }
    let token = format!(
        "{}{}",
        answer.token_start,
        BASE64URL_NOPAD.encode(&token_secret)
    );
    taken_in(place, &pin, &answer, token)
}

/// A connection to the service of a code.
async fn open((host, port): (&str, u16), pin: &Pin) -> Result<Wire, Fault> {
    let target = Target::at((host, port), pin.clone());
    Wire::open(&target, None).await.map_err(|trouble| {
        let mut fault = Fault::unreachable(&code::address(host, port), &trouble.to_string());
        fault.todo = "The secret was not sent. See that fettled runs there, that this device is in the same \
                      network, and that the address is the one that is shown with the code."
            .to_owned();
        fault
    })
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
        "To pair it anew give --again too; what waits here for the other shop is kept. For a second shop \
         name another folder with --shop DIR."
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
        "Make room and have a new code made: 'fettle shop pair --name {} --again' on one that owns the \
         shop.",
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
        let typed = |words: &[&str]| words.iter().map(ToString::to_string).collect::<Vec<_>>();
        let read = code_text(&typed(&["-"]), input).unwrap();
        assert_eq!(read, "FETTLE:from/standard/input");
        let unread = || unreachable!("a code that is typed asks for no input");
        let read = code_text(&typed(&["192.0.2.7", "0123", "4567", "89B"]), unread);
        assert_eq!(read.unwrap(), "192.0.2.7 0123 4567 89B");
    }
}
