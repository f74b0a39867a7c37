"""A whole client in Python: it receives kit, checks a job, logs it with retries and watches the book.

    pip install grpcio grpcio-tools googleapis-common-protos
    client.py HOST:PORT PROTO_FOLDER CA_FILE TOKEN JOB

CA_FILE is the certificate that the shop's devices hold on to, TOKEN that of a device of role work.
"""
import pathlib
import sys
import tempfile
import time
import uuid

import grpc
from grpc_tools import protoc

address, protos, ca, token, job = sys.argv[1:6]
built = tempfile.mkdtemp()
well_known = pathlib.Path(protoc.__file__).parent / "_proto"
files = [str(path) for path in pathlib.Path(protos).glob("fettlebook/v1/*.proto")]
made = protoc.main(["", f"-I{protos}", f"-I{well_known}", f"--python_out={built}", f"--grpc_python_out={built}", *files])
assert made == 0, "protoc makes the messages and stubs"
sys.path.insert(0, built)
from fettlebook.v1 import book_service_pb2 as book, book_service_pb2_grpc as book_rpc  # noqa: E402
from fettlebook.v1 import check_pb2, common_pb2  # noqa: E402
from fettlebook.v1 import job_service_pb2 as jobs, job_service_pb2_grpc as job_rpc  # noqa: E402
from fettlebook.v1 import kit_service_pb2 as kit, kit_service_pb2_grpc as kit_rpc  # noqa: E402

# The token goes with each call, and over TLS alone: gRPC sees to that.
who = grpc.access_token_call_credentials(token)
trusted = grpc.ssl_channel_credentials(pathlib.Path(ca).read_bytes())
channel = grpc.secure_channel(address, grpc.composite_channel_credentials(trusted, who))
kits, works, books = (rpc(channel) for rpc in (kit_rpc.KitServiceStub, job_rpc.JobServiceStub, book_rpc.BookServiceStub))

# What may be tried again: nothing was answered, or the service said to come back.
AGAIN = (grpc.StatusCode.UNAVAILABLE, grpc.StatusCode.DEADLINE_EXCEEDED, grpc.StatusCode.RESOURCE_EXHAUSTED)


def record(call, request, deadlines=(5, 10, 20)):
    """Sends a deed until it is answered. It has one request id, so it counts once however often it goes."""
    request.request_id = str(uuid.uuid4())
    for tries, deadline in enumerate(deadlines):
        try:
            return call(request, timeout=deadline).entry
        except grpc.RpcError as error:
            if error.code() not in AGAIN or tries + 1 == len(deadlines):
                raise
            time.sleep(0.1 * 2**tries)


def watch(after_seq, count):
    """Gives so many entries after one. Whatever breaks off goes on after the last entry that came."""
    while count > 0:
        try:
            stream = books.WatchEntries(book.WatchEntriesRequest(after_seq=after_seq))
            for answer in stream:
                after_seq, count = answer.entry.seq, count - 1
                yield answer.entry
                # A link that is cut, here after each entry.
                stream.cancel()
        except grpc.RpcError as error:
            if error.code() not in (*AGAIN, grpc.StatusCode.CANCELLED):
                raise


before = books.GetBook(book.GetBookRequest(), timeout=5).head_seq
received = record(kits.ReceiveKit, kit.ReceiveKitRequest(make="coarse-foam-150", piece_count=2))
print("received as entry", received.seq)
checked = works.CheckJobs(jobs.CheckJobsRequest(jobs=[job]), timeout=5).checks[0]
print("check:", common_pb2.Verdict.Name(checked.verdict))
for line in checked.lines:
    if line.verdict != common_pb2.VERDICT_GO:
        print(" ", check_pb2.CheckLineKind.Name(line.kind), line.reason)
# The first try has a millisecond, so that its answer is lost.
logged = record(works.LogUse, jobs.LogUseRequest(job=job), deadlines=(0.001, 10, 20))
print("logged as entry", logged.seq)
seen = [entry.seq for entry in watch(before, 2)]
assert seen == [received.seq, logged.seq] == [before + 1, before + 2], (before, seen)
print("watched", *seen)
