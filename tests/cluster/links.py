"""The ways between the machines: a TCP proxy for each ordered pair, each direction of which can be held up alone.

Machine I reaches a port of machine J at 127.1.I.J, where a proxy listens for I alone, and J itself listens at
127.0.1.J. What is held up is not lost: as on a real way it comes when the way is open again, unless whoever sent it
has given up. Commands come in on the standard input, a JSON list of held flows a line, each [FROM, TO, PORT]; PORT 0
stands for all. Each is answered with a line once it holds.
"""
import asyncio
import contextlib
import itertools
import json
import os
import sys


def own(machine):
    """Where a machine listens."""
    return f"127.0.1.{machine}"


def way(machine, other):
    """Where a machine reaches another."""
    return f"127.1.{machine}.{other}"


class Ways:
    """All proxies, and which flows are held up."""

    def __init__(self):
        self.held, self.changed = set(), asyncio.Event()

    def hold(self, flows):
        self.held = {tuple(flow) for flow in flows}
        self.changed.set()
        self.changed = asyncio.Event()

    async def open(self, flow):
        """Waits until a flow is not held up."""
        source, goal, _ = flow
        while flow in self.held or (source, goal, 0) in self.held:
            await self.changed.wait()

    async def pass_on(self, reader, writer, flow):
        with contextlib.suppress(OSError):
            while part := await reader.read(65536):
                await self.open(flow)
                writer.write(part)
                await writer.drain()
        await self.open(flow)
        writer.close()

    async def listen(self, machine, other, port):
        async def joined(reader, writer):
            there, back = (machine, other, port), (other, machine, port)
            await self.open(there)
            try:
                answers, onward = await asyncio.open_connection(own(other), port)
            except OSError:
                await self.open(back)
                writer.close()
                return
            await asyncio.gather(self.pass_on(reader, onward, there), self.pass_on(answers, writer, back))

        await asyncio.start_server(joined, way(machine, other), port)


async def main(machines, ports):
    ways = Ways()
    for machine, other, port in itertools.product(machines, machines, ports):
        await ways.listen(machine, other, port)
    said = asyncio.StreamReader()
    await asyncio.get_running_loop().connect_read_pipe(lambda: asyncio.StreamReaderProtocol(said), sys.stdin)
    print("open", flush=True)
    while line := await said.readline():
        ways.hold(json.loads(line))
        print("held", flush=True)
    # Whoever gave the commands has gone, and nobody waits for what is on its way.
    os._exit(0)


if __name__ == "__main__":
    count, *ports = (int(word) for word in sys.argv[1:])
    asyncio.run(main(range(1, count + 1), ports))
