-- Where books of kit are kept: the tables, as the first version of the schema has them.
--
-- It is run by the role that owns the schema, once, in one transaction. What is kept here is a promise:
-- later versions add tables and columns, and never change what an entry is.
--
-- An entry's bytes are those of the journal's line, so that a copy of the table is verified by the rules
-- of the journal alone: chain = SHA-256(digits of the chain before || bytes), seq dense from 1.

CREATE SCHEMA fettle;

-- Which versions of the schema have been put in, and when.
CREATE TABLE fettle.schema_version (
    version     integer     PRIMARY KEY CHECK (version > 0),
    made_at     timestamptz NOT NULL DEFAULT now()
);

-- A book, who may write in it, and where it ends.
CREATE TABLE fettle.book (
    id            uuid    PRIMARY KEY,
    -- Which life of the book it is: a number of an entry is given once within one.
    incarnation   uuid    NOT NULL,
    -- The last entry this life began with.
    since_seq     bigint  NOT NULL DEFAULT 0 CHECK (since_seq >= 0),
    -- The writer's right: whoever wrote this number last has it. No clock decides.
    epoch         bigint  NOT NULL DEFAULT 0 CHECK (epoch >= 0),
    -- Who that is, as they said themselves: process, since, address, and an id that is theirs alone. None
    -- once the right was given back.
    holder        text,
    -- Where the journal ends.
    head_seq      bigint  NOT NULL DEFAULT 0 CHECK (head_seq >= 0),
    head_chain    text    NOT NULL DEFAULT repeat('0', 64) CHECK (length(head_chain) = 64),
    -- Bytes of all its lines, as they would stand in one file.
    line_bytes    bigint  NOT NULL DEFAULT 0 CHECK (line_bytes >= 0),
    begun_at      timestamptz NOT NULL DEFAULT now()
) WITH (fillfactor = 50);

-- The entries of all books. Nothing in here is ever changed.
CREATE TABLE fettle.entry (
    -- A book's. It is put in by the statement alone that has changed the book's row, so that no look at that
    -- row is needed again for each entry.
    book     uuid    NOT NULL,
    seq      bigint  NOT NULL CHECK (seq > 0),
    -- Chain value of the entry, 64 lower-case hex digits.
    chain    text    NOT NULL CHECK (length(chain) = 64),
    -- The entry that was certain when this one was written.
    after    bigint  NOT NULL CHECK (after >= 0 AND after < seq),
    -- The request that it answered; none for entries that were made before requests had ids.
    request  uuid,
    -- The exact bytes of the entry object, without its line's frame.
    bytes    bytea   NOT NULL CHECK (octet_length(bytes) > 0),
    PRIMARY KEY (book, seq),
    UNIQUE (book, request)
);
-- Entries are short: packing them costs more than it saves.
ALTER TABLE fettle.entry ALTER COLUMN bytes SET STORAGE EXTERNAL;

-- What lets devices in: a paper of each kind for each book. The keys in it are sealed by the nodes.
CREATE TABLE fettle.paper (
    book     uuid    NOT NULL REFERENCES fettle.book (id),
    kind     text    NOT NULL CHECK (kind IN ('device', 'code', 'authority', 'authority_key')),
    -- Goes up by one whenever the paper is written, so that nobody writes over what they have not read.
    version  bigint  NOT NULL CHECK (version > 0),
    bytes    bytea   NOT NULL,
    PRIMARY KEY (book, kind)
);

-- What was noted about a book: damage that was found, when it was verified and backed up, what is proven.
CREATE TABLE fettle.note (
    book     uuid    NOT NULL REFERENCES fettle.book (id),
    about    text    NOT NULL CHECK (about IN ('damage', 'upkeep', 'proof')),
    bytes    bytea   NOT NULL,
    PRIMARY KEY (book, about)
);

INSERT INTO fettle.schema_version (version) VALUES (1);
