"""Verifies a journal folder from its documented format alone: python3 verify_journal.py FOLDER"""
import hashlib, json, pathlib, sys

FORMAT = 4  # the newest format of an entry that is known here, and its kinds of deeds
KINDS = """make_set car_set film_read routine_set policy_set received moved washed dried labelled charged battery_used inspected weighed gross_weighed tare_found
volume_read towels_counted sundry_counted set_aside returned binned towels_binned demoted pad_used taken_along
plate_used machine_used liquid_used poured_out poured_in towels_used sundry_used job_set job_done first_day_done job_called_off job_taken job_released supplier_set
order_set order_placed order_closed delivered reversed restated""".split()

chain, seq, book, later = "0" * 64, 0, "", 0
for path in sorted(pathlib.Path(sys.argv[1]).glob("*.jsonl")):
    lines = path.read_bytes().rstrip(b"\0").splitlines(keepends=True)  # zeros: space set aside
    assert not lines or int(path.stem) == seq + 1, f"{path.name} is misnamed"
    for line in lines:
        seq += 1
        head, entry = line[:84], line[84:-2]  # {"chain":"<64 digits>","entry":<entry>}\n
        chain = hashlib.sha256(chain.encode() + entry).hexdigest()
        assert head == b'{"chain":"%s","entry":' % chain.encode(), f"entry {seq}: chain is broken"
        told = json.loads(entry)
        assert line[-2:] == b"}\n" and told["seq"] == seq, f"entry {seq} is not whole"
        book = told.get("book_id", "") if seq == 1 else book
        known = told.get("format", 1) <= FORMAT and all(deed["did"] in KINDS for deed in told.get("deeds", []))
        later = later or (0 if known else seq)
print(f"{seq} entries, head {chain}" + (f", book {book}" if book else ""))
if later:
    print(f"entry {later} was written by a later fettle: the chain is whole, its deeds are not known here")
