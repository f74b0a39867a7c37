-- What each role may do, and no more. Run by whoever owns the database, after each migration. It may be run
-- again at any time.

REVOKE ALL ON SCHEMA fettle FROM PUBLIC;
REVOKE ALL ON ALL TABLES IN SCHEMA fettle FROM PUBLIC;
GRANT USAGE ON SCHEMA fettle TO fettle_service, fettle_office;

GRANT SELECT ON fettle.schema_version TO fettle_service, fettle_office;
GRANT SELECT ON fettle.book, fettle.entry TO fettle_service, fettle_office;

GRANT INSERT (id, incarnation, since_seq) ON fettle.book TO fettle_service;
GRANT UPDATE (incarnation, since_seq, epoch, holder, head_seq, head_chain, line_bytes, moved)
    ON fettle.book TO fettle_service;
GRANT INSERT ON fettle.entry TO fettle_service;
GRANT SELECT, INSERT, UPDATE (version, bytes) ON fettle.paper TO fettle_service;
GRANT SELECT, INSERT, UPDATE (bytes) ON fettle.note TO fettle_service;
