"""Three machines in one: on each an etcd, a PostgreSQL under Patroni, and the ways to the others through proxies.

Source of the settings: Patroni's documentation of `synchronous_mode: quorum`, and its least times: a lease of 20 s, a
look every second, 3 s for the manager to try again. A leader whose server ends is given up at once; strict: one that
no standby follows acknowledges nothing.
"""
import json
import pathlib
import signal
import subprocess
import sys
import urllib.error
import urllib.request

import psycopg

import engine
import house
from links import own, way

MACHINES = (1, 2, 3)
ETCD, PEERS, SQL, MANAGER = 2379, 2380, 5432, 8008

# A machine's disk for its engine. What it holds: 40 MB at first, 16 MB for each segment of the log.
DISK_BYTES = 600 * 1024**2

SETTINGS = {
    "max_connections": 100, "shared_buffers": "32MB", "wal_log_hints": "on", "max_wal_size": "128MB",
    "wal_keep_size": "64MB", "max_slot_wal_keep_size": "128MB", "wal_sender_timeout": "5s",
    "wal_receiver_timeout": "5s", "tcp_user_timeout": "10s",
}
LETS_IN = ["local all all trust", "host all all 127.0.0.0/8 trust", "host replication all 127.0.0.0/8 trust"]


class Cluster:
    """The three machines."""

    def __init__(self, ground):
        self.ground, self.user = ground, house.unprivileged()
        self.stores, self.managers = {}, {}
        words = [sys.executable, pathlib.Path(__file__).parent / "links.py", len(MACHINES), ETCD, PEERS, SQL, MANAGER]
        self.ways = subprocess.Popen([str(word) for word in words], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.ways.stdout.readline()
        for machine in MACHINES:
            folder = self.folder(machine)
            folder.mkdir()
            named = [f"{way(machine, other)} n{other}" for other in MACHINES]
            (folder / "hosts").write_text("\n".join(["127.0.0.1 localhost", *named]) + "\n")
            house.folder_of(self.user, folder / "etcd").chmod(0o700)
            house.folder_of(self.user, folder / "disk")
            house.mount(folder / "disk", DISK_BYTES)
            house.folder_of(self.user, folder / "disk" / "engine")
            house.folder_of(self.user, folder / "sockets")
            settings = json.dumps(self.settings(machine), indent=1)
            (folder / "patroni.yml").write_text(settings)
        for machine in MACHINES:
            self.start_store(machine)
        for machine in MACHINES:
            self.start_manager(machine)

    def folder(self, machine):
        return self.ground / f"n{machine}"

    def data(self, machine):
        return self.folder(machine) / "disk" / "engine" / "data"

    def settings(self, machine):
        folder = self.folder(machine)
        # A copy that can only half be wound back, because the leader changed again meanwhile, is made anew.
        beside = {"use_pg_rewind": True, "remove_data_directory_on_rewind_failure": True, "use_slots": True}
        quorum = {
            "ttl": 20, "loop_wait": 1, "retry_timeout": 3, "primary_start_timeout": 0, "synchronous_mode": "quorum",
            "synchronous_mode_strict": True,
            "postgresql": {**beside, "parameters": SETTINGS},
        }
        made = {"dcs": quorum, "initdb": [{"encoding": "UTF8"}, "data-checksums", {"auth": "trust"}]}
        names = {"superuser": engine.BOSS, "replication": "copier", "rewind": "rewinder"}
        return {
            "scope": "books", "name": f"n{machine}", "bootstrap": made,
            "restapi": {"listen": f"{own(machine)}:{MANAGER}", "connect_address": f"n{machine}:{MANAGER}"},
            "etcd3": {"hosts": [f"n{other}:{ETCD}" for other in MACHINES]},
            "postgresql": {
                "listen": f"{own(machine)}:{SQL}", "connect_address": f"n{machine}:{SQL}",
                "data_dir": str(self.data(machine)), "bin_dir": str(engine.programs()), "pg_hba": LETS_IN,
                "pgpass": str(folder / "sockets" / "pgpass"), "use_unix_socket": True,
                "parameters": {"unix_socket_directories": str(folder / "sockets")},
                "authentication": {what: {"username": name} for what, name in names.items()},
            },
            "watchdog": {"mode": "off"},
        }

    def start_store(self, machine):
        folder = self.folder(machine)
        words = [
            "etcd", "--name", f"n{machine}", "--data-dir", folder / "etcd" / "data",
            "--listen-client-urls", f"http://{own(machine)}:{ETCD}", "--advertise-client-urls", f"http://n{machine}:{ETCD}",
            "--listen-peer-urls", f"http://{own(machine)}:{PEERS}",
            "--initial-advertise-peer-urls", f"http://n{machine}:{PEERS}",
            "--initial-cluster", ",".join(f"n{other}=http://n{other}:{PEERS}" for other in MACHINES),
        ]
        self.stores[machine] = house.Child(words, folder / "etcd.log", self.user, folder / "hosts")

    def start_manager(self, machine):
        folder = self.folder(machine)
        patroni = pathlib.Path(sys.executable).parent / "patroni"
        words = [patroni, folder / "patroni.yml"]
        self.managers[machine] = house.Child(words, folder / "patroni.log", self.user, folder / "hosts")

    def url(self, machine):
        """Where a machine's `fettled` reaches them: by its own ways."""
        hosts = ",".join(f"{way(machine, other)}:{SQL}" for other in MACHINES)
        return f"postgres://bench@{hosts}/{engine.DATABASE}"

    @property
    def leader(self):
        """The machine whose manager says that it leads; none for now."""
        return next((machine for machine in MACHINES if self.says(machine, "primary")), None)

    def says(self, machine, what):
        try:
            with urllib.request.urlopen(f"http://{own(machine)}:{MANAGER}/{what}", timeout=1) as answer:
                return answer.status == 200
        except OSError:
            return False

    def session(self, database=engine.DATABASE):
        return engine.session(own(self.leader), database=database)

    def is_whole(self):
        """Whether there is a leader and both others count for its quorum."""
        counted = "SELECT count(*) FROM pg_stat_replication WHERE state = 'streaming' AND sync_state = 'quorum'"
        try:
            leader = self.leader
            with engine.session(own(leader), database="postgres") as boss:
                return leader and boss.execute(counted).fetchone()[0] == len(MACHINES) - 1
        except psycopg.Error:
            return False

    def hold(self, flows):
        """Holds these flows up and no other."""
        self.ways.stdin.write(json.dumps(flows).encode() + b"\n")
        self.ways.stdin.flush()
        self.ways.stdout.readline()

    def pids(self, machine):
        """A machine's engine and its manager, and all that they started."""
        found = house.family(self.managers[machine].run.pid) if self.managers[machine].is_there() else []
        server = engine.server(self.data(machine))
        return found + (house.family(server) if server else [])

    def send(self, machine, what):
        for pid in self.pids(machine):
            house.send(pid, what)

    def kill_engine(self, machine):
        """A kill of the server alone; its manager sees to the rest."""
        server = engine.server(self.data(machine))
        for pid in house.family(server) if server else []:
            house.send(pid, signal.SIGKILL)

    def kill_machine(self, machine):
        """A kill of the server and of its manager: nobody is there who gives the lease back."""
        self.send(machine, signal.SIGKILL)
        self.managers[machine].run.wait()

    def mend(self):
        """Opens all ways, and starts what does not run."""
        self.hold([])
        for machine in MACHINES:
            self.send(machine, signal.SIGCONT)
            (self.folder(machine) / "disk" / "full").unlink(missing_ok=True)
            if not self.managers[machine].is_there():
                self.start_manager(machine)

    def end(self):
        """Managers first, so that each stops its engine; then what they lean on."""
        for managed in (self.managers, self.stores):
            for child in managed.values():
                child.run.terminate()
            for child in managed.values():
                child.stop(30)
        self.ways.stdin.close()
        self.ways.wait(10)

    def fill_disk(self, machine):
        """Leaves no room on a machine's disk."""
        with open(self.folder(machine) / "disk" / "full", "wb", buffering=0) as full:
            try:
                while True:
                    full.write(bytes(1024**2))
            except OSError:
                pass
