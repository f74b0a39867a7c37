//! How a pad is cleaned while its step is worked: a pad that is cleaned in between works more sections
//! before it is too warm and loaded.

use crate::ground::word::word_enum;
use crate::trade::policy::PolicyKey;

word_enum! {
    /// How a pad is cleaned while its step is worked.
    Cleaning is "a way to clean a pad in between" {
        /// It is not.
        None = "none",
        /// With brush or air between panels.
        BetweenPanels = "between-panels",
        /// With brush or air after each section.
        AfterSections = "after-sections",
    }
}

impl Cleaning {
    /// The policy of how many sections a pad works so, in thousandths of those it works uncleaned; none
    /// where it is not cleaned.
    pub(crate) const fn load_key(self) -> Option<PolicyKey> {
        match self {
            Self::None => None,
            Self::BetweenPanels => Some(PolicyKey::LoadCleanedPanelsPermille),
            Self::AfterSections => Some(PolicyKey::LoadCleanedSectionsPermille),
        }
    }
}
