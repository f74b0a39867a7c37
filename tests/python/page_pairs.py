"""Pairs with the page at the bench as a browser would, with nothing but Python's own library.

Usage: page_pairs.py HOST:PORT LETTERS. Opens the page without a token, sends its form with the letters of a code, and
opens the list of the kit with the cookie that came back. Prints the status of each answer, and the page at last.
"""
import html.parser
import http.client
import ssl
import sys
import urllib.parse

at, letters = sys.argv[1:]


def asked(method, path, body=None, **headers):
    # Who warns of the certificate is the browser; here everything is believed.
    context = ssl.create_default_context()
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    connection = http.client.HTTPSConnection(at, context=context, timeout=20)
    connection.request(method, path, body, headers)
    answer = connection.getresponse()
    print(answer.status)
    return answer, answer.read().decode()


class Fields(html.parser.HTMLParser):
    def __init__(self, page):
        super().__init__()
        self.sent = {}
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        told = dict(attributes)
        if tag == "input" and told.get("type") == "hidden":
            self.sent[told["name"]] = told["value"]


_, page = asked("GET", "/pair")
fields = Fields(page).sent | {"code": letters}
answer, page = asked(
    "POST",
    "/pair",
    urllib.parse.urlencode(fields),
    Origin=f"https://{at}",
    **{"Content-Type": "application/x-www-form-urlencoded"},
)
cookie = (answer.getheader("Set-Cookie") or "").split(";")[0]
if cookie:
    _, page = asked("GET", "/kit", Cookie=cookie)
print(page)
