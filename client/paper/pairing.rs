//! The sheet that goes with a pairing code: the code large, how the browser warns at first, how to compare the
//! certificate or to install its authority.

use fast_qr::ECL;
use fettlebook_contract::page;
use fettlebook_contract::pairing::TypedCode;
use fettlebook_contract::v1::InviteDeviceResponse;
use minijinja::{Value, context};

use super::Ground;
use super::code::{QUIET, squares};
use crate::fault::Fault;
use crate::render::tint::clean;

const TEMPLATE: (&str, &str) = ("pairing.html", include_str!("pairing.html"));

/// The sheet for a device.
///
/// # Errors
/// When the code is none that a telephone could open, or the sheet cannot be laid out.
pub(crate) fn html(
    ground: &Ground<'_>,
    name: &str,
    role: &str,
    answer: &InviteDeviceResponse,
) -> Result<String, Fault> {
    let typed = TypedCode::parse(&answer.typed_code);
    let typed = typed.map_err(|_| Fault::answer("the code as it is typed"))?;
    let (address, written) = (typed.page_address(), typed.to_string());
    let (first_half, second_half) = halves(&answer.fingerprint);
    let told = context! {
        name => clean(name),
        role => clean(role),
        until => ground.screen.moment_or(answer.expire_time.as_ref(), "soon"),
        code => code(&address),
        address => clean(&address),
        letters => clean(written.rsplit('/').next().unwrap_or_default()),
        typed => clean(&written),
        begins => clean(&page::first(&typed.host, typed.port)),
        host => clean(&typed.host),
        first_half => clean(first_half),
        second_half => clean(second_half),
    };
    ground.sheet(TEMPLATE, "The book on a telephone", told)
}

/// A code of which a part may be soiled.
fn code(address: &str) -> Option<Value> {
    let squares = squares(address, ECL::M)?;
    let across = f64::from(squares.side) + 2.0 * QUIET;
    Some(context! { way => squares.way, across, quiet => QUIET })
}

/// A fingerprint in two lines.
fn halves(fingerprint: &str) -> (&str, &str) {
    let mut blanks = fingerprint.match_indices(' ').map(|(at, _)| at);
    let middle = fingerprint.matches(' ').count() / 2;
    let at = blanks.nth(middle).unwrap_or(fingerprint.len());
    let (first, second) = fingerprint
        .split_at_checked(at)
        .unwrap_or((fingerprint, ""));
    (first, second.trim())
}

#[cfg(test)]
pub(super) mod tests {
    use fettlebook_contract::pairing::TypedCode;
    use fettlebook_contract::v1::InviteDeviceResponse;
    use prost_types::Timestamp;

    use super::{halves, html};
    use crate::paper::Size;
    use crate::paper::tests::{ground, read, texts};

    /// What a service answers.
    pub(in crate::paper) fn invited() -> InviteDeviceResponse {
        let typed = TypedCode {
            host: "192.168.1.7".to_owned(),
            port: 7420,
            secret: "K7Q29XJM4T".to_owned(),
        };
        InviteDeviceResponse {
            fingerprint: (10..26)
                .map(|n| format!("{n}ab"))
                .collect::<Vec<_>>()
                .join(" "),
            typed_code: typed.to_string(),
            expire_time: Some(Timestamp {
                seconds: 1_780_000_000,
                nanos: 0,
            }),
            ..InviteDeviceResponse::default()
        }
    }

    #[test]
    fn the_sheet_says_where_the_page_is_how_it_is_warned_of_and_what_to_compare() {
        let made = invited();
        let sheet = html(&ground(Size::A4), "van-b", "work", &made).unwrap();
        let told = texts(&read(&sheet)).join(" ");
        let code = TypedCode::parse(&made.typed_code).unwrap();
        let (first, second) = halves(&made.fingerprint);
        assert_eq!(first.split(' ').count(), 8);
        assert_eq!(format!("{first} {second}"), made.fingerprint);
        for word in [
            &code.page_address(),
            &made.typed_code,
            first,
            second,
            "https://192.168.1.7:7420/authority.crt",
            "van-b, role work",
            "Your connection is not private",
            "do not go on",
        ] {
            assert!(told.contains(word), "{word}: {told}");
        }
        assert!(!told.to_lowercase().contains("safe"), "{told}");
        let nothing = html(
            &ground(Size::A5),
            "van-b",
            "work",
            &InviteDeviceResponse::default(),
        );
        assert!(nothing.is_err());
    }
}
