//! Tags as people read them: those in a row as a range.
//!
//! It serves what names many pieces at once.

/// The longest digits of a tag that are counted on.
const DIGITS_MAX: usize = 9;

/// Tags in order, three and more in a row as a range: `P-01…P-05, P-08`.
pub(crate) fn ranges(tags: &[&str]) -> String {
    let mut tags = tags.to_vec();
    tags.sort_by_key(|tag| order(tag));
    tags.dedup();
    let mut told: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(first) = tags.get(at) {
        let rest = tags.get(at..).unwrap_or_default();
        let pairs = rest.windows(2);
        let run = pairs
            .take_while(|pair| matches!(pair, [a, b] if follows(a, b)))
            .count();
        match rest.get(run) {
            Some(last) if run >= 2 => {
                told.push(format!("{first}…{last}"));
                at = at.saturating_add(run);
            }
            _ => told.push((*first).to_owned()),
        }
        at = at.saturating_add(1);
    }
    told.join(", ")
}

/// By what tags are put in order: P-9 comes before P-10.
pub(crate) fn order(tag: &str) -> (&str, Option<u32>, &str) {
    (letters(tag), number(tag), tag)
}

/// Whether the second tag is the next after the first.
fn follows(first: &str, second: &str) -> bool {
    let next = number(first).and_then(|number| number.checked_add(1));
    letters(first) == letters(second) && next.is_some() && next == number(second)
}

fn letters(tag: &str) -> &str {
    tag.split_once('-').map_or(tag, |(letters, _)| letters)
}

fn number(tag: &str) -> Option<u32> {
    let (_, digits) = tag.split_once('-')?;
    let is_number = digits.len() <= DIGITS_MAX && digits.bytes().all(|byte| byte.is_ascii_digit());
    is_number.then(|| digits.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::ranges;

    #[test]
    fn three_in_a_row_are_a_range_and_two_are_not() {
        let told = |tags: &str| ranges(&tags.split(' ').collect::<Vec<_>>());
        assert_eq!(told("P-05 P-01 P-02 P-03 P-08 P-04"), "P-01…P-05, P-08");
        assert_eq!(told("P-01 P-02"), "P-01, P-02");
        assert_eq!(told("P-09 P-10 P-11 B-12 P-11"), "B-12, P-09…P-11");
        assert_eq!(told("P-99 P-100 P-101"), "P-99…P-101");
        assert_eq!(told("P-999999999999 P-x P"), "P, P-999999999999, P-x");
        assert_eq!(ranges(&[]), "");
    }
}
