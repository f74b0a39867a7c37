//! `shop sync`: sends what waits here, shows what the shop refused, and brings the copy up.
//!
//! It serves the end of a day on the road. Nothing is left out and nothing goes twice; what the shop
//! refuses is put aside with its reason until a person sends it again or gives it up. What waits is
//! listed where it cannot be sent.

use std::collections::BTreeSet;

use clap::Args;
use serde_json::{Value, json};

use crate::commands::shop::ahead;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::outbox::{self, Deed, Line, NotKept, Outbox, Standing};
use crate::render::{Form, Printer, shop as words};
use crate::shop::folder;
use crate::solo::Solo;
use crate::transport::ShopTransport;
use crate::transport::delivery::{self, Sent, Stop};
use crate::transport::synced::Synced;

/// What `shop sync` takes.
#[derive(Args, Debug)]
pub(crate) struct Sync {
    /// Send a parked deed again
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(i64).range(1..))]
    pub(crate) again: Vec<i64>,
    /// Give up a deed that is parked or waits
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(i64).range(1..))]
    pub(crate) drop: Vec<i64>,
    /// Go on with what can be read of a damaged outbox
    #[arg(long, conflicts_with_all = ["again", "drop"])]
    pub(crate) mend: bool,
}

/// Syncs. However far it comes, it shows what was done and what is left; the fault that ended it is
/// told behind that.
pub(crate) async fn perform(
    shop: &ShopTransport,
    solo: &dyn Solo,
    args: &Sync,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let steps = steps(args)?;
    let folder = folder::outbox(shop.folder());
    let mended = if args.mend {
        let (aside, lost) = outbox::rescue(solo, &folder)?;
        Some((aside.display().to_string(), lost))
    } else {
        None
    };
    let mut outbox = shop.open_outbox().map_err(NotKept::into_fault)?;
    mark(&mut outbox, &steps)?;
    if shop.last_book().is_none() {
        shop.ask_book().await;
    }
    let missed = shop.find_missed(&mut outbox)?;
    let waiting: Vec<Deed> = outbox.folded().waiting().cloned().collect();
    let before = ahead::by_copy(shop, &waiting).await;
    let (sent, ended) = match send_all(&mut outbox, shop).await {
        (sent, None) => (sent, shop.bring_up().await),
        (sent, Some(fault)) => (sent, Err(fault)),
    };
    let news = match &ended {
        Ok(_) => ahead::news(before, ahead::by_shop(shop).await),
        Err(_) => Vec::new(),
    };
    let deed = |number: &i64| outbox.folded().deed(*number).cloned();
    let synced = Synced {
        mended,
        missed,
        dropped: steps.drop.iter().filter_map(deed).collect(),
        sent: sent
            .iter()
            .filter_map(|sent| Some((deed(&sent.number)?, sent.clone())))
            .collect(),
        waiting: outbox.folded().waiting().cloned().collect(),
        parked: outbox.folded().parked().cloned().collect(),
        news,
        ended,
    };
    Ok(tell(&synced, printer))
}

/// Tells what it came to; gives how the command ends.
fn tell(synced: &Synced, printer: &mut Printer) -> Exit {
    match printer.form() {
        Form::Json => printer.document(&document(synced)),
        Form::People | Form::Csv => {
            let text = words::synced(printer.screen(), synced);
            if !text.is_empty() {
                printer.page(&text);
            }
            if let Err(fault) = &synced.ended {
                printer.fault(fault);
            }
        }
    }
    synced
        .ended
        .as_ref()
        .err()
        .map_or(Exit::Done, |fault| fault.exit)
}

/// What is asked of single deeds: each number once, and only one thing of it.
struct Steps {
    again: BTreeSet<i64>,
    drop: BTreeSet<i64>,
}

fn steps(args: &Sync) -> Result<Steps, Fault> {
    let steps = Steps {
        again: args.again.iter().copied().collect(),
        drop: args.drop.iter().copied().collect(),
    };
    match steps.again.intersection(&steps.drop).next() {
        None => Ok(steps),
        Some(number) => Err(Fault::usage(
            "--drop",
            format!(
                "Deed {number} cannot be sent again and given up at once; name it with --again or \
                 with --drop."
            ),
        )),
    }
}

