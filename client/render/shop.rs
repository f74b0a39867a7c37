//! What is said of a shop on the way to one: what waits here and why, how old a copy is.
//!
//! Sentences that may not be needed come empty.

mod codes;
mod devices;
mod machine;
mod synced;
mod way;

use super::code::is_this_machine;
use fettlebook_contract::v1::Entry;
use jiff::{SignedDuration, Timestamp};

pub(crate) use self::codes::{codes, exported, withdrawn};
pub(crate) use self::devices::{devices, has_role, paired, revoked};
pub(crate) use self::machine::{has_address, left, not_the_shop, opened, still_there};
pub(crate) use self::synced::{all_parked, mended_deed, one_parked, synced};
pub(crate) use self::way::way;
use crate::clock::local_zone;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::outbox::{Deed, Standing};
use crate::render::entry;
use crate::render::screen::{Screen, several};
use crate::shop::other_books::Settled;
use crate::shop::trouble::Cause;
use crate::solo::SoloCopy;
use crate::transport::synced::Ahead;
use crate::word::word;

/// A clock that is further off makes wrong times of what is kept.
pub(crate) const CLOCK_OFF: SignedDuration = SignedDuration::from_mins(2);

fn count(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// What keeps this device from its shop, in few words.
pub(crate) fn cause(cause: Cause, host: &str) -> &'static str {
    match cause {
        Cause::NoSignal => "no signal",
        Cause::NotRunning if is_this_machine(host) => "fettled is not running here",
        Cause::NotRunning => "fettled is not running there",
        Cause::AnotherService => "another service answers",
        Cause::Elsewhere => "another machine has the book, and is not reached",
        Cause::Engine => "what keeps the shop's book does not answer",
        Cause::WrongClock => "this clock is wrong, or the shop's",
        Cause::Unusable => "what is kept of the shop here cannot be used",
    }
}

/// That what follows is from the copy, and how old that is.
pub(crate) fn from_copy(away: &str, copy: &SoloCopy, now: &Timestamp) -> String {
    let age = now.duration_since(copy.as_of_time);
    if is_before(now, &copy.as_of_time) {
        return format!(
            "{away} · copy of {}, {} later than this clock, which is wrong",
            day_and_time(copy.as_of_time),
            span(age.abs())
        );
    }
    format!(
        "{away} · copy of {} ({} old)",
        day_and_time(copy.as_of_time),
        span(age.max(SignedDuration::ZERO))
    )
}

fn day_and_time(moment: Timestamp) -> String {
    let zoned = moment.to_zoned_datetime(local_zone());
    zoned.strftime("%Y-%m-%d %H:%M").to_string()
}

/// Whether a clock is earlier than something that has happened, by more than clocks differ.
pub(crate) fn is_before(now: &Timestamp, happened: &Timestamp) -> bool {
    happened.duration_since(*now) > CLOCK_OFF
}

/// The reason of a clock that is earlier than the copy.
pub(crate) const CLOCK_BEFORE_COPY: &str = "CLOCK_BEFORE_COPY";

/// A deed by a clock that is earlier than the copy here.
pub(crate) fn clock_before_copy(now: &Timestamp, copy: &SoloCopy) -> Fault {
    Fault::own(
        CLOCK_BEFORE_COPY,
        Exit::Conflict,
        format!(
            "This clock says {}, and the copy of the book here is of {}. Nothing was recorded or kept.",
            day_and_time(*now),
            day_and_time(copy.as_of_time)
        ),
        "Set the clock and tell it again; if the clock is right, say --accept-clock.",
    )
}

/// A deed that the copy here says is wrong.
pub(crate) fn refused_by_copy(fault: Fault, copy: &SoloCopy) -> Fault {
    let of = day_and_time(copy.as_of_time);
    Fault {
        message: format!(
            "{} So says the copy here, of {of}. Nothing was recorded or kept.",
            fault.message
        ),
        todo: "If it came into the book after that, --yes keeps it all the same.".to_owned(),
        ..fault
    }
}

/// A length of time in its largest unit: `3 h`.
pub(crate) fn span(length: SignedDuration) -> String {
    let minutes = length.as_mins();
    match minutes {
        ..60 => format!("{minutes} min"),
        60..2880 => format!("{} h", minutes / 60),
        _ => several(minutes / 1440, "day", "days"),
    }
}

/// That this device's clock is off; empty when it is not.
pub(crate) fn clock_off(theirs: &prost_types::Timestamp, ours: &Timestamp) -> String {
    let Ok(theirs) = Timestamp::new(theirs.seconds, theirs.nanos) else {
        return String::new();
    };
    let off = ours.duration_since(theirs);
    if off.abs() <= CLOCK_OFF {
        return String::new();
    }
    let how = if off.is_positive() {
        "ahead of"
    } else {
        "behind"
    };
    format!(
        "This device's clock is {} {how} the shop's. Set it, or what is kept here gets a wrong time.",
        span(off.abs())
    )
}

/// That a deed is kept, why it is not sent, and how many wait.
pub(crate) fn kept_here(away: &str, waiting: usize) -> String {
    format!("{away} · kept here · {waiting} waiting")
}

