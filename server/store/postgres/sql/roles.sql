-- The roles. Run by whoever may make roles, before each migration. It may be run again at any time.
--
--   fettle_owner    owns the tables; runs migrations; nobody serves as it
--   fettle_service  what fettled is: reads all, adds entries, never changes or removes one
--   fettle_office   what reports are made as: reads the views without prices, not a paper, and writes nothing
--   fettle_costs    the same with prices: reads what things cost, and entries too
--
-- None can log in. Give them to those who do:
--   CREATE ROLE bench LOGIN PASSWORD '...' IN ROLE fettle_service;

DO $$
DECLARE
    wanted text;
BEGIN
    FOREACH wanted IN ARRAY ARRAY['fettle_owner', 'fettle_service', 'fettle_office', 'fettle_costs'] LOOP
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
END
$$;
