//! Every limit of the service in one place, each with its reason.
//!
//! It serves whoever tunes or reviews the service. A limit is a named constant with its unit last;
//! no other file may hold a bare number that bounds memory, time or length.

use std::time::Duration;

use jiff::SignedDuration;

/// Longest entry object, in bytes: more than the largest message the service takes (4 MiB) can
/// become as JSON, and a bound on what a damaged file can make a reader hold.
pub const ENTRY_BYTES_MAX: usize = 16 * 1024 * 1024;

/// Room made for an entry before it is written: most fit, and none of those is moved while it grows.
pub const ENTRY_BYTES_USUAL: usize = 1024;

/// Most of a journal that is read through before its book opens: the last segment and a little, which
/// is what a process that was killed leaves unproven. More than that is read through beside the work,
/// and nothing is recorded before that has ended.
pub const AUDIT_AT_OPEN_BYTES_MAX: u64 = SEGMENT_BYTES_MAX + SEGMENT_BYTES_MAX / 4;

/// Longest journal that is read through, in place of a start from the shelf, by who opens a book only to
/// look at it: reading so much takes less time than the shelf's threads and syncs.
pub const LOOK_BYTES_MAX: u64 = 512 * 1024;

/// Longest time an order waits for an audit that has not ended; its caller is told to come again then.
pub const AUDIT_WAIT_MAX: Duration = Duration::from_secs(1);

/// How often the writer looks whether others have changed files of the journal that are not written to
/// any more: what is done to them is found so soon, and looking costs nothing that can be measured.
pub const LOOK_EVERY: Duration = Duration::from_secs(1);

/// Groups after which the last segment is read again before it counts as proven: what others write into
/// it in the same moment as a group shows in none of its times. A process that does one command writes
/// less and is not held up by it.
pub const GROUPS_UNREAD_MAX: u64 = 16;

/// Longest wait until the clock of the disk shows another time than that of the last write, without
/// which a later write could not be told; clocks of disks tick every few thousandths of a second.
pub const TICK_WAIT_MAX: Duration = Duration::from_millis(20);

/// Bytes that one thread of an audit reads and checks at a time: enough that opening, seeking and
/// handing out cost nothing beside it, little enough to stay in a processor's memory.
pub const SWEEP_BLOCK_BYTES: usize = 1024 * 1024;

/// Most threads of an audit: by then the disk or the memory is the slower part.
pub const SWEEP_THREADS_MAX: usize = 8;

/// How often a journal is read through because somebody came upon damage that is not in it: the shelf
/// led him astray, and would again with every call.
pub const LOOK_INTO_EVERY: Duration = Duration::from_secs(1);

/// Bytes after which the journal begins the next segment file: small enough to copy and look into,
/// large enough that a busy shop has a few a year.
pub const SEGMENT_BYTES_MAX: u64 = 64 * 1024 * 1024;

/// Space set aside at once behind the last line, in bytes: a sync of a line that does not make the
/// file longer costs about two thirds. Filling it takes less than a millisecond; eight times as much
/// would be the longest wait of one call in a hundred.
pub const SET_ASIDE_BYTES: u64 = 512 * 1024;

/// Groups that must fit into the space set aside, or it is not worth filling.
pub const SET_ASIDE_GROUPS_MIN: u64 = 10;

/// Commands that may wait for the desk. More callers than that are told to come back, which keeps
/// the wait of those inside under a tenth of a second or so.
pub const QUEUE_LENGTH_MAX: usize = 1024;

/// Most commands written with one sync. Larger groups add wait but hardly any rate.
pub const GROUP_COUNT_MAX: usize = 256;

/// Bytes after which a group is closed: bounds the memory of a group of very large entries.
pub const GROUP_BYTES_MAX: usize = 4 * 1024 * 1024;

/// How far the clock may be ahead of the last entry before a person is asked, s: 180 days. A book
/// rests over a winter, and a clock set to the wrong year is caught.
pub const CLOCK_JUMP_S_MAX: i64 = 180 * 86_400;

/// How far the clock may be behind the last entry before the entry says so, s: a day. Less is how
/// clocks of one machine differ after an outage.
pub const CLOCK_BEHIND_S_MAX: i64 = 86_400;

/// Entries that may wait for the shelf before the desk waits for it. All that wait become one batch with those that
/// made the shelf's thread write, and no value in it may grow past 7 kB.
pub const SHELF_BACKLOG_COUNT_MAX: usize = 3_584;

