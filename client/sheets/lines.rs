//! The line of a file on which a record of comma-separated values stands.
//!
//! It serves every import, which names what is wrong by its line.

use csv::StringRecord;

/// Lines of the file, counted as the records are read. A record that follows empty lines or a
/// carriage return is said by its reader to begin before them.
pub(crate) struct Lines<'a> {
    text: &'a str,
    at: usize,
    line: i64,
}

impl<'a> Lines<'a> {
    /// The lines of a text, from its first.
    pub(crate) const fn of(text: &'a str) -> Self {
        Self {
            text,
            at: 0,
            line: 1,
        }
    }

    /// The line on which the first letter of a record stands; records are asked about in order.
    pub(crate) fn line(&mut self, record: &StringRecord) -> i64 {
        let said = record.position().map_or(0, csv::Position::byte);
        let said = usize::try_from(said).unwrap_or(usize::MAX);
        let ends_line = |byte: &u8| matches!(byte, b'\r' | b'\n');
        let bytes = self.text.as_bytes();
        let before = bytes.iter().skip(said).take_while(|byte| ends_line(byte));
        let begins = said.saturating_add(before.count());
        let passed = bytes.get(self.at..begins).unwrap_or_default();
        let next = passed.iter().skip(1).chain(std::iter::once(&0));
        let ends = passed
            .iter()
            .zip(next)
            .filter(|(byte, next)| **byte == b'\n' || (**byte == b'\r' && **next != b'\n'));
        self.line = self
            .line
            .saturating_add(i64::try_from(ends.count()).unwrap_or(0));
        self.at = begins;
        self.line
    }
}
