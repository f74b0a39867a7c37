//! What is said to the engine.
//!
//! Each is one statement and so one transaction: it counts whole or not at all, and once it was answered
//! it is certain. Names are whole, so that no search path of a role sends one elsewhere.

use uuid::Uuid;

/// Version of the tables that this program knows.
pub(super) const SCHEMA_VERSION: i32 = 4;

/// How a session is before anything else is asked of it: no acknowledgement before its commit is as
/// certain as the engine can make it, whatever a role or a database says, and no clock of the engine that
/// ends a commit half-way.
pub(super) const BEGIN_SESSION: &str = "SET synchronous_commit = on; SET statement_timeout = 0; \
     SET lock_timeout = 0; SET idle_session_timeout = 0; SET client_min_messages = warning";

/// A session that nobody is behind any more ends by itself then, with the locks that it has. Some systems cannot.
pub(super) const END_WHEN_ALONE: &str = "SET client_connection_check_interval = '2s'";

/// Whether the tables are there, for a role that may not see them too.
pub(super) const HAS_SCHEMA: &str = "SELECT to_regclass('fettle.schema_version') IS NOT NULL";

/// The newest version of the tables.
pub(super) const SCHEMA: &str = "SELECT coalesce(max(version), 0) FROM fettle.schema_version";

/// Whether the engine keeps what it acknowledged through a loss of power.
pub(super) const IS_SYNCED: &str = "SELECT current_setting('fsync')::boolean";

/// One that went elsewhere counts where it is named, or where there is no other.
pub(super) const BOOKS: &str = "SELECT id FROM fettle.book \
     WHERE CASE WHEN $1::uuid IS NULL \
         THEN moved IS NULL OR NOT EXISTS (SELECT FROM fettle.book WHERE moved IS NULL) \
         ELSE id = $1 END \
     ORDER BY begun_at, id LIMIT 2";

pub(super) const LOOK: &str = "SELECT incarnation, since_seq, epoch, holder, line_bytes, moved \
     FROM fettle.book WHERE id = $1";

/// What others see of the sessions of a process, in the list that every role may read. What they ask, and
/// when they last did, is shown to those of the same role.
pub(super) const SESSION: &str = "fettled ";

/// The name of the sessions of a process.
pub(super) fn session_name(node: Uuid) -> String {
    format!("{SESSION}{node}")
}

/// All books, the first begun first.
pub(super) const IDS: &str = "SELECT id, moved IS NOT NULL FROM fettle.book ORDER BY begun_at, id";

/// Where each book ends that has entries, and what was noted of its upkeep.
pub(super) const ENDS: &str = "SELECT book.id, book.incarnation, book.head_seq, note.bytes FROM fettle.book \
     LEFT JOIN fettle.note ON note.book = book.id AND note.about = 'upkeep' \
     WHERE book.moved IS NULL AND book.head_seq > 0 ORDER BY book.id";

/// Of each book who has the right, how many sessions they have, and when one of those last began or ended
/// something.
pub(super) const SEEN: &str = "\
SELECT book.id, book.holder, count(there.pid),
    (extract(epoch FROM max(there.state_change)) * 1000000)::bigint
FROM fettle.book
LEFT JOIN pg_catalog.pg_stat_activity AS there ON there.datname = current_database()
    AND there.application_name = $2::text || (book.holder::jsonb ->> 'node')
WHERE book.id = ANY($1) GROUP BY book.id, book.holder";

/// Of each book who has the right, and how many bytes its lines have.
pub(super) const HOLDERS: &str =
    "SELECT id, holder, line_bytes FROM fettle.book WHERE id = ANY($1)";

/// Locks of a session, so that two who begin the only book do it one after the other.
pub(super) const BEGIN_TURN: &str = "SELECT pg_advisory_lock(22)";
pub(super) const BEGIN_TURN_OVER: &str = "SELECT pg_advisory_unlock(22)";

pub(super) const BEGIN_BOOK: &str = "INSERT INTO fettle.book (id, incarnation) SELECT $1::uuid, $1::uuid \
     WHERE NOT EXISTS (SELECT FROM fettle.book)";

