"""Notices of other people's work: each crate that the two programs are built of, with its licence texts.

Reads what `cargo metadata` says on stdin; writes the notices to stdout. A crate without a text ends it, unless its
licence is one of those below, whose text another crate brings.
"""
import json
import pathlib
import sys

NAMES = ("LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE")

said = json.load(sys.stdin)
packages = {package["id"]: package for package in said["packages"]}
needs = {}
for node in said["resolve"]["nodes"]:
    needs[node["id"]] = [
        dep["pkg"] for dep in node["deps"] if any(kind["kind"] is None for kind in dep["dep_kinds"])
    ]
left, built = [said["resolve"]["root"]], set()
while left:
    one = left.pop()
    if one not in built:
        built.add(one)
        left += needs[one]

others = sorted(
    (packages[one] for one in built if packages[one]["source"]),
    key=lambda package: (package["name"], package["version"]),
)
print("The programs fettle and fettled are built of these crates beside their own code.")
texts = {}
for package in others:
    folder = pathlib.Path(package["manifest_path"]).parent
    found = sorted(
        path for path in folder.iterdir() if path.is_file() and path.name.upper().startswith(NAMES)
    )
    print(f"\n{package['name']} {package['version']}: {package['license']}")
    print(f"  source: {package['repository'] or 'https://crates.io/crates/' + package['name']}")
    for path in found:
        text = path.read_text(errors="replace").strip()
        number = texts.setdefault(text, len(texts) + 1)
        print(f"  {path.name}: text {number} below")
    if not found:
        print("  it brings no text of its own; see its source")
for text, number in sorted(texts.items(), key=lambda item: item[1]):
    print(f"\n\n==== text {number}\n\n{text}")