/// Entries that make the shelf's thread write, with all that came meanwhile: enough that a record touched by many
/// of them is written once, few enough that a batch takes some milliseconds of a processor that callers want as well.
pub const SHELF_BATCH_COUNT_MAX: usize = 1024;

/// Entries from which on a batch is written by a thread of its own: what it needs of memory is given back with the
/// thread, and starting one costs nothing beside so many.
pub const SHELF_APART_COUNT_MIN: usize = 256;

/// Entries handed to the shelf together while a journal is read in. What waits there is in memory,
/// and on a busy machine the shelf falls behind.
pub const READ_IN_COUNT_MAX: usize = 128;

/// Longest time an entry waits for company on its way to the shelf.
pub const SHELF_DELAY_MAX: Duration = Duration::from_millis(100);

/// How far the shelf's thread stands back on the scale of nice(2), from 0 to 19: behind every caller, and yet not so
/// far that on a busy machine it gets nothing, and callers have to wait for it in the end.
pub const SHELF_NICENESS: i32 = 10;

/// How often a shelf that was lost is tried anew: a person who made room waits no longer.
pub const SHELF_TRY_EVERY: Duration = Duration::from_secs(1);

/// Memory the shelf may use for its pages. Its own default of 1 GiB is for servers.
pub const SHELF_CACHE_BYTES: u64 = 64 * 1024 * 1024;

/// The same for one of many books.
pub const SMALL_SHELF_CACHE_BYTES: u64 = 1024 * 1024;

/// Bytes of which the shelf of one of many books is written at a time, which it holds in memory: an eighth of what is
/// usual.
pub const SMALL_SHELF_SEGMENT_BYTES: usize = 64 * 1024;

/// How often the shelf hands its pages to the system. It needs no sync of its own: it can be
/// rebuilt from the journal, and the more is handed over, the less has to be.
pub const SHELF_FLUSH_EVERY: Duration = Duration::from_secs(1);

/// One place is kept for every so many entries; a reader walks on from there.
pub const PLACE_STEP: u64 = 64;

/// Longest time a second process waits for a book that is in use.
pub const LOCK_WAIT_MAX: Duration = Duration::from_secs(5);

/// How often a waiting process looks whether the book is free.
pub const LOCK_LOOK_EVERY: Duration = Duration::from_millis(20);

/// Longest time until an engine that keeps books has let a session in.
#[cfg(feature = "postgres")]
pub const ENGINE_CONNECT_WAIT_MAX: Duration = Duration::from_secs(5);

/// Longest time until it has answered something; what became of that is looked up then.
#[cfg(feature = "postgres")]
pub const ENGINE_WAIT_MAX: Duration = Duration::from_secs(10);

/// Certificates of books that a node remembers, each with how to speak by it: some ten kilobytes.
#[cfg(feature = "postgres")]
pub const BOOK_SEALS_MAX: usize = 1024;

/// How long it remembers one before it makes another leaf: far less than a leaf is good for.
#[cfg(feature = "postgres")]
pub const BOOK_SEAL_KEPT_FOR: Duration = Duration::from_secs(24 * 3600);

/// Such certificates that are looked for at once: whoever names books is nobody known, and the engine has other work.
#[cfg(feature = "postgres")]
pub const BOOK_SEALS_LOOKED_FOR_MAX: usize = 4;

/// How long after a paper of codes was written a device that names no book is looked for in it: while a code is open,
/// and a while longer, so that whoever comes late is told so.
#[cfg(feature = "postgres")]
pub const CODES_LOOKED_AT_FOR: Duration = Duration::from_secs(3600);

/// Books whose codes are looked at for such a device, those that were written last.
#[cfg(feature = "postgres")]
pub const CODES_LOOKED_AT_MAX: i64 = 1000;

/// Places whose wrong codes are counted for all books of a node: as many as can be sealed in a [`TRIES_WINDOW`].
#[cfg(feature = "postgres")]
pub const NEWCOMER_PLACES_MAX: usize = 16_384;

/// Such devices that are looked for at once.
#[cfg(feature = "postgres")]
pub const NEWCOMERS_LOOKED_FOR_MAX: usize = 2;

/// Longest time closing a book may take.
pub const CLOSE_WAIT_MAX: Duration = Duration::from_secs(10);

