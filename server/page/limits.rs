//! Every limit of the page in one place, each with its reason.

/// Longest form taken, in bytes: a log of a job with every pad and bottle it may have takes a tenth.
pub(crate) const FORM_BYTES_MAX: usize = 64 * 1024;

/// Keys that are made of typed codes at a time: each takes hundredths of a second, and anyone may ask.
pub(crate) const KEYS_AT_ONCE_MAX: usize = 1;

/// Longest answer of the contract that is taken, in bytes: as much as the service sends.
pub(crate) const ANSWER_BYTES_MAX: usize = 16 * 1024 * 1024;

/// Rows of a list that are fetched at a time.
pub(crate) const FETCHED_ROWS: i32 = 1000;

/// Rows of a page of the kit: about 12 kB of HTML, a few screens to scroll.
pub(crate) const KIT_ROWS: i32 = 80;

/// Entries of a piece's life that are shown, newest first.
pub(crate) const LIFE_ROWS: usize = 20;

/// How long a telephone stays paired without a visit, s: browsers keep a cookie for 400 days at most
/// (RFC 6265bis, section 5.5). Revoking ends it at once.
pub(crate) const SESSION_S: u32 = 400 * 86_400;
