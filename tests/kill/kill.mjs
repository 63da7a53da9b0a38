// Kills the daemon at random instants while crews ask, starts it anew, and holds what is there afterwards
// against what was promised. Usage: node kill.mjs [--kills N] [--seed N]; the seed is printed.
import assert from 'node:assert/strict';
import { parseArgs } from 'node:util';
import { start } from '../outside/harness/child.mjs';
import { delay, until } from '../outside/harness/until.mjs';
import { DAEMON, World } from '../outside/harness/world.mjs';
import { Crew } from './crew.mjs';
import { Fold } from './fold.mjs';
import { Ledger } from './ledger.mjs';
import { Random } from './random.mjs';

const { values } = parseArgs({
  options: {
    kills: { type: 'string', default: '200' },
    seed: { type: 'string', default: process.env.FORELOCK_SEED ?? String(Date.now() % 2 ** 31) },
  },
});
// A site that was repaired as often as a kill test does it is none that exists: then a new one begins.
const KILLS_A_SITE = 200;
const KILLS = Number(values.kills);
let random; // of the round
// Every so many kills: the broker is killed; all is held still and compared before and after.
const BROKER = 20;
const QUIET = 8;
const LOOK_BACK = 40;
// What was committed this long before the broker was killed may not have come to the observer yet.
const BROKER_MS = 1000;

const CREWS = [
  ['3A', 'spout-and-boot', 't-104', 't-109', {}],
  ['3B', 'boot', 't-110', 't-109', {}],
  ['4A', 'boot', 't-105', 't-109', { '4-product': [] }],
  ['5A', 'cabinet', 's-2', 't-109', { '5-power': ['5-power-a', '5-power-b'] }],
];

// 3A and 3B are on dispensers of their own here, or the crews would wait for each other all the time.
function tweak(plan) {
  const site = plan.sites.juniper;
  const more = plan.people.find((p) => p.person === 't-105');
  plan.people.push({ ...more, person: 't-109' }, { ...more, person: 't-110' });
  for (const point of site.points) point.isolates = point.isolates.filter((p) => p !== '3B');
  site.positions.find((p) => p.position === '3B').dispenser = '30';
  const copy = (from, to) => ({
    ...site.points.find((p) => p.point === from),
    point: to,
    isolates: ['3B'],
  });
  site.points.push(copy('3-power', '30-power'), copy('3-product', '30-product'));
}

class Kills extends World {
  checked = 0;
  outages = [];
  facts = [];
  early = 0;
  brokers = 0;
  quiets = 0;
  restartMs = [];

  constructor() {
    super({ tweak, maxAge: 5, settle: 0.05, repeats: true });
  }

  async begin() {
    await this.setUp();
    for (const client of [this.seen.client, this.hw.client]) {
      client.stream.setNoDelay?.(true);
      client.on('connect', () => client.stream.setNoDelay?.(true));
    }
    await this.hw.set(['30-power', '30-product'], 'live');
    this.fold = new Fold(this.plan.sites.juniper, this.plan.procedures);
    this.#newLife();
    this.ledger = new Ledger(this.seen, () => this.nextLife);
    this.crews = CREWS.map(
      ([position, procedure, leader, helper, sensors]) =>
        new Crew({
          world: this,
          ledger: this.ledger,
          random: new Random(random.next() * 2 ** 32),
          ...{ position, procedure, leader, helper, sensors },
        }),
    );
    this.running = true;
    this.load = Promise.all(this.crews.map((c) => c.run(() => this.#gate())));
    // A crew that finds something wrong ends the run; until it is awaited that is no unhandled error.
    this.load.catch((error) => (this.failure = error));
  }

  #newLife() {
    this.nextLife = new Promise((resolve) => (this.comeUp = resolve));
  }

  // Holds a crew back during a quiet moment; false ends it.
  async #gate() {
    while (this.running && this.held) await delay(3);
    return this.running;
  }

  async #spawn() {
    this.daemon = start(DAEMON, ['-c', this.file], { cwd: this.dir });
  }

