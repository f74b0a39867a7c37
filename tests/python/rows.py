"""The table of refusals, `tests/public/reasons.json`, as a client in Python works through it.

A client gives `main` a function that opens a shop: an object with `call(rpc, request, messages_max, stall)`, which
answers `(code, reason, metadata, messages)`, and `mask(path)`, which writes a field mask as its JSON is read. Texts in a request that begin with `$` stand for something: `$id` a new
request id, `$id:NAME` the same one throughout a row, `$word:NAME` such a word, `$day:N` the moment N days from now,
`$mask:PATH` a field mask, `$took:NAME` what a call before gave, `$given:NAME` what `--given NAME=TEXT` says,
`$bytes:N` random bytes.
"""
import argparse
import base64
import datetime
import json
import os
import pathlib
import sys
import time
import uuid

# Longer than a watch may leave what waits for it untaken (10 s).
STALL_S = 12


class Row:
    """One row while it is worked through."""

    def __init__(self, row, given, mask):
        self.row, self.given, self.mask = row, given, mask
        self.named, self.took = {}, {}

    def filled(self, value):
        if isinstance(value, dict):
            return {key: self.filled(one) for key, one in value.items()}
        if isinstance(value, list):
            return [self.filled(one) for one in value]
        if not isinstance(value, str) or not value.startswith("$"):
            return value
        what, _, name = value[1:].partition(":")
        if what == "id":
            new = str(uuid.uuid4())
            return self.named.setdefault(value, new) if name else new
        if what == "word":
            return self.named.setdefault(value, "w" + uuid.uuid4().hex[:12])
        if what == "day":
            moment = datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(days=int(name))
            return moment.strftime("%Y-%m-%dT%H:%M:%SZ")
        if what == "mask":
            return self.mask(name)
        if what == "took":
            return self.took[name]
        if what == "given":
            return self.given[name]
        if what == "bytes":
            return base64.b64encode(os.urandom(int(name))).decode()
        raise ValueError(f"nothing is known of {value}")

    def prepare(self, shop):
        for step in self.row.get("before", []):
            code, reason, _, messages = shop.call(step["rpc"], self.filled(step["request"]))
            assert code == "OK", f"{self.row['reason']}: {step['rpc']} before it was refused: {code} {reason}"
            for name, path in step.get("take", {}).items():
                value = messages[0]
                for key in path.split("."):
                    value = value[key]
                self.took[name] = value

    def ask(self, shop):
        """Asks until the refusal comes, as often as the row says; answers what went otherwise, or nothing."""
        self.prepare(shop)
        wanted = (self.row["code"], self.row["reason"])
        for _ in range(self.row.get("tries", 1)):
            stall = STALL_S if self.row.get("stall") else 0
            code, reason, metadata, messages = shop.call(self.row["rpc"], self.filled(self.row["request"]), stall=stall)
            if (code, reason) == wanted:
                if reason in ("STOPPING", "WATCH_TOO_SLOW") and messages:
                    last = messages[-1]["entry"]["seq"]
                    if metadata.get("after_seq") != str(last):
                        return f"it says to go on after {metadata}, but entry {last} came last"
                return None
        return f"wanted {wanted}, got {(code, reason)}"


def use(shop):
    """A day with the shop: list, check, log, watch and go on after a break."""
    def answer(rpc, request, **more):
        code, reason, _, messages = shop.call(rpc, request, **more)
        assert code == "OK", (rpc, code, reason)
        return messages

    pieces = answer("KitService/ListPieces", {"pageSize": 1000})[0]["pieces"]
    assert {"P-01", "B-01", "T-01", "M-01"} <= {piece["tag"] for piece in pieces}, pieces
    row = Row({}, {}, shop.mask)
    job = row.filled("$word:job")
    head = int(answer("BookService/GetBook", {})[0]["headSeq"])
    booking = {"job": job, "car": "medium-saloon-silver", "routine": "two-step", "place": "bench", "startTime": "$day:2"}
    answer("JobService/BookJob", row.filled({"requestId": "$id", "job": booking}))
    check = answer("JobService/CheckJobs", {"jobs": [job]})[0]["checks"][0]
    kinds = {line["kind"] for line in check["lines"]}
    assert {"CHECK_LINE_KIND_PAD", "CHECK_LINE_KIND_LIQUID", "CHECK_LINE_KIND_TOWEL"} <= kinds, kinds
    # Said rather than picked: whoever used the shop before left the pads soiled.
    pads = [{"tag": "P-04"}, {"tag": "P-11"}]
    log = row.filled({"requestId": "$id", "job": job, "pads": pads, "droppedTowelCount": "1", "note": f"job {job}"})
    first = answer("JobService/LogUse", log)[0]
    assert first == answer("JobService/LogUse", log)[0], "a retry gets the first answer again"
    # A watch after the head, broken off after one entry, and another that goes on there.
    seen = answer("BookService/WatchEntries", {"afterSeq": str(head)}, messages_max=1)
    last = seen[-1]["entry"]["seq"]
    wanted = int(first["entry"]["seq"])
    seen += answer("BookService/WatchEntries", {"afterSeq": str(last)}, messages_max=wanted - int(last))
    seqs = [int(one["entry"]["seq"]) for one in seen]
    assert seqs == list(range(head + 1, wanted + 1)), seqs
    assert seen[-1]["entry"]["note"] == log["note"], seen[-1]


def main(open_shop):
    parser = argparse.ArgumentParser(description=open_shop.__doc__)
    parser.add_argument("--address", required=True)
    parser.add_argument("--protos", required=True, type=pathlib.Path)
    parser.add_argument("--table", required=True, type=pathlib.Path)
    parser.add_argument("--ca", help="file with the certificate to trust; without it the call is not over TLS")
    parser.add_argument("--token", help="token to send")
    parser.add_argument("--given", action="append", default=[], metavar="NAME=TEXT")
    parser.add_argument("what", help="`rows` for those of any demo book, `use`, or a reason to ask for once")
    args = parser.parse_args()
    shop = open_shop(args)
    if args.what == "use":
        use(shop)
        print("used")
        return
    table = json.loads(args.table.read_text())
    if args.what == "rows":
        asked = [row for row in table if "state" not in row]
    else:
        asked = [row for row in table if row["reason"] == args.what]
    given = dict(one.split("=", 1) for one in args.given)
    wrong = 0
    for row in asked:
        start = time.monotonic()
        otherwise = Row(row, given, shop.mask).ask(shop)
        print(row["reason"], otherwise or "as written", f"{time.monotonic() - start:.3f}s", flush=True)
        wrong += otherwise is not None
    sys.exit(1 if wrong or not asked else 0)
