//! The text of a sheet, in whichever of the usual encodings a program saved it.

/// What the bytes 0x80 to 0x9f stand for. Source: the best-fit table of code page 1252 at unicode.org; its
/// unassigned five stay as they are.
const WINDOWS: [char; 32] = [
    '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}',
    '\u{90}', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
];

/// Text in UTF-8 or UTF-16 with its mark, in UTF-8 without, else as old spreadsheets save it.
pub(super) fn decoded(bytes: &[u8]) -> String {
    match bytes {
        [0xff, 0xfe, rest @ ..] => utf16(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => utf16(rest, u16::from_be_bytes),
        [0xef, 0xbb, 0xbf, rest @ ..] => utf8_or_windows(rest),
        bytes => utf8_or_windows(bytes),
    }
}

fn utf16(bytes: &[u8], word: fn([u8; 2]) -> u16) -> String {
    let words = bytes
        .chunks_exact(2)
        .filter_map(|pair| Some(word(pair.try_into().ok()?)));
    let letters = char::decode_utf16(words);
    letters
        .map(|letter| letter.unwrap_or(char::REPLACEMENT_CHARACTER))
        .collect()
}

fn utf8_or_windows(bytes: &[u8]) -> String {
    std::str::from_utf8(bytes).map_or_else(
        |_| bytes.iter().map(|byte| windows(*byte)).collect(),
        str::to_owned,
    )
}

fn windows(byte: u8) -> char {
    let special = byte.checked_sub(0x80).map(usize::from);
    let special = special.and_then(|at| WINDOWS.get(at)).copied();
    special.unwrap_or(char::from(byte))
}

#[cfg(test)]
mod tests {
    use super::decoded;

    #[test]
    fn each_usual_encoding_is_read() {
        assert_eq!(decoded("schön €".as_bytes()), "schön €");
        assert_eq!(decoded(b"\xef\xbb\xbfa;b"), "a;b");
        assert_eq!(decoded(b"sch\xf6n \x80 \xbd"), "schön € ½");
        assert_eq!(decoded(b"\xff\xfea\0;\0\xac\x20"), "a;€");
        assert_eq!(decoded(b"\xfe\xff\0a\x20\xac"), "a€");
        assert_eq!(decoded(b""), "");
    }
}
