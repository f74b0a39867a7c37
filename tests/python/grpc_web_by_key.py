"""Asks for the book as a script does that has a key, with nothing but Python's own library.

Usage: grpc_web_by_key.py HOST:PORT NAME.pem NAME.token. Believes the one certificate in the file, for the name
fettled.internal, whatever the address; says in the handshake nothing of what it believes, as that library never does.
Prints the status of the call (0 is good), or why the certificate that it was shown is not believed.
"""
import http.client
import pathlib
import socket
import ssl
import sys

at, pem, token = sys.argv[1:]
host, port = at.rsplit(":", 1)
context = ssl.create_default_context(cafile=pem)
try:
    sealed = context.wrap_socket(socket.create_connection((host, int(port)), 20), server_hostname="fettled.internal")
except ssl.SSLCertVerificationError as error:
    print(error)
    sys.exit()
connection = http.client.HTTPConnection(at, timeout=20)
connection.sock = sealed
headers = {
    "content-type": "application/grpc-web+proto",
    "authorization": f"Bearer {pathlib.Path(token).read_text().strip()}",
}
connection.request("POST", "/fettlebook.v1.BookService/GetBook", bytes(5), headers)
answer = connection.getresponse()
sent = answer.read()
# The last frame has the status, where it is not in the headers.
frames = sent.decode(errors="replace").lower()
print(answer.getheader("grpc-status") or frames.rpartition("grpc-status:")[2].split()[0])
