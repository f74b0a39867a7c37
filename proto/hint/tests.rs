//! What a device says of the certificate that it believes, as names in certificates are spelt.

use super::*;

fn hint(book_id: Option<&str>) -> Hint {
    Hint {
        fingerprint: [0xA5; 32],
        book_id: book_id.map(str::to_owned),
    }
}

/// The sequence around the parts, as it is sent.
fn name(hint: &Hint) -> Vec<u8> {
    let parts = hint.to_parts();
    let length = u8::try_from(parts.len()).unwrap();
    let head: &[u8] = if length < 0x80 {
        &[SEQUENCE, length]
    } else {
        &[SEQUENCE, 0x81, length]
    };
    [head, &parts].concat()
}

const ID: &str = "01980000-0000-7000-8000-0000000000ab";

#[test]
fn what_a_device_says_is_read_as_it_was_said() {
    for said in [hint(None), hint(Some(ID))] {
        assert_eq!(Hint::of_name(&name(&said)), Some(said));
    }
}

/// Source: `openssl asn1parse` reads these bytes as SET, SEQUENCE, OBJECT commonName, PRINTABLESTRING; ITU-T X.690,
/// clause 8.
#[test]
fn a_part_is_spelt_as_names_in_certificates_are() {
    let first = &hint(None).to_parts()[..13];
    let wanted = [
        0x31, 29, 0x30, 27, 0x06, 3, 0x55, 0x04, 0x03, 0x13, 20, b'F', b'e',
    ];
    assert_eq!(first, wanted);
}

#[test]
fn an_id_that_is_none_is_not_said() {
    for odd in ["", "x", &"é".repeat(18), &"a".repeat(400)] {
        assert_eq!(hint(Some(odd)).to_parts(), hint(None).to_parts(), "{odd}");
    }
}

#[test]
fn other_names_and_broken_ones_say_nothing() {
    let whole = name(&hint(Some(ID)));
    for end in 0..whole.len() {
        assert_eq!(Hint::of_name(&whole[..end]), None, "{end}");
    }
    assert_eq!(Hint::of_name(&[&whole[..], &[0]].concat()), None);
    for at in 0..whole.len() {
        let mut changed = whole.clone();
        changed[at] ^= 0x80;
        assert_eq!(Hint::of_name(&changed), None, "{at}");
    }
    let fingerprint = part((DN_QUALIFIER, &HEXLOWER.encode(&[0xA5; 32])));
    let named = |name: &str| [part((COMMON_NAME, name)), fingerprint.clone()].concat();
    let other = der(SEQUENCE, &named("Another authority"));
    assert_eq!(Hint::of_name(&other), None);
    let ours = der(SEQUENCE, &named(AUTHORITY_NAME));
    assert_eq!(Hint::of_name(&ours), Some(hint(None)));
    let only_named = part((COMMON_NAME, AUTHORITY_NAME));
    assert_eq!(Hint::of_name(&der(SEQUENCE, &only_named)), None);
}
