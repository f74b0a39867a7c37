"""The checker is checked: a history in which all holds, and each thing that must not be planted in it by itself."""
import copy
import dataclasses
import hashlib
import json
import unittest
import uuid

import checker
from checker import Attempt

BENCH, YARD = "127.0.1.1:7420", "127.0.1.2:7420"


def row(seq, chain, request, note):
    text = json.dumps({"seq": seq, "request": request, "note": note}).encode()
    return checker.Row(seq, hashlib.sha256(chain.encode() + text).hexdigest(), seq - 1, request, text)


def journal(rows):
    """Its lines, as its documented form has them."""
    lines = [f'{{"chain":"{one.chain}","entry":{one.bytes.decode()}}}' for one in rows]
    return "".join(one + "\n" for one in lines).encode()


def whole():
    """Ten entries: the bench records six, is held up, and the yard records the rest from second 60 on.

    Of the seventh the bench was asked first, and nobody heard what came of it; the second was asked for twice.
    """
    rows, attempts, chain = [], [], checker.START
    for seq in range(1, 11):
        request, note = str(uuid.UUID(int=seq)), f"van-a, deed {seq}"
        rows.append(row(seq, chain, request, note))
        chain = rows[-1].chain
        node, sent_at = (BENCH if seq < 7 else YARD), seq * 10.0
        if seq in (2, 7):
            attempts.append(Attempt(request, note, BENCH, sent_at - 9, sent_at - 6, "DEADLINE_EXCEEDED"))
        attempts.append(Attempt(request, note, node, sent_at - 5, sent_at - 4, "acknowledged", seq))
    # The bench makes sure of its right once, behind the third, of which it was asked before.
    tenures = [checker.Tenure(1, BENCH, 0, 0.0), checker.Tenure(2, BENCH, 3, 29.0), checker.Tenure(3, YARD, 6, 60.0)]
    seen = {f"watcher of {node}": [(one.seq, one.request, f"van-a, deed {one.seq}") for one in rows] for node in (BENCH, YARD)}
    exports = {node: journal(rows) for node in (BENCH, YARD)}
    return checker.History(rows, attempts, seen, tenures, exports)


def attempt_of(history, seq):
    return next(one for one in history.attempts if one.seq == seq)


def follow(history):
    """The table as whoever changed it behind the store would leave it: each chain value fits, and nodes agree."""
    chain, rows = checker.START, []
    for one in history.rows:
        chain = hashlib.sha256(chain.encode() + one.bytes).hexdigest()
        rows.append(dataclasses.replace(one, chain=chain))
    history.rows = rows
    history.exports = {node: journal(rows) for node in history.exports}


def lose_the_last(history):
    history.rows.pop()
    follow(history)


def lose_one_and_close_up(history):
    """As another timeline has it: the fourth never was, and others came in its place."""
    history.rows = history.rows[:3] + [
        row(one.seq - 1, checker.START, one.request, f"van-a, deed {one.seq}") for one in history.rows[4:]
    ]
    follow(history)


def double_one(history):
    again = row(11, checker.START, history.rows[4].request, "van-a, deed 5")
    history.rows.append(again)
    follow(history)


def leave_a_gap(history):
    del history.rows[4]
    follow(history)


def number_a_row_otherwise(history):
    history.rows[4].seq = 6


def number_an_entry_otherwise(history):
    history.rows[4].bytes = history.rows[4].bytes.replace(b'"seq": 5', b'"seq": 6')
    follow(history)


def break_the_chain(history):
    history.rows[4].chain = "f" * 64


def change_an_entry(history):
    changed = history.rows[4].bytes.replace(b"deed 5", b"deed 6")
    history.rows[4] = dataclasses.replace(history.rows[4], bytes=changed)
    follow(history)


def acknowledge_another_number(history):
    attempt_of(history, 5).seq = 6


def acknowledge_what_is_nowhere(history):
    history.attempts.append(Attempt(str(uuid.uuid4()), "van-b, deed 1", YARD, 90.0, 91.0, "acknowledged", 10))


def acknowledge_after_the_right_was_lost(history):
    """The bench comes back and answers for the eighth, which the yard recorded for nobody who asked."""
    attempt_of(history, 8).node = BENCH


def record_after_the_right_was_lost(history):
    """The bench is asked at second 65 and records behind the yard's back, under its old tenure."""
    attempt_of(history, 5).sent_at = 65.0


def skip_an_epoch(history):
    history.tenures[2].epoch = 4


def take_the_right_behind_an_earlier_entry(history):
    history.tenures[2].after = 2