/// Most entries in one answer.
pub const LIST_COUNT_MAX: usize = 1000;

/// The writer waits for the next caller at most one in so many parts of what the last sync took.
pub const GATHER_SHARE: u32 = 8;

/// Longest message taken, in bytes: a log with every correction it may have takes a hundredth.
pub const MESSAGE_BYTES_MAX: usize = 4 * 1024 * 1024;

/// Longest message about devices, in bytes: anyone may send one, and the longest has a name.
pub const ACCESS_MESSAGE_BYTES_MAX: usize = 16 * 1024;

/// Bytes of the digest of each field in an etag: two states of a field that differ are taken for one
/// once in sixteen million times, and the etag of a make stays below a hundred digits.
pub const ETAG_DIGEST_BYTES: usize = 3;

/// Longest answer sent, in bytes: a page of a thousand large entries.
pub const ANSWER_BYTES_MAX: usize = 16 * 1024 * 1024;

/// Rows of a page when it is not said how many: what a person looks through.
pub const PAGE_ROWS_DEFAULT: usize = 100;

/// Longest sentence in a status, in bytes. It travels in headers, three times over, and the
/// common clients take 8 KiB of those.
pub const STATUS_TEXT_BYTES_MAX: usize = 700;

/// Text of all violations that a status names, in bytes; those that are beyond it are told when these are
/// mended. It travels in a header beside three sentences, in base64, and the common clients take 8 KiB.
pub const VIOLATIONS_BYTES_MAX: usize = 2_000;

/// Requests in flight on one connection. Further ones wait in the client.
pub const STREAMS_PER_CONNECTION_MAX: u32 = 256;

/// Bytes on their way in one request before its sender has to wait: a usual message whole.
pub const STREAM_WINDOW_BYTES: u32 = 1024 * 1024;

/// Bytes on their way in one connection before its sender has to wait: one largest message whole.
pub const CONNECTION_WINDOW_BYTES: u32 = 4 * 1024 * 1024;

/// Longest frame taken, in bytes: the least that HTTP/2 lets a peer rely on.
pub const FRAME_BYTES_MAX: u32 = 16 * 1024;

/// Longest headers of one request, in bytes. Ours are short.
pub const HEADER_BYTES_MAX: u32 = 16 * 1024;

/// Longest time a request may take: reading the whole of a journal of years, but not for ever. Of a
/// watch it bounds the beginning; what then streams may go on for days.
pub const REQUEST_TIME_MAX: Duration = Duration::from_secs(120);

/// Silence on a connection after which the other side is asked whether it is still there.
pub const KEEPALIVE_AFTER: Duration = Duration::from_secs(60);

/// Longest wait for that answer.
pub const KEEPALIVE_WAIT_MAX: Duration = Duration::from_secs(20);

/// Longest time a page may take nothing of what is sent to it, where HTTP has no way to ask whether it is
/// still there.
pub const PAGE_STALL_MAX: Duration = Duration::from_secs(30);

/// How long a browser may keep in mind that a page may ask: each call would cost two else. A page that is
/// named no more is refused so much later; it has to show a token all the same.
pub const PREFLIGHT_KEPT_FOR: Duration = Duration::from_secs(600);

/// Longest time requests in flight are given to finish when the service stops.
pub const DRAIN_WAIT_MAX: Duration = Duration::from_secs(10);

/// How often a node asks the engine whether a book is still its own.
#[cfg(feature = "postgres")]
pub const CONFIRM_EVERY: Duration = Duration::from_secs(1);

/// Longest time for which a node goes by such an answer: after that it does not read the book to anybody.
pub const CONFIRMED_MAX: Duration = Duration::from_secs(4);

/// How often a node that waits for a book looks who has it.
#[cfg(feature = "postgres")]
pub const HOLDER_LOOK_EVERY: Duration = Duration::from_millis(500);

/// How long a holder may have no session with the engine: where that began anew as another, it comes back.
#[cfg(feature = "postgres")]
pub const HOLDER_GONE_MAX: Duration = Duration::from_secs(2);

/// How long a holder may ask nothing of the engine, which it does each [`CONFIRM_EVERY`]. Longer than
/// [`CONFIRMED_MAX`], so that whoever is taken for silent reads to nobody any more.
#[cfg(feature = "postgres")]
pub const HOLDER_SILENT_MAX: Duration = Duration::from_secs(5);

