//! How a value is read that is typed or set: what it may be, or a sentence with the accepted forms.

use std::net::SocketAddr;

use jiff::{SignedDuration, Span, SpanRelativeTo};
use tonic::codegen::http::HeaderValue;
use tracing_subscriber::EnvFilter;

use crate::access::address_of;

/// Shortest time between two backups.
const EVERY_LEAST: SignedDuration = SignedDuration::from_secs(1);
/// Longest time between two: a year and a day.
const EVERY_MOST: SignedDuration = SignedDuration::from_hours(366 * 24);

/// Longest name of a shop, in characters. Source: the tables, which take no longer one.
#[cfg(feature = "postgres")]
const NAME_CHARS_MAX: usize = 80;

/// An address and a port.
pub(super) fn address(text: &str) -> Result<SocketAddr, String> {
    text.parse().map_err(|_| {
        "write an address and a port, for example 127.0.0.1:7420, [::1]:7420 or 0.0.0.0:7420"
            .to_owned()
    })
}

/// A host and its port, as a device dials them.
pub(super) fn host_and_port(text: &str) -> Result<String, String> {
    if let Some(read) = address_of(text) {
        return Ok(read);
    }
    Err("write a host and a port, for example bench.example:7420 or [fd00::7]:7420".to_owned())
}

/// An origin, as browsers write it: in small letters, and without the port that everyone takes.
/// Source: RFC 6454, section 6.2.
pub(super) fn origin(text: &str) -> Result<HeaderValue, String> {
    const FORM: &str = "write where the page comes from as a browser does, for example https://bench.example or \
                        https://bench.example:8443";
    let text = text.to_ascii_lowercase();
    let (scheme, host) = text.split_once("://").ok_or(FORM)?;
    let host = host.strip_suffix('/').unwrap_or(host);
    let (usual, sealed) = match scheme {
        "https" => (":443", true),
        "http" => (":80", false),
        _ => return Err(FORM.to_owned()),
    };
    let host = host.strip_suffix(usual).unwrap_or(host);
    let with_port = format!("{host}{usual}");
    let dialled = address_of(if has_port(host) { host } else { &with_port });
    let dialled = dialled.ok_or(FORM)?;
    let (name, _) = dialled.rsplit_once(':').ok_or(FORM)?;
    if !sealed && !["localhost", "127.0.0.1", "[::1]"].contains(&name) {
        return Err(format!(
            "what {text} sends can be changed on its way, and a page from there would hold a token; serve \
             the page over https, or from this machine"
        ));
    }
    HeaderValue::try_from(format!("{scheme}://{host}")).map_err(|_| FORM.to_owned())
}

/// Whether a port stands behind a host; the colons of an address in IPv6 stand in brackets.
fn has_port(host: &str) -> bool {
    host.rsplit_once(':')
        .is_some_and(|(_, port)| !port.ends_with(']'))
}

/// An address of this machine. A page of metrics asks nobody who he is.
pub(super) fn measured(text: &str) -> Result<SocketAddr, String> {
    let address: SocketAddr = text.parse().map_err(|_| {
        "write an address and a port, for example 127.0.0.1:9420 or [::1]:9420".to_owned()
    })?;
    if address.ip().is_loopback() {
        return Ok(address);
    }
    Err(format!(
        "{} can be reached from other machines, and metrics are told to whoever asks; take 127.0.0.1 \
         or [::1], and let the collector in through a tunnel you trust",
        address.ip()
    ))
}

/// Filters that can be read, kept as they were written.
pub(super) fn filter(text: &str) -> Result<String, String> {
    EnvFilter::try_new(text)
        .map(|_| text.to_owned())
        .map_err(|error| {
            format!("{error}; write error, warn, info, debug or trace, or filters by part")
        })
}

/// A length of time.
pub(super) fn length(text: &str) -> Result<SignedDuration, String> {
    let read = text.parse::<Span>();
    let length = read.and_then(|span| span.to_duration(SpanRelativeTo::days_are_24_hours()));
    length
        .ok()
        .filter(|length| (EVERY_LEAST..=EVERY_MOST).contains(length))
        .ok_or_else(|| "write a time from 1s to 366d, for example 6h, 1d or 1w".to_owned())
}

/// How many.
pub(super) fn count(text: &str) -> Result<usize, String> {
    let read = text
        .parse()
        .ok()
        .filter(|count| (1..=10_000).contains(count));
    read.ok_or_else(|| "write a number from 1 to 10000".to_owned())
}

/// A name that fits into a line.
#[cfg(feature = "postgres")]
pub(super) fn shop_name(text: &str) -> Result<String, String> {
    let text = text.trim();
    let is_plain = !text.chars().any(char::is_control);
    if is_plain && (1..=NAME_CHARS_MAX).contains(&text.chars().count()) {
        return Ok(text.to_owned());
    }
    Err(format!(
        "write a name of 1 to {NAME_CHARS_MAX} characters, for example north"
    ))
}