/// Does what was asked of single deeds, which needs no signal: all of it or nothing.
fn mark(outbox: &mut Outbox, steps: &Steps) -> Result<(), Fault> {
    let mut lines = Vec::new();
    for number in steps.again.iter().copied() {
        let standing = standing(outbox, number, "--again")?;
        if !matches!(standing, Standing::Parked { .. }) {
            return Err(cannot(
                number,
                standing,
                "--again",
                "only a parked deed is sent again",
            ));
        }
        lines.push(Line::Again { number });
    }
    for number in steps.drop.iter().copied() {
        let standing = standing(outbox, number, "--drop")?;
        if !matches!(standing, Standing::Parked { .. } | Standing::Waiting) {
            return Err(cannot(
                number,
                standing,
                "--drop",
                "it cannot be given up any more",
            ));
        }
        lines.push(Line::Dropped { number });
    }
    outbox.mark(&lines)
}

/// Sends everything that waits. Gives the deeds that the shop has now, and why it stopped before the
/// end.
async fn send_all(outbox: &mut Outbox, shop: &ShopTransport) -> (Vec<Sent>, Option<Fault>) {
    let not_synced =
        |waiting| words::not_synced(&shop.told_away(), shop.book_here().is_some(), waiting);
    let Some(wire) = shop.reachable() else {
        let waiting = outbox.folded().waiting().count();
        return (Vec::new(), Some(not_synced(waiting)));
    };
    let life = shop.incarnation_id();
    let done = delivery::send_waiting(wire, outbox, None, &life).await;
    shop.note_held(outbox);
    if let Some(fault) = &done.unnoted {
        shop.say(words::unnoted(fault));
    }
    let left = outbox.folded().waiting().count();
    let stopped = done.stopped.map(|stop| match stop {
        Stop::Lost(trouble) => {
            shop.go_away(trouble);
            not_synced(left)
        }
        Stop::Barred(status) => {
            shop.take_bar(&status);
            words::barred(Fault::from(status), left)
        }
    });
    (done.sent, stopped)
}

fn standing<'a>(outbox: &'a Outbox, number: i64, option: &str) -> Result<&'a Standing, Fault> {
    let deed = outbox.folded().deed(number);
    deed.map(|deed| &deed.standing).ok_or_else(|| {
        let mut fault = Fault::usage(option, format!("No deed {number} was kept on this device."));
        fault.exit = Exit::NotFound;
        fault
    })
}

fn cannot(number: i64, standing: &Standing, option: &str, why: &str) -> Fault {
    let how = words::standing(standing);
    let mut fault = Fault::usage(option, format!("Deed {number} {how}; {why}."));
    fault.exit = Exit::Conflict;
    fault
}

fn document(synced: &Synced) -> Value {
    let sent = synced.sent.iter().map(|(deed, sent)| {
        json!({
            "number": deed.number,
            "seq": sent.seq,
            "told": deed.told,
            "requestId": deed.request_id,
            "flags": sent.flags,
        })
    });
    let mut document = json!({
        "sent": sent.collect::<Vec<_>>(),
        "dropped": synced.dropped.iter().map(held).collect::<Vec<_>>(),
        "waiting": synced.waiting.iter().map(held).collect::<Vec<_>>(),
        "parked": synced.parked.iter().map(parked).collect::<Vec<_>>(),
        "news": synced.news,
        "missed": synced.missed.iter().map(held).collect::<Vec<_>>(),
    });
    let Some(fields) = document.as_object_mut() else {
        return document;
    };
    match &synced.ended {
        Ok(copy) => {
            let copy = json!({
                "bookId": copy.book_id,
                "incarnationId": copy.incarnation_id,
                "headSeq": copy.head_seq,
                "asOfTime": copy.as_of_time.to_string(),
            });
            fields.insert("copy".to_owned(), copy);
        }
        Err(fault) => {
            if let Value::Object(error) = fault.to_json() {
                fields.extend(error);
            }
        }
    }
    if let Some((aside, lost)) = &synced.mended {
        let mended = json!({ "damaged": aside, "lost": lost });
        fields.insert("mended".to_owned(), mended);
    }
    document
}

/// A deed of this device.
fn held(deed: &Deed) -> Value {
    json!({ "number": deed.number, "told": deed.told, "keptTime": deed.kept_time })
}

/// A deed of this device, and why the shop refused it.
fn parked(deed: &Deed) -> Value {
    let (reason, message, todo) = match &deed.standing {
        Standing::Parked {
            reason,
            message,
            todo,
        } => (reason.as_str(), message.as_str(), todo.as_str()),
        _ => ("", "", ""),
    };
    json!({
        "number": deed.number,
        "told": deed.told,
        "keptTime": deed.kept_time,
        "reason": reason,
        "message": message,
        "todo": todo,
    })
}
