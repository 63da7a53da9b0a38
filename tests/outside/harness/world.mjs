// One scenario's world: a private broker, the configuration, the daemon, the site's hardware and an
// observer. Everything ends with the scenario; its directory is kept, and named, only if it failed.
import assert from 'node:assert/strict';
import test from 'node:test';
import { existsSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Broker, freePort } from './broker.mjs';
import { end, run, start } from './child.mjs';
import { Clock } from './clock.mjs';
import { Hardware } from './hardware.mjs';
import { Observer } from './observer.mjs';
import { Proxy } from './proxy.mjs';
import { Secure } from './secure.mjs';
import { plan, write } from './site.mjs';
import { until } from './until.mjs';

// FORELOCK_BIN names the directory of the programs, or the daemon itself.
function binaries() {
  const here = dirname(fileURLToPath(import.meta.url));
  const given = process.env.FORELOCK_BIN ?? join(here, '../../../build/bin');
  return existsSync(given) && statSync(given).isFile() ? dirname(given) : given;
}

export const DAEMON = join(binaries(), 'forelockd');
export const TOOL = join(binaries(), 'forelock');
export const VERBS_JSON = join(binaries(), 'verbs_json');
export const SENTENCES_JSON = join(binaries(), 'sentences_json');
export const CAUTIONS_JSON = join(binaries(), 'cautions_json');
export const ALARMS_JSON = join(binaries(), 'alarms_json');
export const FACTS_JSON = join(binaries(), 'facts_json');

const SENSORS = [
  '3-power',
  '3-product',
  '3-vapor',
  '4-power',
  '5-power-a',
  '5-power-b',
  '5-product',
  '9-fence',
];
const SANITIZER = /(ERROR: (Address|Leak)Sanitizer|runtime error:|SUMMARY: \w+Sanitizer)/;

export class World {
  constructor(options = {}) {
    this.options = options;
    this.root = 'forelock';
    this.site = 'juniper';
    this.dir = mkdtempSync(join(tmpdir(), 'forelock-outside-'));
    this.log = '';
  }

  async setUp() {
    const { tweak, proxy, secure, before, daemon = true, hardware = true, journal } = this.options;
    await before?.(this);
    if (this.options.clock) this.clock = new Clock(this.dir);
    this.broker = new Broker(this.dir);
    if (secure) {
      this.secure = await new Secure(this.dir).make();
      this.broker.more = this.secure.listener();
    }
    await this.broker.start();
    this.proxy = proxy ? await new Proxy(this.broker).start() : null;
    this.plan = plan(this.options);
    this.plan.main.broker.port = (this.proxy ?? this.broker).port;
    this.plan.main.http.listen = `127.0.0.1:${await freePort()}`;
    if (secure) Object.assign(this.plan.main.broker, this.secure.asDaemon());
    if (journal) this.plan.main.journal = journal;
    tweak?.(this.plan, this);
    this.file = write(this.dir, this.plan);
    this.seen = await new Observer(this).connect(this.broker.port);
    this.hw = await new Hardware(this).connect(this.broker.port);
    this.hw.dated = !this.clock; // it has no clock that follows the daemon's
    if (daemon) await this.startDaemon();
    if (daemon && hardware) await this.startHardware();
    return this;
  }

  async startHardware(state = 'live') {
    await this.hw.controller('panel-1', 'online');
    await this.hw.set(SENSORS, state);
    await this.hw.start();
    for (const id of [
      '3-power',
      '3-product',
      '3-vapor',
      '4-power',
      '5-power',
      '5-product',
      '9-fence',
    ])
      await this.point(id, state);
  }

  // Starts the daemon and waits until it has published that it is online under a new boot.
  async startDaemon() {
    const before = this.boot;
    const { env } = this.clock ?? {};
    this.daemon = start(DAEMON, ['-c', this.file], { cwd: this.dir, ignore: ['XFSZ'], env });
    const fresh = () => {
      const document = this.seen.docs.get('daemon/edge-1');
      return document?.state === 'online' && document.boot !== before ? document : null;
    };
    const online = await Promise.race([
      this.seen.wait(fresh, () => `the daemon to be online; it said:\n${this.daemon.err}`),
      this.daemon.exited.then(() => null),
    ]);
    assert.ok(
      online,
      `the daemon ended at once:\n${JSON.stringify(this.daemon.status)}\n${this.daemon.err}`,
    );
    this.boot = online.boot;
    await this.responsive();
  }

  // Returns when the daemon hears hardware and takes requests for asked now, which it may do only some time
  // after it has said that it is online. What is asked concerns no job.
  async responsive() {
    await this.fence();
    await until(
      async () => {
        const asked = this.seen.request('v-1', 'join-job', { job: 'no-such-job' }, { timeout: 400 });
        const answer = await asked.catch(() => null);
        return answer && !answer.refusals.some((r) => r.code === 'too-late');
      },
      'the daemon to answer requests',
    );
  }

  // Ends the daemon as an operator does, which has to be a clean end.
  async stopDaemon() {
    if (!this.daemon || this.daemon.status !== null) return;
    const status = await end(this.daemon, 'SIGTERM');
    this.#keepLog();
    assert.deepEqual(
      status,
      { code: 0, signal: null },
      `SIGTERM did not end the daemon cleanly:\n${this.log.slice(-3000)}`,
    );
  }