/// How often a node looks which books there are: one that came is served without its being asked for, where it
/// is the only one, and one that went is told of.
#[cfg(feature = "postgres")]
pub const BOOKS_LOOK_EVERY: Duration = Duration::from_secs(2);

/// How often it looks at most because somebody names a book that it does not know: who names ids at random makes
/// the engine work no more than that.
#[cfg(feature = "postgres")]
pub const BOOKS_LOOK_AGAIN_AFTER: Duration = Duration::from_secs(1);

/// How long the engine may say nothing of the books before a node with several does not count as well.
#[cfg(feature = "postgres")]
pub const ENGINE_SILENT_MAX: Duration = Duration::from_secs(10);

/// Longest time a request waits for its book to be opened; its caller is told to come again then.
#[cfg(feature = "postgres")]
pub const BOOK_WAIT_MAX: Duration = Duration::from_secs(5);

/// Books that are opened at once: each reads a journal and has a processor busy with it for a while.
#[cfg(feature = "postgres")]
pub const BOOKS_OPENING_MAX: usize = 8;

/// Books for which something is done at once that nobody waits for, such as backups and the office's lists.
#[cfg(feature = "postgres")]
pub const BOOKS_BESIDE_MAX: usize = 2;

/// How long a book stays open that was asked for, even where others want its place: nobody's book is to be
/// opened for each of their requests anew.
#[cfg(feature = "postgres")]
pub const BOOK_SPARED_FOR: Duration = Duration::from_secs(3);

/// How long a node keeps looking at a book that another has, once nobody asks it any more.
#[cfg(feature = "postgres")]
pub const BOOK_AWAITED_FOR: Duration = Duration::from_secs(60);

/// Files that an open book has: its shelf's, and one more for a moment.
#[cfg(feature = "postgres")]
pub const BOOK_FILES_MAX: usize = 4;

/// Files and connections of a node beside its books and its callers: the engine's, the log, a backup.
#[cfg(feature = "postgres")]
pub const NODE_FILES_BESIDE: usize = 256;

/// Connections that a node takes at least, however few files it may have open: a shop's.
#[cfg(feature = "postgres")]
pub const NODE_CONNECTIONS_MIN: usize = 64;

/// Connections that it takes at most: four devices of each of a thousand shops, at some tens of kilobytes each.
#[cfg(feature = "postgres")]
pub const NODE_CONNECTIONS_MAX: usize = 4096;

/// How often it is looked which books nobody uses.
#[cfg(feature = "postgres")]
pub const BOOKS_SWEEP_EVERY: Duration = Duration::from_secs(1);

/// Books that are given back at once when a node stops.
#[cfg(feature = "postgres")]
pub const BOOKS_LEAVING_MAX: usize = 16;

/// Longest time in which a node gives its books back when it stops: what is not given back by then is taken over.
#[cfg(feature = "postgres")]
pub const LEAVE_WAIT_MAX: Duration = Duration::from_secs(60);

/// Requests for one book of a node that are under way, its watches among them: those beyond are told to come
/// again. A shop has some tens of devices; so much of one costs the others a few hundredths of a second.
pub const BOOK_ASKS_MAX: usize = 512;

/// How long a node waits before it tries again to open a book that it could not.
#[cfg(feature = "postgres")]
pub const OPEN_AGAIN_AFTER: Duration = Duration::from_secs(5);

/// How often the service looks whether it may still say that it is well.
pub const HEALTH_LOOK_EVERY: Duration = Duration::from_secs(1);

/// Soonest moment at which a caller that was turned away is told to come again.
pub const RETRY_AFTER_MIN: Duration = Duration::from_millis(20);

/// Latest such moment: it rests on a guess, and a disk that was slow once is not slow for ever.
pub const RETRY_AFTER_MAX: Duration = Duration::from_secs(2);

/// Connections open at once: far more than a shop has devices, and with the files of a book well
/// below the 1024 open files that a process is usually given. Further ones are closed at once, which
/// a client sees as a service that cannot be reached just now.
pub const CONNECTIONS_MAX: usize = 512;

/// Connections open at once on which no good token has come, where devices call; the rest of
/// [`CONNECTIONS_MAX`] is for those on which one has. A device shows its token within a second.
pub const STRANGERS_MAX: usize = 128;

/// Of these from one address, or from the network of one subscriber in IPv6: a shop behind one address
/// has fewer devices that begin to call within the same second.
pub const STRANGERS_PER_PLACE_MAX: usize = 32;

