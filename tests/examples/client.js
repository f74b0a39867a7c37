// A whole client on Node: it receives kit, checks a job, logs it with retries and watches the book.
//
//     npm install @grpc/grpc-js @grpc/proto-loader && node client.js HOST:PORT PROTO_FOLDER CA_FILE TOKEN JOB
//
// CA_FILE is the certificate that the shop's devices hold on to, TOKEN that of a device of role work.
import { randomUUID } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import assert from "node:assert/strict";

const require = createRequire(join(process.cwd(), "client.js")); // From where npm put them.
const grpc = require("@grpc/grpc-js");
const loader = require("@grpc/proto-loader");

const [address, protos, ca, token, job] = process.argv.slice(2);
const files = readdirSync(join(protos, "fettlebook/v1")).map((name) => `fettlebook/v1/${name}`);
const described = loader.loadSync(files, { includeDirs: [protos], longs: String, enums: String, defaults: true });
const { KitService, JobService, BookService } = grpc.loadPackageDefinition(described).fettlebook.v1;

// The token goes with each call, and over TLS alone: gRPC sees to that.
const who = grpc.credentials.createFromMetadataGenerator((_, give) => {
  const metadata = new grpc.Metadata();
  metadata.set("authorization", `Bearer ${token}`);
  give(null, metadata);
});
const sealed = grpc.credentials.combineChannelCredentials(grpc.credentials.createSsl(readFileSync(ca)), who);
const [kit, jobs, book] = [KitService, JobService, BookService].map((Service) => new Service(address, sealed));

// What may be tried again: nothing was answered, or the service said to come back.
const { UNAVAILABLE, DEADLINE_EXCEEDED, RESOURCE_EXHAUSTED, CANCELLED } = grpc.status;
const AGAIN = [UNAVAILABLE, DEADLINE_EXCEEDED, RESOURCE_EXHAUSTED];

const call = (service, name, request, ms = 5_000) => new Promise((done, failed) => {
  service[name](request, { deadline: Date.now() + ms }, (error, answer) => (error ? failed(error) : done(answer)));
});

// Sends a deed until it is answered. It has one request id, so it counts once however often it goes.
async function record(service, name, request, deadlines = [5_000, 10_000, 20_000]) {
  const requestId = randomUUID();
  for (let tries = 0; ; tries += 1) {
    try {
      return (await call(service, name, { ...request, requestId }, deadlines[tries])).entry;
    } catch (error) {
      if (!AGAIN.includes(error.code) || tries + 1 === deadlines.length) throw error;
      await sleep(100 * 2 ** tries);
    }
  }
}

// Gives so many entries after one. Whatever breaks off goes on after the last entry that came.
async function* watch(afterSeq, count) {
  while (count > 0) {
    try {
      for await (const { entry } of book.watchEntries({ afterSeq })) {
        [afterSeq, count] = [entry.seq, count - 1];
        yield entry;
        break; // A link that is cut, here after each entry.
      }
    } catch (error) {
      if (![...AGAIN, CANCELLED].includes(error.code)) throw error;
    }
  }
}

const before = (await call(book, "getBook", {})).headSeq;
const received = await record(kit, "receiveKit", { make: "coarse-foam-150", pieceCount: 2 });
console.log("received as entry", received.seq);
const [checked] = (await call(jobs, "checkJobs", { jobs: [job] })).checks;
console.log("check:", checked.verdict);
for (const line of checked.lines) if (line.verdict !== "VERDICT_GO") console.log(" ", line.kind, line.reason);
// The first try has a millisecond, so that its answer is lost.
const logged = await record(jobs, "logUse", { job }, [1, 10_000, 20_000]);
console.log("logged as entry", logged.seq);
const seen = [];
for await (const entry of watch(before, 2)) seen.push(entry.seq);
assert.deepEqual(seen, [received.seq, logged.seq], `after ${before}`);
console.log("watched", ...seen);
process.exit(0); // Connections are open still.
