// A site's hardware: sensors that repeat their word (with `at` and `seq`) as a heartbeat, controllers that
// say they are online, and a hand for everything irregular. Its times never repeat and never go back.
import { connect } from './observer.mjs';
import { until } from './until.mjs';

export class Hardware {
  #sensors = new Map();
  #controllers = new Map();
  #stamp = 0;
  dated = true; // its words say when they were read

  constructor({ root, site, beat = 250 }) {
    Object.assign(this, { root, site, beat });
  }

  async connect(port) {
    this.client = connect(port);
    this.client.on('error', () => {});
    await until(() => this.client.connected, 'the hardware to connect');
    return this;
  }

  async start() {
    clearInterval(this.timer); // started again, after a new start of the daemon
    this.timer = setInterval(() => this.#tick(), this.beat);
    await this.#tick();
  }

  #tick() {
    if (!this.client.connected) return;
    const sent = [];
    for (const [name, c] of this.#controllers)
      if (!c.mute) sent.push(this.#controller(name, c.word));
    for (const [name, s] of this.#sensors) if (!s.mute && s.state) sent.push(this.#say(name, s));
    return Promise.all(sent);
  }

  // A time that is later than any given before, as milliseconds.
  stamp() {
    return (this.#stamp = Math.max(Date.now(), this.#stamp + 1));
  }

  #say(name, sensor) {
    const word = { state: sensor.state, seq: ++sensor.seq };
    if (this.dated) word.at = new Date(this.stamp()).toISOString();
    if (sensor.quality) word.quality = sensor.quality;
    sensor.last = word;
    return this.send(`signal/${name}`, word);
  }

  #controller(name, word) {
    return this.send(`controller/${name}`, word);
  }

  // Publishes anything below the site; objects become JSON.
  async send(below, payload, { retain = false, qos = 1 } = {}) {
    if (!this.client.connected) return;
    const bytes =
      typeof payload === 'string' || Buffer.isBuffer(payload) ? payload : JSON.stringify(payload);
    // A broker that goes away in between is no failure of the hardware: the next beat repeats the word.
    await this.client
      .publishAsync(`${this.root}/${this.site}/${below}`, bytes, { qos, retain })
      .catch(() => {});
  }

  // Sets what sensors say from now on and says it at once; marks them unmuted and of good quality.
  async set(names, state, quality) {
    for (const name of [names].flat()) {
      const sensor = this.#sensors.get(name) ?? { seq: 0 };
      this.#sensors.set(name, Object.assign(sensor, { state, quality, mute: false }));
      await this.#say(name, sensor);
    }
  }

  mute(...names) {
    for (const name of names) this.#sensors.get(name).mute = true;
  }

  // Nothing but this sensor says anything from now on.
  muteAllBut(name) {
    for (const [other, sensor] of this.#sensors) sensor.mute = other !== name;
  }

  last(name) {
    return this.#sensors.get(name).last;
  }

  async controller(name, word) {
    this.#controllers.set(name, { word, mute: false });
    await this.#controller(name, word);
  }

  async tagging(point, state, person, more = {}) {
    await this.send(`tagging/${point}`, {
      state,
      person,
      at: new Date(this.stamp()).toISOString(),
      ...more,
    });
  }

  async close() {
    clearInterval(this.timer);
    await this.client?.endAsync(true);
  }
}
