"""Verifies a journal folder from its documented format alone: python3 verify_journal.py FOLDER"""
import hashlib, json, pathlib, sys

chain, seq = "0" * 64, 0
for path in sorted(pathlib.Path(sys.argv[1]).glob("*.jsonl")):
    lines = path.read_bytes().rstrip(b"\0").splitlines(keepends=True)  # zeros: space set aside
    assert not lines or int(path.stem) == seq + 1, f"{path.name} is misnamed"
    for line in lines:
        seq += 1
        head, entry = line[:84], line[84:-2]  # {"chain":"<64 digits>","entry":<entry>}\n
        chain = hashlib.sha256(chain.encode() + entry).hexdigest()
        assert head == b'{"chain":"%s","entry":' % chain.encode(), f"entry {seq}: chain is broken"
        assert line[-2:] == b"}\n" and json.loads(entry)["seq"] == seq, f"entry {seq} is not whole"
print(f"{seq} entries, head {chain}")
