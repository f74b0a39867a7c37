//! From when on something is not well, and what is to be done then.
//!
//! Each bound is common practice, no source; none says anything about plate, film, solvent or vibration.

use fettlebook_contract::v1::{GetConditionResponse, ShelfCondition};
use jiff::{SignedDuration, Timestamp};

use super::{Answered, Facts, Held, Line, Place};
use crate::render::screen::{Screen, several};
use crate::render::shop::{CLOCK_OFF, span};

/// Less than this left on the disk is not well: a book of years takes some tens of megabytes, and everything else
/// on the machine takes the rest.
const FREE_BYTES_LEAST: i64 = 1_000_000_000;
/// Oldest backup of a book in use, where none are made by themselves.
const BACKUP_AGE_MAX: SignedDuration = SignedDuration::from_hours(7 * 24);
/// How many of the times between them a backup may be late that is made by itself.
const BACKUP_LATE_MAX: i32 = 2;
/// Oldest verification, once so many entries came since.
const VERIFIED_AGE_MAX: SignedDuration = SignedDuration::from_hours(180 * 24);
const UNVERIFIED_COUNT_MAX: i64 = 1_000;
/// Shortest time that a certificate should still be good.
const CERTIFICATE_LEFT_LEAST: SignedDuration = SignedDuration::from_hours(30 * 24);
/// Oldest copy on a device.
const COPY_AGE_MAX: SignedDuration = SignedDuration::from_hours(7 * 24);
/// By how much the newest entry may be later than the clock.
const AHEAD_MAX: SignedDuration = SignedDuration::from_mins(1);

const BACK_UP: &str = "fettle book backup --to DIR";
const VERIFY: &str = "fettle book verify";

/// Everything that was looked at, a line each.
pub(crate) fn lines(screen: &Screen, facts: &Facts) -> Vec<Line> {
    let mut lines = vec![program(facts), place(facts)];
    if let Answered::Condition(condition) = &facts.answered {
        let asked = Asked {
            screen,
            facts,
            condition,
        };
        lines.extend([
            asked.book(),
            asked.clock(),
            asked.disk(),
            asked.shelf(),
            asked.verified(),
            asked.backup(),
        ]);
        lines.extend(asked.certificate());
        lines.extend(asked.devices());
    }
    if let Some(held) = &facts.held {
        lines.push(outbox(held, matches!(facts.answered, Answered::Away(_))));
        lines.push(copy(held, facts.now));
    }
    lines
}

fn well(about: &'static str, told: impl Into<String>) -> Line {
    Line {
        about,
        told: told.into(),
        todo: None,
    }
}

fn bad(about: &'static str, told: impl Into<String>, todo: impl Into<String>) -> Line {
    Line {
        about,
        told: told.into(),
        todo: Some(todo.into()),
    }
}

/// The versions of the two programs.
fn program(facts: &Facts) -> Line {
    const OURS: &str = env!("CARGO_PKG_VERSION");
    let about = "Program";
    match (&facts.answered, &facts.place) {
        (Answered::Older, _) => bad(
            about,
            format!("fettle {OURS}; the service is older and does not know this question"),
            "Update fettled there.",
        ),
        (Answered::Condition(condition), Place::At(_) | Place::Shop { .. }) => {
            let GetConditionResponse {
                version, commit, ..
            } = &**condition;
            let told = format!("fettle {OURS}, and fettled {version} (commit {commit})");
            if version == OURS {
                well(about, told)
            } else {
                bad(about, told, "Update the older of the two.")
            }
        }
        _ => well(about, format!("fettle {OURS}")),
    }
}

/// Where the book is, and whether it is reached.
fn place(facts: &Facts) -> Line {
    match (&facts.place, &facts.answered) {
        (Place::Folder(folder), _) => well("Place", folder),
        (Place::At(address), _) => well("Place", address),
        (
            Place::Shop {
                address, is_here, ..
            },
            Answered::Away(why),
        ) => {
            let todo = if *is_here {
                "fettle shop open"
            } else {
                "fettle shop sync -v, where there is signal"
            };
            let told = format!("{address} is out of reach: {why}; of its book nothing is known");
            bad("Shop", told, todo)
        }
        (
            Place::Shop {
                address,
                device,
                role,
                ..
            },
            _,
        ) => well("Shop", format!("{address}; this is {device}, role {role}")),
    }
}

