// Starts the daemon with one call that fails, the Nth of its kind or that and every later one, and lets an
// honest crew do the main job from the start to the return. Whatever becomes of it, what was promised holds.
// The fault is in the daemon's first life, or (`:later`) in the one that finds people at work.
// Usage: node faults.mjs [--all] [--kinds KIND,…] [--only KIND:N:once|on[:later]] [--share I/OF]
//                        [--lanes N] [--seed N]
// --all: every call that a run without faults makes; --share: the Ith of OF parts of them.
import assert from 'node:assert/strict';
import { parseArgs } from 'node:util';
import { end } from '../outside/harness/child.mjs';
import { delay, until } from '../outside/harness/until.mjs';
import { World } from '../outside/harness/world.mjs';
import { Crew } from '../kill/crew.mjs';
import { Fold } from '../kill/fold.mjs';
import { Ledger } from '../kill/ledger.mjs';
import { Random } from '../kill/random.mjs';
import { KINDS, Words, startShimmed } from './shimmed.mjs';

const { values } = parseArgs({
  options: {
    all: { type: 'boolean' },
    only: { type: 'string' },
    kinds: { type: 'string', default: KINDS.join(',') },
    share: { type: 'string', default: '1/1' },
    lanes: { type: 'string', default: '2' },
    seed: { type: 'string', default: process.env.FORELOCK_SEED ?? String(Date.now() % 2 ** 31) },
  },
});

// How many calls of a kind are made to fail in the quick setting: once and from then on, and the same in
// the later life.
const SAMPLES = {
  memory: [24, 8, 24, 6],
  'disk-full': [6, 5, 3, 2],
  'disk-error': [4, 2, 2, 1],
  sync: [4, 2, 2, 1],
  refused: [2, 1, 1, 1],
  unreachable: [2, 1, 1, 0],
};
const MODES = ['once', 'on', 'once:later', 'on:later'];
// A run takes two seconds; what takes this long is stuck. A pause of the crew this long after a fault
// that goes on means that the daemon refuses, as it has to, until the machine is well again.
const WATCHDOG_MS = 40000;
const PATIENCE_MS = 1200;
const ALWAYS = { chance: () => false, next: () => 1, of: (list) => list[0] };

class Run extends World {
  restarts = 0;

  constructor(fault) {
    super({ daemon: false, maxAge: 10, settle: 0.05, repeats: true });
    this.fault = fault.replace(':later', '');
    this.later = fault.includes('later');
  }

  // A daemon, the first under the fault and later ones without. Resolves when it is online or has ended.
  async spawn(fault) {
    const before = this.boot;
    const fresh = () => {
      const document = this.seen.docs.get('daemon/edge-1');
      return document?.state === 'online' && document.boot !== before ? document : null;
    };
    this.daemon = startShimmed(this, this.words, fault);
    const online = this.seen.wait(fresh, 'online', fault ? 4000 : 15000).catch(() => null);
    const document = await Promise.race([online, this.daemon.exited.then(() => null)]);
    if (document) this.boot = document.boot;
    const comeUp = this.comeUp;
    this.nextLife = new Promise((resolve) => (this.comeUp = resolve));
    comeUp?.();
    return document !== null;
  }

  // Ends a daemon that goes on but does not permit anything: it has to end when told to.
  async endIt() {
    if (this.daemon.status === null) await end(this.daemon, 'SIGTERM', 8000);
    const { daemon } = this;
    this.log += daemon.err;
    assert.ok(!daemon.overdue, `the daemon did not end when told to:\n${this.log}`);
    assert.equal(daemon.status.signal, null, `ended by ${daemon.status.signal}:\n${this.log}`);
    // 0 and 1: it ended; 3 and 4: it could not read or reach what it needs.
    assert.ok(
      [0, 1, 3, 4].includes(daemon.status.code),
      `status ${daemon.status.code}\n${this.log}`,
    );
  }

  async prepare() {
    await this.setUp();
    for (const client of [this.seen.client, this.hw.client]) client.stream.setNoDelay?.(true);
    this.words = new Words(this.dir);
    await this.hw.controller('panel-1', 'online');
    await this.hw.set(
      ['3-power', '3-product', '3-vapor', '4-power', '5-power-a', '5-power-b', '5-product'],
      'live',
    );
    await this.hw.start();
    this.ledger = new Ledger(this.seen, () => this.nextLife);
    this.ledger.anew = true; // a fault may cost a link
    this.crew = new Crew({
      world: this,
      ledger: this.ledger,
      random: ALWAYS,
      ...{ position: '3A', procedure: 'spout-and-boot', leader: 't-104', sensors: {} },
    });
  }

  isIn(phase) {
    const job = this.crew.job && this.seen.docs.get(`juniper/job/${this.crew.job}`);
    return job?.phase === phase;
  }

  returned() {
    return this.isIn('returned');
  }

  // A first life without a fault, which is killed when work has begun.
  async begin() {
    assert.ok(await this.spawn(''), `does not start:\n${this.daemon.err}`);
    await this.crew.run(async () => !this.isIn('working') && !this.stopped);
    await this.killDaemon();
    this.words.clear();
  }

  // A daemon that has come up knows all that the journal knows, or ends: a part of it would mislead.
  async knowsAll() {
    let differences = [];
    const same = async () => {
      const fold = new Fold(this.plan.sites.juniper, this.plan.procedures);
      differences = fold.add(await this.journal()).differences(this.seen.docs);
      return differences.length === 0 || this.daemon.status !== null;
    };
    await until(same, () => `documents and facts to be the same:\n${differences.join('\n')}`);
  }