/// Only where the epoch is what was read: of two who take a book over one does.
pub(super) const TAKE_OVER: &str = "UPDATE fettle.book SET epoch = epoch + 1, holder = $3 \
     WHERE id = $1 AND epoch = $2 RETURNING epoch, head_seq, head_chain, line_bytes";

/// Asked after an outcome that is not known. A look would not do: it shows what no standby may have yet,
/// and a group that still comes later would count. With the next epoch no such group counts, and its own
/// commit waits for all before it. It may be asked again: who holds the book is theirs alone.
pub(super) const SETTLE: &str = "UPDATE fettle.book SET epoch = epoch + 1 \
     WHERE id = $1 AND holder = $2 RETURNING epoch, head_seq, head_chain, line_bytes";

pub(super) const GIVE_BACK: &str =
    "UPDATE fettle.book SET holder = NULL WHERE id = $1 AND holder = $2";

/// A group. It counts only behind the head it was made for, and while the right is still the writer's: a
/// row that another is changing is waited for, and looked at again then.
///
/// The lists are laid out side by side as they are put in. As a table that is read from each would be written aside
/// first, in so much memory that the engine gives it back to the system after every group: a quarter of the time
/// that a group of one takes.
pub(super) const APPEND: &str = "\
WITH held AS (
    UPDATE fettle.book
    SET head_seq = $3 + cardinality($6::text[]), head_chain = ($6::text[])[cardinality($6::text[])],
        line_bytes = line_bytes + $5
    WHERE id = $1 AND epoch = $2 AND head_seq = $3 AND head_chain = $4
    RETURNING id
)
INSERT INTO fettle.entry (book, seq, chain, after, request, bytes)
SELECT id, $3 + generate_subscripts($6::text[], 1), unnest($6::text[]), $3, unnest($7::uuid[]), unnest($8::bytea[])
FROM held";

/// Entries in order, and no further one behind so many bytes; the first is always given. Both ends are
/// named, and near each other: an engine that knows little of its table would sort all of the rest. With each
/// stands where the engine that answers knows the journal to end: one row without an entry where it has none.
pub(super) const LINES: &str = "\
SELECT head_seq, line.seq, line.chain, line.bytes
FROM fettle.book LEFT JOIN (
    SELECT seq, chain, bytes, sum(octet_length(bytes)) OVER (ORDER BY seq) - octet_length(bytes) AS before
    FROM fettle.entry WHERE book = $1 AND seq BETWEEN $2 AND $3
) AS line ON before < $4::bigint
WHERE id = $1 ORDER BY line.seq";

pub(super) const CHAIN_AT: &str = "SELECT chain FROM fettle.entry WHERE book = $1 AND seq = $2";

/// The lock that tells who is there.
pub(super) const BE_THERE: &str =
    "SELECT pg_try_advisory_lock(hashtextextended($1::uuid::text, 22))";
pub(super) const BE_GONE: &str = "SELECT pg_advisory_unlock(hashtextextended($1::uuid::text, 22))";

/// The turn of whoever changes codes or certificates, on a session of its own.
pub(super) const TURN: &str = "SELECT pg_advisory_lock(hashtextextended($1::uuid::text, 23))";

pub(super) const READ_PAPER: &str =
    "SELECT version, bytes FROM fettle.paper WHERE book = $1 AND kind = $2";

pub(super) const FIRST_PAPER: &str = "INSERT INTO fettle.paper (book, kind, version, bytes) \
     VALUES ($1, $2, 1, $3) ON CONFLICT DO NOTHING RETURNING version";

pub(super) const REPLACE_PAPER: &str = "UPDATE fettle.paper \
     SET version = version + 1, bytes = $3, written_at = now() \
     WHERE book = $1 AND kind = $2 AND version = $4 RETURNING version";

/// Over whatever is there, for whoever has not looked.
pub(super) const PUT_PAPER: &str = "INSERT INTO fettle.paper (book, kind, version, bytes) \
     VALUES ($1, $2, 1, $3) ON CONFLICT (book, kind) \
     DO UPDATE SET version = paper.version + 1, bytes = EXCLUDED.bytes, written_at = now() RETURNING version";

