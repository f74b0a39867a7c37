// Has the script of a page do its work in Node, whose fetch is as a browser's:
//
//     NODE_EXTRA_CA_CERTS=CA_FILE node page_in_node.js HOST:PORT PROTO_FOLDER CA_FILE TOKEN JOB
import { readdirSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import assert from "node:assert/strict";

import { shop } from "./page.js";

const require = createRequire(join(process.cwd(), "page.js"));
const protobuf = require("protobufjs");
const [address, protos, , token, job] = process.argv.slice(2);
// The contract's own options are options of what describes a contract.
const root = protobuf.Root.fromJSON(require("protobufjs/google/protobuf/descriptor.json"));
root.resolvePath = (_, target) => (target.startsWith("google/") ? null : join(protos, target));
root.loadSync(readdirSync(join(protos, "fettlebook/v1")).map((name) => `fettlebook/v1/${name}`));
const { one, record, watch } = shop(address, token, root);

const before = (await one("BookService/GetBook", {})).headSeq;
const received = (await record("KitService/ReceiveKit", { make: "coarse-foam-150", pieceCount: 2 })).entry;
console.log("received as entry", received.seq);
const { checks: [checked] } = await one("JobService/CheckJobs", { jobs: [job] });
console.log("check:", checked.verdict);
for (const line of checked.lines) if (line.verdict !== "VERDICT_GO") console.log(" ", line.kind, line.reason);
// The first try has a millisecond, so that its answer is lost.
const logged = (await record("JobService/LogUse", { job }, [1, 10_000, 20_000])).entry;
console.log("logged as entry", logged.seq);
const seen = [];
for await (const entry of watch(before)) {
  seen.push(entry.seq);
  if (entry.seq === logged.seq) break;
}
assert.deepEqual(seen, [received.seq, logged.seq], `after ${before}`);
console.log("watched", ...seen);
await assert.rejects(shop(address, "no token", root).one("BookService/GetBook", {}), /token/);
process.exit(0);
