//! Whether day or month comes first where both are numbers.
//!
//! From memory of how dates are written in each country; where it is not plain, both readings are offered.

/// Which number of a date is the day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Order {
    /// 4/12 is the fourth of December.
    DayFirst,
    /// 4/12 is the twelfth of April.
    MonthFirst,
    /// Both are written there.
    Unclear,
}

/// Zones of countries where the month comes first.
const MONTH_FIRST: &[&str] = &[
    "America/Adak",
    "America/Anchorage",
    "America/Boise",
    "America/Chicago",
    "America/Denver",
    "America/Detroit",
    "America/Juneau",
    "America/Los_Angeles",
    "America/Menominee",
    "America/Metlakatla",
    "America/New_York",
    "America/Nome",
    "America/Phoenix",
    "America/Sitka",
    "America/Yakutat",
    "Pacific/Guam",
    "Pacific/Honolulu",
];

/// Beginnings of the names of such zones.
const MONTH_FIRST_IN: &[&str] = &[
    "US/",
    "America/Indiana/",
    "America/Kentucky/",
    "America/North_Dakota/",
];

/// Zones of countries where both are written.
const UNCLEAR: &[&str] = &[
    "America/Edmonton",
    "America/Halifax",
    "America/Moncton",
    "America/Montreal",
    "America/Regina",
    "America/St_Johns",
    "America/Toronto",
    "America/Vancouver",
    "America/Winnipeg",
    "America/Puerto_Rico",
    "Asia/Manila",
    "Asia/Seoul",
    "Asia/Shanghai",
    "Asia/Taipei",
    "Asia/Tokyo",
    "Africa/Johannesburg",
    "Africa/Nairobi",
];

/// Beginnings of the names of zones where the day comes first.
const DAY_FIRST_IN: &[&str] = &[
    "Africa/",
    "America/Argentina/",
    "America/Bogota",
    "America/Caracas",
    "America/Lima",
    "America/Mexico_City",
    "America/Montevideo",
    "America/Santiago",
    "America/Sao_Paulo",
    "Asia/",
    "Atlantic/",
    "Australia/",
    "Europe/",
    "Indian/",
    "Pacific/Auckland",
];

/// The order in a zone, by its name.
pub(super) fn of(zone: Option<&str>) -> Order {
    let Some(zone) = zone else {
        return Order::Unclear;
    };
    let begins = |names: &[&str]| names.iter().any(|name| zone.starts_with(name));
    if MONTH_FIRST.contains(&zone) || begins(MONTH_FIRST_IN) {
        Order::MonthFirst
    } else if !UNCLEAR.contains(&zone) && begins(DAY_FIRST_IN) {
        Order::DayFirst
    } else {
        Order::Unclear
    }
}
