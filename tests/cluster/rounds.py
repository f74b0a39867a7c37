"""Rounds of harm against a book that several nodes share, each checked from outside; the figures are kept.

    rounds.py cluster --fettled PROGRAM [--rounds N] [--minutes M] [--to FILE]   three machines, three nodes
    rounds.py short   --fettled PROGRAM [--rounds N]                            one PostgreSQL, two nodes
    rounds.py figures FILE                                                      what the rounds in a file came to
    rounds.py up      --fettled PROGRAM                                         the three machines, and a shell there

Rounds go on where those in the file ended: the number of a round is its seed and names its harm. What everything said
of itself is left beside the file after a round with a fault.
"""
import argparse
import json
import os
import pathlib
import random
import subprocess
import sys
import time

import callers
import checker
import harms
import house
import planted
import scene

KILL_ANSWERED_S = 15

# How long callers work undisturbed before a harm and after it, and how long they may settle what is open.
CALM_S, SHORT_CALM_S = 2.0, 0.4
SETTLED_S = 30


def play(stage, harm, number, calm_s):
    """One round; answers its figures."""
    seed, begun = number, time.monotonic()
    chance = random.Random(seed)
    called = stage.call_on(seed)
    time.sleep(calm_s)
    told = {"round": number, "harm": harm.__name__, "struck": "", "faults": []}
    strike = harms.Strike("")
    try:
        strike = harm(stage, chance)
        told["struck"] = strike.what
        stage.mend()
        house.wait_until(lambda: first_after(called, strike.at), SETTLED_S, "something is acknowledged again")
    except TimeoutError as error:
        told["faults"].append(str(error))
    time.sleep(calm_s)
    stage.unsettled += callers.finish(called, SETTLED_S)
    attempts = [attempt for caller in called for attempt in caller.attempts]
    stage.attempts += attempts
    history = stage.history()
    told["faults"] += checker.faults(history)
    if strike.holder:
        told["faults"] += checker.of_a_strike(history, strike.holder, strike.at)
    heard = sorted(one.heard_at for one in attempts if one.heard == "acknowledged")
    first = first_after(called, strike.at)
    first_s = round(first.heard_at - strike.at, 2) if first else None
    told.update(
        entries=len(history.rows), acknowledged=len(heard), tenures=len(history.tenures),
        otherwise=sum(one.heard != "acknowledged" for one in attempts),
        unknown=sum(one.heard in ("UNAVAILABLE", "DEADLINE_EXCEEDED", "CANCELLED", "UNKNOWN") for one in attempts),
        first_s=first_s, first_at=first.node if first else None,
        silence_s=round(max((later - one for one, later in zip(heard, heard[1:])), default=0), 2),
        took_s=round(time.monotonic() - begun, 1),
    )
    if harm in harms.KILLS and not (first and first_s < KILL_ANSWERED_S):
        told["faults"].append(f"nothing was acknowledged in the {KILL_ANSWERED_S} s after the kill")
    return told


def first_after(called, struck_at):
    """The attempt that was acknowledged first of those that were sent after a harm."""
    heard = [
        one for caller in called for one in list(caller.attempts)
        if one.heard == "acknowledged" and one.sent_at > struck_at
    ]
    return min(heard, key=lambda one: one.heard_at, default=None)


def run(stage, wanted, args, calm_s):
    """Rounds until so many are in the file, or the time is over; answers how many had faults."""
    done = figures_of(args.to)
    number, end, wrong = len(done), time.monotonic() + args.minutes * 60, 0
    while number < args.rounds and time.monotonic() < end:
        told = play(stage, wanted[number % len(wanted)], number, calm_s)
        number += 1
        print(line(told), flush=True)
        if args.to:
            with open(args.to, "a") as kept:
                kept.write(json.dumps(told) + "\n")
        if told["faults"]:
            wrong += 1
            stage.tell(f"{args.to or 'cluster'}-round-{told['round']}")
            print("\n".join(told["faults"][:10]), flush=True)
            break
    return wrong


def line(told):
    return (
        f"round {told['round']:3} {told['harm']:28} {told['struck']:24} acknowledged {told['acknowledged']:5}, "
        f"unknown {told['unknown']:3}, first after {told['first_s']} s at {told['first_at']}, "
        f"longest silence {told['silence_s']} s, "
        f"{len(told['faults'])} faults, {told['took_s']} s"
    )


def figures_of(file):
    if not file or not pathlib.Path(file).exists():
        return []
    return [json.loads(one) for one in pathlib.Path(file).read_text().splitlines()]


def figures(file):
    """A line for each harm, and one for all."""
    done = figures_of(file)
    names = list(dict.fromkeys(one["harm"] for one in done))
    print(f"{'harm':28} rounds acknowledged unknown faults  first after, s: least median most  longest silence, s")
    for name in [*names, "all"]:
        these = [one for one in done if name in ("all", one["harm"])]
        first = sorted(one["first_s"] for one in these if one["first_s"] is not None) or [0]
        sums = {key: sum(one[key] for one in these) for key in ("acknowledged", "unknown")}
        wrong = sum(bool(one["faults"]) for one in these)
        print(
            f"{name:28} {len(these):6} {sums['acknowledged']:12} {sums['unknown']:7} {wrong:6}  "
            f"{first[0]:20} {first[len(first) // 2]:6} {first[-1]:5} {max(one['silence_s'] for one in these):18}"
        )


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("cluster", "short", "figures", "up"))
    parser.add_argument("file", nargs="?")
    parser.add_argument("--fettled", type=pathlib.Path)
    parser.add_argument("--nodes", type=int)
    parser.add_argument("--rounds", type=int)
    parser.add_argument("--minutes", type=float, default=1000)
    parser.add_argument("--to", type=pathlib.Path)
    args = parser.parse_args()
    if args.what == "figures":
        figures(args.file)
        return 0
    if not args.fettled or not args.fettled.is_file():
        parser.error("name the program with --fettled")
    args.fettled = args.fettled.resolve()
    is_short = args.what == "short"
    args.rounds = args.rounds or (10 if is_short else 200)
    ground = house.enter(must=not is_short)
    stage = scene.Scene(ground, args.fettled, args.nodes or (2 if is_short else 3), in_cluster=not is_short)
    wrong = 1
    try:
        if args.what == "up":
            print(f"nodes: {', '.join(stage.nodes)}; PostgreSQL leads on n{stage.engine.leader}; files: {ground}")
            print("All of it ends with this shell.", flush=True)
            subprocess.run([os.environ.get("SHELL", "sh")], cwd=ground)
            wrong = 0
        else:
            wanted = harms.SHORT if is_short else harms.IN_CLUSTER
            wrong = run(stage, wanted, args, SHORT_CALM_S if is_short else CALM_S)
            wrong += planted.unseen(stage)
    finally:
        stage.end()
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
