// A relay before the daemon's HTTP port, as the air between a phone and the site: it can fall silent
// (what is said meanwhile is lost, nobody is told) and come back.
import net from 'node:net';

export class Relay {
  #pairs = new Set();
  silent = false;

  constructor(target) {
    [this.host, this.to] = target.split(':');
  }

  async start() {
    this.server = net.createServer((down) => this.#accept(down));
    await new Promise((resolve) => this.server.listen(0, '127.0.0.1', resolve));
    this.address = `127.0.0.1:${this.server.address().port}`;
    return this;
  }

  #accept(down) {
    const up = net.connect(Number(this.to), this.host);
    const pair = { down, up };
    this.#pairs.add(pair);
    const close = () => {
      down.destroy();
      up.destroy();
      this.#pairs.delete(pair);
    };
    for (const [from, to] of [
      [down, up],
      [up, down],
    ]) {
      from.setNoDelay(true);
      from.on('error', close);
      from.on('close', close);
      from.on('data', (d) => !this.silent && !pair.lost && to.write(d));
    }
    if (this.silent) pair.lost = true;
  }

  // What is said from now on is lost, also on connections that are made later.
  hush() {
    this.silent = true;
    for (const pair of this.#pairs) pair.lost = true;
  }

  // New connections work again; those that fell silent are broken.
  speak() {
    this.silent = false;
    for (const { down } of [...this.#pairs]) down.destroy();
  }

  async stop() {
    for (const { down } of [...this.#pairs]) down.destroy();
    await new Promise((resolve) => this.server.close(resolve));
  }
}
