//! What a van does: deeds as a person types them, and what each must come to in the book.
//!
//! It serves the rounds. Some deeds touch what is the van's own, some what both vans use, so that
//! they meet.

use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

/// The pad that both vans take.
pub(crate) const SHARED_PAD: &str = "P-06";
/// The gloves that both vans take from.
pub(crate) const GLOVES: &str = "S-02";

/// What is one van's own.
pub(crate) struct Own {
    pub(crate) pad: &'static str,
    pub(crate) bottle: &'static str,
    pub(crate) place: &'static str,
}

/// Which van has what.
pub(crate) const OWN: [Own; 2] = [
    Own {
        pad: "P-07",
        bottle: "B-02",
        place: "van-a",
    },
    Own {
        pad: "P-05",
        bottle: "B-04",
        place: "van-b",
    },
];

/// A deed to come, with what it does to the gloves.
pub(crate) enum Act {
    /// A use of a pad and so many pairs of gloves.
    Use { pad: &'static str, pairs: i64 },
    /// A count of the gloves, so many pairs fewer than the van thinks there are.
    Count { missing_pairs: i64 },
    /// New pads come.
    Receive { count: i64 },
    /// A car that nobody booked, with its job.
    WalkIn,
    /// Anything about the van's own kit.
    Other(Vec<String>),
}

impl Act {
    /// A deed drawn at random.
    pub(crate) fn draw(rng: &mut ChaCha8Rng, own: &Own) -> Self {
        match rng.random_range(0..12) {
            0..=2 => Self::Use {
                pad: SHARED_PAD,
                pairs: rng.random_range(1..4),
            },
            3..=5 => Self::Use {
                pad: own.pad,
                pairs: rng.random_range(1..4),
            },
            6 => Self::Count {
                missing_pairs: rng.random_range(0..3),
            },
            7 => Self::Other(words(&["wash", own.pad])),
            10 => Self::Receive {
                count: rng.random_range(1..3),
            },
            11 => Self::WalkIn,
            8 => Self::Other(words(&["move", own.bottle, "--to", own.place])),
            _ => {
                let gross_g = rng.random_range(400..600);
                Self::Other(words(&["weigh", &format!("{}={gross_g}g", own.bottle)]))
            }
        }
    }

    /// What is typed; `thought_pairs` are the gloves that the van thinks there are.
    pub(crate) fn typed(&self, note: &str, thought_pairs: impl FnOnce() -> i64) -> Vec<String> {
        let mut typed = match self {
            Self::Use { pad, pairs } => {
                let step = "machine=orbital-150, pad=coarse-foam-150, liquid=coarse-compound-1l, \
                            press=light";
                let gloves = format!("{GLOVES}={pairs}");
                words(&[
                    "log",
                    "--loose",
                    step,
                    "--sections",
                    "1",
                    "--pad",
                    pad,
                    "--sundry",
                    &gloves,
                ])
            }
            Self::Count { missing_pairs } => {
                let left = format!("{} pairs", thought_pairs() - missing_pairs);
                words(&["count", GLOVES, "--left", &left])
            }
            Self::Receive { count } => {
                words(&["receive", "coarse-foam-150", "--count", &count.to_string()])
            }
            Self::WalkIn => words(&["log", "--class", "city", "--routine", "finish-only"]),
            Self::Other(typed) => typed.clone(),
        };
        typed.extend(words(&["--note", note]));
        typed
    }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}