  // What it had told last may not be kept as told: its next start tells it again.
  async killDaemon() {
    this.options = { ...this.options, repeats: true };
    await end(this.daemon, 'SIGKILL');
    this.#keepLog();
  }

  #keepLog() {
    this.log += this.daemon.err;
    this.daemon.err = '';
  }

  // Runs the operator's tool with this world's configuration.
  tool(...args) {
    const at = args[0] === 'journal' || args[0] === 'feed' ? 2 : 1;
    return run(TOOL, [...args.slice(0, at), '-c', this.file, ...args.slice(at)], { cwd: this.dir });
  }

  async journal() {
    const { code, out, err } = await this.tool('journal', 'show', '--json');
    assert.equal(code, 0, err);
    return out
      .split('\n')
      .filter(Boolean)
      .map((line) => JSON.parse(line));
  }

  // An accepted request: its answer. `body` is sent as it is.
  async ok(person, verb, body, options) {
    const answer = await this.seen.request(person, verb, body, options);
    assert.equal(
      answer.accepted,
      true,
      `${verb} of ${person} refused: ${JSON.stringify(answer.refusals, null, 1)}`,
    );
    assert.equal(answer.verb, verb);
    return answer;
  }

  // A refused request that gives at least these codes: its refusals.
  async no(person, verb, body, codes, options) {
    const answer = await this.seen.request(person, verb, body, options);
    assert.equal(
      answer.accepted,
      false,
      `${verb} of ${person} was accepted: ${JSON.stringify(body)}`,
    );
    const got = answer.refusals.map((r) => r.code);
    for (const code of [codes].flat())
      assert.ok(
        got.includes(code),
        `${verb} of ${person}: ${code} is not among ${JSON.stringify(answer.refusals)}`,
      );
    return answer.refusals;
  }

  // A refused request that gives exactly these codes, however often.
  async only(person, verb, body, codes, options) {
    const refusals = await this.no(person, verb, body, codes, options);
    const got = [...new Set(refusals.map((r) => r.code))].sort();
    assert.deepEqual(
      got,
      [codes].flat().sort(),
      `${verb} of ${person}: ${JSON.stringify(refusals)}`,
    );
    return refusals;
  }

  job(id, predicate, what) {
    return this.seen.doc(`job/${id}`, predicate, what);
  }

  point(id, state, trust) {
    return this.seen.doc(
      `point/${id}`,
      (d) => d.state === state && (!trust || d.trust === trust),
      `${state} ${trust ?? ''}`,
    );
  }

  position(id, predicate, what) {
    return this.seen.doc(`position/${id}`, predicate, what);
  }

  // Returns when everything that hardware sent before has been heard: the fence's point has turned over.
  // The word is repeated, since a daemon that has just come online may not be subscribed yet.
  async fence() {
    const now = this.seen.docs.get('juniper/point/9-fence')?.state === 'live' ? 'isolated' : 'live';
    const repeat = setInterval(() => this.hw.set('9-fence', now), 300);
    try {
      await this.hw.set('9-fence', now);
      await this.point('9-fence', now);
    } finally {
      clearInterval(repeat);
    }
  }

  #sound() {
    assert.deepEqual(this.seen.wrong, [], 'messages that are not as the contract says');
    assert.doesNotMatch(this.log, SANITIZER);
    // An event whose acknowledgement was lost with the link comes again; what is new comes in order.
    const ids = this.seen.events().map((e) => Number(e.body.id));
    const fresh = [...new Set(ids)];
    if (this.options.foreign) return; // another daemon's numbers are among them
    if (!this.options.repeats) assert.deepEqual(ids, fresh, 'an event came twice');
    fresh.forEach((id, i) =>
      assert.ok(i === 0 || id > fresh[i - 1], `event ${id} after event ${fresh[i - 1]}`),
    );
  }

  // Ends everything; with `check`, what was seen has to be sound and the daemon has to end cleanly.
  async tearDown(check) {
    try {
      if (check) await this.stopDaemon();
      else if (this.daemon) await this.killDaemon();
      if (check) this.#sound();
    } finally {
      if (this.daemon?.status === null) await this.killDaemon();
      await this.hw?.close();
      await this.seen?.close();
      await this.proxy?.stop();
      await this.broker?.stop();
    }
  }

  remove() {
    rmSync(this.dir, { recursive: true, force: true });
  }

  // What a person needs who looks at a failure.
  keep() {
    writeFileSync(join(this.dir, 'daemon.log'), this.log);
    const lines = this.seen?.log.map(
      (e) =>
        `${new Date(e.at).toISOString()} ${e.packet.retain ? 'R' : ' '} ${e.below} ${e.raw.toString('utf8').slice(0, 4000)}`,
    );
    writeFileSync(join(this.dir, 'messages.log'), (lines ?? []).join('\n') + '\n');
    return this.dir;
  }
}

// Declares a test that runs in its own world.
export function scenario(name, options, body) {
  test(name, async (t) => {
    const w = new World(options);
    let passed = false;
    try {
      await w.setUp();
      await body(w, t);
      await w.tearDown(true);
      passed = true;
    } finally {
      if (!passed) {
        await w.tearDown(false).catch((error) => t.diagnostic(`tear-down: ${error.message}`));
        t.diagnostic(`kept for a look: ${w.keep()}`);
      } else w.remove();
    }
  });
}
