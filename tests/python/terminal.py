"""Runs a program at a terminal: terminal.py ANSWER PROGRAM [ARG...]. The answer is typed, and Enter, once
the program asks something that ends in a question mark; what it said is printed, and its exit code is ours."""
import os, pty, re, select, sys, time

LONGEST_S = 30
answer, program = sys.argv[1], sys.argv[2:]
child, terminal = pty.fork()
if child == 0:
    os.execv(program[0], program)
said, asked, start = b"", False, time.monotonic()
while time.monotonic() - start < LONGEST_S:
    ready, _, _ = select.select([terminal], [], [], 0.2)
    if not ready:
        continue
    try:
        got = os.read(terminal, 65536)
    except OSError:  # the program has gone
        break
    if not got:
        break
    said += got
    if b"\x1b[6n" in got:  # it asks where the cursor is
        os.write(terminal, b"\x1b[1;1R")
    plain = re.sub(rb"\x1b\[[0-9;?]*[A-Za-z]", b"", said)
    if not asked and re.search(rb"\?[^?]*\(y/N\)", plain):
        asked = True
        os.write(terminal, answer.encode() + b"\r")
plain = re.sub(rb"\x1b\[[0-9;?]*[A-Za-z]", b"", said).decode(errors="replace")
sys.stdout.write(plain.replace("\r", ""))
_, status = os.waitpid(child, 0)
sys.exit(os.waitstatus_to_exitcode(status))
