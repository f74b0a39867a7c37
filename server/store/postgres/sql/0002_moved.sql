-- Books that come from elsewhere and go elsewhere: the second version of the schema.

-- Where the book went, as whoever moved it said; none while it is here.
ALTER TABLE fettle.book ADD COLUMN moved text;

-- A book that is here keeps its life: only one that went elsewhere comes back as another.
CREATE FUNCTION fettle.keep_incarnation() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.moved IS NULL THEN
        RAISE EXCEPTION 'a book that is here keeps its incarnation' USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END
$$;
CREATE TRIGGER keep_incarnation BEFORE UPDATE OF incarnation, since_seq ON fettle.book FOR EACH ROW
    WHEN ((OLD.incarnation, OLD.since_seq) IS DISTINCT FROM (NEW.incarnation, NEW.since_seq))
    EXECUTE FUNCTION fettle.keep_incarnation();

INSERT INTO fettle.schema_version (version) VALUES (2);
