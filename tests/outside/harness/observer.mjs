// What a tracker on the site's broker sees: it subscribes to everything under the root, keeps the
// retained documents, the events and the whole order of arrival, makes requests and waits on conditions.
import { randomBytes } from 'node:crypto';
import mqtt from 'mqtt';
import { wrongAnswer, wrongDocument, wrongEvent, wrongWord } from './shape.mjs';
import { PATIENCE, Waiters } from './until.mjs';

export function connect(port, options = {}) {
  return mqtt.connect({
    host: '127.0.0.1',
    port,
    protocolVersion: 5,
    clean: true,
    reconnectPeriod: 40,
    connectTimeout: 3000,
    resubscribe: false,
    queueQoSZero: false,
    properties: { receiveMaximum: 65535 },
    ...options,
  });
}

function parse(bytes) {
  try {
    return JSON.parse(bytes.toString('utf8'));
  } catch {
    return undefined;
  }
}

// A request of now, or of the time given.
export const now = (body, at = Date.now()) =>
  body?.constructor === Object ? { asked: new Date(at).toISOString(), ...body } : body;

const OURS = ['position', 'job', 'point', 'alarm'];

export class Observer {
  log = [];
  docs = new Map();
  wrong = [];
  #waiters = new Waiters();
  #pending = new Map();

  constructor({ root, site, clock }) {
    this.root = root;
    this.site = site;
    this.clock = clock; // the daemon's, where it is not ours
  }

  async connect(port) {
    this.client = connect(port);
    this.client.on('error', () => {});
    this.client.on('message', (topic, payload, packet) => this.#message(topic, payload, packet));
    this.client.on('close', () => this.docs.clear());
    this.client.on('connect', () => this.#subscribe());
    await this.wait(() => this.subscribed, 'the observer to subscribe');
    return this;
  }

  // `site/…` and `daemon/…` are given below the root.
  topic(below) {
    return `${this.root}/${below}`;
  }

  #subscribe() {
    this.subscribed = false;
    this.client.subscribe(`${this.root}/#`, { qos: 1, rap: true, rh: 0 }, (error) => {
      if (error) return;
      this.subscribed = true;
      this.#waiters.arrived();
    });
  }

  #message(topic, payload, packet) {
    const below = topic.slice(this.root.length + 1);
    const levels = below.split('/');
    const entry = {
      n: this.log.length,
      below,
      raw: payload,
      body: parse(payload),
      packet,
      at: Date.now(),
    };
    this.log.push(entry);
    if (levels[2] === 'pulse' || levels.at(-1) === '_pulse') this.#word(entry);
    else if (levels[0] === 'daemon' || OURS.includes(levels[1])) this.#document(entry, levels);
    else if (levels[1] === 'event') this.#event(entry, levels[0]);
    else if (levels[1] === 'reply') this.#reply(entry);
    this.#waiters.arrived();
  }

