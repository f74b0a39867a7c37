//! Lists of trade words: one word for each value, read leniently and printed one way.
//!
//! It serves every enum a person types or reads (panels, grades, reasons). An unknown word is
//! refused with the whole list; it is never matched to the nearest.

use thiserror::Error;

/// A word that is not in its list.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{word}' is not {what}; write one of: {accepted}")]
pub struct WordError {
    word: String,
    what: &'static str,
    accepted: String,
}

impl WordError {
    /// What is wrong, without the words that there are: `'hood' is not a panel`.
    #[must_use]
    pub fn what(&self) -> String {
        format!("'{}' is not {}", self.word, self.what)
    }

    /// The words that there are.
    #[must_use]
    pub fn accepted(&self) -> &str {
        &self.accepted
    }

    /// `what` with its article, such as "a panel"; `accepted` in the order to be shown.
    pub(crate) fn new(
        written: &str,
        what: &'static str,
        accepted: impl Iterator<Item = &'static str>,
    ) -> Self {
        const LONGEST_CHARS: usize = 40;
        let word = written
            .trim()
            .chars()
            .filter(|c| !c.is_control())
            .take(LONGEST_CHARS)
            .collect();
        Self {
            word,
            what,
            accepted: accepted.collect::<Vec<_>>().join(", "),
        }
    }
}

/// A word as looked up: lower case, with hyphens for spaces and underscores.
pub(crate) fn normal(written: &str) -> String {
    written.trim().to_lowercase().replace([' ', '_'], "-")
}

/// Declares an enum whose values have one word each, with `ALL`, `as_str`, `Display` and `FromStr`.
macro_rules! word_enum {
    (
        $(#[$meta:meta])*
        $name:ident is $what:literal {
            $( $(#[$doc:meta])* $variant:ident = $word:literal ),+ $(,)?
        }
    ) => {
        $(#[$meta])*
        #[derive(
            Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
        )]
        #[serde(rename_all = "snake_case")]
        pub enum $name {
            $( $(#[$doc])* $variant ),+
        }

        impl $name {
            /// Every value, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word people type and read.
            #[must_use]
            pub const fn as_str(self) -> &'static str {
                match self {
                    $( Self::$variant => $word ),+
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.as_str())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::ground::word::WordError;

            fn from_str(written: &str) -> Result<Self, Self::Err> {
                let word = $crate::ground::word::normal(written);
                Self::ALL.iter().copied().find(|one| one.as_str() == word).ok_or_else(|| {
                    let words = Self::ALL.iter().map(|one| one.as_str());
                    $crate::ground::word::WordError::new(written, $what, words)
                })
            }
        }
    };
}
pub(crate) use word_enum;

#[cfg(test)]
mod tests {
    use crate::trade::wear::AsideReason;

    #[test]
    fn a_word_is_read_in_any_case_and_with_spaces_or_underscores() {
        for written in ["cross-loaded", " Cross Loaded ", "CROSS_LOADED"] {
            assert_eq!(written.parse(), Ok(AsideReason::CrossLoaded));
        }
        assert_eq!(AsideReason::CrossLoaded.to_string(), "cross-loaded");
    }

    #[test]
    fn an_unknown_word_is_refused_with_the_list() {
        let said = "lost".parse::<AsideReason>().unwrap_err().to_string();
        assert_eq!(
            said,
            "'lost' is not a reason to set aside; write one of: dropped, cross-loaded, inspect, other"
        );
    }
}
