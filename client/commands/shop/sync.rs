//! `shop sync`: sends what waits here, shows what the shop refused, and brings the copy up.
//!
//! It serves the end of a day on the road. Nothing is left out and nothing goes twice; what the shop
//! refuses is put aside with its reason until a person sends it again or gives it up.

use clap::Args;
use serde_json::{Value, json};

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::outbox::{self, Deed, Line, NotKept, Outbox, Standing};
use crate::render::{Form, Printer, shop as words};
use crate::shop::folder;
use crate::solo::SoloCopy;
use crate::way::ShopWay;
use crate::way::delivery::{self, Delivery, Stop};

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

/// What a sync came to.
pub(crate) struct Synced {
    /// Deeds the shop has now, each with its entry.
    pub(crate) sent: Vec<(Deed, i64)>,
    /// Deeds that a person has to look at.
    pub(crate) parked: Vec<Deed>,
    /// How the copy stands.
    pub(crate) copy: SoloCopy,
    /// Numbers that were lost in a damaged outbox, and where that is kept.
    pub(crate) mended: Option<(String, Vec<i64>)>,
}

/// Syncs.
pub(crate) async fn perform(
    session: &Session,
    args: &Sync,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let Some(shop) = session.shop() else {
        let mut fault = Fault::usage("shop", "This device is not paired with a shop.");
        fault.todo =
            "Ask whoever owns the shop for a code, then run 'fettle shop pair CODE'.".to_owned();
        return Err(fault);
    };
    let folder = folder::outbox(shop.folder());
    let mended = if args.mend {
        let (aside, lost) = outbox::rescue(session.solo(), &folder)?;
        Some((aside.display().to_string(), lost))
    } else {
        None
    };
    let sent = send(shop, session, args)?;
    let (outbox, done) = sent.all(shop).await?;
    let copy = shop.bring_up().await?;
    let deed = |number: &i64| outbox.folded().deed(*number).cloned();
    let synced = Synced {
        sent: done
            .sent
            .iter()
            .filter_map(|(number, seq)| Some((deed(number)?, *seq)))
            .collect(),
        parked: outbox.folded().parked().cloned().collect(),
        copy,
        mended,
    };
    match printer.form() {
        Form::Json => printer.document(&document(&synced)),
        Form::People | Form::Csv => {
            let text = words::synced(printer.screen(), &synced);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// An outbox with what was asked of single deeds done.
struct Ready(Outbox);

/// Opens the outbox and does what was asked of single deeds, which needs no signal.
fn send(shop: &ShopWay, session: &Session, args: &Sync) -> Result<Ready, Fault> {
    let opened = Outbox::open(session.solo(), &folder::outbox(shop.folder()));
    let mut outbox = opened.map_err(|not_kept| match not_kept {
        NotKept::Barred(fault) | NotKept::Unwritten(fault) => fault,
    })?;
    let mut lines = Vec::new();
    for number in args.again.iter().copied() {
        let standing = standing(&outbox, number, "--again")?;
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
    for number in args.drop.iter().copied() {
        let standing = standing(&outbox, number, "--drop")?;
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
    outbox.mark(&lines)?;
    Ok(Ready(outbox))
}

impl Ready {
    /// Sends everything that waits.
    async fn all(self, shop: &ShopWay) -> Result<(Outbox, Delivery), Fault> {
        let Self(mut outbox) = self;
        let waiting = outbox.folded().waiting().count();
        let Some(wire) = shop.near() else {
            return Err(words::not_synced(
                &shop.paired().address(),
                &shop.why_away().unwrap_or_default(),
                waiting,
            ));
        };
        let mut done = delivery::send_waiting(wire, &mut outbox, None).await;
        if let Some(fault) = &done.unnoted {
            shop.say(words::unnoted(fault));
        }
        let left = outbox.folded().waiting().count();
        match done.stopped.take() {
            None => Ok((outbox, done)),
            Some(Stop::Lost(why)) => {
                shop.go_away(why.clone());
                Err(words::not_synced(&shop.paired().address(), &why, left))
            }
            Some(Stop::Barred(status)) => Err(words::barred(Fault::from(status), left)),
        }
    }
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
    let sent = synced.sent.iter().map(|(deed, seq)| {
        json!({ "number": deed.number, "seq": seq, "told": deed.told, "requestId": deed.request_id })
    });
    let parked = synced.parked.iter().map(|deed| {
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
    });
    let mut document = json!({
        "sent": sent.collect::<Vec<_>>(),
        "parked": parked.collect::<Vec<_>>(),
        "waiting": 0,
        "copy": {
            "bookId": synced.copy.book_id,
            "incarnationId": synced.copy.incarnation_id,
            "headSeq": synced.copy.head_seq,
            "asOfTime": synced.copy.as_of_time.to_string(),
        },
    });
    if let (Some(fields), Some((aside, lost))) = (document.as_object_mut(), &synced.mended) {
        let mended = json!({ "damaged": aside, "lost": lost });
        fields.insert("mended".to_owned(), mended);
    }
    document
}