/// That the book on this machine is opened itself.
pub(crate) fn book_opened_here(screen: &Screen) -> String {
    let what = "fettled is not running here · the book itself is open · 'fettle shop open' lets devices in \
                again";
    screen.hung("", "", what)
}

/// That this device may do less, and has lost its copy for it.
pub(crate) fn may_less(role: &str) -> String {
    format!(
        "This device has the role {role} now. Its copy of the book had more than that may see and is removed; \
         'fettle shop sync' takes another."
    )
}

/// That this device is shut out, and whether its copy is gone.
pub(crate) fn shut_out(kept: Option<&Fault>) -> String {
    let copy = match kept {
        None => "The copy of the book here is removed".to_owned(),
        Some(fault) => format!(
            "The copy of the book here could not be removed, and is with the next command ({})",
            fault.message.trim_end_matches('.')
        ),
    };
    format!("The shop has shut this device out. {copy}; what waits here stays.")
}

/// What the book has lost of this device, which goes again.
pub(crate) fn missed(missed: &[Deed]) -> String {
    let deeds = several(count(missed.len()), "deed", "deeds");
    let told: Vec<&str> = missed.iter().map(|deed| deed.told.as_str()).collect();
    format!(
        "The book was restored and has lost {deeds} of this device: {}. They go again, by the ids that they \
         had.",
        named(&told)
    )
}

/// What this device had reported to a book that was restored, and has not kept; empty for nothing.
pub(crate) fn lost_with_the_book<'a>(lost: impl Iterator<Item = &'a Entry>) -> String {
    let told = lost.filter_map(|entry| entry.deeds.first());
    let told: Vec<String> = told.map(entry::told_of).collect();
    let told: Vec<&str> = told.iter().map(String::as_str).collect();
    if told.is_empty() {
        return String::new();
    }
    format!(
        "The book was restored and has lost what this device told it and did not keep: {}. Tell it again.",
        named(&told)
    )
}

/// So many of these by name, and how many more.
fn named(told: &[&str]) -> String {
    const NAMED_MAX: usize = 9;
    let first: Vec<&str> = told.iter().take(NAMED_MAX).copied().collect();
    match told.len().saturating_sub(NAMED_MAX) {
        0 => first.join("; "),
        more => format!("{} and {more} more", first.join("; ")),
    }
}

/// That this device is the only one that owns the shop, and would not any more.
pub(crate) fn last_owner(device: &str) -> Fault {
    Fault::own(
        "LAST_OWNER",
        Exit::Conflict,
        format!(
            "{device} is the only device that owns the shop, and a shop is left to somebody. Nothing was \
             changed."
        ),
        "Let another own it first, for example 'fettle shop devices --role NAME=own'.",
    )
}

/// That a job was not known here.
pub(crate) fn job_new(job: &str, now: &Ahead) -> String {
    format!("{job} is new: {}{}", whereabouts(now), verdict_told(now))
}

/// That a job is not ahead any more.
pub(crate) fn job_gone(job: &str) -> String {
    format!("{job} is done, called off or moved to another day.")
}

/// What of a job is not as it was thought here.
pub(crate) fn job_changed(job: &str, then: &Ahead, now: &Ahead) -> String {
    let moved = (then.start, &then.place) != (now.start, &now.place);
    let place = if moved {
        format!("now {}", whereabouts(now))
    } else {
        String::new()
    };
    if then.verdict == now.verdict {
        return format!("{job}: {place}{}", verdict_told(now));
    }
    let before = word(then.verdict);
    format!("{job}: {place}was {before}, {}", verdict_told(now))
}

fn whereabouts(job: &Ahead) -> String {
    let start = day_and_time(job.start);
    if job.place.is_empty() {
        format!("{start}, ")
    } else {
        format!("{start} at {}, ", job.place)
    }
}

fn verdict_told(job: &Ahead) -> String {
    let verdict = word(job.verdict);
    if job.why.is_empty() {
        format!("{verdict}.")
    } else {
        format!("{verdict}: {}", job.why)
    }
}

/// That earlier deeds were sent on; empty for none.
pub(crate) fn sent_on(sent: usize) -> String {
    if sent == 0 {
        return String::new();
    }
    let deeds = several(
        count(sent),
        "deed that waited here is",
        "deeds that waited here are",
    );
    format!("{deeds} in the book now.")
}

/// What of a deed that was sent on contradicts the book.
pub(crate) fn flagged(seq: i64, flag: &str) -> String {
    format!("Flagged in entry {seq}: {flag}")
}

/// That what waits could not be sent on.
pub(crate) fn not_sent_on(fault: &Fault) -> String {
    format!(
        "What waits here was not taken: {} {}",
        fault.message, fault.todo
    )
}

/// That deeds were parked just now; empty for none.
pub(crate) fn just_parked(parked: usize) -> String {
    if parked == 0 {
        return String::new();
    }
    format!(
        "The shop refused {} that waited here.",
        several(count(parked), "deed", "deeds")
    )
}

