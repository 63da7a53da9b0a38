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

// The whole packets at the head of what came in one piece; their bodies are parts of it.
function* packets(data) {
  for (let at = 0; at + 1 < data.length; ) {
    let [length, shift, head] = [0, 0, at + 1];
    do {
      length |= (data[head] & 0x7f) << shift;
      shift += 7;
    } while (data[head++] & 0x80 && head < data.length);
    if (head + length > data.length) return;
    yield { type: data[at], body: data.subarray(head, head + length) };
    at = head + length;
  }
}

export class Proxy {
  #links = new Set();
  blocked = { live: false, durable: false };
  // What is held is thrown away: the other side sees a peer that fell silent.
  held = { live: false, durable: false };
  // Nothing comes through either way, and nobody is told.
  silent = { live: false, durable: false };
  // Filters, by their end, to which the broker seems to refuse a subscription.
  refused = [];
  refusals = 0; // of subscriptions, so far

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
      link.up.on('data', (d) => this.#fromBroker(link, d));
      link.up.write(link.head);
      return;
    }
    if (this.refused.length) this.#note(link, data);
    if (!this.held[link.kind] && !this.silent[link.kind]) link.up.write(data);
  }

  // The filters of a SUBSCRIBE, which the daemon writes in one piece.
  #note(link, data) {
    for (const { type, body } of packets(data)) {
      if (type !== 0x82) continue;
      link.filters ??= new Map();
      const filters = [];
      for (let at = 3 + body[2]; at < body.length; ) {
        const length = body.readUInt16BE(at);
        filters.push(body.toString('utf8', at + 2, at + 2 + length));
        at += 3 + length;
      }
      link.filters.set(body.readUInt16BE(0), filters);
    }
  }

  #fromBroker(link, data) {
    if (this.silent[link.kind]) return;
    for (const { type, body } of link.filters ? packets(data) : []) {
      const filters = type === 0x90 && link.filters.get(body.readUInt16BE(0));
      if (!filters) continue;
      const codes = body.length - filters.length;
      filters.forEach((filter, i) => {
        if (!this.refused.some((end) => filter.endsWith(end))) return;
        body[codes + i] = 0x87;
        this.refusals += 1;
      });
    }
    link.down.write(data);
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

  // The network of a kind of connections dies: neither side hears the other, nor that it is gone.
  silence(kind) {
    this.silent[kind] = true;
  }

  drop(kind) {
    for (const link of [...this.#links]) if (link.kind === kind) link.down.destroy();
  }

  async stop() {
    for (const link of [...this.#links]) link.down.destroy();
    await new Promise((resolve) => this.server.close(resolve));
  }
}
