"""A book in an engine, its nodes and those who use it: what a round is played on, and what is read after it."""
import json
import pathlib
import socket
import subprocess
import time
import uuid

import grpc
import psycopg

import callers
import checker
import engine
import house
import links
import machines
import nodes

CALLERS = 4

# Longest time until all is as it was before a harm.
MENDED_S = 150


def free_port():
    with socket.socket() as any_socket:
        any_socket.bind(("127.0.0.1", 0))
        return any_socket.getsockname()[1]


class Scene:
    """Everything that runs, from its beginning to its end."""

    def __init__(self, ground, fettled, node_count, in_cluster):
        self.ground, self.contract = ground, nodes.Contract()
        tables = subprocess.run([fettled, "tables"], capture_output=True, text=True)
        assert tables.returncode == 0, f"{fettled} keeps no books in an engine: {tables.stderr}"
        if in_cluster:
            self.engine = machines.Cluster(ground)
            house.wait_until(self.engine.is_whole, MENDED_S, "the cluster is whole")
            engine.set_up(links.own(self.engine.leader), tables.stdout)
        else:
            self.engine = engine.Engine(ground, tables.stdout)
        self.nodes = {}
        for machine in range(1, node_count + 1):
            address = f"{links.own(machine)}:{nodes.PORT}" if in_cluster else f"127.0.0.1:{free_port()}"
            self.nodes[address] = nodes.Node(fettled, machine, self.engine, ground, address)
        self.begin()
        self.attempts, self.unsettled = [], 0
        self.watchers = [callers.Watcher(self.contract, address, 0) for address in self.nodes]
        for watcher in self.watchers:
            watcher.start()

    def ask(self, rpc, request, wait_s=60):
        """Asks whichever node answers."""
        end = time.monotonic() + wait_s
        while True:
            for address in self.nodes:
                line = nodes.Line(self.contract, address)
                try:
                    return line.call(rpc, request, 5)
                except grpc.RpcError as error:
                    if time.monotonic() > end:
                        raise TimeoutError(f"{rpc}: {nodes.refusal(error)}") from error
                finally:
                    line.close()
            time.sleep(0.1)

    def begin(self):
        """The kit as it usually is, and the pads that are washed all the time."""
        start = {"requestId": str(uuid.uuid4()), "starterKit": "big-small"}
        self.ask("BookService/Start", start)
        makes = self.ask("KitService/ListMakes", {"pageSize": 1000}).makes
        pad = next(one.make for one in makes if one.HasField("pad"))
        arrive = {"requestId": str(uuid.uuid4()), "make": pad, "tags": list(callers.WASHED)}
        self.ask("KitService/ReceiveKit", arrive)

    def call_on(self, seed):
        """Callers that begin now."""
        mark = f"{seed:x}"
        called = [
            callers.Caller(f"van-{mark}-{n}", self.contract, list(self.nodes), f"{seed} {n}") for n in range(CALLERS)
        ]
        for caller in called:
            caller.start()
        return called

    def holder(self):
        """Address of the node that has the right, as the table has it; none where nobody has."""
        with self.engine.session() as boss:
            (said,) = boss.execute("SELECT holder FROM fettle.book").fetchone()
        return json.loads(said)["address"] if said else None

    def is_mended(self):
        for node in self.nodes.values():
            # As whoever keeps a service going does.
            node.mend()
        try:
            return self.engine.is_whole() and self.holder() in self.nodes
        except psycopg.Error:
            return False

    def mend(self):
        """Undoes every harm, and waits until all is as it was."""
        self.engine.mend()
        house.wait_until(self.is_mended, MENDED_S, "all is as it was before the harm", every_s=0.2)

    def history(self, boss=None):
        """All that is known of the book now. Nothing may be under way."""
        with boss or self.engine.session() as session:
            session.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            rows, tenures = read(session)
        exports = {}
        for address in self.nodes:
            try:
                exports[address] = callers.exported(self.contract, address)
            except grpc.RpcError as error:
                # One that waits for the right gives nothing, and says so.
                code, reason, _ = nodes.refusal(error)
                if (code, reason) != ("UNAVAILABLE", "HELD_ELSEWHERE"):
                    exports[address] = f"{code} {reason}".encode()
        if not exports:
            exports["any node"] = b""
        seen = {watcher.name: list(watcher.seen) for watcher in self.watchers}
        return checker.History(rows, self.attempts, seen, tenures, exports, self.unsettled)

    def end(self):
        for watcher in self.watchers:
            watcher.stop()
        for node in self.nodes.values():
            node.resume()
            node.child.stop(15)
        self.engine.end()

    def tell(self, folder):
        """Leaves what everything said of itself in a folder."""
        pathlib.Path(folder).mkdir(parents=True, exist_ok=True)
        for log in [*self.ground.glob("*.log"), *self.ground.glob("*/*.log")]:
            name = "-".join(log.relative_to(self.ground).parts)
            (pathlib.Path(folder) / name).write_bytes(log.read_bytes())


def read(session):
    """The entries and who had the right when, in their order."""
    rows = session.execute("SELECT seq, chain, after, request::text, bytes FROM fettle.entry ORDER BY seq").fetchall()
    told = session.execute("SELECT epoch, holder, after_seq, extract(epoch FROM at) FROM seen.tenure ORDER BY epoch")
    tenures = [
        checker.Tenure(epoch, json.loads(holder)["address"], after, float(at)) for epoch, holder, after, at in told
    ]
    return [checker.Row(*row) for row in rows], tenures