/// Of these from one site of IPv6, which has many thousand networks.
pub const STRANGERS_PER_SITE_MAX: usize = 64;

/// Places that a good token came from lately, which are remembered: a bound on memory, above what a shop
/// has.
pub const DEVICE_PLACES_MAX: usize = 64;

/// Longest time a connection may stay without a good token, from its first byte on: a slow link needs
/// two or three of them.
pub const STRANGER_TIME_MAX: Duration = Duration::from_secs(10);

/// How long a newcomer is not sent away for another from a place that is as crowded: sealing a
/// connection costs a millisecond, and whoever comes again and again must not have all of them.
pub const STRANGER_SPARED_FOR: Duration = Duration::from_secs(1);

/// Connections of strangers that are sealed in a second: ten shops could all come back within it, and
/// it takes a twentieth of one processor. Whoever comes beside them waits for a turn.
pub const STRANGER_SEALS_PER_S_MAX: u32 = 32;

/// Connections that are sealed in a second from where devices called lately, which go before the others:
/// above what the devices of a shop make, and a bound on whoever sits behind the same address.
pub const DEVICE_SEALS_PER_S_MAX: u32 = 128;

/// Turns at being sealed that are remembered, so that those go first from where few were: as many as
/// strangers have in a quarter of a minute.
pub const TURNS_REMEMBERED_MAX: usize = 512;

/// Shops for which the door of a service is as wide as for one: above it grows with them.
pub const SHOPS_PER_DOOR: usize = 10;

/// How much wider it gets for strangers at most: 256 connections are sealed in a second then, each in about a
/// millisecond of one processor, and three devices of each of a thousand shops are back in twelve seconds.
pub const WIDER_FOR_STRANGERS_MAX: usize = 8;

/// The same for places among those open, and for those who come from where devices called lately.
pub const WIDER_FOR_DEVICES_MAX: usize = 4;

/// Places of devices of many shops that are remembered: some of each of a thousand.
pub const DEVICE_PLACES_OF_MANY_MAX: usize = 4096;

/// Bytes that a connection may say without a good token: some pairings, and one message that is too
/// long and is told so.
pub const STRANGER_BYTES_MAX: usize = 128 * 1024;

/// Bytes on their way in one request of a device before its sender has to wait. Nobody may begin with
/// less. Source: RFC 9113, section 6.9.2.
pub const SEALED_STREAM_WINDOW_BYTES: u32 = 65_535;

/// Requests on a connection without a good token, answered or refused: enough for whoever copies a code
/// wrongly, or tries a token that is no good any more.
pub const STRANGER_ASKS_MAX: u32 = 40;

/// The time in which log lines about those who are refused are counted together.
pub const REFUSALS_WINDOW: Duration = Duration::from_secs(60);

/// Log lines about refusals of one address in a [`REFUSALS_WINDOW`]: enough to see what somebody tries.
pub const REFUSALS_TOLD_PER_ADDRESS_MAX: u32 = 20;

/// Log lines about refusals in a [`REFUSALS_WINDOW`], whoever is refused: some 60 kB, and 90 MB a day.
pub const REFUSALS_TOLD_MAX: u32 = 200;

/// Addresses whose refusals are counted in a [`REFUSALS_WINDOW`]: a bound on memory.
pub const REFUSING_ADDRESSES_MAX: usize = 1024;

/// Longest time a new connection may take to say what it speaks.
pub const PREFACE_WAIT_MAX: Duration = Duration::from_secs(10);

/// Wait after a connection could not be taken, for example for want of open files: trying again at
/// once would keep a processor busy with failing.
pub const ACCEPT_PAUSE: Duration = Duration::from_millis(50);

/// Watches of the book open at once: a screen or a program for each of a shop's devices, and what a
/// watch may hold is small.
pub const WATCHES_MAX: usize = 64;

/// Entries of a watch that are read and not yet taken by the connection.
pub const WATCH_AHEAD_COUNT_MAX: usize = 16;

/// Entries read for a follower at a time: one place on the shelf leads to so many.
pub const FOLLOW_COUNT_MAX: u64 = PLACE_STEP;

/// Longest time a watch may leave an entry that waits for it untaken. It is ended then, and told
/// where to go on.
pub const WATCH_STALL_MAX: Duration = Duration::from_secs(10);