/// That deeds are parked; empty for none.
pub(crate) fn parked(parked: usize) -> String {
    if parked == 0 {
        return String::new();
    }
    format!("{parked} parked: see 'fettle shop sync'.")
}

/// That the copy does not know what a deed is about.
pub(crate) fn unknown_here(fault: &Fault) -> String {
    format!(
        "The copy kept here does not know that, so only the shop can say: {}",
        fault.message
    )
}

/// That there is a copy which cannot be used.
pub(crate) fn copy_unusable(fault: &Fault) -> String {
    format!("The copy kept here cannot be used: {}", fault.message)
}

/// That the outbox cannot be read.
pub(crate) fn unread_outbox(fault: &Fault) -> String {
    format!("{} {}", fault.message, fault.todo)
}

/// That a deed went to the shop without being kept first.
pub(crate) fn sent_unkept(fault: &Fault) -> String {
    format!(
        "This goes to the shop without being kept here first: {}",
        fault.message
    )
}

/// A deed of a device that may only look, where the shop cannot be asked whether it still may no more.
pub(crate) fn may_not_keep(device: &str) -> Fault {
    Fault::own(
        "ROLE_TOO_LOW",
        Exit::NotAllowed,
        format!("As far as is known here {device} may only look, so this was not taken."),
        format!(
            "Have whoever owns the shop give it another role ('fettle shop devices --role \
             {device}=work'), run 'fettle shop sync' here while there is signal, and tell it again."
        ),
    )
}

/// That what became of deeds could not be noted.
pub(crate) fn unnoted(fault: &Fault) -> String {
    format!(
        "What became of the deeds that were sent could not be noted: {} They are sent again, which \
         counts once.",
        fault.message
    )
}

/// What became of the outbox of another book, and of that of this one, a sentence each.
pub(crate) fn settled(settled: &Result<Settled, Fault>) -> Vec<String> {
    let settled = match settled {
        Ok(settled) => settled,
        Err(fault) => {
            return vec![format!(
                "What was kept here for another shop is not put aside yet, and nothing is sent or kept \
                 until the next command has done that: {} {}",
                fault.message, fault.todo
            )];
        }
    };
    let mut sentences = Vec::new();
    if let Some(aside) = &settled.aside {
        sentences.push(format!(
            "Deeds that were kept for another shop and never sent are in {}; they are not sent to this \
             one, and wait here again once that one is paired again.",
            aside.display()
        ));
    }
    if settled.is_back {
        sentences.push("What was kept for this shop before is here again.".to_owned());
    }
    sentences
}

/// That what a shop's folder holds is not shut to others.
pub(crate) fn open_to_others(folder: &str) -> String {
    format!(
        "Others on this machine may look into {folder}; to shut them out run: chmod 700 {folder}"
    )
}

/// That another process paired this folder with another book meanwhile.
pub(crate) fn of_another_book(folder: &str) -> Fault {
    let mut fault = Fault::usage(
        "",
        format!("What waits in {folder} is for another book than the one paired here."),
    );
    fault.exit = Exit::Conflict;
    fault.todo = "Nothing was kept or sent; run it again.".to_owned();
    fault
}

/// A sync that could not reach the shop, whose book may be on this very machine.
pub(crate) fn not_synced(away: &str, is_here: bool, waiting: usize) -> Fault {
    let mut fault = Fault::needs_shop(away, is_here);
    let wait = several(count(waiting), "deed waits", "deeds wait");
    fault.message = format!("Not synced: {away}. {wait} here.");
    if !is_here {
        "Run 'fettle shop sync' again when the shop can be reached; -v says what was tried."
            .clone_into(&mut fault.todo);
    }
    fault
}

/// A connection that broke before the copy was brought up.
pub(crate) fn cut_off(away: &str) -> Fault {
    let mut fault = Fault::needs_shop(away, false);
    fault.message = format!("The connection broke: {away}. The copy here stays as it was.");
    fault.todo = "Run 'fettle shop sync' again when there is signal.".to_owned();
    fault
}

/// A sync that the shop did not take.
pub(crate) fn barred(mut fault: Fault, waiting: usize) -> Fault {
    let wait = several(count(waiting), "deed waits", "deeds wait");
    fault.message = format!("{} {wait} here.", fault.message);
    fault
}

/// A command of a shop on a device that is in none.
pub(crate) fn not_in_a_shop() -> Fault {
    let mut fault = Fault::usage("shop", "This device is not paired with a shop.");
    fault.todo =
        "Ask whoever owns the shop for a code, then run 'fettle shop pair CODE'.".to_owned();
    fault
}

/// Where a deed stands, as the rest of a sentence.
pub(crate) fn standing(standing: &Standing) -> String {
    match standing {
        Standing::Waiting => "waits to be sent".to_owned(),
        Standing::Sent(seq) => format!("was recorded as entry {seq}"),
        Standing::Parked { .. } => "is parked".to_owned(),
        Standing::Refused => "was refused by the shop when it was told".to_owned(),
        Standing::Dropped => "was given up".to_owned(),
        Standing::Lost => "was lost in a damaged outbox".to_owned(),
    }
}
