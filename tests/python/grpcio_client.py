"""A client on C core, which knows nothing of the service but the .proto files. See rows.py."""
import pathlib
import sys
import tempfile
import time

import grpc
from google.protobuf import descriptor_pb2, descriptor_pool, json_format, message_factory
from google.rpc import error_details_pb2
from grpc_status import rpc_status
from grpc_tools import protoc

import rows

# Without this C core takes in megabytes that nobody reads, on a link as quick as loopback.
OPTIONS = [("grpc.http2.bdp_probe", 0)]


class Shop:
    """The shop over grpcio."""

    def __init__(self, args):
        self.pool = described(args.protos)
        if args.ca:
            trusted = pathlib.Path(args.ca).read_bytes()
            self.channel = grpc.secure_channel(args.address, grpc.ssl_channel_credentials(trusted), OPTIONS)
        else:
            self.channel = grpc.insecure_channel(args.address, OPTIONS)
        self.token, self.call_s = args.token, rows.CALL_S

    @staticmethod
    def mask(path):
        return path

    def call(self, rpc, request, messages_max=None, stall=0):
        service, name = rpc.split("/")
        method = self.pool.FindServiceByName(f"fettlebook.v1.{service}").FindMethodByName(name)
        message = json_format.ParseDict(request, message_factory.GetMessageClass(method.input_type)())
        path = f"/fettlebook.v1.{rpc}"
        kind = self.channel.unary_stream if method.server_streaming else self.channel.unary_unary
        stub = kind(
            path,
            request_serializer=lambda one: one.SerializeToString(),
            response_deserializer=message_factory.GetMessageClass(method.output_type).FromString,
        )
        metadata = [("authorization", f"Bearer {self.token}")] if self.token else []
        messages = []
        try:
            answer = stub(message, metadata=metadata, timeout=self.call_s)
            for one in answer if method.server_streaming else [answer]:
                messages.append(json_format.MessageToDict(one))
                if len(messages) == 1:
                    print("first", flush=True) if method.server_streaming else None
                    time.sleep(stall)
                if messages_max is not None and len(messages) >= messages_max:
                    answer.cancel()
                    break
        except grpc.RpcError as error:
            code, info = error.code().name, error_details_pb2.ErrorInfo()
            status = rpc_status.from_call(error)
            if status is None or not any(detail.Unpack(info) for detail in status.details):
                return code, error.details(), {}, messages
            assert info.domain == "fettlebook", info
            return code, info.reason, dict(info.metadata), messages
        return "OK", "", {}, messages


def described(protos):
    """The descriptions that protoc makes of the .proto files."""
    out = pathlib.Path(tempfile.mkdtemp()) / "set.binpb"
    files = [str(path) for path in sorted(protos.glob("fettlebook/v1/*.proto"))]
    well_known = str(pathlib.Path(protoc.__file__).parent / "_proto")
    args = ["protoc", f"-I{protos}", f"-I{well_known}", "--include_imports", f"--descriptor_set_out={out}"]
    assert protoc.main(args + files) == 0, "the .proto files compile with protoc"
    pool = descriptor_pool.DescriptorPool()
    for file in descriptor_pb2.FileDescriptorSet.FromString(out.read_bytes()).file:
        pool.Add(file) if hasattr(pool, "Add") else pool.AddSerializedFile(file.SerializeToString())
    return pool


if __name__ == "__main__":
    sys.exit(rows.main(Shop))