  // Starts the daemon, which has to come up by itself whatever was left behind; sometimes it is killed
  // before it has. In the end a new boot is online.
  async up() {
    const since = Date.now();
    await this.#spawn();
    while (random.chance(0.12)) {
      await delay(random.between(0, 40));
      await this.killDaemon();
      this.early++;
      await this.#spawn();
    }
    const before = this.boot;
    const fresh = () => {
      const document = this.seen.docs.get('daemon/edge-1');
      return document?.state === 'online' && document.boot !== before ? document : null;
    };
    const ended = this.daemon.exited.then(() => null);
    const online = await Promise.race([this.seen.wait(fresh, 'online again'), ended]);
    assert.ok(online, `the daemon does not start again:\n${this.daemon.err}`);
    this.boot = online.boot;
    this.restartMs.push(Date.now() - since);
    this.#askOn();
  }

  // What has no answer yet is asked again.
  #askOn() {
    const comeUp = this.comeUp;
    if (this.ledger) this.ledger.anew = false;
    this.#newLife();
    comeUp();
  }

  // Reads what the journal has more than at the last look, and that it has nothing else than then.
  async look() {
    const from = Math.max(1, this.facts.length - LOOK_BACK);
    const { code, out, err } = await this.tool('journal', 'show', '--json', '--from', String(from));
    assert.equal(code, 0, err);
    const lines = out
      .split('\n')
      .filter(Boolean)
      .map((line) => JSON.parse(line));
    const known = this.facts.slice(from - 1);
    assert.deepEqual(lines.slice(0, known.length), known, 'facts are not what they were');
    const fresh = lines.slice(known.length);
    this.facts.push(...fresh);
    this.fold.add(fresh);
  }

  async verify() {
    const { code, out, err } = await this.tool('journal', 'verify');
    assert.equal(code, 0, out + err);
  }

  // Whatever had its answer before the look has its fact, once.
  async checkSoFar() {
    const until = this.ledger.entries.length;
    const asked = this.ledger.entries.slice(this.checked, until);
    const done = asked.filter((e) => e.accepted);
    await this.look();
    this.ledger.holdOf(done, this.facts);
    while (this.checked < until && this.ledger.entries[this.checked].settled) this.checked++;
  }

  // Waits until nothing goes on: every crew has its answer and no document changes.
  async still() {
    this.held = true;
    await until(() => !this.crews.some((c) => c.busy), 'the crews to have their answers');
    let differences;
    await until(
      async () => {
        await this.look();
        differences = this.fold.differences(this.seen.docs);
        return differences.length === 0;
      },
      () => `documents and facts to be the same:\n${differences.join('\n')}`,
      { every: 60 },
    );
  }

  // The documents as far as a restart may not change them: what rests on hearing is heard anew.
  snapshot() {
    const copy = new Map();
    for (const [topic, document] of this.seen.docs) {
      if (!/\/(job|position|alarm)\//.test(topic)) continue;
      if (topic.includes('/alarm/') && document.kind !== 'lockout-broken') continue;
      copy.set(topic, JSON.stringify({ ...document, lockout: 0, missing: 0 }));
    }
    return copy;
  }

  // A kill while nothing goes on: everything has to be as before.
  async quietKill() {
    await this.still();
    const before = this.snapshot();
    await this.killDaemon();
    await this.up();
    await this.still();
    const after = this.snapshot();
    for (const topic of new Set([...before.keys(), ...after.keys()]))
      assert.equal(after.get(topic), before.get(topic), `a restart changed ${topic}`);
    this.ledger.hold(this.facts);
    this.quiets++;
    this.held = false;
  }

  // The broker is killed, with what it had not saved; the daemon with it, soon after, or not at all.
  async killBroker() {
    const dice = random.next();
    const since = Date.now() - BROKER_MS;
    this.brokers++;
    this.ledger.anew = true;
    if (dice < 0.3) await this.killDaemon();
    await this.broker.restart('SIGKILL');
    await this.seen.wait(() => this.seen.subscribed && this.seen.client.connected, 'the observer');
    this.outages.push([since, Date.now()]);
    if (dice < 0.6) return;
    await this.seen.doc('daemon/edge-1', (d) => d.state === 'online', 'online again');
    this.#askOn();
    await delay(random.between(50, 400));
  }

  async kill(n) {
    if (n % QUIET === 0) return this.quietKill();
    await delay(random.chance(0.3) ? random.between(0, 60) : random.between(60, 350));
    if (n % BROKER === 10) await this.killBroker();
    if (this.daemon.status === null) await this.killDaemon();
    await this.up();
  }

  async finish() {
    await this.still();
    this.running = false;
    await this.load;
    await this.ledger.askAgain(this.ledger.accepted);
    await this.look();
    this.ledger.hold(this.facts);
    await this.verify();
    await this.seenEvents();
  }

  // Events tell of nothing that is not in the journal, and of all that is, at least once: what happened
  // while the broker was away may have come to it and gone with it.
  async seenEvents() {
    const events = [...this.seen.events()];
    await this.look(); // what was told since the last look is in the journal as well
    const told = new Set();
    for (const { body } of events) {
      const fact = this.facts[Number(body.id) - 1];
      assert.equal(body.type, fact.type, `event ${body.id} is not in the journal`);
      assert.deepEqual(body.data, fact.data, `event ${body.id} is not in the journal`);
      told.add(Number(body.id));
    }
    const outage = (at) => this.outages.some(([from, to]) => at >= from && at <= to);
    const untold = this.facts.filter((f) => f.site && !INNER.test(f.type) && !told.has(f.seq));
    for (const fact of untold)
      assert.ok(outage(Date.parse(fact.at)), `no event told of ${JSON.stringify(fact)}`);
    this.told = told.size;
    this.untold = untold.length;
  }

  report(kills) {
    const sorted = [...this.restartMs].sort((a, b) => a - b);
    const l = this.ledger;
    return [
      `${kills} kills and ${this.early} more during the start,`,
      `${this.brokers} of the broker, ${this.quiets} compared while still;`,
      `${l.entries.length} requests, ${l.accepted.length} accepted, ${l.answers} answers`,
      `(${l.again} again, ${l.unanswered} times none); ${this.facts.length} facts,`,
      `${this.fold.starts} starts, ${this.fold.returns} returns;`,
      `${this.told} events told, ${this.untold} lost with a broker;`,
      `up again in ${sorted[sorted.length >> 1]} ms (median), ${sorted.at(-1)} ms (longest)`,
    ].join(' ');
  }
}

// Facts that are not told as events.
const INNER = /\.(tag\.discounted|leave\.voided|hold\.|request\.refused|daemon\.)/;

// Kills on one site; what is told with a failure is enough to do it again.
async function round(seed, kills) {
  random = new Random(seed);
  const w = new Kills();
  let passed = false;
  console.log(`seed ${seed}, ${kills} kills`);
  try {
    await w.begin();
    for (let n = 1; n <= kills; n++) {
      if (w.failure) throw w.failure;
      await w.kill(n);
      await w.checkSoFar();
      await w.verify();
    }
    await w.finish();
    await w.tearDown(true);
    console.log(w.report(kills));
    passed = true;
  } finally {
    if (passed) {
      w.remove();
    } else {
      await w.tearDown(false).catch(() => {});
      console.error(`seed ${seed}, kept for a look: ${w.keep()}`);
      console.error(w.log.split('\n').filter((line) => !/warning: /.test(line)).slice(-40).join('\n'));
    }
  }
}

for (let done = 0; done < KILLS; done += KILLS_A_SITE)
  await round(Number(values.seed) + done, Math.min(KILLS_A_SITE, KILLS - done));
process.exit(0);