/// What waits on this device, and what a person has to look at.
fn outbox(held: &Held, is_away: bool) -> Line {
    let about = "Outbox";
    let counted = |count: usize| {
        several(
            i64::try_from(count).unwrap_or(i64::MAX),
            "deed waits",
            "deeds wait",
        )
    };
    match held {
        Held { trouble, .. } if !trouble.is_empty() => bad(about, trouble, "fettle shop sync"),
        Held {
            parked_count: 1.., ..
        } => bad(
            about,
            format!(
                "{}, {} refused by the shop",
                counted(held.waiting_count),
                held.parked_count
            ),
            "fettle shop parked",
        ),
        Held {
            waiting_count: 1.., ..
        } if !is_away => bad(about, counted(held.waiting_count), "fettle shop sync"),
        Held {
            waiting_count: 1.., ..
        } => well(about, format!("{} for signal", counted(held.waiting_count))),
        _ => well(about, "nothing waits"),
    }
}

/// The copy of the book on this device.
fn copy(held: &Held, now: Timestamp) -> Line {
    let about = "Copy";
    let sync = "fettle shop sync";
    match held.copied {
        None => bad(
            about,
            "none is on this device, for where there is no signal",
            sync,
        ),
        Some(copied) => {
            let age = now.duration_since(copied);
            let told = format!("of the book as it was {}", ago(age));
            if age > COPY_AGE_MAX {
                bad(about, told, sync)
            } else {
                well(about, told)
            }
        }
    }
}

/// What the service said, with what it is looked at by.
struct Asked<'a> {
    screen: &'a Screen,
    facts: &'a Facts,
    condition: &'a GetConditionResponse,
}

