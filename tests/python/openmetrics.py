"""Reads a page of metrics with the OpenMetrics parser of the Prometheus client.

Usage: openmetrics.py URL. Prints one family and its type a line; a page that is not well formed ends it.
"""
import sys
import urllib.request

from prometheus_client.openmetrics.parser import text_string_to_metric_families

wanted = {"Accept": "application/openmetrics-text; version=1.0.0"}
with urllib.request.urlopen(urllib.request.Request(sys.argv[1], headers=wanted)) as answer:
    kind = answer.headers["Content-Type"]
    assert kind == "application/openmetrics-text; version=1.0.0; charset=utf-8", kind
    page = answer.read().decode()
for family in text_string_to_metric_families(page):
    assert family.documentation, family.name
    assert family.unit == "" or family.name.endswith("_" + family.unit), family
    print(family.name, family.type)
