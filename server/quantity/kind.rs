//! The kinds of quantity and the forms in which each may be written.
//!
//! The forms serve help texts and refusals alike, so a person sees the same list in both. Every
//! form listed here must parse; a test in the grammar holds that.

/// How a volume may be written.
pub const VOLUME_FORMS: &str = "250 ml, 1.5 l, 2 cl, 250 ul, 12 fl oz (US), 3*15 ml";
/// How a mass may be written.
pub const MASS_FORMS: &str = "412 g, 1.2 kg, 800 mg, 12 oz, 2 lb, 3*15 g";
/// How a length may be written.
pub const LENGTH_FORMS: &str = "150 mm, 15 cm, 6 in, 50 m";
/// How a film thickness may be written.
pub const THICKNESS_FORMS: &str = "90 um, 3.5 mil";
/// How an area may be written.
pub const AREA_FORMS: &str = "1.42 m2, 1200 cm2, 1200 mm x 900 mm";
/// How a span of time may be written.
pub const SECONDS_FORMS: &str = "45 s, 90 min, 2 h, 1 h 30 min, 2 days";
/// How a count may be written.
pub const COUNT_FORMS: &str = "3";
/// How an amount of any kind may be written.
pub const AMOUNT_FORMS: &str = "250 ml, 412 g, 8 dots, 2 m, 3";

/// What a quantity measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A volume of liquid.
    Volume,
    /// A mass.
    Mass,
    /// A length.
    Length,
    /// A film thickness.
    Thickness,
    /// An area.
    Area,
    /// A span of time.
    Time,
    /// A number of dots of product.
    Dots,
    /// A number of things.
    Count,
    /// Any of the kinds a liquid, pad or sundry is counted in.
    Amount,
}

impl Kind {
    /// The kind with its article, for a sentence.
    #[must_use]
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Volume => "a volume",
            Self::Mass => "a mass",
            Self::Length => "a length",
            Self::Thickness => "a thickness",
            Self::Area => "an area",
            Self::Time => "a time",
            Self::Dots => "a number of dots",
            Self::Count => "a count",
            Self::Amount => "an amount",
        }
    }

    /// The forms in which this kind may be written.
    #[must_use]
    pub const fn forms(self) -> &'static str {
        match self {
            Self::Volume => VOLUME_FORMS,
            Self::Mass => MASS_FORMS,
            Self::Length => LENGTH_FORMS,
            Self::Thickness => THICKNESS_FORMS,
            Self::Area => AREA_FORMS,
            Self::Time => SECONDS_FORMS,
            Self::Dots => "8 dots",
            Self::Count => COUNT_FORMS,
            Self::Amount => AMOUNT_FORMS,
        }
    }

    /// The largest quantity of this kind that is believed, in words.
    #[must_use]
    pub const fn limit_words(self) -> &'static str {
        match self {
            Self::Volume => "1000 l",
            Self::Mass => "1000 kg",
            Self::Length => "20 metres, or 10,000 metres of tape written in m",
            Self::Thickness => "10 mm",
            Self::Area => "1000 m2",
            Self::Time => "10 years",
            Self::Dots | Self::Count | Self::Amount => "1,000,000",
        }
    }

    /// The same limit in the integer unit of the kind.
    pub(crate) const fn limit(self) -> i64 {
        match self {
            Self::Volume | Self::Mass | Self::Area => 1_000_000_000,
            Self::Length => 20_000,
            Self::Thickness => 10_000,
            Self::Time => 10 * 366 * 86_400,
            Self::Dots | Self::Count | Self::Amount => 1_000_000,
        }
    }
}