  #complain(entry, list) {
    for (const what of list) this.wrong.push(`${entry.below}: ${what}`);
  }

  // What a daemon says to itself.
  #word(entry) {
    if (entry.packet.retain) this.#complain(entry, ['a word is retained']);
    this.#complain(entry, wrongWord(entry.body));
  }

  #document(entry, levels) {
    // What a scenario publishes in a daemon's place is not held against the contract.
    const complain = this.strangers?.includes(entry.below)
      ? () => {}
      : (list) => this.#complain(entry, list);
    // With retain-as-published a document that is not flagged was not published retained.
    if (!entry.packet.retain) complain(['the document is not retained']);
    if (entry.raw.length === 0) return void this.docs.delete(entry.below);
    if (entry.body === undefined) return complain(['not JSON']);
    complain(wrongDocument(levels, entry.body));
    this.docs.set(entry.below, entry.body);
  }

  #event(entry, site) {
    if (entry.body === undefined) return this.#complain(entry, ['not JSON']);
    this.#complain(entry, wrongEvent(site, entry.body, entry.packet));
  }

  #reply(entry) {
    if (entry.body === undefined) return this.#complain(entry, ['not JSON']);
    this.#complain(entry, wrongAnswer(entry.body));
    if (entry.packet.retain) this.#complain(entry, ['an answer is retained']);
    const key = entry.packet.properties?.correlationData?.toString('hex');
    const pending = key && this.#pending.get(key);
    if (!pending) return;
    this.#pending.delete(key);
    pending(entry);
  }

  wait(probe, what, timeout) {
    return this.#waiters.wait(probe, what, timeout);
  }

  publish(below, payload, { qos = 1, retain = false, properties } = {}) {
    const bytes =
      typeof payload === 'string' || Buffer.isBuffer(payload) ? payload : JSON.stringify(payload);
    return this.client.publishAsync(this.topic(below), bytes, { qos, retain, properties });
  }

  // Publishes a request and resolves to the log entry of its answer. It says that it is asked now, unless it
  // is not `dated`, says so itself, or is no object.
  ask(
    person,
    verb,
    body,
    { site = this.site, reply, below = '', timeout = PATIENCE, qos = 1, retain = false, dated = true } = {},
  ) {
    const correlationData = randomBytes(8);
    const key = correlationData.toString('hex');
    const responseTopic = reply ?? this.topic(`${site}/reply/${person}${below}`);
    const failure = new Error(
      `no answer to ${verb} of ${person} in ${timeout} ms: ${JSON.stringify(body)?.slice(0, 300)}`,
    );
    return new Promise((resolve, reject) => {
      const timer = setTimeout(() => {
        this.#pending.delete(key);
        reject(failure);
      }, timeout);
      this.#pending.set(key, (entry) => {
        clearTimeout(timer);
        resolve(entry);
      });
      this.publish(`${site}/request/${person}/${verb}`, dated ? now(body, this.clock?.now()) : body, {
        qos,
        retain,
        properties: { responseTopic, correlationData },
      }).catch(reject);
    });
  }

  async request(person, verb, body, options) {
    return (await this.ask(person, verb, body, options)).body;
  }

  // The retained document at a topic below the site once it satisfies `predicate`.
  doc(below, predicate = () => true, what = predicate.toString(), timeout) {
    const key = below.startsWith('daemon/') ? below : `${this.site}/${below}`;
    const probe = () => {
      const document = this.docs.get(key);
      return document && predicate(document) ? document : null;
    };
    return this.wait(
      probe,
      () => `${below} to satisfy ${what}; it is ${JSON.stringify(this.docs.get(key))}`,
      timeout,
    );
  }

  gone(below, timeout) {
    const key = `${this.site}/${below}`;
    return this.wait(
      () => !this.docs.has(key),
      () => `${below} to be emptied; it is ${JSON.stringify(this.docs.get(key))}`,
      timeout,
    );
  }

  // Every version of a document that was published, oldest first; `null` is an emptied topic.
  versions(below, since = 0) {
    return this.log
      .filter((e) => e.n >= since && e.below === `${this.site}/${below}`)
      .map((e) => e.body ?? null);
  }

  mark() {
    return this.log.length;
  }

  // Log entries of events since a mark, `type` without its prefix.
  events(type, since = 0) {
    return this.log.filter(
      (e) =>
        e.n >= since &&
        e.below === `${this.site}/event` &&
        (!type || e.body?.type === `forelock.${type}`),
    );
  }

  async event(type, { since = 0, where = () => true, timeout } = {}) {
    const seen = () =>
      this.events(null, since)
        .map((e) => e.body?.type?.slice(9))
        .join(' ');
    const entry = await this.wait(
      () => this.events(type, since).find((e) => where(e.body.data, e.body)),
      () => `event ${type} where ${where}; seen: ${seen()}`,
      timeout,
    );
    return entry.body;
  }

  alarms(kind) {
    return [...this.docs]
      .filter(([k, d]) => k.startsWith(`${this.site}/alarm/`) && d.kind === kind)
      .map(([, d]) => d);
  }

  alarm(kind, predicate = () => true, timeout) {
    return this.wait(
      () => this.alarms(kind).find(predicate),
      () =>
        `alarm ${kind} where ${predicate}; standing: ${JSON.stringify([...this.docs].filter(([k]) => k.includes('/alarm/')).map(([, d]) => d))}`,
      timeout,
    );
  }

  async close() {
    this.#waiters.close();
    await this.client?.endAsync(true);
  }
}