/// Scrapes of the metrics that are answered at once: one program asks, every few seconds, and a
/// person who looks at the same time.
pub const SCRAPES_MAX: usize = 4;

/// Longest wait for what a scrape asks: a collector says it at once.
pub const SCRAPE_ASK_WAIT_MAX: Duration = Duration::from_secs(1);

/// Longest time a scrape may take from the connection to its last byte, so that one that stands still
/// gives its place back.
pub const SCRAPE_TIME_MAX: Duration = Duration::from_secs(10);

/// Bytes on their way between a client and a service in the same process.
pub const PIPE_BYTES: usize = 64 * 1024;

/// Bytes of one part of a backup: few calls for a large journal, little memory for each taker.
pub const BACKUP_PART_BYTES_MAX: usize = 256 * 1024;

/// Parts of a backup that are read ahead of who takes them.
pub const BACKUP_PART_QUEUE_LENGTH_MAX: usize = 4;

/// How often it is looked whether a backup is due: a clock may be set, and a machine may sleep.
pub const BACKUP_LOOK_EVERY: Duration = Duration::from_secs(60);

/// How often it is looked whether a book that was opened for its backup has one.
#[cfg(feature = "postgres")]
pub const BACKUP_WAIT_LOOK_EVERY: Duration = Duration::from_millis(100);

/// Longest wait before a backup that failed is tried again.
pub const BACKUP_TRY_EVERY: SignedDuration = SignedDuration::from_mins(15);

/// Longest manifest of a backup that is read: some ten thousand files.
pub const MANIFEST_BYTES_MAX: usize = 4 * 1024 * 1024;

/// Bytes of entries in one page of a copy: below the longest answer, in few calls.
pub const COPY_BYTES_MAX: usize = 8 * 1024 * 1024;

/// Longest file of the access folder that is read: some ten thousand devices.
pub const ACCESS_FILE_BYTES_MAX: u64 = 4 * 1024 * 1024;

/// How long a pairing code is open: the time to walk over to the van with it.
pub const CODE_OPEN_FOR: Duration = Duration::from_secs(10 * 60);

/// How long a code is kept after that, so that whoever comes with it late is told why not.
pub const CODE_KEPT_FOR: Duration = Duration::from_secs(24 * 3600);

/// Codes kept at once: a shop lets in a few devices a year. The oldest goes when one more is made.
pub const CODES_MAX: usize = 64;

/// Wrong or missing tokens and codes from one place in a [`TRIES_WINDOW`]; more are not looked at. Of the
/// 2^50 typed codes that is a hundred in the time that one is open.
pub const WRONG_TRIES_MAX: u32 = 10;

/// The time in which wrong tries from one place are counted together.
pub const TRIES_WINDOW: Duration = Duration::from_secs(60);

/// Places whose wrong tries are counted: a bound on memory, far above what one minute brings.
pub const TRIES_PLACES_MAX: usize = 4096;

/// Longest version that a device may say its program has, in bytes.
pub const VERSION_BYTES_MAX: usize = 40;

/// Shortest time between two rounds in which a book's answers are laid out for the office.
#[cfg(feature = "postgres")]
pub const OFFICE_EVERY: Duration = Duration::from_secs(3);

/// Longest time between two while nothing is recorded: what is at risk is so at a moment.
#[cfg(feature = "postgres")]
pub const OFFICE_ANEW_EVERY: Duration = Duration::from_secs(15 * 60);

/// How often it is written down when devices last called.
pub const USED_SAVED_EVERY: Duration = Duration::from_secs(60);

/// Longest time the exchange that begins a TLS connection may take.
pub const HANDSHAKE_WAIT_MAX: Duration = Duration::from_secs(10);

/// Longest wait for a client that does not speak TLS to take the answer that says so.
pub const PLAIN_ANSWER_WAIT_MAX: Duration = Duration::from_secs(2);

/// Years the own authority is good for: longer than any device of the shop, for a new one means
/// pairing them all again.
pub const AUTHORITY_YEARS: i32 = 20;

/// Years a certificate of the service is good for; it is renewed by itself.
pub const LEAF_YEARS: i32 = 2;

/// Days before its end at which that is done, at the start: a service may run for months.
pub const LEAF_RENEWED_DAYS: i64 = 90;

/// Days by which a certificate begins earlier: a device's clock may be off by one.
pub const CERTIFICATE_BACK_DAYS: i64 = 2;
