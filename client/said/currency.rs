//! The currency that a person's system speaks of, to be shown and changed, never taken in silence.

use std::env;

/// Currencies by the territories that pay in them. Source: ISO 4217, list one, by the codes of ISO 3166-1.
const TERRITORIES: [(&str, &str); 17] = [
    (
        "EUR",
        "AD AT BE CY DE EE ES FI FR GR HR IE IT LT LU LV MC MT NL PT SI SK SM VA",
    ),
    ("GBP", "GB GG IM JE"),
    ("USD", "US EC PR SV"),
    ("CHF", "CH LI"),
    ("SEK", "SE"),
    ("NOK", "NO"),
    ("DKK", "DK FO GL"),
    ("ISK", "IS"),
    ("PLN", "PL"),
    ("CZK", "CZ"),
    ("HUF", "HU"),
    ("RON", "RO"),
    ("CAD", "CA"),
    ("AUD", "AU"),
    ("NZD", "NZ"),
    ("ZAR", "ZA"),
    ("JPY", "JP"),
];

/// The currency of the locale; nothing where it names no territory that is known here.
pub(crate) fn of_locale() -> Option<&'static str> {
    let names = ["LC_ALL", "LC_MONETARY", "LANG"];
    let mut set = names.iter().filter_map(|name| env::var(name).ok());
    set.find(|value| !value.is_empty()).as_deref().and_then(of)
}

/// The currency of a locale such as `de_AT.UTF-8`.
fn of(locale: &str) -> Option<&'static str> {
    let (_, rest) = locale.split_once('_')?;
    let territory = rest.get(..2)?;
    let pays = |codes: &str| codes.split(' ').any(|code| code == territory);
    let mut all = TERRITORIES.iter();
    all.find(|(_, codes)| pays(codes))
        .map(|(currency, _)| *currency)
}

#[cfg(test)]
mod tests {
    use super::of;

    #[test]
    fn a_locale_names_its_currency() {
        assert_eq!(of("de_AT.UTF-8"), Some("EUR"));
        assert_eq!(of("en_GB"), Some("GBP"));
        assert_eq!(of("C.UTF-8"), None);
        assert_eq!(of("en_XX.UTF-8"), None);
        assert_eq!(of(""), None);
    }
}
