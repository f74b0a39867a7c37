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
    if !synced.missed.is_empty() {
        lines.push(screen.hung("", "", &super::missed(&synced.missed)));
    }
    if !synced.dropped.is_empty() {
        lines.push(headed(&tint::warn("given up"), synced.dropped.len()));
        lines.extend(synced.dropped.iter().map(|deed| held(screen, deed)));
    }
    match synced.sent.len() {
        0 if synced.ended.is_ok() => lines.push("Nothing waited.".to_owned()),
        0 => {}
        sent => {
            lines.push(headed(&tint::good("sent"), sent));
            let shown = synced.sent.iter().take(SENT_SHOWN_MAX);
            lines.extend(shown.map(|(deed, sent)| sent_deed(screen, deed, sent.seq)));
            if sent > SENT_SHOWN_MAX {
                lines.push(format!("  and {} more", sent - SENT_SHOWN_MAX));
            }
        }
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
        let how = "'fettle shop parked NUMBER' shows one whole and mends it; --again NUMBER sends it as it is, \
                   --drop NUMBER gives it up.";
        lines.push(screen.hung("", "", how));
    }
    if !synced.news.is_empty() {
        lines.push(format!("{}:", tint::strong("for the jobs ahead")));
        lines.extend(
            synced
                .news
                .iter()
                .map(|news| screen.hung("  ", "    ", news)),
        );
    }
    if let Ok(copy) = &synced.ended {
        let as_of = copy.as_of_time.to_zoned_datetime(screen.zone.clone());
        let told = format!(
            "The copy here has {} as of {}.",
            several(copy.head_seq, "entry", "entries"),
            as_of.strftime("%Y-%m-%d %H:%M")
        );
        lines.push(screen.hung("", "", &told));
    }
    lines.join("\n")
}

/// Deeds that were sent and are shown one by one.
const SENT_SHOWN_MAX: usize = 12;

/// A deed that was sent, and its entry.
fn sent_deed(screen: &Screen, deed: &Deed, seq: i64) -> String {
    let first = format!("  {}  ", deed.number);
    screen.hung(&first, "     ", &format!("{}, entry {seq}", deed.told))
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

/// A parked deed, and why.
fn parked_deed(screen: &Screen, deed: &Deed) -> String {
    let (message, todo) = match &deed.standing {
        Standing::Parked { message, todo, .. } => (message.as_str(), todo.as_str()),
        _ => ("", ""),
    };
    let first = format!("  {}  {}: ", deed.number, deed.told);
    screen.hung(&first, "     ", format!("{message} {todo}").trim())
}

/// The deeds that the shop refused.
pub(crate) fn all_parked(screen: &Screen, parked: &[&Deed]) -> String {
    if parked.is_empty() {
        return "Nothing is parked.".to_owned();
    }
    let mut lines = vec![headed(&tint::warn("parked"), parked.len())];
    lines.extend(parked.iter().map(|deed| parked_deed(screen, deed)));
    lines.join("\n")
}

/// A parked deed whole: what it is, why it was refused, and what would be sent.
pub(crate) fn one_parked(screen: &Screen, deed: &Deed, request: &str) -> String {
    let mut lines = vec![parked_deed(screen, deed), held(screen, deed)];
    lines.push("What would be sent, in the names of the contract:".to_owned());
    lines.extend(request.lines().map(|line| format!("  {line}")));
    let number = deed.number;
    let how = format!(
        "Send it with another name in it: fettle shop parked {number} --instead OLD=NEW. As it is: fettle \
         shop sync --again {number}. Give it up: fettle shop sync --drop {number}."
    );
    lines.push(screen.hung("", "", &how));
    lines.join("\n")
}

/// What became of a deed that was mended.
pub(crate) fn mended_deed(number: i64, standing: &Standing) -> String {
    if let Standing::Parked { message, todo, .. } = standing {
        return format!("Mended as deed {number}, which the shop refused too: {message} {todo}");
    }
    format!(
        "Mended as deed {number}, which {}.",
        super::standing(standing)
    )
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
