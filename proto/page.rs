//! Addresses of the page at the bench: where it begins, and where a piece is on it, as the code of a label has it.

use crate::pairing::{FRAGMENT, behind, place};

/// How each begins.
pub(crate) const SCHEME: &str = "https://";

/// The port that is meant where none is named. Source: RFC 9110, section 4.2.2.
pub(crate) const PORT_USUAL: u16 = 443;

/// What stands before the tag of a piece.
const PIECE: &str = "t/";

/// Where the page of a service begins.
#[must_use]
pub fn first(host: &str, port: u16) -> String {
    if host.contains(':') {
        format!("{SCHEME}[{host}]:{port}/")
    } else {
        format!("{SCHEME}{host}:{port}/")
    }
}

/// Where a piece is on the page that begins there.
#[must_use]
pub fn piece(first: &str, tag: &str) -> String {
    format!("{first}{PIECE}{tag}")
}

/// Host and port of an address of the page, whatever stands behind them; nothing for what is no such address.
#[must_use]
pub fn host_and_port(address: &str) -> Option<(String, u16)> {
    parted(address).map(|(place, _)| place)
}

/// The tag of the piece that an address of the page opens: P-07 of `https://192.0.2.7:7420/t/P-07`.
#[must_use]
pub fn tag(address: &str) -> Option<&str> {
    let (_, path) = parted(address)?;
    let rest = behind(path.strip_prefix('/')?, PIECE)?;
    let end = rest.find(['/', '?', FRAGMENT]).unwrap_or(rest.len());
    rest.get(..end).filter(|tag| !tag.is_empty())
}

/// Host and port, and what stands behind them.
fn parted(address: &str) -> Option<((String, u16), &str)> {
    let rest = behind(address.trim(), SCHEME)?;
    let end = rest.find(['/', '?', FRAGMENT]).unwrap_or(rest.len());
    let (host, path) = rest.split_at_checked(end)?;
    Some((place(host, PORT_USUAL)?, path))
}

#[cfg(test)]
mod tests {
    use super::{first, host_and_port, piece, tag};

    #[test]
    fn a_piece_is_found_again_by_its_address() {
        for (host, port) in [
            ("192.168.1.7", 7420),
            ("bench.example", 443),
            ("fd00::7", 7420),
        ] {
            let page = first(host, port);
            let address = piece(&page, "BP-01");
            assert_eq!(host_and_port(&address), Some((host.to_owned(), port)));
            assert_eq!(tag(&address), Some("BP-01"), "{address}");
            let capitals = address.to_uppercase();
            assert_eq!(tag(&format!(" {capitals}\n")), Some("BP-01"), "{address}");
            assert_eq!(tag(&format!("{address}?from=label#x")), Some("BP-01"));
            assert_eq!(tag(&page), None);
        }
        for text in [
            "",
            "P-07",
            "t/P-07",
            "http://bench.example/t/P-07",
            "https:///t/P-07",
            "https://bench.example:0/t/P-07",
            "https://bench.example/t/",
            "https://bench.example/x/P-07",
            "https://owner@bench.example/t/P-07",
        ] {
            assert_eq!(tag(text), None, "{text}");
        }
    }
}
