"""Runs command lines at a terminal, one after the other: unasked.py FILE PROGRAM [ARG...]. A line of the file is
the words of one command, a tab between them. Nobody answers; a program that asks something, or does not end, is
told on a line of its own and ended."""
import os, pty, re, select, signal, sys, time

LONGEST_S = 20
lines, program = open(sys.argv[1], encoding="utf-8").read().splitlines(), sys.argv[2:]
asked = 0
for line in lines:
    words = program + line.split("\t")
    child, terminal = pty.fork()
    if child == 0:
        os.execv(words[0], words)
    said, start, ended = b"", time.monotonic(), False
    while time.monotonic() - start < LONGEST_S:
        ready, _, _ = select.select([terminal], [], [], 0.5)
        if not ready:
            continue
        try:
            got = os.read(terminal, 65536)
        except OSError:  # the program has gone
            ended = True
            break
        if not got:
            ended = True
            break
        said += got
        if b"\x1b[6n" in got:  # it asks where the cursor is, to put a question there
            break
    plain = re.sub(rb"\x1b\[[0-9;?]*[A-Za-z]", b"", said).decode(errors="replace")
    prompts = b"\x1b[6n" in said or re.search(r"(^|\n)\? ", plain.replace("\r", ""))
    if prompts or not ended:
        asked += 1
        print("asked:", " ".join(words[1:]), "|", plain[-300:].replace("\n", " "))
        os.kill(child, signal.SIGKILL)
    os.close(terminal)
    os.waitpid(child, 0)
print("lines:", len(lines), "asked:", asked)
sys.exit(1 if asked else 0)
