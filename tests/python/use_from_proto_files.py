"""Checks and logs a job through C-core gRPC, knowing nothing but the .proto files.

Usage: use_from_proto_files.py ADDRESS PROTO_FOLDER. Exits 0 when everything held. The shop is invented.
"""
import datetime
import json
import pathlib
import sys
import tempfile
import uuid

import grpc
from google.protobuf import json_format
from google.rpc import error_details_pb2
from grpc_status import rpc_status
from grpc_tools import protoc

address, protos = sys.argv[1], pathlib.Path(sys.argv[2])
built = tempfile.mkdtemp()
files = [str(path) for path in sorted(protos.glob("fettlebook/v1/*.proto"))]
well_known = str(pathlib.Path(protoc.__file__).parent / "_proto")
args = ["protoc", f"-I{protos}", f"-I{well_known}", f"--python_out={built}", f"--grpc_python_out={built}"]
assert protoc.main(args + files) == 0, "the .proto files compile with protoc"
sys.path.insert(0, built)

from fettlebook.v1 import (  # noqa: E402
    book_service_pb2, book_service_pb2_grpc, check_pb2, common_pb2, job_pb2, job_service_pb2,
    job_service_pb2_grpc, kit_service_pb2, kit_service_pb2_grpc, make_pb2,
)

stock = protos.parent / "demo-stock"
channel = grpc.insecure_channel(address)
kit = kit_service_pb2_grpc.KitServiceStub(channel)
jobs = job_service_pb2_grpc.JobServiceStub(channel)
book = book_service_pb2_grpc.BookServiceStub(channel)


def new_id():
    return str(uuid.uuid4())


def load(name, message):
    return [json_format.ParseDict(row, message()) for row in json.loads((stock / name).read_text())]


for make in load("makes.json", make_pb2.Make):
    kit.CreateMake(kit_service_pb2.CreateMakeRequest(request_id=new_id(), make=make))
for receipt in load("kit.json", kit_service_pb2.ReceiveKitRequest):
    receipt.request_id = new_id()
    kit.ReceiveKit(receipt)
for car in load("cars.json", job_pb2.Car):
    jobs.CreateCar(job_service_pb2.CreateCarRequest(request_id=new_id(), car=car))
for routine in load("routines.json", job_pb2.Routine):
    jobs.CreateRoutine(job_service_pb2.CreateRoutineRequest(request_id=new_id(), routine=routine))

start = datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(days=2)
booking = job_service_pb2.BookJobRequest(request_id=new_id())
booking.job.job, booking.job.car = "saloon-from-python", "medium-saloon-silver"
booking.job.routine, booking.job.place = "two-step", "bench"
booking.job.start_time.FromDatetime(start)
jobs.BookJob(booking)

check = jobs.CheckJobs(job_service_pb2.CheckJobsRequest(jobs=["saloon-from-python"]))
lines = {(line.kind, line.step): line for line in check.checks[0].lines}
cut = lines[(check_pb2.CHECK_LINE_KIND_PAD, "cut")]
assert (cut.need_quantity, cut.have_quantity, cut.short_quantity) == (2, 8, 0), cut
plate = lines[(check_pb2.CHECK_LINE_KIND_PLATE, "cut")]
assert plate.picks[0].tag == "BP-02", plate
assert plate.verdict == common_pb2.VERDICT_WATCH and "BP-01" in plate.reason, plate

log = job_service_pb2.LogUseRequest(request_id=new_id(), job="saloon-from-python", dropped_towel_count=1)
log.weighings.add(bottle="B-01", gross_mg=500_000)
first = jobs.LogUse(log)
again = jobs.LogUse(log)
assert first.SerializeToString() == again.SerializeToString(), "a retry gets the first answer again"
assert first.entry.seq > 0 and len(first.entry.deeds) > 10, first
worn = kit.GetPiece(kit_service_pb2.GetPieceRequest(tag="P-03")).piece
assert worn.pad.work_micro_sections > 56_000_000, worn
# (500 g - 82 g) / 1.10 g/mL = 380 mL: arithmetic.
bottle = kit.GetPiece(kit_service_pb2.GetPieceRequest(tag="B-01")).piece
assert bottle.bottle.left_ul == 380_000, bottle

log.dropped_towel_count = 2
try:
    jobs.LogUse(log)
    raise SystemExit("the same request id with another body was taken")
except grpc.RpcError as error:
    status = rpc_status.from_call(error)
    info = error_details_pb2.ErrorInfo()
    assert status.details[0].Unpack(info), status
    assert (info.domain, info.reason) == ("fettlebook", "REQUEST_ID_REUSED"), info

verified = book.VerifyBook(book_service_pb2.VerifyBookRequest())
assert verified.whole and not verified.findings, verified
print("checked, logged, retried, verified")
