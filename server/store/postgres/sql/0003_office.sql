-- What the office sees of all books: the third version of the schema.
--
-- The service that has a book lays out here what it answers, a row of a list each, in one transaction; the
-- views give it columns. Names and units are those of the contract and of the register. Nothing here is more
-- than a copy: it may be emptied at any time, and is laid out anew.

-- What people call the shop. Whoever owns the tables gives it:
--   UPDATE fettle.book SET name = 'north' WHERE id = '...';
ALTER TABLE fettle.book ADD COLUMN name text CHECK (length(name) BETWEEN 1 AND 80);

-- As of which entry and moment a book is laid out, and up to which entry its deeds are.
CREATE TABLE fettle.laid_out (
    book         uuid        PRIMARY KEY,
    seq          bigint,
    at           timestamptz,
    deeds_until  bigint      NOT NULL DEFAULT 0
);

CREATE TABLE fettle.answer (
    book  uuid   NOT NULL,
    list  text   NOT NULL,
    key   text   NOT NULL,
    told  jsonb  NOT NULL,
    PRIMARY KEY (book, list, key)
);

-- A word of the contract as people type and read it; none where nothing is said.
CREATE FUNCTION fettle.word(told text, before text) RETURNS text LANGUAGE sql IMMUTABLE AS $$
    SELECT nullif(replace(lower(substr(told, length(before) + 1)), '_', '-'), 'unspecified')
$$;

-- Rows of a list, with the shop they are of.
CREATE VIEW fettle.answered AS
SELECT coalesce(book.name, book.id::text) AS shop, book.id AS book_id, answer.list, answer.key,
    answer.told, laid_out.at AS as_of_time, laid_out.seq AS as_of_entry, laid_out.deeds_until
FROM fettle.answer
JOIN fettle.book ON book.id = answer.book
JOIN fettle.laid_out ON laid_out.book = answer.book
WHERE book.moved IS NULL;

-- Every deed of every book, as the register has it.
CREATE VIEW fettle.register AS
SELECT shop, book_id,
    (told->>'entry')::bigint AS entry,
    (told->>'done_time')::timestamptz AS done_time,
    told->>'by' AS by,
    nullif(told->>'subject', '') AS subject,
    fettle.word(told->>'kind', 'DEED_KIND_') AS deed,
    told->>'text' AS what_happened,
    nullif(told->>'job', '') AS job,
    nullif(told->>'step', '') AS step,
    nullif(told->>'place', '') AS place,
    trim_scale((told->>'volume_ul')::numeric / 1000) AS volume_ml,
    (told->>'section_count')::bigint AS section_count,
    trim_scale((told->>'work_micro_sections')::numeric / 1000000) AS work_sections,
    round((told->>'time_ms')::numeric / 60000, 2) AS worked_min,
    (told->>'count')::bigint AS count,
    (told->>'quantity')::bigint AS quantity,
    trim_scale((told->>'gross_mg')::numeric / 1000) AS gross_g,
    trim_scale((told->>'tare_mg')::numeric / 1000) AS tare_g,
    (told->>'reverses_seq')::bigint AS reverses_entry,
    (told->>'reversed_by_seq')::bigint AS reversed_by_entry,
    nullif(told->>'flag', '') AS flag,
    nullif(told->>'note', '') AS note,
    (told->>'recorded_time')::timestamptz AS recorded_time,
    deeds_until AS as_of_entry
FROM fettle.answered WHERE list = 'deed';

