//! What is measured, for how long, and where the files go: the arguments.

use std::path::PathBuf;
use std::time::Duration;

use crate::Fault;

/// What is measured, for how long, and where the files go.
pub(crate) struct Plan {
    pub(crate) part: String,
    pub(crate) callers: Vec<usize>,
    pub(crate) rounds: usize,
    pub(crate) round: Duration,
    pub(crate) entries: Vec<u64>,
    /// Shops on one node.
    #[cfg_attr(
        not(feature = "engine"),
        allow(dead_code, reason = "they are built in by a feature")
    )]
    pub(crate) books: Vec<usize>,
    pub(crate) folder: PathBuf,
    /// Another `fettled`, for what is measured beside it.
    pub(crate) beside: Option<PathBuf>,
}

impl Plan {
    /// The plan by these arguments.
    pub(crate) fn from_args(mut args: impl Iterator<Item = String>) -> Result<Self, Fault> {
        let mut plan = Self {
            part: "all".to_owned(),
            callers: Vec::new(),
            rounds: 5,
            round: Duration::from_secs(1),
            entries: Vec::new(),
            books: vec![10, 100, 1_000],
            folder: PathBuf::from("target"),
            beside: None,
        };
        while let Some(arg) = args.next() {
            let mut value = || args.next().ok_or(format!("{arg} needs a value"));
            match arg.as_str() {
                "--callers" => plan.callers = numbers(&value()?)?,
                "--rounds" => plan.rounds = value()?.parse()?,
                "--round-ms" => plan.round = Duration::from_millis(value()?.parse()?),
                "--entries" => plan.entries = numbers(&value()?)?,
                "--books" => plan.books = numbers(&value()?)?,
                "--beside" => plan.beside = Some(value()?.into()),
                "--dir" => plan.folder = value()?.into(),
                _ => plan.part = arg,
            }
        }
        if plan.callers.is_empty() {
            plan.callers = match plan.part.as_str() {
                "compare" => vec![1, 8, 64, 256],
                "shops" => vec![64],
                _ => vec![1, 8, 64],
            };
        }
        if plan.entries.is_empty() {
            plan.entries = match plan.part.as_str() {
                "shops" => vec![1_000],
                _ => vec![10_000, 100_000, 1_000_000],
            };
        }
        plan.entries.sort_unstable();
        Ok(plan)
    }

    /// Whether a part of the way is measured.
    pub(crate) fn wants(&self, part: &str) -> bool {
        self.part == part || self.part == "all"
    }
}

fn numbers<T: std::str::FromStr<Err = std::num::ParseIntError>>(
    text: &str,
) -> Result<Vec<T>, std::num::ParseIntError> {
    text.split(',').map(str::parse).collect()
}
