//! Pairing codes that nobody has used, and what a script was given.

use fettlebook_contract::v1::OpenCode;

use super::devices::what_it_may;

use crate::render::screen::Screen;
use crate::render::table::{Column, table};
use crate::render::tint;
use crate::shop::folder::Paired;
use crate::shop::trust::OWN_NAME;

/// The codes that are open, a line each.
pub(crate) fn codes(screen: &Screen, codes: &[OpenCode]) -> String {
    if codes.is_empty() {
        let none = "No code is open. 'fettle shop pair --name NAME' makes one.";
        return screen.hung("", "", none);
    }
    table(
        screen,
        &[
            ("Code for", Column::Whole),
            ("Role", Column::Whole),
            ("Made by", Column::Whole),
            ("Open until", Column::Whole),
            ("Pairs anew", Column::Text),
        ],
        codes.iter().map(|code| {
            let again = if code.again { "yes" } else { "" };
            vec![
                code.name.clone(),
                what_it_may(code.role(), code.office),
                code.invited_by.clone(),
                screen.moment_or(code.expire_time.as_ref(), ""),
                again.to_owned(),
            ]
        }),
    )
}

/// A code that was ended.
pub(crate) fn withdrawn(screen: &Screen, code: &OpenCode) -> String {
    let what = format!("the code for {} lets nobody in any more.", code.name);
    screen.hung(&format!("{}: ", tint::good("withdrawn")), "  ", &what)
}

/// What a script was given, and how it uses it.
pub(crate) fn exported(screen: &Screen, paired: &Paired, certificate: &str, token: &str) -> String {
    let what = format!(
        "{} may call the shop at {}, with the role {}.",
        paired.device,
        paired.address(),
        paired.role
    );
    let believes =
        format!("whom it believes: the one certificate to trust, for the name {OWN_NAME}");
    let sends = "what it sends: the header authorization, with Bearer and the line in this file";
    let rest = format!(
        "Nobody else may read them; whoever has them may do what {0} may. 'fettle shop devices --revoke {0}' \
         shuts it out.",
        paired.device
    );
    // A path is copied as it stands, so it is not broken.
    [
        screen.hung(&format!("{}: ", tint::good("paired")), "  ", &what),
        tint::strong(certificate),
        screen.hung("  ", "  ", &believes),
        tint::strong(token),
        screen.hung("  ", "  ", sends),
        screen.hung("", "", &rest),
    ]
    .join("\n")
}