-- The kit as it stands.
CREATE VIEW fettle.stock AS
SELECT shop, book_id,
    told->>'tag' AS tag,
    told->>'make' AS make,
    told->>'make_name' AS make_name,
    told->>'place' AS place,
    fettle.word(told->>'readiness', 'READINESS_') AS readiness,
    (told->>'ready_time')::timestamptz AS ready_time,
    fettle.word(told->>'aside_reason', 'ASIDE_REASON_') AS aside_reason,
    (told->>'needs_count')::boolean AS needs_count,
    (told->>'received_time')::timestamptz AS received_time,
    coalesce(told->'pad'->>'damage', told->'plate'->>'damage', told->'battery'->>'damage')::double precision
        AS damage,
    fettle.word(coalesce(told->'pad'->>'band', told->'plate'->>'band', told->'battery'->>'band'), 'WEAR_BAND_')
        AS band,
    coalesce(told->'pad'->>'wash_count', told->'bundle'->>'wash_count')::bigint AS wash_count,
    trim_scale((told->'bottle'->>'left_ul')::numeric / 1000) AS left_ml,
    trim_scale((told->'bottle'->>'full_ul')::numeric / 1000) AS full_ml,
    nullif(told->'bottle'->>'lot', '') AS lot,
    nullif(told->'bottle'->>'expiry_date', '')::date AS expiry_date,
    (told->'bottle'->>'jobs_left_count')::bigint AS jobs_left_count,
    (told->'bundle'->>'clean_count')::bigint AS clean_count,
    (told->'bundle'->>'soiled_count')::bigint AS soiled_count,
    (told->'bundle'->>'drying_count')::bigint AS drying_count,
    (told->'sundry'->>'left_quantity')::bigint AS left_quantity,
    fettle.word(told->'sundry'->>'unit', 'UNIT_') AS unit,
    coalesce(told->'machine'->>'run_time_s', told->'plate'->>'run_time_s')::bigint AS run_time_s,
    nullif(told->'tool'->>'check_due_date', '')::date AS check_due_date,
    as_of_time, as_of_entry
FROM fettle.answered WHERE list = 'piece';

-- Every job, with the check of those that are booked.
CREATE VIEW fettle.jobs AS
SELECT job.shop, job.book_id,
    job.told->>'job' AS job,
    (job.told->>'start_time')::timestamptz AS start_time,
    (job.told->>'second_start_time')::timestamptz AS second_start_time,
    job.told->>'place' AS place,
    job.told->>'car' AS car,
    job.told->>'routine' AS routine,
    nullif(job.told->>'person', '') AS person,
    fettle.word(job.told->>'state', 'JOB_STATE_') AS state,
    (job.told->>'done_time')::timestamptz AS done_time,
    nullif(job.told->>'note', '') AS note,
    fettle.word(looked.told->>'verdict', 'VERDICT_') AS verdict,
    (looked.told->>'carry_chance')::double precision AS carry_chance,
    (looked.told->>'carry_target')::double precision AS carry_target,
    nullif(looked.told->>'reason', '') AS reason,
    job.as_of_time, job.as_of_entry
FROM fettle.answered job
LEFT JOIN fettle.answered looked
    ON looked.book_id = job.book_id AND looked.list = 'check' AND looked.key = job.key
WHERE job.list = 'job';

-- How worn each piece is, by its own clocks.
CREATE VIEW fettle.wear AS
SELECT shop, book_id,
    told->>'tag' AS tag,
    told->>'make' AS make,
    told->>'make_name' AS make_name,
    fettle.word(told->>'sort', 'MAKE_SORT_') AS sort,
    told->>'place' AS place,
    fettle.word(told->>'readiness', 'READINESS_') AS readiness,
    trim_scale((told->>'work_micro_sections')::numeric / 1000000) AS work_sections,
    trim_scale((told->>'rated_work_micro_sections')::numeric / 1000000) AS rated_work_sections,
    (told->>'run_time_s')::bigint AS run_time_s,
    (told->>'rated_run_time_s')::bigint AS rated_run_time_s,
    (told->>'wash_count')::bigint AS wash_count,
    (told->>'rated_wash_count')::bigint AS rated_wash_count,
    (told->>'change_count')::bigint AS change_count,
    (told->>'rated_change_count')::bigint AS rated_change_count,
    (told->>'charge_count')::bigint AS charge_count,
    (told->>'rated_charge_count')::bigint AS rated_charge_count,
    (told->>'damage')::double precision AS damage,
    fettle.word(told->>'band', 'WEAR_BAND_') AS band,
    (told->'jobs_left'->>'low')::double precision AS jobs_left_low,
    (told->'jobs_left'->>'typical')::double precision AS jobs_left_typical,
    (told->'jobs_left'->>'high')::double precision AS jobs_left_high,
    as_of_time, as_of_entry
