"""What the checker must find is planted in the table itself, in a transaction that is taken back."""
import checker
import scene

# The table as whoever owns it could leave it, and what is to be told of it.
LAST = "(SELECT max(seq) FROM fettle.entry)"
MIDDLE = "(SELECT max(seq) / 2 FROM fettle.entry)"
PLANTED = {
    f"DELETE FROM fettle.entry WHERE seq = {LAST}": "lost: ",
    f"DELETE FROM fettle.entry WHERE seq = {MIDDLE}": "is missing",
    f"UPDATE fettle.entry SET chain = repeat('f', 64) WHERE seq = {MIDDLE}": "does not fit the chain",
    f"""UPDATE fettle.entry SET bytes = convert_to(replace(convert_from(bytes, 'UTF8'), 'deed', 'dead'), 'UTF8')
        WHERE seq = {LAST}""": "does not fit the chain",
    f"""INSERT INTO fettle.entry SELECT gen_random_uuid(), seq + 1, chain, seq, request, bytes
        FROM fettle.entry WHERE seq = {LAST}""": "has entries",
    "UPDATE seen.tenure SET epoch = epoch + 1 WHERE epoch = (SELECT max(epoch) FROM seen.tenure)": "the right went from",
}


def unseen(stage):
    """How many of them the checker does not find; each is told."""
    history, missed = stage.history(), 0
    if checker.faults(history):
        print("nothing is planted in the table: there are faults already")
        return 0
    for statement, told in PLANTED.items():
        with stage.engine.session() as boss:
            boss.execute(statement)
            rows, tenures = scene.read(boss)
            boss.rollback()
        history.rows, history.tenures = rows, tenures
        if not any(told in one for one in checker.faults(history)):
            missed += 1
            print(f"The checker did not see {told!r} after: {statement}")
    print(f"planted in the table {len(PLANTED)}, found {len(PLANTED) - missed}")
    return missed
