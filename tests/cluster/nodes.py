"""Nodes: `fettled` processes that serve one book, and calls to them through grpcio."""
import pathlib
import signal
import sys

import grpc
from google.protobuf import json_format, message_factory
from google.rpc import error_details_pb2
from grpc_status import rpc_status

import house

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.append(str(ROOT / "tests" / "python"))
import grpcio_client  # noqa: E402

PORT = 7420

# A channel of its own for each caller, which notices soon that its node is there again.
OPTIONS = [
    *grpcio_client.OPTIONS, ("grpc.use_local_subchannel_pool", 1), ("grpc.max_reconnect_backoff_ms", 500),
    ("grpc.initial_reconnect_backoff_ms", 100), ("grpc.min_reconnect_backoff_ms", 100),
]


class Node:
    """A `fettled` of one machine."""

    def __init__(self, program, machine, engine, ground, address):
        self.program, self.machine, self.engine, self.address = program, machine, engine, address
        self.folder, self.log = ground / f"node{machine}", ground / f"fettled{machine}.log"
        self.start()

    def start(self):
        words = [self.program, "--node", self.folder, "--listen", self.address, "--log", "info"]
        env = {"FETTLED_STORE": self.engine.url(self.machine), "HOME": str(self.folder)}
        self.child = house.Child(words, self.log, env=env)

    def kill(self):
        self.child.kill()

    def pause(self):
        self.child.send(signal.SIGSTOP)

    def resume(self):
        self.child.send(signal.SIGCONT)

    def mend(self):
        """Goes on where it was paused, and starts where it does not run."""
        if self.child.is_there():
            self.resume()
        else:
            self.start()


class Contract:
    """The messages of the contract, from its .proto files alone."""

    def __init__(self):
        self.pool = grpcio_client.described(ROOT / "proto")

    def stub(self, channel, rpc):
        service, name = rpc.split("/")
        method = self.pool.FindServiceByName(f"fettlebook.v1.{service}").FindMethodByName(name)
        asked, answer = (message_factory.GetMessageClass(kind) for kind in (method.input_type, method.output_type))
        kind = channel.unary_stream if method.server_streaming else channel.unary_unary
        call = kind(
            f"/fettlebook.v1.{rpc}", request_serializer=lambda one: one.SerializeToString(),
            response_deserializer=answer.FromString,
        )
        return lambda request, wait_s: call(json_format.ParseDict(request, asked()), timeout=wait_s)


class Line:
    """A caller's way to one node."""

    def __init__(self, contract, address):
        self.contract, self.channel, self.stubs = contract, grpc.insecure_channel(address, OPTIONS), {}

    def call(self, rpc, request, wait_s):
        if rpc not in self.stubs:
            self.stubs[rpc] = self.contract.stub(self.channel, rpc)
        return self.stubs[rpc](request, wait_s)

    def close(self):
        self.channel.close()


def refusal(error):
    """What a call was refused with: the code, the reason of the contract or the words, and more about it."""
    info, status = error_details_pb2.ErrorInfo(), rpc_status.from_call(error)
    if status is None or not any(detail.Unpack(info) for detail in status.details):
        return error.code().name, error.details() or "", {}
    return error.code().name, info.reason, dict(info.metadata)
