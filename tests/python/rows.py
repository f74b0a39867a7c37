"""The table of refusals, `tests/public/reasons.json`, as a client in Python works through it.

A client gives `main` a function that opens a shop: an object with `call(rpc, request, messages_max, stall)`, which
answers `(code, reason, metadata, messages)`, `mask(path)`, which writes a field mask as its JSON is read, `token`,
which goes with each call, and `call_s`, the longest time for one.

A row with `as` is asked with the token that `--as NAME=TOKEN` gives; `nobody` has none. Texts in a request that begin
with `$` stand for something: `$id` a new request id, `$id:NAME` the same one throughout a row, `$word:NAME` such a
word, `$day:N` the moment N days from now, `$mask:PATH` a field mask, `$took:NAME` what a call before gave,
`$given:NAME` what `--given NAME=TEXT` says, `$bytes:N` random bytes.
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

# Longest time for one call; a stalled watch and a stop are waited for within it.
CALL_S = 60

# The same where no answer can come: C core tries again until then, when a connection is turned away before a call.
UNREACHED_S = 3

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


def holds_money(answer):
    """Whether there is money anywhere in an answer: nothing else in the contract has a currency."""
    return "currencyCode" in json.dumps(answer)


def use(shop, held):
    """A day with the shop: list, check, log, watch and go on after a break.

    With `--as keep=TOKEN` that one books the job, for the token of the day belongs to one who works: who may neither
    book nor see what things cost.
    """
    own = shop.token

    def answer(rpc, request, **more):
        code, reason, _, messages = shop.call(rpc, request, **more)
        assert code == "OK", (rpc, code, reason)
        return messages

    pieces = answer("KitService/ListPieces", {"pageSize": 1000})[0]["pieces"]
    assert {"P-01", "B-01", "T-01", "M-01"} <= {piece["tag"] for piece in pieces}, pieces
    row = Row({}, {}, shop.mask)
    job = row.filled("$word:job")
    head = int(answer("BookService/GetBook", {})[0]["headSeq"])
    booking = {"job": job, "car": "medium-saloon-silver", "routine": "finish-only", "place": "bench", "startTime": "$day:2"}
    if "keep" in held:
        beyond = {"JobService/BookJob": {"requestId": "$id", "job": booking}, "SupplyService/ListSuppliers": {}}
        for rpc, request in beyond.items():
            code, reason, _, _ = shop.call(rpc, row.filled(request))
            assert (code, reason) == ("PERMISSION_DENIED", "ROLE_TOO_LOW"), (rpc, code, reason)
        makes = answer("KitService/ListMakes", {"pageSize": 1000})
        assert makes[0]["makes"] and not holds_money([makes, pieces]), makes
        shop.token = held["keep"]
        assert holds_money(answer("KitService/ListMakes", {"pageSize": 1000})), "these makes have no prices to hide"
    answer("JobService/BookJob", row.filled({"requestId": "$id", "job": booking}))
    shop.token = own
    check = answer("JobService/CheckJobs", {"jobs": [job]})[0]["checks"][0]
    kinds = {line["kind"] for line in check["lines"]}
    assert {"CHECK_LINE_KIND_PAD", "CHECK_LINE_KIND_LIQUID", "CHECK_LINE_KIND_TOWEL"} <= kinds, kinds
    # Said rather than picked: whoever used the shop before left the pads soiled.
    pads = [{"tag": "P-11"}]
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


def unreached(shop, reasons):
    """Tries to record something where there is no way to the shop: what comes of it is not the shop's answer."""
    shop.call_s = UNREACHED_S
    wash = {"requestId": str(uuid.uuid4()), "tags": ["P-01"]}
    code, said, more, messages = shop.call("KitService/WashKit", wash)
    # grpcurl says no code when it never had a connection.
    assert code in ("UNAVAILABLE", "DEADLINE_EXCEEDED", "") and said not in ("", *reasons), (code, said)
    assert not more and not messages, (more, messages)
    return said


def main(open_shop):
    parser = argparse.ArgumentParser(description=open_shop.__doc__)
    parser.add_argument("--address", required=True)
    parser.add_argument("--protos", required=True, type=pathlib.Path)
    parser.add_argument("--table", required=True, type=pathlib.Path)
    parser.add_argument("--ca", help="file with the certificate to trust; without it the call is not over TLS")
    parser.add_argument("--token", help="token to send")
    parser.add_argument("--as", action="append", default=[], metavar="NAME=TOKEN", dest="held")
    parser.add_argument("--given", action="append", default=[], metavar="NAME=TEXT")
    what = "`rows` for those of any demo book, `use`, `unreached`, or reasons to ask for once"
    parser.add_argument("what", nargs="+", help=what)
    args = parser.parse_args()
    shop = open_shop(args)
    held = {"nobody": None, **dict(one.split("=", 1) for one in args.held)}
    if args.what == ["use"]:
        use(shop, held)
        print("used")
        return
    table = json.loads(args.table.read_text())
    if args.what == ["unreached"]:
        print("unreached:", unreached(shop, {row["reason"] for row in table}))
        return
    if args.what == ["rows"]:
        asked = [row for row in table if "state" not in row]
    else:
        asked = [row for row in table if row["reason"] in args.what]
        assert len(asked) == len(args.what), f"not every one of {args.what} is in the table"
    given = dict(one.split("=", 1) for one in args.given)
    wrong = 0
    for row in asked:
        start = time.monotonic()
        who = row.get("as")
        shop.token = held[who] if who else args.token
        otherwise = Row(row, given, shop.mask).ask(shop)
        print(row["reason"], otherwise or "as written", f"{time.monotonic() - start:.3f}s", flush=True)
        wrong += otherwise is not None
    sys.exit(1 if wrong or not asked else 0)
