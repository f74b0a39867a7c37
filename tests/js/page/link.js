// The way between a telephone and the service: bytes both ways, until it is cut.
import net from "node:net";

const ANSWERED_MS = 800;

export class Link {
  #server;
  #service;
  #open = new Set();
  #mode = "open";

  /// Listens on a port of this machine for a service on another.
  static open(port, service) {
    const link = new Link();
    link.#service = service;
    link.#server = net.createServer((near) => link.#join(near));
    return new Promise((open) => link.#server.listen(port, "127.0.0.1", () => open(link)));
  }

  /// Nothing comes through any more: of what is sent from now on the service gets nothing ("before"), or all,
  /// and its answer is lost ("after").
  cut(mode) {
    this.#mode = mode;
    if (mode === "before") this.#drop();
  }

  /// As it was, for whoever connects anew.
  join() {
    this.#drop();
    this.#mode = "open";
  }

  close() {
    this.#drop();
    this.#server.close();
  }

  #drop() {
    for (const pair of this.#open) for (const end of pair) end.destroy();
    this.#open.clear();
  }

  #join(near) {
    if (this.#mode === "before") {
      near.destroy();
      return;
    }
    const far = net.connect(this.#service, "127.0.0.1");
    const pair = [near, far];
    this.#open.add(pair);
    near.on("data", (bytes) => far.write(bytes));
    far.on("data", (bytes) => {
      if (this.#mode === "open") {
        near.write(bytes);
        return;
      }
      // The service is given time to answer in full, and the telephone gets nothing of it.
      setTimeout(() => {
        this.#mode = "before";
        this.#drop();
      }, ANSWERED_MS);
    });
    for (const end of pair) {
      end.on("error", () => {});
      end.on("close", () => {
        for (const other of pair) other.destroy();
        this.#open.delete(pair);
      });
    }
  }
}