impl Asked<'_> {
    /// The moment by the service's clock.
    fn now(&self) -> Timestamp {
        moment(self.condition.service_time.as_ref()).unwrap_or(self.facts.now)
    }

    fn is_solo(&self) -> bool {
        matches!(self.facts.place, Place::Folder(_))
    }

    fn may(&self, roles: &[&str]) -> bool {
        match &self.facts.place {
            Place::Shop { role, .. } => roles.contains(&role.as_str()),
            Place::Folder(_) | Place::At(_) => true,
        }
    }

    fn book(&self) -> Line {
        let about = "Book";
        let condition = self.condition;
        if !condition.read_only_reason.is_empty() {
            let told = format!("only read. {}", condition.read_only_reason);
            return bad(about, told, VERIFY);
        }
        let newest = moment(condition.newest_entry_time.as_ref());
        let newest = newest.map_or_else(String::new, |newest| {
            format!(", the newest {}", ago(self.now().duration_since(newest)))
        });
        let entries = several(condition.head_seq, "entry", "entries");
        well(about, format!("{entries}{newest}"))
    }

    fn clock(&self) -> Line {
        let about = "Clock";
        let newest = moment(self.condition.newest_entry_time.as_ref());
        if newest.is_some_and(|newest| newest.duration_since(self.now()) > AHEAD_MAX) {
            let of = self
                .screen
                .moment_or(self.condition.newest_entry_time.as_ref(), "");
            return bad(
                about,
                format!("earlier than the newest entry, of {of}"),
                "Set the clock of the machine that has the book.",
            );
        }
        let off = self.facts.now.duration_since(self.now());
        if off.abs() > CLOCK_OFF {
            let how = if off.is_positive() {
                "ahead of"
            } else {
                "behind"
            };
            let told = format!("{} {how} the service's", span(off.abs()));
            return bad(about, told, "Set the clock of this device.");
        }
        if self.is_solo() {
            well(about, "not before the newest entry")
        } else {
            well(about, "as the service's")
        }
    }

    fn disk(&self) -> Line {
        let about = "Disk";
        let condition = self.condition;
        let takes = bytes(
            condition
                .journal_bytes
                .saturating_add(condition.shelf_bytes),
        );
        let Some(free) = condition.disk_free_bytes else {
            let told = format!("the book takes {takes}; what is free this system does not say");
            return well(about, told);
        };
        let of = condition
            .disk_size_bytes
            .map_or_else(String::new, |size| format!(" of {}", bytes(size)));
        let told = format!("{} free{of}; the book takes {takes}", bytes(free));
        if free < FREE_BYTES_LEAST {
            bad(
                about,
                told,
                "Make room there: on a full disk nothing is recorded.",
            )
        } else {
            well(about, told)
        }
    }

    fn shelf(&self) -> Line {
        let about = "Shelf";
        match self.condition.shelf() {
            ShelfCondition::InUse | ShelfCondition::Unspecified => well(about, "in use"),
            ShelfCondition::Lost => bad(
                about,
                format!("lost. {}", self.condition.shelf_trouble),
                "It is built again by itself as soon as it can be; see the disk and the log.",
            ),
            ShelfCondition::OutOfUse => bad(about, "the book is read without it", VERIFY),
        }
    }

    fn verified(&self) -> Line {
        let about = "Verified";
        let since = self.condition.unverified_count;
        let age = moment(self.condition.verified_time.as_ref())
            .map(|verified| self.now().duration_since(verified));
        let told = age.map_or_else(
            || "not yet as a whole".to_owned(),
            |age| format!("{}, {}", ago(age), since_then(since)),
        );
        let is_old = age.is_none_or(|age| age > VERIFIED_AGE_MAX);
        if is_old && since > UNVERIFIED_COUNT_MAX {
            bad(about, told, VERIFY)
        } else {
            well(about, told)
        }
    }

    fn backup(&self) -> Line {
        let about = "Backup";
        let condition = self.condition;
        let every = SignedDuration::from_secs(condition.backup_every_s);
        let is_scheduled = !every.is_zero();
        let todo = if is_scheduled {
            "See why in the log of fettled; until it is put right: fettle book backup --to DIR"
        } else if self.may(&["own"]) {
            BACK_UP
        } else {
            "Ask whoever owns the shop for 'fettle book backup --to DIR'."
        };
        if !condition.backup_trouble.is_empty() {
            return bad(about, &condition.backup_trouble, todo);
        }
        let since = condition.unsaved_count;
        let Some(made) = moment(condition.backup_time.as_ref()) else {
            let told = "none is known of this book";
            return if condition.head_seq == 0 || is_scheduled {
                well(about, "none yet")
            } else {
                bad(about, told, todo)
            };
        };
        let age = self.now().duration_since(made);
        let told = format!("{}, {}", ago(age), since_then(since));
        let age_max = if is_scheduled {
            every.saturating_mul(BACKUP_LATE_MAX)
        } else {
            BACKUP_AGE_MAX
        };
        if age > age_max && since > 0 {
            bad(about, told, todo)
        } else {
            well(about, told)
        }
    }

    fn certificate(&self) -> Option<Line> {
        let end = self.condition.certificate_end_time.as_ref();
        let left = moment(end)?.duration_since(self.now());
        let told = format!("good until {}", self.screen.moment_or(end, ""));
        let todo = "Start fettled anew for its own; renew one that you gave.";
        Some(if left < CERTIFICATE_LEFT_LEAST {
            bad("Certificate", told, todo)
        } else {
            well("Certificate", told)
        })
    }

    fn devices(&self) -> Option<Line> {
        let all = &self.facts.devices;
        let count = i64::try_from(all.len()).unwrap_or(i64::MAX);
        let said = all.iter().filter(|device| !device.version.is_empty());
        let others: Vec<String> = said
            .filter(|device| device.version != self.condition.version)
            .map(|device| format!("{} {}", device.name, device.version))
            .collect();
        if all.is_empty() {
            return None;
        }
        let told = several(count, "device", "devices");
        Some(if others.is_empty() {
            well("Devices", format!("{told}, none of another version"))
        } else {
            let told = format!("{told}, of another version: {}", others.join(", "));
            bad("Devices", told, "Update fettle on these, or fettled.")
        })
    }
}

fn moment(stamp: Option<&prost_types::Timestamp>) -> Option<Timestamp> {
    let stamp = stamp?;
    Timestamp::new(stamp.seconds, stamp.nanos).ok()
}

/// How long ago something was.
fn ago(age: SignedDuration) -> String {
    format!("{} ago", span(age.max(SignedDuration::ZERO)))
}

fn since_then(count: i64) -> String {
    match count {
        0 => "and nothing was recorded since".to_owned(),
        count => format!("{} since", several(count, "entry", "entries")),
    }
}

/// Bytes in the unit that is read best.
fn bytes(count: i64) -> String {
    const UNITS: [(i64, &str); 3] = [(1_000_000_000, "GB"), (1_000_000, "MB"), (1_000, "kB")];
    let unit = UNITS.iter().find(|(unit, _)| count >= *unit);
    let Some((unit, name)) = unit else {
        return several(count, "byte", "bytes");
    };
    let tenths = count / (unit / 10);
    match tenths {
        100.. => format!("{} {name}", tenths / 10),
        _ => format!("{}.{} {name}", tenths / 10, tenths % 10),
    }
}