def show_a_watcher_what_is_not_there(history):
    history.seen[f"watcher of {YARD}"][4] = (5, str(uuid.uuid4()), "van-b, deed 1")


def show_a_watcher_another_request(history):
    history.seen[f"watcher of {YARD}"][4] = (5, str(uuid.uuid4()), "van-a, deed 5")


def show_a_watcher_another_note(history):
    history.seen[f"watcher of {YARD}"][4] = (5, history.rows[4].request, "van-b, deed 1")


def show_a_watcher_more(history):
    history.seen[f"watcher of {BENCH}"].append((11, str(uuid.uuid4()), "van-b, deed 1"))


def give_another_book(history):
    history.exports[YARD] = history.exports[YARD][:-10]


def leave_one_open(history):
    history.unsettled = 1


def put_it_under_another_request(history):
    history.rows[4].request = str(uuid.uuid4())


def say_that_the_end_was_certain(history):
    history.rows[4].after = 5


def say_that_a_later_one_was_certain(history):
    history.rows[4].after = 7
    history.rows[4].bytes = history.rows[4].bytes.replace(b'"request"', b'"after": 7, "request"')
    follow(history)


def say_another_certain_entry(history):
    history.rows[4].after = 3


PLANTED = {
    lose_the_last: "lost: 127.0.1.2:7420 acknowledged entry 10",
    lose_one_and_close_up: "lost: 127.0.1.1:7420 acknowledged entry 4",
    double_one: "has entries 5 and 11",
    leave_a_gap: "entry 5 is missing: 6 is there",
    number_a_row_otherwise: "entry 5 is missing: 6 is there",
    number_an_entry_otherwise: "entry 5 is missing: 5 is there",
    break_the_chain: "entry 5 does not fit the chain",
    change_an_entry: "entry 5 is of 'van-a, deed 5' and says 'van-a, deed 6'",
    acknowledge_another_number: "was acknowledged as entry 6 and is 5",
    acknowledge_what_is_nowhere: "lost: 127.0.1.2:7420 acknowledged entry 10",
    acknowledge_after_the_right_was_lost: "127.0.1.1:7420 acknowledged entry 8, which 127.0.1.2:7420 recorded",
    record_after_the_right_was_lost: "127.0.1.1:7420 acknowledged entry 5, which 127.0.1.1:7420 recorded",
    skip_an_epoch: "the right went from epoch 2 behind 3 to 4 behind 6",
    take_the_right_behind_an_earlier_entry: "the right went from epoch 2 behind 3 to 3 behind 2",
    show_a_watcher_what_is_not_there: "saw 'van-b, deed 1' as entry 5, which is 'van-a, deed 5' now",
    show_a_watcher_another_request: "saw 'van-a, deed 5' as entry 5, which is 'van-a, deed 5' now",
    show_a_watcher_another_note: "saw 'van-b, deed 1' as entry 5, which is 'van-a, deed 5' now",
    show_a_watcher_more: "saw 'van-b, deed 1' as entry 11, which is None now",
    give_another_book: "what 127.0.1.2:7420 gives of the book is not what the table has",
    leave_one_open: "1 requests are not settled",
    put_it_under_another_request: "entry 5 stands under request",
    say_that_the_end_was_certain: "entry 5 says that 4 was certain, and the table 5",
    say_that_a_later_one_was_certain: "entry 5 says that 7 was certain, and the table 7",
    say_another_certain_entry: "entry 5 says that 4 was certain, and the table 3",
}


class Checked(unittest.TestCase):
    def test_nothing_is_found_where_all_holds(self):
        self.assertEqual(checker.faults(whole()), [])

    def test_all_that_is_planted_is_found(self):
        for plant, told in PLANTED.items():
            with self.subTest(plant.__name__):
                history = copy.deepcopy(whole())
                plant(history)
                found = checker.faults(history)
                self.assertTrue(any(told in one for one in found), found)

    def test_whoever_was_struck_had_the_right_and_lost_it(self):
        history = whole()
        for node, struck_at, told in (
            (BENCH, 59.0, []),
            (YARD, 59.0, [f"{YARD} was struck, and {BENCH} had the right"]),
            (BENCH, -1.0, [f"{BENCH} was struck, and nobody had the right"]),
            (YARD, 61.0, [f"{YARD} was struck, and nobody took the right since: it was not what has it"]),
        ):
            with self.subTest(f"{node} at {struck_at}"):
                self.assertEqual(checker.of_a_strike(history, node, struck_at), told)


if __name__ == "__main__":
    unittest.main()