/// Papers of codes that were written within so many seconds, the last first.
pub(super) const CODES_LATELY: &str = "SELECT book, bytes FROM fettle.paper \
     WHERE kind = 'code' AND bytes <> '' AND written_at > now() - make_interval(secs => $1::double precision) \
     ORDER BY written_at DESC LIMIT $2::bigint";

/// The books that are there, for people.
pub(super) const NAMED_BOOKS: &str = "SELECT id, name, head_seq, to_char(begun_at, 'YYYY-MM-DD') \
     FROM fettle.book WHERE moved IS NULL ORDER BY begun_at, id";

pub(super) const BEGIN_ANOTHER: &str =
    "INSERT INTO fettle.book (id, incarnation, name) VALUES ($1::uuid, $1::uuid, $2::text)";

pub(super) const NOTE: &str = "SELECT bytes FROM fettle.note WHERE book = $1 AND about = $2";

pub(super) const KEEP_NOTE: &str = "INSERT INTO fettle.note (book, about, bytes) VALUES ($1, $2, $3) \
     ON CONFLICT (book, about) DO UPDATE SET bytes = EXCLUDED.bytes";

/// Whoever took over since is not told that the book they have went elsewhere. The next epoch tells whoever
/// has looked before, and is about to take it.
pub(super) const MARK_MOVED: &str = "UPDATE fettle.book SET moved = $3, epoch = epoch + 1 \
     WHERE id = $1 AND holder = $2";

/// The turn of whoever brings a book, for as long as the transaction lasts in which it comes.
pub(super) const ARRIVE_TURN: &str =
    "SELECT pg_try_advisory_xact_lock(hashtextextended($1::uuid::text, 24))";

pub(super) const ARRIVE: &str = "INSERT INTO fettle.book (id, incarnation, since_seq, name) \
     VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING";

/// What let devices in before a book went elsewhere lets nobody in once it is back. No role that serves may remove a
/// paper, and an empty one is none.
pub(super) const EMPTY_PAPERS: &str = "UPDATE fettle.paper \
     SET version = version + 1, bytes = '', written_at = now() WHERE book = $1";

/// A book that is there already, held until the transaction ends.
pub(super) const ARRIVE_AGAIN: &str = "SELECT head_seq, head_chain, moved FROM fettle.book \
     WHERE id = $1 FOR UPDATE";

/// Entries as they were elsewhere.
pub(super) const PUT_LINES: &str = "\
INSERT INTO fettle.entry (book, seq, chain, after, request, bytes)
SELECT $1, line.seq, line.chain, line.after, line.request, line.bytes
FROM unnest($2::bigint[], $3::text[], $4::bigint[], $5::uuid[], $6::bytea[])
    AS line (seq, chain, after, request, bytes)";

/// Begins with the book's row to mend it: whoever took over since is not held up, and nobody takes over while it lasts.
/// It has gone elsewhere for as long as that, and comes back as another life.
pub(super) const MEND: &str = "UPDATE fettle.book SET moved = 'mended' \
     WHERE id = $1 AND holder = $2 AND moved IS NULL";

/// What was noted of the life before says nothing of the next; an empty note is none. What the office sees is laid out
/// anew.
pub(super) const EMPTY_NOTES: &str = "UPDATE fettle.note SET bytes = '' WHERE book = $1";
pub(super) const TAKE_AWAY_ANSWERS: &str = "DELETE FROM fettle.answer WHERE book = $1";
pub(super) const TAKE_AWAY_LAID_OUT: &str = "DELETE FROM fettle.laid_out WHERE book = $1";

/// Rows of entries from behind a number on, whatever state they are in, and no further one behind so many bytes; one
/// row without an entry where there is none. Nothing at all where the right is another's, or what answers does not
/// know yet whose it is.
pub(super) const ROWS: &str = "\
SELECT line.seq, line.chain, line.bytes
FROM fettle.book LEFT JOIN (
    SELECT seq, chain, bytes, sum(octet_length(bytes)) OVER (ORDER BY seq) - octet_length(bytes) AS before
    FROM (SELECT seq, chain, bytes FROM fettle.entry WHERE book = $1 AND seq > $2 ORDER BY seq LIMIT 256) AS batch
) AS line ON before < $3::bigint
WHERE id = $1 AND holder = $4 ORDER BY line.seq";

