//! Where a device looks for its shop, and what it holds of it.

use std::path::Path;

use super::day_and_time;
use crate::render::screen::Screen;
use crate::render::table::sheet;
use crate::render::tint;
use crate::shop::folder::Paired;
use crate::solo::SoloCopy;

/// The shop of this device; why it is out of reach, where it is.
pub(crate) fn way(
    screen: &Screen,
    paired: &Paired,
    away: Option<&str>,
    copy: Option<&SoloCopy>,
    folder: &Path,
) -> String {
    let mut places = paired.places().into_iter().map(|place| place.to_string());
    let first = places.next().unwrap_or_default();
    let others: Vec<String> = places.collect();
    let reached = match away {
        None => tint::good("yes, now"),
        Some(why) => format!("no: {why}"),
    };
    let copied = copy.map_or_else(
        || "none; 'fettle shop sync' takes one".to_owned(),
        |copy| format!("as of {}", day_and_time(copy.as_of_time)),
    );
    sheet(
        screen,
        [
            (
                "Device",
                format!("{}, with the role {}", paired.device, paired.role),
            ),
            ("Works at", paired.place.clone()),
            ("Shop at", first),
            ("Else at", others.join(", ")),
            ("Reached", reached),
            ("Copy", copied),
            ("Book", paired.book_id.clone()),
            ("Kept in", folder.display().to_string()),
        ],
    )
}
