"""Callers who record, and watchers who look on, each writing down what was sent and what came of it.

A caller keeps the id of a request until it is acknowledged, whichever node that takes: where the outcome is not known
the same request is sent again. A watcher goes on behind the last entry that it saw.
"""
import collections
import random
import threading
import time
import uuid

import grpc

import nodes
from checker import Attempt

# Longest time for a call; a node that is held up is not waited for longer.
CALL_S = 1.0

# Between two requests of a caller, and between two attempts at one.
REST_S = 0.02
AGAIN_S = 0.05

WASHED = ("P-01", "P-02", "P-03")


class Caller(threading.Thread):
    """Records one deed after the other until it is told to stop, and what is open then to its end."""

    def __init__(self, name, contract, addresses, seed):
        super().__init__(name=name, daemon=True)
        self.lines = {address: nodes.Line(contract, address) for address in addresses}
        self.aim, self.chance = addresses[0], random.Random(seed)
        self.attempts, self.made, self.wanted, self.unsettled = [], 0, threading.Event(), 0
        self.wanted.set()
        # After this there is no further attempt.
        self.until = float("inf")

    def run(self):
        while self.wanted.is_set() and time.time() < self.until:
            self.record()
            time.sleep(REST_S)
        for line in self.lines.values():
            line.close()

    def record(self):
        self.made += 1
        request, note = str(uuid.uuid4()), f"{self.name}, deed {self.made}"
        asked = {"requestId": request, "note": note, "tags": [self.chance.choice(WASHED)]}
        while True:
            attempt = Attempt(request, note, self.aim, time.time())
            self.attempts.append(attempt)
            more = {}
            try:
                answer = self.lines[self.aim].call("KitService/WashKit", asked, CALL_S)
                attempt.seq, attempt.heard = answer.entry.seq, "acknowledged"
            except grpc.RpcError as error:
                code, reason, more = nodes.refusal(error)
                attempt.heard = reason if reason.isupper() else code
            attempt.heard_at = time.time()
            if attempt.heard == "acknowledged":
                return
            if attempt.heard_at > self.until:
                self.unsettled += 1
                return
            told = more.get("held_at")
            self.aim = told if told in self.lines else self.chance.choice(list(self.lines))
            time.sleep(AGAIN_S)


class Watcher(threading.Thread):
    """Sees the entries of one node as they come."""

    def __init__(self, contract, address, after):
        super().__init__(name=f"watcher of {address}", daemon=True)
        self.contract, self.address, self.last, self.seen = contract, address, after, []
        self.wanted, self.call = True, None

    def run(self):
        line = nodes.Line(self.contract, self.address)
        while self.wanted:
            try:
                self.call = line.call("BookService/WatchEntries", {"afterSeq": str(self.last)}, 60)
                for answer in self.call:
                    entry = answer.entry
                    self.seen.append((entry.seq, entry.request_id, entry.note))
                    self.last = entry.seq
            except grpc.RpcError:
                time.sleep(AGAIN_S * 4)
        line.close()

    def stop(self):
        self.wanted = False
        if self.call:
            self.call.cancel()


def finish(callers, wait_s):
    """Ends them all, each when what it has open is settled, or after so long; answers how many are not."""
    end = time.time() + wait_s
    for caller in callers:
        caller.until = end
        caller.wanted.clear()
    for caller in callers:
        caller.join(wait_s + 2 * CALL_S)
    return sum(caller.unsettled + caller.is_alive() for caller in callers)


def exported(contract, address):
    """The journal as a node gives it in a backup: the bytes of its files, in order."""
    line, files = nodes.Line(contract, address), collections.defaultdict(list)
    for part in line.call("BookService/BackupBook", {}, 60):
        files[part.file].append(part.content)
    line.close()
    return b"".join(b"".join(files[name]) for name in sorted(files) if name.startswith("journal/"))
