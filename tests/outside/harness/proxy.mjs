// A relay between the daemon and the broker that tells the daemon's connections apart by the Clean
// Start flag of their CONNECT, and can cut one kind or hold back what the broker or the daemon says on it.
import net from 'node:net';

// Clean Start of an MQTT CONNECT at the head of `bytes`; null while there are too few of them.
function cleanStart(bytes) {
  let at = 1;
  while (at < bytes.length && bytes[at] & 0x80) at++;
  at++;
  if (bytes.length < at + 8) return null;
  const flags = at + 2 + bytes.readUInt16BE(at) + 1;
  return flags < bytes.length ? Boolean(bytes[flags] & 0x02) : null;
}

export class Proxy {
  #links = new Set();
  blocked = { live: false, durable: false };
  // What is held is thrown away: the other side sees a peer that fell silent.
  held = { live: false, durable: false };

  constructor(broker) {
    this.broker = broker;
  }

  async start() {
    this.server = net.createServer((down) => this.#accept(down));
    await new Promise((resolve) => this.server.listen(0, '127.0.0.1', resolve));
    this.port = this.server.address().port;
    return this;
  }

  #accept(down) {
    const link = { down, up: null, kind: null, head: Buffer.alloc(0) };
    this.#links.add(link);
    const close = () => {
      down.destroy();
      link.up?.destroy();
      this.#links.delete(link);
    };
    down.setNoDelay(true);
    down.on('error', close);
    down.on('close', close);
    down.on('data', (data) => this.#fromDaemon(link, data, close));
  }

  #fromDaemon(link, data, close) {
    if (link.kind === null) {
      link.head = Buffer.concat([link.head, data]);
      const clean = cleanStart(link.head);
      if (clean === null) return;
      link.kind = clean ? 'live' : 'durable';
      if (this.blocked[link.kind]) return close();
      link.up = net.connect(this.broker.port, '127.0.0.1');
      link.up.setNoDelay(true);
      link.up.on('error', close);
      link.up.on('close', close);
      link.up.on('data', (d) => link.down.write(d));
      link.up.write(link.head);
      return;
    }
    if (!this.held[link.kind]) link.up.write(data);
  }

  // Cuts the connections of a kind and refuses new ones until `allow`.
  block(kind) {
    this.blocked[kind] = true;
    this.drop(kind);
  }

  allow(kind) {
    this.blocked[kind] = false;
  }

  // Throws away what the daemon sends on connections of a kind, acknowledgements among it.
  hold(kind) {
    this.held[kind] = true;
  }

  release(kind) {
    this.held[kind] = false;
    this.drop(kind);
  }

  drop(kind) {
    for (const link of [...this.#links]) if (link.kind === kind) link.down.destroy();
  }

  async stop() {
    for (const link of [...this.#links]) link.down.destroy();
    await new Promise((resolve) => this.server.close(resolve));
  }
}
