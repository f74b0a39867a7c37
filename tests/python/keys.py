"""Types keys at a terminal: keys.py KEYS PROGRAM [ARG...]. KEYS are pieces between |, with < for Enter; each
piece is typed once the program has been quiet. What it said is printed, and its exit code is ours."""
import os, pty, re, select, signal, sys, time

LONGEST_S, QUIET_S = 60, 0.4
pieces = [piece.replace("<", "\r") for piece in sys.argv[1].split("|")]
program = sys.argv[2:]
child, terminal = pty.fork()
if child == 0:
    os.execv(program[0], program)
said, last, start = b"", time.monotonic(), time.monotonic()
while time.monotonic() - start < LONGEST_S:
    ready, _, _ = select.select([terminal], [], [], 0.1)
    if ready:
        try:
            got = os.read(terminal, 65536)
        except OSError:  # the program has gone
            break
        if not got:
            break
        said, last = said + got, time.monotonic()
        if b"\x1b[6n" in got:  # it asks where the cursor is
            os.write(terminal, b"\x1b[1;1R")
    elif pieces and said and time.monotonic() - last > QUIET_S:
        os.write(terminal, pieces.pop(0).encode())
        last = time.monotonic()
plain = re.sub(rb"\x1b\[[0-9;?]*[A-Za-z]", b"", said).decode(errors="replace")
sys.stdout.write(plain.replace("\r", ""))
if time.monotonic() - start >= LONGEST_S:  # it waits for a key that does not come
    os.kill(child, signal.SIGKILL)
_, status = os.waitpid(child, 0)
sys.exit(os.waitstatus_to_exitcode(status))
