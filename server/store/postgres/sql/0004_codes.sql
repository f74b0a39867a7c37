-- Several books on one node: the fourth version of the schema.

-- When a paper was written, by the clock of this engine. A device that comes in by a code names no book: it is looked
-- for among the codes that were made lately.
ALTER TABLE fettle.paper ADD COLUMN written_at timestamptz NOT NULL DEFAULT now();
CREATE INDEX paper_codes_lately ON fettle.paper (written_at) WHERE kind = 'code';

-- Under the nil id, which no book has, is the authority of what nodes with several books show to everyone. All other
-- papers are of a book that is there.
ALTER TABLE fettle.paper DROP CONSTRAINT paper_book_fkey;
ALTER TABLE fettle.paper ADD COLUMN of_book uuid
    GENERATED ALWAYS AS (nullif(book, '00000000-0000-0000-0000-000000000000'::uuid)) STORED
    REFERENCES fettle.book (id);

INSERT INTO fettle.schema_version (version) VALUES (4);
