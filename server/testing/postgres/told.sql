-- What a test can do to the engine: count groups, hold them up, make them fail. Put in by the owner of the
-- tables, in the cluster of the tests alone; nothing of it is in the product.
--
-- A sequence counts what is rolled back too. `passing` is how many groups may pass before one fails;
-- negative means that none does.

CREATE SCHEMA told;
CREATE SEQUENCE told.appends;
CREATE SEQUENCE told.syncs;
CREATE TABLE told.orders (what text PRIMARY KEY, passing bigint NOT NULL);
INSERT INTO told.orders VALUES ('full', -1), ('cut', -1);

-- Runs once for each group that counts, before its first entry: with no room for it when it was told so.
CREATE FUNCTION told.before_group() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$
BEGIN
    PERFORM nextval('told.appends');
    IF (SELECT passing FROM told.orders WHERE what = 'full') = nextval('told.full_seen') - 1 THEN
        RAISE EXCEPTION 'no room was told' USING ERRCODE = 'disk_full';
    END IF;
    RETURN NULL;
END
$$;
CREATE SEQUENCE told.full_seen;
CREATE TRIGGER told_before BEFORE INSERT ON fettle.entry
    FOR EACH STATEMENT EXECUTE FUNCTION told.before_group();

-- Runs as a group is about to be made certain: the connection is cut when it was told so, and whoever
-- asked does not learn what became of it.
CREATE FUNCTION told.at_commit() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$
BEGIN
    -- Waits while the test has this lock.
    PERFORM pg_advisory_xact_lock_shared(2201);
    PERFORM nextval('told.syncs');
    IF (SELECT passing FROM told.orders WHERE what = 'cut') = nextval('told.cut_seen') - 1 THEN
        PERFORM pg_terminate_backend(pg_backend_pid());
    END IF;
    RETURN NULL;
END
$$;
CREATE SEQUENCE told.cut_seen;
CREATE CONSTRAINT TRIGGER told_at_commit AFTER UPDATE OF head_seq ON fettle.book
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION told.at_commit();
GRANT USAGE ON SCHEMA told TO fettle_service;
