//! What a sync came to: deeds that were sent, wait or were refused, and how old the copy is.

use jiff::Timestamp;

use super::count;
use crate::outbox::{Deed, Standing};
use crate::render::screen::{Screen, several};
use crate::render::tint;
use crate::transport::synced::Synced;

/// What a sync came to; empty when nothing was done and nothing is left here.
pub(crate) fn synced(screen: &Screen, synced: &Synced) -> String {
    let mut lines = Vec::new();
    if let Some((aside, lost)) = &synced.mended {
        lines.push(mended(screen, aside, lost));
    }
    if !synced.dropped.is_empty() {
        lines.push(headed(&tint::warn("given up"), synced.dropped.len()));
        lines.extend(synced.dropped.iter().map(|deed| held(screen, deed)));
    }
    match synced.sent.len() {
        0 if synced.ended.is_ok() => lines.push("Nothing waited.".to_owned()),
        0 => {}
        sent => lines.push(headed(&tint::good("sent"), sent)),
    }
    let flagged = synced
        .sent
        .iter()
        .filter(|(_, sent)| !sent.flags.is_empty());
    let flagged: Vec<_> = flagged.collect();
    if !flagged.is_empty() {
        lines.push(headed(&tint::warn("flagged"), flagged.len()));
        for (deed, sent) in flagged {
            let first = format!("  {}  {}, entry {}: ", deed.number, deed.told, sent.seq);
            let flags = sent.flags.join(" ");
            lines.push(screen.hung(&first, "     ", &flags));
        }
    }
    if !synced.waiting.is_empty() {
        lines.push(headed(&tint::warn("waiting"), synced.waiting.len()));
        lines.extend(synced.waiting.iter().map(|deed| held(screen, deed)));
    }
    if !synced.parked.is_empty() {
        lines.push(headed(&tint::warn("parked"), synced.parked.len()));
        lines.extend(synced.parked.iter().map(|deed| parked_deed(screen, deed)));
        lines.push(
            "Send one again with --again NUMBER, or give it up with --drop NUMBER.".to_owned(),
        );
    }
    if let Ok(copy) = &synced.ended {
        let as_of = copy.as_of_time.to_zoned_datetime(screen.zone.clone());
        lines.push(format!(
            "The copy here has {} as of {}.",
            several(copy.head_seq, "entry", "entries"),
            as_of.strftime("%Y-%m-%d %H:%M")
        ));
    }
    lines.join("\n")
}

/// How many deeds follow, and what of them: `sent: 3 deeds.`
fn headed(what: &str, deeds: usize) -> String {
    format!("{what}: {}.", several(count(deeds), "deed", "deeds"))
}

/// A deed by its number, what it was and when it was kept.
fn held(screen: &Screen, deed: &Deed) -> String {
    let kept = deed.kept_time.parse::<Timestamp>().map_or_else(
        |_| deed.kept_time.clone(),
        |kept| {
            let kept = kept.to_zoned_datetime(screen.zone.clone());
            kept.strftime("%Y-%m-%d %H:%M").to_string()
        },
    );
    let first = format!("  {}  ", deed.number);
    screen.hung(&first, "     ", &format!("{}, kept {kept}", deed.told))
}

fn parked_deed(screen: &Screen, deed: &Deed) -> String {
    let (message, todo) = match &deed.standing {
        Standing::Parked { message, todo, .. } => (message.as_str(), todo.as_str()),
        _ => ("", ""),
    };
    let first = format!("  {}  {}: ", deed.number, deed.told);
    screen.hung(&first, "     ", format!("{message} {todo}").trim())
}

fn mended(screen: &Screen, aside: &str, lost: &[i64]) -> String {
    let what = match lost {
        [] => "every deed in it could be read".to_owned(),
        lost => {
            let numbers: Vec<_> = lost.iter().map(ToString::to_string).collect();
            format!(
                "nothing can be read of what was kept under {}; tell that again if it was not sent",
                numbers.join(", ")
            )
        }
    };
    let text = format!("The damaged outbox is kept in {aside}: {what}.");
    screen.hung("", "", &text)
}
