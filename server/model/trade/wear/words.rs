//! The words of an inspection: what sets a thing aside, why a thing leaves the kit.
//!
//! They serve logging, binning and the life statistics, which must know a failure from a loss.

use crate::ground::word::word_enum;

word_enum! {
    /// What sets a thing aside until somebody has looked at it.
    AsideReason is "a reason to set aside" {
        /// It touched the ground.
        Dropped = "dropped",
        /// It met a liquid it must not carry.
        CrossLoaded = "cross-loaded",
        /// It waits for a closer look.
        Inspect = "inspect",
        /// It is lent, sent away or kept for something else.
        Other = "other",
    }
}

word_enum! {
    /// Why a thing left the kit.
    BinReason is "a reason to bin" {
        /// The face tore.
        Torn = "torn",
        /// The layers came apart.
        Peeling = "peeling",
        /// The face no longer lay flat.
        Cupped = "cupped",
        /// The face was hard and shiny with dried product.
        Glazed = "glazed",
        /// The fibres lay down for good.
        Matted = "matted",
        /// It no longer did its work.
        Worn = "worn",
        /// It still worked but was not trusted.
        Precaution = "precaution",
        /// It was not found.
        Lost = "lost",
        /// It met a liquid it must not carry.
        CrossLoaded = "cross-loaded",
        /// It was sold.
        Sold = "sold",
        /// It was damaged by something other than its work.
        Accident = "accident",
        /// It was used up.
        Empty = "empty",
        /// It was past its date.
        Expired = "expired",
    }
}

impl BinReason {
    /// Whether the life statistics take this as the end of a life; otherwise the life was cut off
    /// by something else. Precaution counts as a failure, which errs towards caution.
    #[must_use]
    pub(crate) const fn is_failure(self) -> bool {
        match self {
            Self::Torn
            | Self::Peeling
            | Self::Cupped
            | Self::Glazed
            | Self::Matted
            | Self::Worn
            | Self::Precaution => true,
            Self::Lost
            | Self::CrossLoaded
            | Self::Sold
            | Self::Accident
            | Self::Empty
            | Self::Expired => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{AsideReason, BinReason};

    #[test]
    fn what_was_lost_or_sold_says_nothing_about_wear() {
        let others: Vec<_> = BinReason::ALL
            .iter()
            .filter(|reason| !reason.is_failure())
            .collect();
        let words: Vec<_> = others.iter().map(|reason| reason.as_str()).collect();
        assert_eq!(
            words,
            [
                "lost",
                "cross-loaded",
                "sold",
                "accident",
                "empty",
                "expired"
            ]
        );
        assert!(BinReason::Precaution.is_failure());
    }

    #[test]
    fn words_are_typed_with_hyphens_and_stored_with_underscores() {
        assert_eq!("cross-loaded".parse(), Ok(AsideReason::CrossLoaded));
        let stored = serde_json::to_string(&BinReason::CrossLoaded).unwrap();
        assert_eq!(stored, "\"cross_loaded\"");
    }
}
