// A client on @grpc/grpc-js, which knows nothing of the service but the .proto files.
//
// It works through the table of refusals, tests/public/reasons.json, as tests/python/rows.py says. Texts in a
// request that begin with `$` stand for something: a request id, a word, a moment, what a call before gave.
import { randomBytes, randomUUID } from "node:crypto";
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { parseArgs } from "node:util";
import assert from "node:assert/strict";

import * as grpc from "@grpc/grpc-js";
import * as loader from "@grpc/proto-loader";
import protobuf from "protobufjs";

// Longer than a watch may leave what waits for it untaken (10 s).
const STALL_MS = 12_000;

// Longest time for one call.
const CALL_MS = 60_000;

// The same where no answer can come.
const UNREACHED_MS = 3_000;

// Source: google/rpc/status.proto and google/rpc/error_details.proto.
const { root: errors } = protobuf.parse(`
  syntax = "proto3";
  package google.rpc;
  message Any { string type_url = 1; bytes value = 2; }
  message Status { int32 code = 1; string message = 2; repeated Any details = 3; }
  message ErrorInfo { string reason = 1; string domain = 2; map<string, string> metadata = 3; }
`);

class Shop {
  constructor({ address, protos, ca, token }) {
    const files = readdirSync(join(protos, "fettlebook/v1")).map((name) => `fettlebook/v1/${name}`);
    const options = { includeDirs: [protos], longs: String, enums: String, defaults: false, oneofs: true };
    this.services = grpc.loadPackageDefinition(loader.loadSync(files, options)).fettlebook.v1;
    this.address = address;
    this.credentials = ca ? grpc.credentials.createSsl(readFileSync(ca)) : grpc.credentials.createInsecure();
    // It goes with each call.
    this.token = token;
    this.callMs = CALL_MS;
    this.clients = {};
  }

  async call(rpc, request, { messagesMax, stallMs = 0 } = {}) {
    const [service, name] = rpc.split("/");
    const client = (this.clients[service] ??= new this.services[service](this.address, this.credentials));
    const deadline = Date.now() + this.callMs;
    const metadata = new grpc.Metadata();
    if (this.token) metadata.set("authorization", `Bearer ${this.token}`);
    const messages = [];
    try {
      if (client[name].responseStream) {
        const stream = client[name](request, metadata, { deadline });
        for await (const message of stream) {
          messages.push(message);
          if (messages.length === 1) {
            console.log("first");
            await sleep(stallMs);
          }
          if (messages.length === messagesMax) break;
        }
        stream.cancel();
      } else {
        messages.push(await new Promise((done, failed) => {
          client[name](request, metadata, { deadline }, (error, answer) => (error ? failed(error) : done(answer)));
        }));
      }
    } catch (error) {
      if (error.code === undefined || typeof error.code !== "number") throw error;
      return { code: grpc.status[error.code], ...told(error), messages };
    }
    return { code: "OK", reason: "", more: {}, messages };
  }
}

// The reason that a refusal gives, and what goes with it.
function told(error) {
  const [bytes] = error.metadata.get("grpc-status-details-bin");
  const details = bytes ? errors.lookupType("google.rpc.Status").decode(bytes).details : [];
  const detail = details.find((one) => one.typeUrl.endsWith("/google.rpc.ErrorInfo"));
  if (!detail) return { reason: error.details, more: {} };
  const info = errors.lookupType("google.rpc.ErrorInfo").decode(detail.value);
  assert.equal(info.domain, "fettlebook");
  return { reason: info.reason, more: info.metadata };
}

// One row while it is worked through.
class Row {
  named = {};
  took = {};

  constructor(row, given) {
    this.row = row;
    this.given = given;
  }

