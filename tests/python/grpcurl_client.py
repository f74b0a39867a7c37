"""A client on Go: grpcurl, which reads the .proto files itself. See rows.py."""
import codecs
import json
import os
import pathlib
import subprocess
import sys
import time

from google.rpc import error_details_pb2

import rows

# Source: https://grpc.io/docs/guides/status-codes/
CODES = (
    "OK CANCELLED UNKNOWN INVALID_ARGUMENT DEADLINE_EXCEEDED NOT_FOUND ALREADY_EXISTS PERMISSION_DENIED "
    "RESOURCE_EXHAUSTED FAILED_PRECONDITION ABORTED OUT_OF_RANGE UNIMPLEMENTED INTERNAL UNAVAILABLE DATA_LOSS "
    "UNAUTHENTICATED"
).split()


class Shop:
    """The shop over grpcurl, one process a call."""

    def __init__(self, args):
        self.address = args.address
        program = pathlib.Path(sys.executable).parent / "grpcurl"
        self.command = [str(program), "-format-error", "-import-path", str(args.protos)]
        # It knows no error details by itself; these come with the package that reads them in Python.
        details = pathlib.Path(error_details_pb2.__file__).parents[2]
        self.command += ["-import-path", str(details), "-proto", "google/rpc/error_details.proto"]
        for path in sorted(args.protos.glob("fettlebook/v1/*.proto")):
            self.command += ["-proto", str(path.relative_to(args.protos))]
        self.command += ["-cacert", args.ca] if args.ca else ["-plaintext"]
        self.token, self.call_s = args.token, rows.CALL_S

    @staticmethod
    def mask(path):
        # Unlike the JSON mapping, by which a mask is a text, this release takes it as a message.
        return {"paths": ["".join(f"_{one.lower()}" if one.isupper() else one for one in path)]}

    def call(self, rpc, request, messages_max=None, stall=0):
        sent = ["-max-time", str(self.call_s)]
        sent += ["-H", f"authorization: Bearer {self.token}"] if self.token else []
        command = self.command + sent + ["-d", json.dumps(request), self.address, f"fettlebook.v1.{rpc}"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
            messages, text, decoder = [], "", json.JSONDecoder()
            letters = codecs.getincrementaldecoder("utf-8")()
            # What is not read here keeps grpcurl from reading on, too.
            for piece in iter(lambda: os.read(process.stdout.fileno(), 4096), b""):
                text = (text + letters.decode(piece)).lstrip()
                while text:
                    try:
                        message, end = decoder.raw_decode(text)
                    except json.JSONDecodeError:
                        break
                    messages.append(message)
                    text = text[end:].lstrip()
                    if len(messages) == 1:
                        print("first", flush=True)
                        time.sleep(stall)
                if messages_max is not None and len(messages) >= messages_max:
                    process.kill()
                    return "OK", "", {}, messages[:messages_max]
            said = process.stderr.read()
            process.wait()
        if process.returncode == 0:
            return "OK", "", {}, messages
        try:
            status = json.loads(said[said.index("{"):])
        except ValueError:
            return "", said, {}, messages
        for detail in status.get("details", []):
            if detail["@type"].endswith("google.rpc.ErrorInfo"):
                assert detail["domain"] == "fettlebook", detail
                return CODES[status["code"]], detail["reason"], detail.get("metadata", {}), messages
        return CODES[status["code"]], status.get("message", ""), {}, messages


if __name__ == "__main__":
    sys.exit(rows.main(Shop))
