// The way between a telephone and the service: bytes both ways.
import net from "node:net";

export class Link {
  #server;
  #service;
  #open = new Set();

  /// Listens on a port of this machine for a service on another.
  static open(port, service) {
    const link = new Link();
    link.#service = service;
    link.#server = net.createServer((near) => link.#join(near));
    return new Promise((open) => link.#server.listen(port, "127.0.0.1", () => open(link)));
  }

  close() {
    for (const pair of this.#open) for (const end of pair) end.destroy();
    this.#server.close();
  }

  #join(near) {
    const far = net.connect(this.#service, "127.0.0.1");
    const pair = [near, far];
    this.#open.add(pair);
    near.on("data", (bytes) => far.write(bytes));
    far.on("data", (bytes) => near.write(bytes));
    for (const end of pair) {
      end.on("error", () => {});
      end.on("close", () => {
        for (const other of pair) other.destroy();
        this.#open.delete(pair);
      });
    }
  }
}