  filled(value) {
    if (Array.isArray(value)) return value.map((one) => this.filled(one));
    if (value !== null && typeof value === "object") {
      return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, this.filled(one)]));
    }
    if (typeof value !== "string" || !value.startsWith("$")) return value;
    const [what, name] = value.slice(1).split(":");
    switch (what) {
      case "id":
        return name ? (this.named[value] ??= randomUUID()) : randomUUID();
      case "word":
        return (this.named[value] ??= `w${randomBytes(6).toString("hex")}`);
      case "day":
        return { seconds: Math.floor(Date.now() / 1000) + Number(name) * 86_400 };
      case "mask":
        return { paths: [name.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`)] };
      case "took":
        return this.took[name];
      case "given":
        return this.given[name];
      case "bytes":
        return randomBytes(Number(name));
      default:
        throw new Error(`nothing is known of ${value}`);
    }
  }

  async prepare(shop) {
    for (const step of this.row.before ?? []) {
      const { code, reason, messages } = await shop.call(step.rpc, this.filled(step.request));
      assert.equal(code, "OK", `${this.row.reason}: ${step.rpc} before it was refused: ${reason}`);
      for (const [name, path] of Object.entries(step.take ?? {})) {
        this.took[name] = path.split(".").reduce((value, key) => value[key], messages[0]);
      }
    }
  }

  // Asks until the refusal comes, as often as the row says; answers what went otherwise, or nothing.
  async ask(shop) {
    await this.prepare(shop);
    const { row } = this;
    let got;
    for (let left = row.tries ?? 1; left > 0; left -= 1) {
      got = await shop.call(row.rpc, this.filled(row.request), { stallMs: row.stall ? STALL_MS : 0 });
      if (got.code === row.code && got.reason === row.reason) {
        const last = got.messages.at(-1)?.entry?.seq;
        const streamed = ["STOPPING", "WATCH_TOO_SLOW"].includes(row.reason) && last !== undefined;
        // This library tells how a stream ended before it has handed out all that came.
        if (streamed && !(BigInt(got.more.after_seq ?? -1) >= BigInt(last))) {
          return `it says that ${JSON.stringify(got.more)} was sent last, but entry ${last} came last`;
        }
        return null;
      }
    }
    return `wanted ${row.code} ${row.reason}, got ${got.code} ${got.reason}`;
  }
}

// Whether there is money anywhere in an answer: nothing else in the contract has a currency.
const holdsMoney = (answer) => JSON.stringify(answer).includes("currencyCode");

// A day with the shop: list, check, log, watch and go on after a break.
//
// With `--as keep=TOKEN` that one books the job, for the token of the day belongs to one who works: who may
// neither book nor see what things cost.
async function use(shop, held) {
  const own = shop.token;
  const answer = async (rpc, request, more) => {
    const { code, reason, messages } = await shop.call(rpc, request, more);
    assert.equal(code, "OK", `${rpc}: ${reason}`);
    return messages;
  };
  const [{ pieces }] = await answer("KitService/ListPieces", { pageSize: 1000 });
  const tags = pieces.map((piece) => piece.tag);
  for (const tag of ["P-01", "B-01", "T-01", "M-01"]) assert.ok(tags.includes(tag), tag);
  const row = new Row({}, {});
  const job = row.filled("$word:job");
  const head = Number((await answer("BookService/GetBook", {}))[0].headSeq);
  const booking = { job, car: "medium-saloon-silver", routine: "finish-only", place: "bench", startTime: "$day:2" };
  if ("keep" in held) {
    const beyond = { "JobService/BookJob": { requestId: "$id", job: booking }, "SupplyService/ListSuppliers": {} };
    for (const [rpc, request] of Object.entries(beyond)) {
      const { code, reason } = await shop.call(rpc, row.filled(request));
      assert.deepEqual([code, reason], ["PERMISSION_DENIED", "ROLE_TOO_LOW"], rpc);
    }
    const [{ makes }] = await answer("KitService/ListMakes", { pageSize: 1000 });
    assert.ok(makes.length > 0 && !holdsMoney([makes, pieces]), JSON.stringify(makes));
    shop.token = held.keep;
    const seenByKeeper = await answer("KitService/ListMakes", { pageSize: 1000 });
    assert.ok(holdsMoney(seenByKeeper), "these makes have no prices to hide");
  }
  await answer("JobService/BookJob", row.filled({ requestId: "$id", job: booking }));
  shop.token = own;
  const [{ checks }] = await answer("JobService/CheckJobs", { jobs: [job] });
  const kinds = checks[0].lines.map((line) => line.kind);
  for (const kind of ["PAD", "LIQUID", "TOWEL"]) assert.ok(kinds.includes(`CHECK_LINE_KIND_${kind}`), kind);
  // Said rather than picked: whoever used the shop before left the pads soiled.
  const pads = [{ tag: "P-11" }];
  const log = row.filled({ requestId: "$id", job, pads, droppedTowelCount: 1, note: `job ${job}` });
  const [first] = await answer("JobService/LogUse", log);
  assert.deepEqual(first, (await answer("JobService/LogUse", log))[0], "a retry gets the first answer again");
  // A watch after the head, broken off after one entry, and another that goes on there.
  const wanted = Number(first.entry.seq);
  const seen = await answer("BookService/WatchEntries", { afterSeq: head }, { messagesMax: 1 });
  const last = Number(seen.at(-1).entry.seq);
  seen.push(...await answer("BookService/WatchEntries", { afterSeq: last }, { messagesMax: wanted - last }));
  const seqs = seen.map((one) => Number(one.entry.seq));
  assert.deepEqual(seqs, Array.from({ length: wanted - head }, (_, at) => head + 1 + at));
  assert.equal(seen.at(-1).entry.note, log.note);
}

// Tries to record something where there is no way to the shop: what comes of it is not the shop's answer.
async function unreached(shop, reasons) {
  shop.callMs = UNREACHED_MS;
  const wash = { requestId: randomUUID(), tags: ["P-01"] };
  const { code, reason, more, messages } = await shop.call("KitService/WashKit", wash);
  // The second is what gRPC makes of HTTP/2's INADEQUATE_SECURITY. Source: the gRPC protocol over HTTP/2, Errors.
  assert.ok(["UNAVAILABLE", "PERMISSION_DENIED"].includes(code), `${code} ${reason}`);
  assert.ok(!["", ...reasons].includes(reason), reason);
  assert.deepEqual([more, messages], [{}, []]);
  return reason;
}

// What options of the form NAME=TEXT say.
const named = (options) => Object.fromEntries(options.map((one) => /^([^=]*)=(.*)$/s.exec(one).slice(1)));

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    address: { type: "string" },
    protos: { type: "string" },
    table: { type: "string" },
    ca: { type: "string" },
    token: { type: "string" },
    as: { type: "string", multiple: true, default: [] },
    given: { type: "string", multiple: true, default: [] },
  },
});
const shop = new Shop(values);
const held = { nobody: undefined, ...named(values.as) };
const table = JSON.parse(readFileSync(values.table, "utf8"));
const [what] = positionals;
if (what === "use") {
  await use(shop, held);
  console.log("used");
} else if (what === "unreached") {
  console.log("unreached:", await unreached(shop, table.map((row) => row.reason)));
} else {
  const asked = table.filter((row) => (what === "rows" ? !("state" in row) : positionals.includes(row.reason)));
  if (what !== "rows") assert.equal(asked.length, positionals.length, `not all of ${positionals} are in the table`);
  const given = named(values.given);
  let wrong = asked.length === 0 ? 1 : 0;
  for (const row of asked) {
    const start = performance.now();
    if ("as" in row) assert.ok(row.as in held, `nobody said the token of ${row.as}`);
    shop.token = "as" in row ? held[row.as] : values.token;
    const otherwise = await new Row(row, given).ask(shop);
    console.log(row.reason, otherwise ?? "as written", `${Math.round(performance.now() - start)}ms`);
    wrong += otherwise === null ? 0 : 1;
  }
  process.exitCode = wrong === 0 ? 0 : 1;
}
