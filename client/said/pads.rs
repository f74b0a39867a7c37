//! Pads as people count them: `5`, `5, 2 of them 8 jobs`, `5 2x8`, `3 new + 2x8`.

use super::{COUNT_MAX, is_none, plain};

/// Pads that have done as much as each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pads {
    /// How many.
    pub(crate) count: i64,
    /// Jobs that each has done; 0 for new ones.
    pub(crate) jobs: i64,
}

const FORMS: &str = "Write how many there are, and of used ones the jobs each has done: 5 (all new) or 5 2x8 \
     (five, two of which have done 8 jobs each)";

/// Words that say nothing beside the numbers.
const FILLERS: [&str; 16] = [
    "of", "them", "which", "jobs", "job", "with", "after", "each", "and", "pads", "pad", "done",
    "used", "did", "have", "pcs",
];

/// Reads how many pads there are and what they have behind them; new ones first.
///
/// # Errors
/// A sentence that says how it is written.
pub(crate) fn read(text: &str) -> Result<Vec<Pads>, String> {
    if is_none(text) {
        return Ok(Vec::new());
    }
    let unclear = || format!("'{}' is not clear. {FORMS}.", text.trim());
    let text = plain(text);
    if let Some(new) = text.strip_suffix(" new") {
        let count = number(new).ok_or_else(unclear)?;
        return Ok(vec![Pads { count, jobs: 0 }]);
    }
    let parted = text
        .replace([',', ';', '+', ':', '(', ')'], " ")
        .replace('x', " ");
    let words = parted
        .split_whitespace()
        .filter(|word| !FILLERS.contains(word));
    let is_sum = text.contains(" new ") || text.contains(" new,");
    let numbers = words
        .filter(|word| *word != "new")
        .map(number)
        .collect::<Option<Vec<i64>>>()
        .ok_or_else(unclear)?;
    let (first, rest) = numbers.split_first().ok_or_else(unclear)?;
    let used: Vec<Pads> = rest
        .chunks(2)
        .map(|pair| match pair {
            [count, jobs] => Some(Pads {
                count: *count,
                jobs: *jobs,
            }),
            _ => None,
        })
        .collect::<Option<_>>()
        .ok_or_else(unclear)?;
    let used_count: i64 = used.iter().map(|pads| pads.count).sum();
    let new = if is_sum {
        *first
    } else {
        first.saturating_sub(used_count)
    };
    if new < 0 {
        return Err(format!(
            "Of {first} pads {used_count} cannot be used ones. {FORMS}."
        ));
    }
    let all = [Pads {
        count: new,
        jobs: 0,
    }]
    .into_iter()
    .chain(used);
    Ok(all.filter(|pads| pads.count > 0).collect())
}

fn number(word: &str) -> Option<i64> {
    super::count(word).filter(|count| *count <= COUNT_MAX)
}

#[cfg(test)]
mod tests {
    use super::{Pads, read};

    fn pads(text: &str) -> Vec<(i64, i64)> {
        let read = read(text).unwrap_or_else(|why| panic!("{text}: {why}"));
        read.iter()
            .map(|Pads { count, jobs }| (*count, *jobs))
            .collect()
    }

    #[test]
    fn pads_are_counted_as_people_say_them() {
        assert_eq!(pads("5"), [(5, 0)]);
        assert_eq!(pads("5 new"), [(5, 0)]);
        assert_eq!(pads("5 2x8"), [(3, 0), (2, 8)]);
        assert_eq!(pads("5, 2 of them 8 jobs"), [(3, 0), (2, 8)]);
        assert_eq!(pads("5, 2 used 8 jobs each"), [(3, 0), (2, 8)]);
        assert_eq!(pads("5 1x3 1x12"), [(3, 0), (1, 3), (1, 12)]);
        assert_eq!(pads("3 new + 2x8"), [(3, 0), (2, 8)]);
        assert_eq!(pads("2 2x8"), [(2, 8)]);
        assert_eq!(pads("0"), []);
        assert_eq!(pads("none"), []);
    }

    #[test]
    fn what_is_unclear_is_refused_with_an_example_that_is_read() {
        for text in ["five", "5 2", "5 2x", "-3", "5 6x8", "501", ""] {
            let why = read(text).unwrap_err();
            assert!(why.contains("5 2x8"), "{text}: {why}");
        }
        assert_eq!(pads("5 2x8").len(), 2);
    }
}
