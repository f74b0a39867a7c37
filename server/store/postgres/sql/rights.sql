-- What each role may do, and no more. Run by whoever owns the database, after each migration. It may be run
-- again at any time.

REVOKE ALL ON SCHEMA fettle FROM PUBLIC;
REVOKE ALL ON ALL TABLES IN SCHEMA fettle FROM PUBLIC;
REVOKE ALL ON ALL TABLES IN SCHEMA fettle FROM fettle_office, fettle_costs;
GRANT USAGE ON SCHEMA fettle TO fettle_service, fettle_office, fettle_costs;

GRANT SELECT ON fettle.schema_version TO fettle_service, fettle_office, fettle_costs;
GRANT SELECT ON fettle.book, fettle.entry TO fettle_service;

-- Entries have prices in them.
GRANT SELECT ON fettle.book, fettle.register, fettle.stock, fettle.jobs, fettle.wear, fettle.orders,
    fettle.shops TO fettle_office, fettle_costs;
GRANT SELECT ON fettle.stock_cost, fettle.job_cost, fettle.order_cost, fettle.entry TO fettle_costs;
GRANT SELECT, INSERT, UPDATE, DELETE ON fettle.laid_out, fettle.answer TO fettle_service;

GRANT INSERT (id, incarnation, since_seq, name) ON fettle.book TO fettle_service;
GRANT UPDATE (incarnation, since_seq, epoch, holder, head_seq, head_chain, line_bytes, moved)
    ON fettle.book TO fettle_service;
GRANT INSERT ON fettle.entry TO fettle_service;
GRANT SELECT, INSERT, UPDATE (version, bytes, written_at) ON fettle.paper TO fettle_service;
GRANT SELECT, INSERT, UPDATE (bytes) ON fettle.note TO fettle_service;
