-- The roles, with no more than each needs. Run by whoever may make roles, before the first migration for
-- the first two lines, after each migration for the rest. It may be run again at any time.
--
--   fettle_owner    owns the tables; runs migrations; nobody serves as it
--   fettle_service  what fettled is: reads all, adds entries, never changes or removes one
--   fettle_office   what reports are made as: reads books and entries, not a paper, and writes nothing
--
-- None can log in. Give them to those who do:
--   CREATE ROLE bench LOGIN PASSWORD '...' IN ROLE fettle_service;

DO $$
DECLARE
    wanted text;
BEGIN
    FOREACH wanted IN ARRAY ARRAY['fettle_owner', 'fettle_service', 'fettle_office'] LOOP
        BEGIN
            EXECUTE format('CREATE ROLE %I NOLOGIN NOINHERIT', wanted);
        EXCEPTION WHEN duplicate_object OR unique_violation THEN
            -- Roles are of all databases: another made it, perhaps this very moment.
            NULL;
        END;
    END LOOP;
END
$$;

DO $$
BEGIN
    EXECUTE format('GRANT CREATE ON DATABASE %I TO fettle_owner', current_database());
    EXECUTE format('REVOKE TEMPORARY ON DATABASE %I FROM PUBLIC', current_database());
    IF NOT EXISTS (SELECT FROM pg_namespace WHERE nspname = 'fettle') THEN
        RETURN;
    END IF;
    REVOKE ALL ON SCHEMA fettle FROM PUBLIC;
    REVOKE ALL ON ALL TABLES IN SCHEMA fettle FROM PUBLIC;
    GRANT USAGE ON SCHEMA fettle TO fettle_service, fettle_office;

    GRANT SELECT ON fettle.schema_version TO fettle_service, fettle_office;
    GRANT SELECT ON fettle.book, fettle.entry TO fettle_service, fettle_office;

    GRANT INSERT (id, incarnation, since_seq) ON fettle.book TO fettle_service;
    GRANT UPDATE (epoch, holder, head_seq, head_chain, line_bytes)
        ON fettle.book TO fettle_service;
    GRANT INSERT ON fettle.entry TO fettle_service;
    GRANT SELECT, INSERT, UPDATE (version, bytes) ON fettle.paper TO fettle_service;
    GRANT SELECT, INSERT, UPDATE (bytes) ON fettle.note TO fettle_service;
END
$$;
