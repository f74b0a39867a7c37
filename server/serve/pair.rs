//! `fettled pair`: a code for a new device, beside a running service or before one runs.
//!
//! It serves whoever may write in the book's folder, which is what makes them the owner. The code is
//! printed once and kept nowhere; only the hash of its secret is.

use std::io::{self, IsTerminal as _, Write as _};
use std::sync::Arc;

use jiff::tz::TimeZone;
use uuid::Uuid;

use super::{ServeError, qr};
use crate::access::{Invitation, Invite, KnownBy, invite_by};
use crate::args::PairArgs;
use crate::desk::{Clock as _, OpenError, SystemClock};
#[cfg(feature = "postgres")]
use crate::store::EngineBook;
use crate::store::{Cabinet, Store};

/// Who invites with the rights to the folder alone.
const INVITED_BY: &str = "local";

/// Makes a code and prints it.
pub(super) fn pair(args: &PairArgs) -> Result<(), ServeError> {
    let invited = Invited::of(args)?;
    let asked = Invite {
        name: args.name.clone(),
        role: args.role.into(),
        by: INVITED_BY.to_owned(),
        at: args.at.clone(),
        again: args.again,
        office: office(args, invited.life),
    };
    let Invited {
        cabinet, known_by, ..
    } = invited;
    let made = invite_by(&*cabinet, &known_by, &asked, SystemClock.now())?;
    let text = told(&made, &asked, painted());
    let mut out = io::stdout().lock();
    let printed = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    printed.map_err(ServeError::Runtime)
}

/// Into which book a device is invited.
struct Invited {
    /// Where its codes are.
    cabinet: Arc<dyn Cabinet>,
    /// By what the device will know the service.
    known_by: KnownBy,
    /// Which life of the book it is.
    life: Uuid,
}

impl Invited {
    /// Into the one that is meant.
    fn of(args: &PairArgs) -> Result<Self, ServeError> {
        #[cfg(feature = "postgres")]
        if let Some(engine) = args.kept.in_engine(None) {
            return Self::in_engine(&engine, args);
        }
        let store = args.kept.store().map_err(OpenError::from)?;
        let (cabinet, life) = cabinet(&*store, args)?;
        Ok(Self {
            cabinet,
            known_by: KnownBy::Noted,
            life,
        })
    }

    /// Into a book in an engine: beside others everyone is shown what all have in common, whether a node runs now or
    /// not, and whether it serves all of them or one.
    #[cfg(feature = "postgres")]
    fn in_engine(engine: &EngineBook<'_>, args: &PairArgs) -> Result<Self, ServeError> {
        let store = engine.store().map_err(OpenError::from)?;
        let books = store.books().map_err(OpenError::from)?;
        if books.len() > 1 && engine.book.is_none() {
            let place = engine.place().map_err(OpenError::from)?;
            return Err(ServeError::WhichBook { place, books });
        }
        let (cabinet, life) = cabinet(&store, args)?;
        let shown = if store.has_several().map_err(OpenError::from)? {
            store.cabinet_of_all()
        } else {
            Arc::clone(&cabinet)
        };
        Ok(Self {
            cabinet,
            known_by: KnownBy::Authority(shown),
            life,
        })
    }
}

/// The cabinet of the book in a store, and which life of the book that is.
fn cabinet(store: &dyn Store, args: &PairArgs) -> Result<(Arc<dyn Cabinet>, Uuid), ServeError> {
    match store.identity().map_err(OpenError::from)? {
        Some(identity) => Ok((store.cabinet(), identity.incarnation_id)),
        None => Err(ServeError::NoBook {
            kept: args.kept.typed(),
        }),
    }
}

/// The life of the book in which the device is to be of the office.
#[cfg(feature = "postgres")]
fn office(args: &PairArgs, life: Uuid) -> Option<Uuid> {
    args.office.then_some(life)
}

/// A folder has one book, and so no office.
#[cfg(not(feature = "postgres"))]
const fn office(_: &PairArgs, _: Uuid) -> Option<Uuid> {
    None
}

/// Whether colours may be used, as on a terminal whose owner does not mind.
fn painted() -> bool {
    io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|word| word.is_empty())
}

/// What is printed.
fn told(made: &Invitation, asked: &Invite, painted: bool) -> String {
    let (code, typed) = (made.code.to_string(), made.typed.to_string());
    let page = made.typed.page_address();
    let picture = qr::drawn(&page, painted).unwrap_or_default();
    let until = made.expires_at.to_zoned_datetime(TimeZone::system());
    let office = match asked.office {
        Some(_) => ", of the office",
        None => "",
    };
    format!(
        "{picture}On the new device, once, until {}:\n\
         \x20   fettle shop pair {typed}\n\
         It becomes {}, role {}{office}.\n\
         A telephone scans the picture, or opens\n\
         \x20   {page}\n\
         code         {code}\n",
        until.strftime("%H:%M"),
        asked.name,
        asked.role.word(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::access::{CodeText, Fingerprint, Role};
    use fettlebook_contract::pairing::TypedCode;

    #[test]
    fn what_is_printed_fits_a_small_terminal_and_has_all_that_is_needed() {
        let code = CodeText {
            address: "192.168.100.100:17420".to_owned(),
            fingerprint: Fingerprint([0xA5; 32]),
            secret: "ABCDEFGHIJ234567".to_owned(),
        };
        let asked = Invite {
            name: "van-a".parse().unwrap(),
            role: Role::Work,
            by: INVITED_BY.to_owned(),
            at: None,
            again: false,
            office: None,
        };
        let expires_at = "2026-06-03T18:10:00Z".parse().unwrap();
        let typed = TypedCode {
            host: "192.168.100.100".to_owned(),
            port: 17420,
            secret: "K7Q29XJM4T".to_owned(),
        };
        let made = Invitation {
            code,
            typed,
            expires_at,
        };
        let text = told(&made, &asked, false);
        let rows = text
            .lines()
            .map(|line| line.chars().count().div_ceil(80).max(1));
        assert!(rows.sum::<usize>() <= 24, "{text}");
        for word in [
            "FETTLE:192.168.100.100:17420/",
            "https://192.168.100.100:17420/#K7Q29XJM4T",
            "fettle shop pair 192.168.100.100:17420/K7Q2-9XJM-4T",
            "once, until ",
            ":10:",
            "van-a",
            "work",
        ] {
            assert!(text.contains(word), "{word}: {text}");
        }
        let code = text.lines().find(|line| line.starts_with("code")).unwrap();
        let code = code.split_whitespace().last().unwrap();
        assert_eq!(text.matches(code).count(), 1);
        // What is said beside what is typed can be read in a window of 45 columns, in which the picture has room.
        let said = text
            .lines()
            .filter(|line| !line.starts_with("    ") && !line.starts_with("code"));
        for line in said {
            assert!(line.chars().count() <= 45, "{line}");
        }
        assert!(code.parse::<CodeText>().is_ok());
    }
}
