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

/// Rows of a page of a count: each has a tick, and what runs down a field.
pub(crate) const COUNT_ROWS: i32 = 50;

/// Bottles that are weighed on one page, and soiled pieces that are washed on one.
pub(crate) const DEED_ROWS: usize = 60;

/// Booked jobs that are offered at once: more than a month of a busy shop.
pub(crate) const JOB_ROWS: usize = 40;

/// Jobs of a day that are packed on one page, each with its whole pick.
pub(crate) const PACK_JOBS: usize = 3;

/// Orders that are listed, the latest of them: what is on its way, and what came last.
pub(crate) const ORDER_ROWS: i32 = 12;

/// Entries that are listed at once.
pub(crate) const ENTRY_ROWS: i32 = 25;

/// Deeds of an entry that are told in a list; the entry itself tells all of them.
pub(crate) const ENTRY_DEEDS: usize = 3;

/// Entries that are shown, each with its way back, after one form: as many as a page of a count can tell.
pub(crate) const RECORDED_ROWS: usize = 60;

/// How often a watch on which nothing comes says so, s: a telephone that has gone is found out by it.
pub(crate) const WATCH_SIGN_S: u64 = 20;

/// Longest form that is read to its end so that its sender is told that it is too long, in bytes: a sender that
/// is cut off while it sends shows no answer.
pub(crate) const FORM_BYTES_READ_MAX: usize = 8 * 1024 * 1024;

/// Entries of a piece's life that are shown, newest first.
pub(crate) const LIFE_ROWS: usize = 20;

/// How long a telephone stays paired without a visit, s: browsers keep a cookie for 400 days at most
/// (RFC 6265bis, section 5.5). Revoking ends it at once.
pub(crate) const SESSION_S: u32 = 400 * 86_400;