FROM fettle.answered WHERE list = 'wear';

-- Orders without what they cost.
CREATE VIEW fettle.orders AS
SELECT shop, book_id,
    told->>'order' AS order_id,
    told->>'supplier' AS supplier,
    fettle.word(told->>'state', 'ORDER_STATE_') AS state,
    (told->>'placed_time')::timestamptz AS placed_time,
    nullif(told->>'due_date', '')::date AS due_date,
    as_of_time, as_of_entry
FROM fettle.answered WHERE list = 'order';

-- What pieces and orders cost, and what jobs do: for those who may see prices.
CREATE VIEW fettle.stock_cost AS
SELECT shop, book_id, told->>'tag' AS tag,
    (told->'landed_cost'->>'amount')::numeric AS landed_cost,
    told->'landed_cost'->>'currency_code' AS currency_code,
    as_of_time, as_of_entry
FROM fettle.answered WHERE list = 'piece-cost';

CREATE VIEW fettle.job_cost AS
SELECT shop, book_id, told->>'job' AS job,
    (told->'low'->>'amount')::numeric AS low_cost,
    (told->'typical'->>'amount')::numeric AS typical_cost,
    (told->'high'->>'amount')::numeric AS high_cost,
    (told->'actual'->>'amount')::numeric AS actual_cost,
    coalesce(told->'actual', told->'typical')->>'currency_code' AS currency_code,
    as_of_time, as_of_entry
FROM fettle.answered WHERE list = 'job-cost';

CREATE VIEW fettle.order_cost AS
SELECT shop, book_id, told->>'order' AS order_id,
    (told->'total'->>'amount')::numeric AS total_cost,
    told->'total'->>'currency_code' AS currency_code,
    as_of_time, as_of_entry
FROM fettle.answered WHERE list = 'order-cost';

-- Each shop in a line: what of it wants somebody.
CREATE VIEW fettle.shops AS
SELECT coalesce(book.name, book.id::text) AS shop, book.id AS book_id,
    (SELECT count(*) FROM fettle.jobs WHERE jobs.book_id = book.id AND state = 'booked') AS booked_job_count,
    (SELECT count(*) FROM fettle.jobs WHERE jobs.book_id = book.id AND verdict = 'watch') AS watch_job_count,
    (SELECT count(*) FROM fettle.jobs WHERE jobs.book_id = book.id AND verdict = 'stop') AS stop_job_count,
    (SELECT min(start_time) FROM fettle.jobs WHERE jobs.book_id = book.id AND verdict IN ('watch', 'stop'))
        AS first_at_risk_time,
    (SELECT count(*) FROM fettle.orders WHERE orders.book_id = book.id
        AND state IN ('placed', 'part-received') AND due_date < current_date) AS late_order_count,
    (SELECT count(*) FROM fettle.wear WHERE wear.book_id = book.id AND band = 'tired') AS tired_piece_count,
    (SELECT count(*) FROM fettle.wear WHERE wear.book_id = book.id AND band = 'spent') AS spent_piece_count,
    (SELECT count(*) FROM fettle.stock WHERE stock.book_id = book.id AND needs_count) AS needs_count_piece_count,
    laid_out.at AS as_of_time, laid_out.seq AS as_of_entry
FROM fettle.book LEFT JOIN fettle.laid_out ON laid_out.book = book.id
WHERE book.moved IS NULL;

INSERT INTO fettle.schema_version (version) VALUES (3);
