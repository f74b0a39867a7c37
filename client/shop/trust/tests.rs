//! What a device says in the handshake, read by the library's own reader of what clients say first.

use tokio_rustls::rustls::ClientConnection;
use tokio_rustls::rustls::server::Acceptor;

use super::*;

const ID: &str = "01980000-0000-7000-8000-0000000000ab";

/// What is said of the authority that is believed.
fn said(pin: Pin, book_id: Option<&str>) -> Option<Vec<Hint>> {
    let config = tls(pin, book_id).unwrap();
    let name = ServerName::try_from("192.0.2.7").unwrap();
    let mut client = ClientConnection::new(Arc::new(config), name).unwrap();
    let mut sent = Vec::new();
    client.write_tls(&mut sent).unwrap();
    let mut acceptor = Acceptor::default();
    acceptor.read_tls(&mut sent.as_slice()).unwrap();
    let accepted = acceptor.accept().ok()?.unwrap();
    let hello = accepted.client_hello();
    let names = hello.certificate_authorities()?.iter();
    Some(
        names
            .map(|name| Hint::of_name(name.as_ref()).unwrap())
            .collect(),
    )
}

/// Source: RFC 8446, section 4.2.4: names of authorities are in an extension of what a client says first.
#[test]
fn a_device_says_which_certificate_it_believes_and_of_which_book() {
    let key = rcgen::KeyPair::generate().unwrap();
    let params = rcgen::CertificateParams::default();
    let certificate = params.self_signed(&key).unwrap();
    let fingerprint = Sha256::digest(certificate.der()).into();
    let hint = |book_id: Option<&str>| Hint {
        fingerprint,
        book_id: book_id.map(str::to_owned),
    };
    let pinned = Pin::of_pem(&certificate.pem()).unwrap();
    let shown = said(pinned, Some(ID)).unwrap();
    assert_eq!(shown, [hint(Some(ID))]);
    // By a code it has no token yet; by a typed one it knows no certificate either.
    let of_code = said(Pin::of_code(fingerprint), None).unwrap();
    assert_eq!(of_code, [hint(None)]);
    assert_eq!(said(Pin::last(), None), None);
}
