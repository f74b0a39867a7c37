// What a page needs to call a shop: gRPC-Web by fetch alone, with messages by protobufjs (`root` has the .proto files).
export function shop(address, token, root) {
  // Each message has a byte and its length before it. The last frame, with the byte 0x80, says how the call ended.
  async function* call(rpc, request, signal) {
    const { requestType, responseType } = root.lookup(`fettlebook.v1.${rpc.replace("/", ".")}`);
    const [asked, answered] = [requestType, responseType].map((type) => root.lookupType(`fettlebook.v1.${type}`));
    const body = new Uint8Array([0, 0, 0, 0, 0, ...asked.encode(asked.fromObject(request)).finish()]);
    new DataView(body.buffer).setUint32(1, body.length - 5);
    const headers = { "content-type": "application/grpc-web+proto", "x-grpc-web": "1", authorization: `Bearer ${token}` };
    const answer = await fetch(`https://${address}/fettlebook.v1.${rpc}`, { method: "POST", headers, body, signal });
    let [end, held] = [answer.headers, new Uint8Array()];
    for await (const part of answer.body) {
      held = new Uint8Array([...held, ...part]);
      const length = () => 5 + (held.length < 5 ? 0 : new DataView(held.buffer).getUint32(1));
      for (; held.length >= length(); held = held.slice(length())) {
        const frame = held.subarray(5, length());
        if (held[0] === 0) yield answered.toObject(answered.decode(frame), { longs: String, enums: String, defaults: true });
        else end = new Headers(new TextDecoder().decode(frame).trim().split("\r\n").map((line) => line.split(/:(.*)/).slice(0, 2)));
      }
    }
    const [status, why] = [end.get("grpc-status") ?? "14", end.get("grpc-message") ?? "it broke off"];
    if (status !== "0") throw Object.assign(new Error(decodeURIComponent(why)), { status });
  }
  // Too late, too much, away, or no answer at all: that may go again.
  const again = (error) => ["4", "8", "14", undefined].includes(error.status);
  const one = async (rpc, request, ms = 5_000) => (await call(rpc, request, AbortSignal.timeout(ms)).next()).value;
  // A deed has one request id, so it counts once however often it is sent.
  const record = (rpc, deed, [wait, ...waits] = [5_000, 10_000, 20_000], requestId = crypto.randomUUID()) =>
    one(rpc, { ...deed, requestId }, wait).catch((error) => {
      if (waits.length === 0 || !again(error)) throw error;
      return record(rpc, deed, waits, requestId);
    });
  // Entries after one, for ever: whatever breaks off goes on after the last that came.
  async function* watch(afterSeq) {
    for (;;) try {
      for await (const { entry } of call("BookService/WatchEntries", { afterSeq })) { afterSeq = entry.seq; yield entry; }
    } catch (error) { if (!again(error)) throw error; }
  }
  return { one, record, watch };
}
