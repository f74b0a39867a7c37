"""What must hold of a book, looked at from outside: rules of the journal's documented form, and no code of ours.

A history is what callers and watchers wrote down, the table's rows, who had the right when, and what each node gave
of the book. `faults` answers what of it cannot be, a line each.
"""
import collections
import dataclasses
import hashlib
import json

START = "0" * 64


@dataclasses.dataclass
class Row:
    """An entry as the table has it."""

    seq: int
    chain: str
    after: int
    request: str
    bytes: bytes


@dataclasses.dataclass
class Tenure:
    """From when a node had the right, and the last entry before."""

    epoch: int
    node: str
    after: int
    began_at: float


@dataclasses.dataclass
class Attempt:
    """One sending of one request, and what was heard of it."""

    request: str
    note: str
    node: str
    sent_at: float
    heard_at: float = 0.0
    # `acknowledged`, or why not: a reason of the contract, or a code of gRPC.
    heard: str = ""
    seq: int = 0


@dataclasses.dataclass
class History:
    """All that is known of a book."""

    rows: list
    attempts: list
    # What each watcher saw: its name, and (number, request, note) in turn.
    seen: dict
    tenures: list
    # What each node gave of the journal: lines, in order.
    exports: dict
    unsettled: int = 0


def faults(history):
    """All that is wrong, in plain words; nothing where all holds."""
    found = []
    entries = [json.loads(row.bytes) for row in history.rows]
    found += in_the_chain(history.rows, entries)
    by_request = {}
    for row, entry in zip(history.rows, entries):
        if row.request in by_request:
            found.append(f"request {row.request} has entries {by_request[row.request].seq} and {row.seq}")
        by_request.setdefault(row.request, row)
        if entry.get("request") != row.request:
            found.append(f"entry {row.seq} stands under request {row.request} and says {entry.get('request')}")
    notes = {row.seq: entry.get("note", "") for row, entry in zip(history.rows, entries)}
    found += of_acknowledged(history, by_request, notes)
    found += of_the_right(history, by_request)
    found += of_watchers(history, notes)
    for node, given in history.exports.items():
        if given != b"".join(as_line(row) for row in history.rows):
            found.append(f"what {node} gives of the book is not what the table has")
    if history.unsettled:
        found.append(f"{history.unsettled} requests are not settled")
    return found


def as_line(row):
    return b'{"chain":"%s","entry":%s}\n' % (row.chain.encode(), row.bytes)


def in_the_chain(rows, entries):
    """Numbers dense from 1, chain = SHA-256(digits of the chain before || bytes).

    Source: the documented form of a journal, DEVELOPERS.md.
    """
    chain, found = START, []
    for seq, (row, entry) in enumerate(zip(rows, entries), start=1):
        if row.seq != seq or entry.get("seq") != seq:
            found.append(f"entry {seq} is missing: {row.seq} is there")
            return found
        chain = hashlib.sha256(chain.encode() + row.bytes).hexdigest()
        if row.chain != chain:
            found.append(f"entry {seq} does not fit the chain")
            return found
        if not 0 <= row.after < seq or row.after != entry.get("after", seq - 1):
            found.append(f"entry {seq} says that {entry.get('after', seq - 1)} was certain, and the table {row.after}")
    return found


def of_acknowledged(history, by_request, notes):
    found = []
    for attempt in acknowledged(history):
        row = by_request.get(attempt.request)
        if row is None:
            found.append(f"lost: {attempt.node} acknowledged entry {attempt.seq}, request {attempt.request}")
        elif row.seq != attempt.seq:
            found.append(f"request {attempt.request} was acknowledged as entry {attempt.seq} and is {row.seq}")
        elif notes[row.seq] != attempt.note:
            found.append(f"entry {row.seq} is of {attempt.note!r} and says {notes[row.seq]!r}")
    return found


def of_the_right(history, by_request):
    """Nobody answers for what another recorded, nor records after another took over: a paused writer among them."""
    found = [
        f"the right went from epoch {one.epoch} behind {one.after} to {other.epoch} behind {other.after}"
        for one, other in zip(history.tenures, history.tenures[1:])
        if other.epoch != one.epoch + 1 or other.after < one.after
    ]
    sent = collections.defaultdict(list)
    for attempt in history.attempts:
        sent[attempt.request].append(attempt)
    tenures = history.tenures
    for attempt in acknowledged(history):
        row = by_request.get(attempt.request)
        held = row and max((n for n, one in enumerate(tenures) if one.after < row.seq), default=None)
        if held is None or row is None:
            continue
        holder = tenures[held].node
        ended_at = tenures[held + 1].began_at if held + 1 < len(tenures) else float("inf")
        if not any(one.node == holder and one.sent_at <= ended_at for one in sent[attempt.request]):
            words = f"{attempt.node} acknowledged entry {row.seq}, which {holder} recorded"
            found.append(f"{words}, who was never asked for it while it had the right")
    return found


def of_a_strike(history, node, struck_at):
    """A node that was struck and has lost its right for certain: it had it, and it was taken anew, by itself or another."""
    before = [one for one in history.tenures if one.began_at <= struck_at]
    if not before or before[-1].node != node:
        return [f"{node} was struck, and {before[-1].node if before else 'nobody'} had the right"]
    if before[-1] is history.tenures[-1]:
        return [f"{node} was struck, and nobody took the right since: it was not what has it"]
    return []


def of_watchers(history, notes):
    requests, found = {row.seq: row.request for row in history.rows}, []
    for watcher, entries in history.seen.items():
        for seq, request, note in entries:
            if (request, note) != (requests.get(seq), notes.get(seq)):
                found.append(f"{watcher} saw {note!r} as entry {seq}, which is {notes.get(seq)!r} now")
    return found


def acknowledged(history):
    return [attempt for attempt in history.attempts if attempt.heard == "acknowledged"]