  // The main job; meanwhile the daemon is started anew, without a fault, when it ends or does nothing.
  async mainJob() {
    // Also when the position is back the crew waits for its answer, which another daemon may have to give.
    let done = false;
    const work = this.crew
      .run(async () => !this.returned() && !this.stopped)
      .finally(() => (done = true));
    let accepted = -1;
    let since = Date.now();
    while (!done) {
      const now = this.ledger.accepted.length;
      if (now !== accepted) since = Date.now();
      accepted = now;
      const stuck = Date.now() - since > (this.fault.endsWith(':on') ? PATIENCE_MS : 8000);
      if (this.daemon.status !== null || (stuck && this.restarts === 0)) {
        await this.endIt();
        const before = this.ledger.accepted;
        this.restarts++;
        assert.ok(this.restarts < 3, `ends without a fault:\n${this.log}`);
        assert.ok(await this.spawn(''), `does not start without a fault:\n${this.daemon.err}`);
        await this.forgive(before);
        since = Date.now();
      }
      await Promise.race([this.daemon.exited, delay(20)]);
    }
    await work;
  }

  // What could not be written until the end may be lost, if that was said; nothing else.
  async forgive(accepted) {
    const said = this.log.match(/(\d+) facts were never written/);
    if (said) this.lost = this.ledger.forgive(accepted, await this.journal(), Number(said[1]));
  }

  // What the journal says at the end, in another life of the daemon.
  async check() {
    await this.endIt();
    this.boot ??= this.seen.docs.get('daemon/edge-1')?.boot;
    assert.ok(await this.spawn(''), `does not start at the end:\n${this.daemon.err}`);
    await this.ledger.askAgain(this.ledger.accepted);
    const facts = await this.journal();
    this.ledger.hold(facts);
    const fold = new Fold(this.plan.sites.juniper, this.plan.procedures).add(facts);
    assert.equal(fold.jobs.get(this.crew.job).phase, 'returned');
    await this.position('3A', (d) => d.service === 'in-service');
    const verified = await this.tool('journal', 'verify');
    assert.equal(verified.code, 0, verified.out + verified.err);
  }

  async whole() {
    await this.prepare();
    if (this.later) await this.begin();
    const up = await this.spawn(this.fault);
    this.first = up ? 'came up' : 'did not come up';
    if (up && this.later && /^(memory:.*once)?$/.test(this.fault)) await this.knowsAll();
    await this.mainJob();
    this.counts = Object.fromEntries(KINDS.map((kind) => [kind, this.words.count(kind)]));
    this.failed = this.words.get('failed');
    await this.check();
    await this.tearDown(true);
  }
}

// One run: how it went, in a line.
async function run(fault) {
  const w = new Run(fault);
  const since = Date.now();
  let timer;
  const watchdog = new Promise((_, reject) => {
    timer = setTimeout(() => reject(new Error(`stuck for ${WATCHDOG_MS} ms`)), WATCHDOG_MS);
  });
  try {
    await Promise.race([w.whole(), watchdog]);
    w.took = Date.now() - since;
    w.remove();
    return w;
  } catch (error) {
    w.stopped = w.ledger && (w.ledger.closed = true);
    w.comeUp?.();
    await w.tearDown(false).catch(() => {});
    error.message += `\nkept for a look: ${w.keep()}`;
    throw error;
  } finally {
    clearTimeout(timer);
  }
}

// The calls that are to fail: all, or one of each stretch. `counts` are those of the two lives.
function plan(counts, random) {
  const faults = [];
  for (const kind of values.kinds.split(','))
    for (const [i, mode] of MODES.entries()) {
      const calls = counts[i >> 1][kind];
      const samples = values.all ? calls : Math.min(SAMPLES[kind][i], calls);
      const step = calls / samples;
      for (let s = 0; s < samples; s++) {
        const n = values.all ? s + 1 : Math.floor(s * step + random.next() * step) + 1;
        faults.push(`${kind}:${n}:${mode}`);
      }
    }
  const [share, of] = values.share.split('/').map(Number);
  return faults.filter((_, i) => i % of === share - 1);
}

const random = new Random(Number(values.seed));
const counts = [(await run('')).counts, (await run(':later')).counts];
console.log(`seed ${random.seed}; calls in runs without faults: ${JSON.stringify(counts)}`);
const faults = values.only ? [values.only] : plan(counts, random);
const wrong = [];
const tally = new Map();

// Does what is left of the list, one after the other.
async function lane(left) {
  for (let fault; (fault = left.shift());) {
    try {
      const w = await run(fault);
      const lost = w.lost ? ', stops not written' : '';
      const how = `${fault.replace(/:\d+:/, ' ')}: ${w.first}, ${w.restarts ? 'ended' : 'went on'}${lost}`;
      tally.set(how, (tally.get(how) ?? 0) + 1);
      if (values.all) console.log(`${fault} ${how.split(': ')[1]}`);
      if (values.only) console.log(w.log.replace(/.* warning: .*\n/g, ''));
    } catch (error) {
      console.error(`${fault}: ${error.message}\n${error.stack}`);
      wrong.push(fault);
    }
  }
}

const left = [...faults];
await Promise.all(Array.from({ length: Number(values.lanes) }, () => lane(left)));
for (const [how, count] of tally) console.log(`${String(count).padStart(6)}  ${how}`);
console.log(`${faults.length} faults, ${wrong.length} went wrong: ${wrong.join(' ')}`);
process.exit(wrong.length === 0 ? 0 : 1);
