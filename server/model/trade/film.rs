//! What a paint film reading allows, the lowest reading deciding.
//!
//! It serves plan and check with guidance from common practice. A reading of the whole film does not
//! show the clear coat, so no band may ever be presented as a promise that paint can be cut.

mod readings;

use fettlebook_quantity::Thickness;

use crate::ground::word::word_enum;

pub use readings::{FilmReadings, FilmSet, OfJob, PanelSpots, SPOTS_MIN};
pub(crate) use readings::{SPOTS_MAX, gauge_error_um, has_grown};

/// What goes with every film reading shown.
pub const FILM_CAUTION: &str = "Guidance only: a gauge for the whole film does not show how much \
     clear coat is left. When in doubt have a specialist measure it.";

/// What that caution is about in a few words.
pub(crate) const FILM_HAZARD: &str = "a gauge does not show how much clear coat is left";

word_enum! {
    /// How much may be done on a film.
    FilmBand is "a film band" {
        /// Ordinary care.
        Ordinary = "ordinary",
        /// Work with caution.
        Caution = "caution",
        /// Fine liquids only.
        FineOnly = "fine-only",
        /// The finest liquid, by hand.
        FinestByHand = "finest-by-hand",
        /// Nothing abrasive.
        NoAbrasive = "no-abrasive",
    }
}

/// How hard a panel is worked, least first. What is polished by hand or by machine is abrasive in either.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Means {
    /// By hand, with a fine liquid.
    FineByHand,
    /// By machine, with a fine liquid.
    FineByMachine,
    /// With a liquid coarser than fine, by hand or by machine.
    Coarser,
}

impl FilmBand {
    /// Whether a panel of this band may be worked so.
    #[must_use]
    pub(crate) fn allows(self, means: Means) -> bool {
        match self {
            Self::Ordinary | Self::Caution => true,
            Self::FineOnly => means <= Means::FineByMachine,
            Self::FinestByHand => means == Means::FineByHand,
            Self::NoAbrasive => false,
        }
    }

    /// What ends a stop, beside leaving the panel out and having it measured; nothing where no abrasive
    /// does.
    #[must_use]
    pub(crate) const fn way_out(self) -> Option<&'static str> {
        match self {
            Self::FineOnly => Some("work it with fine liquids alone"),
            Self::FinestByHand => Some("work it by hand with the finest liquid alone"),
            Self::Ordinary | Self::Caution | Self::NoAbrasive => None,
        }
    }

    /// What to do, as a sentence.
    #[must_use]
    pub(crate) const fn guidance(self) -> &'static str {
        match self {
            Self::Ordinary => "Work with ordinary care and measure again between steps.",
            Self::Caution => {
                "Work with caution: the mildest step that does the job, measured between steps."
            }
            Self::FineOnly => "Fine liquids only, at low speed and with light pressure.",
            Self::FinestByHand => "The finest liquid only, by hand.",
            Self::NoAbrasive => "Nothing abrasive: leave this paint to a specialist.",
        }
    }
}

/// The lowest reading, in whole micrometres, at which each band still holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct FilmLimits {
    /// From here up: ordinary care.
    pub ordinary_um: i64,
    /// From here up: caution.
    pub caution_um: i64,
    /// From here up: fine only.
    pub fine_only_um: i64,
    /// From here up: finest by hand; below it nothing abrasive.
    pub by_hand_um: i64,
}

impl Default for FilmLimits {
    /// 100, 90, 80 and 70 µm. Basis: common practice, no source.
    fn default() -> Self {
        Self {
            ordinary_um: 100,
            caution_um: 90,
            fine_only_um: 80,
            by_hand_um: 70,
        }
    }
}

impl FilmLimits {
    /// The band of the lowest reading on a panel.
    #[must_use]
    pub(crate) const fn band(self, lowest: Thickness) -> FilmBand {
        let um = lowest.um();
        if um >= self.ordinary_um {
            FilmBand::Ordinary
        } else if um >= self.caution_um {
            FilmBand::Caution
        } else if um >= self.fine_only_um {
            FilmBand::FineOnly
        } else if um >= self.by_hand_um {
            FilmBand::FinestByHand
        } else {
            FilmBand::NoAbrasive
        }
    }
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::{Thickness, parse_micrometres};

    use super::{FILM_CAUTION, FilmBand, FilmLimits, Means};

    /// Basis: common practice, no source: 100, 90, 80, 70 µm.
    #[test]
    fn each_band_begins_at_its_limit() {
        let of = |um| FilmLimits::default().band(Thickness::from_um(um));
        assert_eq!((of(100), of(99)), (FilmBand::Ordinary, FilmBand::Caution));
        assert_eq!((of(90), of(89)), (FilmBand::Caution, FilmBand::FineOnly));
        assert_eq!(
            (of(80), of(79)),
            (FilmBand::FineOnly, FilmBand::FinestByHand)
        );
        assert_eq!(
            (of(70), of(69)),
            (FilmBand::FinestByHand, FilmBand::NoAbrasive)
        );
        assert_eq!(of(0), FilmBand::NoAbrasive);
    }

    /// Source: 1 mil = 25.4 µm by definition, so 3.9 mil = 99.06 µm stays below 100.
    #[test]
    fn a_reading_in_mils_falls_in_the_cautious_band() {
        let of = |mil| FilmLimits::default().band(parse_micrometres(mil).unwrap());
        assert_eq!(of("3.9 mil"), FilmBand::Caution);
        assert_eq!(of("4 mil"), FilmBand::Ordinary);
    }

    /// Basis: common practice, no source: below 70 µm nothing abrasive, below 80 by hand alone, below 90
    /// fine liquids alone.
    #[test]
    fn thinner_paint_allows_milder_means() {
        let allowed = |band: FilmBand| {
            [Means::FineByHand, Means::FineByMachine, Means::Coarser]
                .map(|means| band.allows(means))
        };
        assert_eq!(allowed(FilmBand::Ordinary), [true, true, true]);
        assert_eq!(allowed(FilmBand::Caution), [true, true, true]);
        assert_eq!(allowed(FilmBand::FineOnly), [true, true, false]);
        assert_eq!(allowed(FilmBand::FinestByHand), [true, false, false]);
        assert_eq!(allowed(FilmBand::NoAbrasive), [false, false, false]);
    }

    #[test]
    fn guidance_defers_and_promises_nothing() {
        for band in FilmBand::ALL {
            assert!(!band.guidance().to_lowercase().contains("safe"));
        }
        assert!(FILM_CAUTION.contains("specialist") && !FILM_CAUTION.contains("safe"));
    }
}
