//! Typed codes: read as they are written and as people type them, and proofs by published figures.

use super::{Key, LETTERS, NotTyped, TypedCode, hmac, secret_of, stretched};

fn code(host: &str, port: u16) -> TypedCode {
    TypedCode {
        host: host.to_owned(),
        port,
        secret: "K7Q29XJM4T".to_owned(),
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Source: RFC 4231, test cases 1, 2 and 6.
#[test]
fn hmac_gives_the_published_figures() {
    assert_eq!(
        hex(&hmac(&[0x0b; 20], &[b"Hi There"])),
        "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"
    );
    assert_eq!(
        hex(&hmac(b"Jefe", &[b"what do ya want ", b"for nothing?"])),
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    );
    let long = b"Test Using Larger Than Block-Size Key - Hash Key First";
    assert_eq!(
        hex(&hmac(&[0xaa; 131], &[long])),
        "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54"
    );
}

/// Source: RFC 7914, section 11: the first 32 bytes of PBKDF2-HMAC-SHA-256.
#[test]
fn stretching_gives_the_published_figure() {
    assert_eq!(
        hex(&stretched(b"passwd", b"salt", 1)),
        "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"
    );
    assert_eq!(
        hex(&stretched(b"Password", b"NaCl", 80_000)),
        "4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56"
    );
}

#[test]
fn a_code_is_read_as_it_is_written_and_as_people_type_it() {
    for (host, port) in [
        ("192.168.100.100", 7420),
        ("192.168.1.7", 17420),
        ("bench.example", 7420),
        ("fd00::7", 7420),
        ("fd00::7", 443),
    ] {
        let code = code(host, port);
        let (typed, page) = (code.to_string(), code.page_address());
        assert!(page.starts_with("https://") && page.contains("/#K7Q29XJM4T"));
        // In the pictures of earlier programs, all in capitals.
        let earlier = format!("FETTLE:{}", typed.replace('-', "").to_uppercase());
        for text in [
            typed.clone(),
            earlier,
            page.to_uppercase(),
            page.replace(":443/", "/"),
            page,
            typed.to_lowercase(),
            typed.replace('-', ""),
            typed.replace('-', " "),
            typed.replace('/', " "),
            typed.replace('/', " / ").replace('-', " - "),
            typed.replace("/K", "/ k "),
            format!("  {typed}\n"),
        ] {
            assert_eq!(TypedCode::parse(&text), Ok(code.clone()), "{text}");
        }
    }
    let zeros = TypedCode {
        secret: "0110011001".to_owned(),
        ..code("192.0.2.7", 7420)
    };
    let typed = zeros.to_string();
    let (address, letters) = typed.split_once('/').unwrap();
    let read = letters
        .replace('0', "o")
        .replacen('1', "l", 2)
        .replacen('1', "I", 1);
    assert_eq!(TypedCode::parse(&format!("{address}/{read}")), Ok(zeros));
    assert!(!format!("{:?}", code("h", 1)).contains("K7Q2"));
}

/// Every slip that a hand makes: one letter for another, and two neighbours that change places.
#[test]
fn what_is_mistyped_is_found_before_anything_is_sent() {
    for number in 0..200_u32 {
        let mixed = |at: u32| u8::try_from((number * 37 + at * 101 + number * at) % 251).unwrap();
        let secret = secret_of(std::array::from_fn(|at| mixed(u32::try_from(at).unwrap())));
        let code = TypedCode {
            secret,
            ..code("192.168.1.70", 7420)
        };
        let typed = code.to_string().replace('-', "");
        let start = typed.find('/').unwrap() + 1;
        for at in 0..typed.len() {
            let held = typed.as_bytes()[at];
            let others: &[u8] = if at >= start { LETTERS } else { b"0123456789" };
            for other in others.iter().filter(|other| **other != held) {
                if at < start && !held.is_ascii_digit() {
                    continue;
                }
                let mut wrong = typed.clone().into_bytes();
                wrong[at] = *other;
                let wrong = String::from_utf8(wrong).unwrap();
                assert_eq!(
                    TypedCode::parse(&wrong),
                    Err(NotTyped::Mistyped),
                    "{typed} {wrong}"
                );
            }
            let neighbours = typed.as_bytes().get(at..at + 2).unwrap_or_default();
            if let [one, two] = neighbours
                && one != two
                && ![b'/', b'.'].iter().any(|mark| one == mark || two == mark)
            {
                let mut wrong = typed.clone().into_bytes();
                wrong.swap(at, at + 1);
                let wrong = String::from_utf8(wrong).unwrap();
                assert_eq!(
                    TypedCode::parse(&wrong),
                    Err(NotTyped::Mistyped),
                    "{typed} {wrong}"
                );
            }
        }
    }
}

#[test]
fn what_is_no_code_is_told_by_its_part() {
    let good = code("192.0.2.7", 7420).to_string();
    for (text, wanted) in [
        ("", NotTyped::NoAddress),
        ("K7Q2-9XJM-4TB", NotTyped::NoAddress),
        ("a_b!/K7Q2-9XJM-4TB", NotTyped::Address("a_b!".to_owned())),
        (
            "192.0.2.7:0/K7Q2-9XJM-4TB",
            NotTyped::Address("192.0.2.7:0".to_owned()),
        ),
        ("192.0.2.7/K7Q2-9XJM-4U", NotTyped::Letter('U')),
        ("192.0.2.7/K7Q2-9XJM-é", NotTyped::Letter('é')),
        ("192.0.2.7/", NotTyped::Length(0)),
        ("fettle:192.0.2.7/K7Q2", NotTyped::Length(4)),
        (&format!("{good}0"), NotTyped::Length(12)),
    ] {
        assert_eq!(TypedCode::parse(text), Err(wanted.clone()), "{text}");
        assert!(wanted.to_string().ends_with('.'));
    }
}

/// Who stands between the two shows another certificate: no proof of one holds for the other.
#[test]
fn a_proof_holds_for_one_certificate_one_token_and_one_side() {
    let (fingerprint, other, token) = ([1; 32], [2; 32], [3; 32]);
    let key = Key::of("K7Q29XJM4T", &fingerprint);
    assert_ne!(key, Key::of("K7Q29XJM4T", &other));
    assert_ne!(key, Key::of("K7Q29XJM4V", &fingerprint));
    let proof = key.device_proof(&fingerprint, &token);
    assert_ne!(proof, key.device_proof(&other, &token));
    assert_ne!(proof, key.device_proof(&fingerprint, &other));
    assert_ne!(proof, key.shop_proof(&fingerprint, &token, ""));
    let shop = key.shop_proof(&fingerprint, &token, "book.device.");
    assert_ne!(shop, key.shop_proof(&fingerprint, &token, "book.other."));
    assert_eq!(Key::from_bytes(*key.as_bytes()), key);
}
