//! Lists in pages: how many rows, from where, and the token of the page after.
//!
//! It serves every list. A token is opaque to clients and holds for the list and the filters it was
//! given for; anything else is refused, never guessed at.

use fettlebook_model::Refusal;
use prost::Message;
use sha2::{Digest, Sha256};

use super::faults::both;
use super::status::EdgeError;
use crate::limits::{LIST_COUNT_MAX, PAGE_ROWS_DEFAULT};

/// Bytes of a token that tell it from what is not one.
const MARK_BYTES: usize = 8;

/// A page that was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Page {
    /// Most rows.
    pub(super) row_count: usize,
    /// Key of the last row of the page before.
    pub(super) after: Option<String>,
    list: String,
}

impl Page {
    /// Reads what was asked of a list by a request: `same` is the request without its page.
    pub(super) fn of(
        list: &str,
        same: &impl Message,
        page_size: i32,
        page_token: &str,
    ) -> Result<Self, EdgeError> {
        let filters = data_encoding::HEXLOWER.encode(&same.encode_to_vec());
        Self::parse(list, &[&filters], page_size, page_token)
    }

    /// Reads what was asked of a list with these filters.
    pub(super) fn parse(
        list: &str,
        filters: &[&str],
        page_size: i32,
        page_token: &str,
    ) -> Result<Self, EdgeError> {
        let row_count = match usize::try_from(page_size) {
            Ok(0) => Ok(PAGE_ROWS_DEFAULT),
            Ok(count) => Ok(count.min(LIST_COUNT_MAX)),
            Err(_) => Err(EdgeError::from(Refusal::invalid(
                "page_size",
                format!("`page_size` is {page_size}."),
                "Give how many rows you want, or 0 for the usual number.",
            ))),
        };
        let list = format!("{list}\0{}", filters.join("\0"));
        let after = match page_token {
            "" => Ok(None),
            token => opened(&list, token).map(Some).ok_or(EdgeError::PageToken),
        };
        let (row_count, after) = both(row_count, after)?;
        Ok(Self {
            row_count,
            after,
            list,
        })
    }

    /// Whether the row with this key comes after the page before, in a list ordered by its keys.
    pub(super) fn comes(&self, key: &str) -> bool {
        self.after.as_deref().is_none_or(|after| key > after)
    }

    /// Takes a page off rows that begin after the key; gives the rows and the next token, which is
    /// empty on the last page.
    pub(super) fn take<T>(
        &self,
        mut rows: impl Iterator<Item = T>,
        key: impl Fn(&T) -> String,
    ) -> (Vec<T>, String) {
        let page: Vec<T> = rows.by_ref().take(self.row_count).collect();
        let token = match page.last() {
            Some(last) if rows.next().is_some() => self.token(&key(last)),
            _ => String::new(),
        };
        (page, token)
    }

    /// The token of the page after the row with this key.
    pub(super) fn token(&self, key: &str) -> String {
        let mut token = String::with_capacity(2 * (MARK_BYTES + key.len()));
        for byte in mark(&self.list, key).into_iter().chain(key.bytes()) {
            token.push_str(&format!("{byte:02x}"));
        }
        token
    }
}

/// The key in a token, if this list gave it.
fn opened(list: &str, token: &str) -> Option<String> {
    let digits = token.as_bytes();
    if !digits.len().is_multiple_of(2) || !digits.iter().all(u8::is_ascii_hexdigit) {
        return None;
    }
    let bytes: Option<Vec<u8>> = digits
        .chunks(2)
        .map(|pair| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok())
        .collect();
    let bytes = bytes?;
    let (held, key) = bytes.split_at_checked(MARK_BYTES)?;
    let key = String::from_utf8(key.to_vec()).ok()?;
    (mark(list, &key).as_slice() == held).then_some(key)
}

fn mark(list: &str, key: &str) -> [u8; MARK_BYTES] {
    let hash = Sha256::new()
        .chain_update(list)
        .chain_update([0])
        .chain_update(key)
        .finalize();
    let mut mark = [0; MARK_BYTES];
    for (to, from) in mark.iter_mut().zip(hash) {
        *to = from;
    }
    mark
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pages(row_count: i32, rows: &[u32]) -> Vec<Vec<u32>> {
        let (mut token, mut all) = (String::new(), Vec::new());
        loop {
            let page = Page::parse("rows", &["f"], row_count, &token).unwrap();
            let after: u32 = page.after.as_deref().map_or(0, |key| key.parse().unwrap());
            let left = rows.iter().copied().filter(|row| *row > after);
            let (taken, next) = page.take(left, u32::to_string);
            all.push(taken);
            if next.is_empty() {
                return all;
            }
            token = next;
        }
    }

    #[test]
    fn pages_hold_every_row_once_and_the_last_has_no_token() {
        assert_eq!(
            pages(2, &[1, 2, 3, 4, 5]),
            [vec![1, 2], vec![3, 4], vec![5]]
        );
        assert_eq!(pages(2, &[1, 2, 3, 4]), [vec![1, 2], vec![3, 4]]);
        assert_eq!(pages(2, &[]), [Vec::<u32>::new()]);
    }

    #[test]
    fn a_page_has_a_hundred_rows_unless_told_and_never_over_a_thousand() {
        let rows = |asked| Page::parse("rows", &[], asked, "").unwrap().row_count;
        assert_eq!((rows(0), rows(7), rows(5_000)), (100, 7, 1_000));
        assert!(matches!(
            Page::parse("rows", &[], -1, ""),
            Err(EdgeError::Refused(_))
        ));
    }

    #[test]
    fn a_token_of_another_list_another_filter_or_nobody_is_refused() {
        let token = Page::parse("makes", &["a"], 0, "").unwrap().token("key");
        assert_eq!(
            Page::parse("makes", &["a"], 0, &token)
                .unwrap()
                .after
                .as_deref(),
            Some("key")
        );
        for (list, filter) in [("cars", "a"), ("makes", "b")] {
            let parsed = Page::parse(list, &[filter], 0, &token);
            assert_eq!(parsed, Err(EdgeError::PageToken), "{list} {filter}");
        }
        for bad in ["x", "00", "zz00zz00zz00zz00zz", "ab", &token[2..], "é0"] {
            assert_eq!(
                Page::parse("makes", &["a"], 0, bad),
                Err(EdgeError::PageToken),
                "{bad}"
            );
        }
    }
}