pub(super) const REMOVE_LINES: &str = "DELETE FROM fettle.entry WHERE book = $1 AND seq = ANY($2)";

/// Whether the entries of a book are those up to a number and no others.
pub(super) const ARE_ALL: &str = "SELECT count(*) = $2::bigint AND coalesce(max(seq), 0) = $2::bigint \
     FROM fettle.entry WHERE book = $1";

pub(super) const ARRIVED: &str = "UPDATE fettle.book \
     SET incarnation = $2, since_seq = $3, head_seq = $3, head_chain = $4, line_bytes = $5, \
         epoch = epoch + 1, holder = NULL, moved = NULL WHERE id = $1";

/// Whether a book came is asked behind whatever still brings it, and by a write: its commit waits for all
/// before it.
pub(super) const ARRIVED_TURN: &str =
    "SELECT pg_advisory_lock(hashtextextended($1::uuid::text, 24))";
pub(super) const ARRIVED_TURN_OVER: &str =
    "SELECT pg_advisory_unlock(hashtextextended($1::uuid::text, 24))";
pub(super) const HAS_ARRIVED: &str = "UPDATE fettle.book SET epoch = epoch + 1 \
     WHERE id = $1 AND incarnation = $2";

/// What the office sees is laid out beside the book. The book's row is looked at and not held: no group waits
/// for it. Whoever was deposed is not named in it any more.
pub(super) const DEEDS_UNTIL: &str = "SELECT deeds_until FROM fettle.laid_out WHERE book = $1";

pub(super) const ADD_DEEDS: &str = "\
WITH held AS (
    INSERT INTO fettle.laid_out (book, deeds_until)
    SELECT id, $3::bigint FROM fettle.book WHERE id = $1 AND holder = $2
    ON CONFLICT (book) DO UPDATE SET deeds_until = greatest(laid_out.deeds_until, EXCLUDED.deeds_until)
    RETURNING book
), put AS (
    INSERT INTO fettle.answer (book, list, key, told)
    SELECT held.book, row.list, row.key, row.told::jsonb
    FROM held, unnest($4::text[], $5::text[], $6::text[]) AS row (list, key, told)
    ON CONFLICT (book, list, key) DO UPDATE SET told = EXCLUDED.told
)
SELECT EXISTS (SELECT FROM held)";

/// Rows that are as they were are left alone.
pub(super) const LAY_OUT: &str = "\
WITH held AS (
    INSERT INTO fettle.laid_out (book, seq, at)
    SELECT id, $3::bigint, now() FROM fettle.book WHERE id = $1 AND holder = $2
    ON CONFLICT (book) DO UPDATE SET seq = EXCLUDED.seq, at = EXCLUDED.at
    RETURNING book
), row AS (
    SELECT * FROM unnest($4::text[], $5::text[], $6::text[]) AS row (list, key, told)
), gone AS (
    DELETE FROM fettle.answer USING held WHERE answer.book = held.book AND answer.list <> 'deed'
    AND NOT EXISTS (SELECT FROM row WHERE row.list = answer.list AND row.key = answer.key)
), put AS (
    INSERT INTO fettle.answer (book, list, key, told)
    SELECT held.book, row.list, row.key, row.told::jsonb FROM held, row
    ON CONFLICT (book, list, key) DO UPDATE SET told = EXCLUDED.told
    WHERE answer.told IS DISTINCT FROM EXCLUDED.told
)
SELECT EXISTS (SELECT FROM held)";

/// Each shop as whoever has its book laid it out last, and how many milliseconds ago that was. One clock says so, the
/// engine's: those of the machines that lay out and ask may be apart.
pub(super) const SHOPS: &str = "\
SELECT book.id, book.name, line.told::text, cost.told::text,
    (extract(epoch FROM now() - laid_out.at) * 1000)::bigint
FROM fettle.book
LEFT JOIN fettle.laid_out ON laid_out.book = book.id
LEFT JOIN fettle.answer AS line ON line.book = book.id AND line.list = 'shop'
LEFT JOIN fettle.answer AS cost ON cost.book = book.id AND cost.list = 'shop-cost'
WHERE book.moved IS NULL AND ($1::uuid IS NULL OR book.id > $1)
ORDER BY book.id LIMIT $2";
