"""What is done to the machines and the nodes in a round, and for how long.

Each harm is given the scene and a source of chance, strikes, and gives when it struck and what it struck; the scene is
mended after. A kill is over at once.
"""
import signal
import time

import house
from machines import ETCD, MACHINES, SQL

# Seconds that most harms last, those behind the end of a lease (20 s), and short ones.
LASTS_S = (5, 15)
PAST_LEASE_S = (22, 28)
BREATH_S = (1, 2)
BLINK_S = (0.2, 0.8)

# Longest time until another node has taken over from one that is gone or silent.
TAKEN_S = 15


class Strike:
    """What was struck, which is over now or lasts from now on; and the node, where that has lost its right for certain."""

    def __init__(self, what, holder=None):
        self.what, self.holder, self.at = what, holder, time.time()


def for_some(chance, lasts_s):
    time.sleep(chance.uniform(*lasts_s))


def kill_leader(scene, chance):
    """Half of the times it is held up before, so that it takes along what it was asked and has not done."""
    leader = scene.engine.leader
    if chance.random() < 0.5:
        scene.engine.send(leader, signal.SIGSTOP)
        for_some(chance, BLINK_S)
    scene.engine.kill_engine(leader)
    scene.engine.send(leader, signal.SIGCONT)
    return Strike(f"n{leader}")


def kill_machine(scene, _):
    leader = scene.engine.leader
    scene.engine.kill_machine(leader)
    strike = Strike(f"n{leader}")
    # Nobody gives its lease back: 20 s.
    time.sleep(PAST_LEASE_S[0])
    return strike


def kill_holder(scene, chance):
    """It is started again at once, or when another has the book."""
    holder = scene.holder()
    scene.nodes[holder].kill()
    strike = Strike(holder, holder)
    if len(scene.nodes) > 1 and chance.random() < 0.7:
        await_another(scene, holder)
    return strike


def await_another(scene, holder):
    others = set(scene.nodes) - {holder}
    house.wait_until(lambda: scene.holder() in others, TAKEN_S, "another node has the book")


def kill_both(scene, _):
    holder, leader = scene.holder(), scene.engine.leader
    scene.nodes[holder].kill()
    scene.engine.kill_engine(leader)
    return Strike(f"{holder}, n{leader}", holder)


def pause_leader(scene, chance, lasts_s=LASTS_S):
    leader = scene.engine.leader
    scene.engine.send(leader, signal.SIGSTOP)
    strike = Strike(f"n{leader}")
    for_some(chance, lasts_s)
    return strike


def pause_leader_past_its_lease(scene, chance):
    return pause_leader(scene, chance, PAST_LEASE_S)


def pause_holder(scene, chance, lasts_s=LASTS_S):
    holder = scene.holder()
    scene.nodes[holder].pause()
    strike = Strike(holder)
    for_some(chance, lasts_s)
    return strike


def pause_both(scene, chance):
    leader, holder = scene.engine.leader, scene.holder()
    scene.nodes[holder].pause()
    scene.engine.send(leader, signal.SIGSTOP)
    strike = Strike(f"{holder}, n{leader}")
    for_some(chance, LASTS_S)
    return strike


def cut(scene, chance, flows, what, lasts_s=LASTS_S):
    scene.engine.hold(flows)
    strike = Strike(what)
    for_some(chance, lasts_s)
    return strike


def others(machine):
    return [other for other in MACHINES if other != machine]


def both_ways(machine, goals, port):
    return [flow for other in goals for flow in ([machine, other, port], [other, machine, port])]


def cut_leader_from_standbys(scene, chance):
    leader = scene.engine.leader
    return cut(scene, chance, both_ways(leader, others(leader), SQL), f"n{leader}")


def cut_way_from_leader(scene, chance):
    leader = scene.engine.leader
    return cut(scene, chance, [[leader, other, 0] for other in others(leader)], f"n{leader}")


def cut_way_to_leader(scene, chance):
    leader = scene.engine.leader
    return cut(scene, chance, [[other, leader, 0] for other in others(leader)], f"n{leader}")


def cut_machine_off(scene, chance):
    leader = scene.engine.leader
    return cut(scene, chance, both_ways(leader, others(leader), 0), f"n{leader}", PAST_LEASE_S)


def cut_manager_off(scene, chance):
    leader = scene.engine.leader
    return cut(scene, chance, both_ways(leader, MACHINES, ETCD), f"n{leader}")


def fill_leaders_disk(scene, chance):
    return fill_disk(scene, chance, scene.engine.leader)


def fill_standbys_disk(scene, chance):
    return fill_disk(scene, chance, chance.choice(others(scene.engine.leader)))


def fill_disk(scene, chance, machine):
    scene.engine.fill_disk(machine)
    strike = Strike(f"n{machine}")
    for_some(chance, LASTS_S)
    return strike


def kill_engine(scene, chance):
    """It takes along what it was asked and has not done."""
    scene.engine.pause()
    for_some(chance, BLINK_S)
    scene.engine.kill()
    return Strike("the engine")


def pause_engine(scene, chance):
    scene.engine.pause()
    strike = Strike("the engine")
    for_some(chance, BREATH_S)
    return strike


def pause_holder_briefly(scene, chance):
    """Until another has the book, and a little longer: then it comes back and finds that out."""
    strike = pause_holder(scene, chance, (0, 0))
    if len(scene.nodes) > 1:
        await_another(scene, strike.what)
        strike.holder = strike.what
    for_some(chance, BREATH_S)
    return strike


IN_CLUSTER = [
    kill_leader, kill_holder, kill_both, pause_leader, pause_holder, cut_leader_from_standbys, cut_way_from_leader,
    cut_way_to_leader, cut_manager_off, fill_leaders_disk, fill_standbys_disk, pause_both, cut_machine_off,
    pause_leader_past_its_lease, kill_machine,
]
SHORT = [kill_holder, pause_holder_briefly, kill_engine, kill_holder, pause_engine]

# After these the first acknowledgement is to come within 15 s; for a machine of which nobody is left the manager's
# lease, 20 s, has to end first.
KILLS = [kill_leader, kill_holder, kill_both, kill_engine]
