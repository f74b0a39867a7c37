"""PostgreSQL for the proof: where its programs are, and one engine that runs by itself on a socket in a file."""
import os
import pathlib
import signal

import psycopg

import house

BOSS = "boss"
DATABASE = "kit"

# Who `fettled` is inside, and what writes down who takes a book over: each epoch, by whom, behind which entry. It is
# a table of the tests' own, in the very transaction that changes the epoch.
SETTING_UP = """
CREATE ROLE bench LOGIN INHERIT IN ROLE fettle_service;
CREATE SCHEMA seen;
CREATE TABLE seen.tenure (book uuid, epoch bigint, holder text, after_seq bigint, at timestamptz,
                          PRIMARY KEY (book, epoch));
CREATE FUNCTION seen.note() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$ BEGIN
    INSERT INTO seen.tenure VALUES (NEW.id, NEW.epoch, NEW.holder, NEW.head_seq, clock_timestamp());
    RETURN NULL;
END $$;
CREATE TRIGGER note AFTER UPDATE ON fettle.book
    FOR EACH ROW WHEN (NEW.epoch <> OLD.epoch) EXECUTE FUNCTION seen.note();
"""


def programs():
    """The folder with its programs: the newest where Debian puts them."""
    found = pathlib.Path("/usr/lib/postgresql").glob("*/bin/postgres")
    return max(found, key=lambda one: int(one.parts[-3])).parent


def session(host, port=5432, database=DATABASE, **more):
    """A session of the superuser."""
    return psycopg.connect(host=str(host), port=port, user=BOSS, dbname=database, connect_timeout=3, **more)


def set_up(host, tables):
    """A database with the tables in it; `tables` is what `fettled tables` prints."""
    with session(host, database="postgres", autocommit=True) as boss:
        boss.execute(f"CREATE DATABASE {DATABASE}")
    with session(host, autocommit=True) as boss:
        boss.execute(tables)
        boss.execute(SETTING_UP)


def server(data):
    """Number of the process that serves a folder; none where there is none."""
    try:
        pid = int((data / "postmaster.pid").read_text().split()[0])
        os.kill(pid, 0)
        return pid
    except (OSError, ValueError, IndexError):
        return None


class Engine:
    """One PostgreSQL, in a folder, that listens on no address."""

    def __init__(self, ground, tables):
        self.user = house.unprivileged()
        self.folder = house.folder_of(self.user, ground / "engine")
        self.data, self.log = self.folder / "data", ground / "engine.log"
        make = [programs() / "initdb", "--auth=trust", "--encoding=UTF8", "-U", BOSS, "-D", self.data]
        assert house.Child(make, self.log, self.user).run.wait() == 0, self.log.read_text()
        self.start()
        set_up(self.folder, tables)

    def start(self):
        """Starts it, and waits until it answers."""
        words = [programs() / "postgres", "-D", self.data, "-k", self.folder, "-c", "listen_addresses="]
        self.child = house.Child(words, self.log, self.user)
        house.wait_until(self.answers, 30, "PostgreSQL answers")

    def answers(self):
        try:
            session(self.folder, database="postgres").close()
            return True
        except psycopg.OperationalError:
            return False

    def url(self, _machine):
        folder = str(self.folder).replace("/", "%2F")
        return f"postgres://bench@{folder}/{DATABASE}"

    def session(self):
        return session(self.folder)

    def kill(self):
        """A kill of all of it at once."""
        self.child.kill()

    def pause(self):
        self.child.send(signal.SIGSTOP)

    def is_whole(self):
        return self.answers()

    def mend(self):
        """Goes on where it was held up, and starts where it does not run."""
        if self.child.is_there():
            self.child.send(signal.SIGCONT)
        else:
            self.start()

    def end(self):
        self.child.run.send_signal(signal.SIGINT)
        self.child.run.wait(20)
