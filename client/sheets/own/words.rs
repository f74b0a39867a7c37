//! Words and numbers as cells hold them.

/// Lower case, letters without their marks, everything else a blank.
pub(super) fn plain(text: &str) -> String {
    let lower = text.to_lowercase();
    let letters = lower.chars().map(|letter| match letter {
        'ä' | 'à' | 'á' | 'â' | 'å' => 'a',
        'ö' | 'ò' | 'ó' | 'ô' | 'ø' => 'o',
        'ü' | 'ù' | 'ú' | 'û' => 'u',
        'é' | 'è' | 'ê' | 'ë' => 'e',
        'í' | 'ì' | 'î' | 'ï' => 'i',
        'ñ' => 'n',
        'ç' => 'c',
        letter if letter.is_alphanumeric() => letter,
        letter if matches!(letter, '#' | '/' | '.' | '%' | 'ß') => letter,
        _ => ' ',
    });
    let joined: String = letters.collect();
    joined
        .replace('ß', "ss")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// Words of a text.
pub(super) fn words(text: &str) -> Vec<String> {
    let parts = text.split(|letter: char| !letter.is_alphanumeric());
    let filled = parts.filter(|part| !part.is_empty());
    filled.map(plain).collect()
}

/// A text as an id, short enough for one.
pub(super) fn slug(text: &str) -> String {
    const LENGTH_MAX: usize = 48;
    let plain = plain(text);
    let words = plain.split(|letter: char| !letter.is_ascii_alphanumeric());
    let mut id = String::new();
    for word in words.filter(|word| !word.is_empty()) {
        let joined = if id.is_empty() {
            word.to_owned()
        } else {
            format!("{id}-{word}")
        };
        if joined.len() > LENGTH_MAX {
            break;
        }
        id = joined;
    }
    id
}

/// Numbers with what stands behind each, such as `12,5 mm`, in thousandths.
pub(super) fn measures(text: &str) -> Vec<(i64, String)> {
    let lower = text.to_lowercase().replace(',', ".");
    let mut found = Vec::new();
    let mut rest = lower.as_str();
    while let Some(start) = rest.find(|letter: char| letter.is_ascii_digit()) {
        let is_new = !rest
            .get(..start)
            .unwrap_or_default()
            .ends_with(|letter: char| letter.is_alphanumeric());
        rest = rest.get(start..).unwrap_or_default();
        let end = rest
            .find(|letter: char| !letter.is_ascii_digit() && letter != '.')
            .unwrap_or(rest.len());
        let number = rest.get(..end).unwrap_or_default().trim_end_matches('.');
        rest = rest.get(end..).unwrap_or_default();
        let behind = rest.trim_start();
        let unit_end = behind
            .find(|letter: char| {
                !(letter.is_alphabetic() || matches!(letter, '"' | '″' | '²' | '/'))
            })
            .unwrap_or(behind.len());
        let unit = behind
            .get(..unit_end)
            .unwrap_or_default()
            .trim_end_matches('/');
        if let (true, Some(number)) = (is_new, thousandths(number)) {
            found.push((number, unit.to_owned()));
        }
    }
    found
}

/// A number with a point, in thousandths; nothing for more than nine digits or two points.
fn thousandths(number: &str) -> Option<i64> {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let part = part.get(..3).unwrap_or(part);
    let is_number = whole.len() <= 9 && part.bytes().all(|byte| byte.is_ascii_digit());
    is_number
        .then(|| format!("{whole}{part:0<3}").parse().ok())
        .flatten()
}

#[cfg(test)]
mod tests {
    use super::{measures, plain, slug};

    #[test]
    fn words_become_ids() {
        assert_eq!(plain("Größe (mm)"), "grosse mm");
        assert_eq!(
            slug("Cutting Pad, orange 150 mm"),
            "cutting-pad-orange-150-mm"
        );
        assert_eq!(slug("Van A"), "van-a");
        assert_eq!(slug("***"), "");
        assert!(slug(&"long ".repeat(40)).len() <= 48);
    }

    #[test]
    fn numbers_are_found_with_their_units() {
        let found = |text| {
            let found = measures(text).into_iter();
            found
                .map(|(number, unit)| format!("{number}|{unit}"))
                .collect::<Vec<_>>()
        };
        assert_eq!(
            found("150 mm orbital, 15mm throw"),
            ["150000|mm", "15000|mm"]
        );
        assert_eq!(found("pad 5,5\""), ["5500|\""]);
        assert_eq!(found("M8 plate 125"), ["125000|"]);
        assert_eq!(found("400 g/m² towel"), ["400000|g/m²"]);
        assert_eq!(found("1L"), ["1000|l"]);
        assert_eq!(found("none"), [""; 0]);
    }
}
