"""A house of its own for all that the proof runs: processes, loopback and files that nobody else has.

Linux gives it to the superuser (namespaces(7)). Whatever ends the program, a kill of it too, ends every process in
the house, and its files were never on a disk.
"""
import atexit
import fcntl
import os
import pathlib
import pwd
import shutil
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import time

MARK = "FETTLEBOOK_IN_HOUSE"

# Folders of the system's own that are empty as a rule; the files of the house lie over the first that is.
GROUNDS = ("/srv", "/media", "/mnt")
GROUND_BYTES = 3 * 1024**3

APART = ["--mount", "--net", "--pid", "--fork", "--kill-child", "--mount-proc", "--propagation", "private"]

# Who runs what refuses the superuser; the first that exists.
USERS = ("postgres", "nobody")

# Flags of a network interface. Source: netdevice(7).
SIOCSIFFLAGS, IFF_UP, IFF_RUNNING = 0x8914, 0x1, 0x40


def enter(must=True):
    """Goes on as the same program inside a house, and answers its folder.

    Where the system gives none and none has to be, that is a folder for as long as the program runs: a kill of it
    ends its processes and leaves the folder there.
    """
    if os.environ.get(MARK) != "1":
        if subprocess.run(["unshare", *APART, "true"], capture_output=True).returncode == 0:
            os.environ[MARK] = "1"
            os.execvp("unshare", ["unshare", *APART, sys.executable, *sys.argv])
        if must:
            sys.exit("This has to be run by the superuser: it mounts, and makes a loopback of its own.")
        print("The system gives no house here: this runs beside all else, in a folder of its own.", flush=True)
        folder = tempfile.mkdtemp(prefix="cluster")
        os.chmod(folder, 0o755)
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        return pathlib.Path(folder)
    inside = os.fork()
    if inside:
        for what in (signal.SIGINT, signal.SIGTERM):
            signal.signal(what, lambda number, _: os.kill(inside, number))
        # As the first process of the house it takes over whoever is left, and all end with it.
        while True:
            ended, status = os.wait()
            if ended == inside:
                os._exit(abs(os.waitstatus_to_exitcode(status)))
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    with socket.socket() as any_socket:
        fcntl.ioctl(any_socket, SIOCSIFFLAGS, struct.pack("16sh", b"lo", IFF_UP | IFF_RUNNING))
    ground = next(pathlib.Path(one) for one in GROUNDS if pathlib.Path(one).is_dir() and not os.listdir(one))
    mount(ground, GROUND_BYTES)
    return ground


def mount(folder, bytes_max):
    """Files in memory over a folder."""
    options = f"size={bytes_max},mode=755"
    subprocess.run(["mount", "-t", "tmpfs", "-o", options, "house", str(folder)], check=True)


def unprivileged():
    """Name of who runs what refuses the superuser; nobody else where this is not run by him."""
    if os.geteuid() != 0:
        return None
    known = {one.pw_name for one in pwd.getpwall()}
    return next(name for name in USERS if name in known)


def folder_of(user, folder):
    """A new folder that belongs to a user."""
    folder.mkdir(parents=True)
    if user:
        known = pwd.getpwnam(user)
        os.chown(folder, known.pw_uid, known.pw_gid)
    return folder


class Child:
    """A program that runs until it is stopped, and what it started."""

    def __init__(self, words, log, user=None, hosts=None, env=None):
        words = [str(word) for word in words]
        # It ends with this program, however that ends.
        alone = ["setpriv", "--pdeathsig", "KILL"]
        if user:
            alone += [f"--reuid={user}", f"--regid={user}", "--clear-groups"]
        words = [*alone, *words]
        if hosts:
            named = 'mount --bind "$0" /etc/hosts && exec "$@"'
            words = ["unshare", "--mount", "sh", "-c", named, str(hosts), *words]
        with open(log, "ab") as out:
            known = {"PATH": os.environ["PATH"], "LC_ALL": "C", **(env or {})}
            self.run = subprocess.Popen(
                words, stdin=subprocess.DEVNULL, stdout=out, stderr=out, cwd="/", env=known, start_new_session=True
            )

    def is_there(self):
        return self.run.poll() is None

    def send(self, what):
        for pid in family(self.run.pid):
            send(pid, what)

    def kill(self):
        self.send(signal.SIGKILL)
        self.run.wait()

    def stop(self, wait_s):
        """Asks it to end, and answers whether it did in time."""
        self.run.terminate()
        try:
            self.run.wait(wait_s)
            return True
        except subprocess.TimeoutExpired:
            self.kill()
            return False


def send(pid, what):
    """A signal to a process that may have ended."""
    try:
        os.kill(pid, what)
    except ProcessLookupError:
        pass


def family(pid):
    """A process and all that it started and that still run. Source: proc_pid_stat(5)."""
    children = {}
    for one in os.listdir("/proc"):
        if one.isdigit():
            try:
                parent = int(pathlib.Path(f"/proc/{one}/stat").read_text().rsplit(")", 1)[1].split()[1])
            except (FileNotFoundError, ProcessLookupError):
                continue
            children.setdefault(parent, []).append(int(one))
    found = [pid]
    for one in found:
        found.extend(children.get(one, []))
    return found


def wait_until(is_so, wait_s, what, every_s=0.1):
    """Waits for something that comes; an error with what it was if it does not."""
    start = time.monotonic()
    while not is_so():
        if time.monotonic() - start > wait_s:
            raise TimeoutError(f"after {wait_s} s: {what}")
        time.sleep(every_s)
    return time.monotonic() - start
