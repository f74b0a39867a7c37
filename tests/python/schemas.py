"""Checks documents against JSON Schemas by a validator that is not ours.

Reads from standard input a JSON array of {"typed", "schema", "document"}; says what does not fit, and exits 1 then.
Beside what the schemas say no object may have a member that its schema does not name: to people it is said that more
may come, but what comes today is to be described.
"""
import json
import sys

import jsonschema


def closed(schema):
    """The same schema, with no further members allowed in any object."""
    if isinstance(schema, list):
        return [closed(one) for one in schema]
    if not isinstance(schema, dict):
        return schema
    held = {name: one if name == "enum" else closed(one) for name, one in schema.items()}
    if isinstance(schema.get("properties"), dict) and schema.get("type") == "object":
        held["additionalProperties"] = False
    return held


validator = jsonschema.Draft202012Validator
wrong = 0
checked = {}
for case in json.load(sys.stdin):
    key = json.dumps(case["schema"], sort_keys=True)
    if key not in checked:
        validator.check_schema(case["schema"])
        checked[key] = validator(closed(case["schema"]), format_checker=validator.FORMAT_CHECKER)
    error = jsonschema.exceptions.best_match(checked[key].iter_errors(case["document"]))
    if error is not None:
        wrong += 1
        print(f"{case['typed']}: at {error.json_path}: {error.message[:600]}")
sys.exit(1 if wrong else 0)
