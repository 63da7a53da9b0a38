// Every procedure of the shipped example, worked through from the opening to the return, as it ships and
// under the rules that its district has from a later day.
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';
import { Repair } from './harness/repair.mjs';
import { parseCommented } from './harness/schemas.mjs';
import { scenario } from './harness/world.mjs';

const CONFIG = join(dirname(fileURLToPath(import.meta.url)), '../../config');
const read = (name) => parseCommented(readFileSync(join(CONFIG, name), 'utf8'));
const folder = (name) =>
  readdirSync(join(CONFIG, name))
    .filter((file) => file.endsWith('.json'))
    .map((file) => read(`${name}/${file}`));

const PROCEDURES = Object.fromEntries(folder('procedures').map((p) => [p.procedure, p]));
const INSTRUMENTS = read('instruments.json').instruments;
const LATER = folder('districts').find((d) => d.effective);

// What the shipped procedures isolate and the harness's site does not: what comes from the tank.
const SUPPLY = {
  ...{ point: '3-supply', energy: 'product-supply', kind: 'line-valve', title: 'Point 3-supply' },
  ...{ isolates: ['3A', '3B'], max_age_s: 30, settle_s: 0.1 },
};

// The harness's site, with the shipped procedures, credentials and instruments.
const shipped = (districts) => (p) => {
  p.sites.juniper.points.push(SUPPLY);
  p.procedures = { ...PROCEDURES, lines: p.procedures.lines };
  p.instruments = INSTRUMENTS;
  p.districts = districts;
  p.main.credentials = 'credentials.json';
  p.files = { 'credentials.json': read('credentials.json') };
  const until = '2099-12-31';
  p.people.find((x) => x.person === 't-104').credentials = [
    { credential: 'vapor-d', until },
    { credential: 'shear-proof', until },
    { credential: 'meter-service', until },
    { credential: 'basin-tester', until },
  ];
};

// What a passing test reads, by its rule.
const READINGS = {
  'pass-fail': { pass: true },
  range: ({ max }) => ({ value: max ? max / 2 : 400000 }),
  'pressure-decay': {
    system: 'balance',
    nozzles: 4,
    ullage_gal: 3000,
    initial_inwc: 2.0,
    final_inwc: 1.7,
  },
  'back-pressure': { flow_cfh: 60, pressure_inwc: 0.3 },
  'vapor-liquid-ratio': {
    meter_factor: 1,
    vapor_initial_ft3: 100,
    vapor_final_ft3: 100.66,
    liquid_gal: 4.7,
  },
  'liquid-removal': { initial_ml: 150, final_ml: 90, dispensed_gal: 10 },
  'flow-rate': { volume_gal: 5, seconds: 40 },
  continuity: { criterion: 'chain', ohms: 4200 },
  'meter-draft': {
    ...{ tolerance: 'acceptance', draft_gal: 5 },
    ...{ error1_in3: -2, error2_in3: -3, error3_in3: -1 },
  },
};

// The family of every nozzle of the site.
const FAMILY = 'k2';

// The order after a drive-off, as a California executive order has it (docs/trade.md): purge, leak and creep,
// bag, interlock and shut-off.
test('a drive-off is tested in the published order', () => {
  const { tests } = PROCEDURES['drive-off'];
  const order = ['purge', 'creep', 'bag', 'interlock', 'shutoff'];
  const at = order.map((id) => tests.findIndex((t) => t.test === id));
  assert.ok(at.every((place, i) => place >= 0 && (i === 0 || place === at[i - 1] + 1)), `${at}`);
  const [purge, creep] = at.map((place) => tests[place]);
  assert.deepEqual([purge.unit, purge.min, creep.unit, creep.min], ['gal', 2, 'min', 2]);
  assert.match(creep.ask.en, /extended and twisted/);
  assert.match(creep.ask.es, /extendida y torcida/);
});

// Gas is measured before any meter that is no rated device, and an opened cabinet's again.
test('gas is measured before every meter', () => {
  for (const { procedure, prepare, verify, tests } of Object.values(PROCEDURES)) {
    assert.ok(prepare.some((c) => c.check === 'gas-before' && c.max < 10), procedure);
    const gas = verify.findIndex((c) => c.check === 'gas-at-cabinet');
    const volts = verify.findIndex((c) => c.unit === 'V');
    assert.ok(volts < 0 ? verify.some((c) => c.check === 'dark') : gas >= 0 && gas < volts, procedure);
    const meter = tests.findIndex((t) => t.instrument === 'megohmmeter');
    // Hanging hardware is not touched where a meter in the cabinet is.
    assert.equal(meter > 0, procedure !== 'meter', procedure);
    if (meter > 0) assert.equal(tests[meter - 1].test, 'vapor-free', procedure);
  }
});

// What the shear valve of a drive-off or a leak says of itself is not enough.
test('product is isolated so that it can be proved', () => {
  for (const { procedure, isolate, prepare, relieve } of Object.values(PROCEDURES)) {
    const upstream = isolate.includes('product-supply');
    assert.equal(upstream, ['drive-off', 'leak-call'].includes(procedure), procedure);
    assert.equal(prepare.some((c) => c.check === 'product-proof'), !upstream, procedure);
    assert.ok(relieve.some((c) => c.check === 'line-pressure'), procedure);
  }
});

test('every text that ships is in English and in Spanish', () => {
  const texts = [];
  const walk = (value, name, place) => {
    if (['title', 'ask'].includes(name)) texts.push([place, value]);
    else if (value && typeof value === 'object')
      for (const [key, inner] of Object.entries(value)) walk(inner, key, `${place}/${key}`);
  };
  for (const kind of ['procedures', 'districts', 'sites'])
    for (const file of folder(kind)) walk(file, '', kind);
  const lacking = texts.filter(([, text]) => typeof text === 'object' && !(text.en && text.es));
  assert.deepEqual(lacking, []);
  const procedures = texts.filter(([place, text]) => /^procedures/.test(place) && typeof text === 'string');
  assert.deepEqual(procedures, []);
  for (const { procedure, tests } of Object.values(PROCEDURES))
    for (const test of tests) assert.ok(test.title && test.ask, `${procedure}: ${test.test}`);
});

const instrument = (kind) =>
  kind ? { instrument: INSTRUMENTS.find((i) => i.kind === kind).instrument } : {};

// A repair that signs and records whatever the job asks for.
class Worked extends Repair {
  constructor(w, job) {
    super(w, job);
    if (PROCEDURES[this.procedure].isolate.includes(SUPPLY.energy)) {
      this.points = [...this.points, SUPPLY.point];
      this.sensors = [...this.sensors, SUPPLY.point];
    }
  }

  async open() {
    await this.w.hw.set(SUPPLY.point, 'live');
    await super.open();
    const opened = (await this.w.journal()).find((l) => l.type === 'forelock.job.opened');
    this.asked = opened.data.requirements;
  }

  async signGroup(...groups) {
    for (const group of groups)
      for (const check of this.asked[group] ?? []) {
        const value = check.max ?? check.min ?? 0;
        const reading = check.unit ? { value, unit: check.unit } : {};
        const more = { ...reading, ...instrument(check.instrument) };
        if (check.note) await this.no('sign-check', { check: check.check, ...more }, 'malformed');
        const note = check.note ? { note: check.equals ? FAMILY : 'as seen' } : {};
        const by = check.by === 'manager' ? 'm-1' : this.leader;
        await this.ask('sign-check', { check: check.check, ...more, ...note }, by);
      }
  }

  // A test that is to be announced is refused at first, and taken when its hours have gone by.
  async announced(body, { notice_h: hours }) {
    await this.no('record-test', body, 'check-out-of-season');
    this.w.clock.set('slept', hours * 3600 * 1000);
    await this.w.hw.set(this.sensors, 'live');
    for (const point of this.points) await this.w.point(point, 'live', 'fresh');
    const waits = ({ code, subject, args }) =>
      code === 'link-down' || (subject === body.test && args.say !== 'test-missing');
    await this.doc((d) => !d.missing.some(waits), `${body.test} waits for nothing`);
  }

  async pass() {
    const document = await this.doc((d) => d.tests.length > 0);
    this.tests = document.tests.map((t) => t.test);
    for (const id of this.tests) {
      const test = this.asked.tests.find((t) => t.test === id || id.startsWith(`${t.test}.`));
      const reading = READINGS[test.rule];
      const readings = typeof reading === 'function' ? reading(test) : reading;
      const body = { test: id, readings, ...instrument(test.instrument) };
      if (test.notice) await this.announced(body, test);
      const { result } = await this.ask('record-test', body);
      assert.equal(result.pass, true, `${id}: ${JSON.stringify(result)}`);
    }
    await this.signGroup('finish');
  }
}

const USUAL = [
  'boot',
  'breakaway',
  'drive-off',
  'hose',
  'leak-call',
  'meter',
  'nozzle',
  'spout-and-boot',
  'swivel',
];
assert.deepEqual(Object.keys(PROCEDURES).sort(), USUAL);

// Where a vehicle drove off, what leaks shows in a meter that creeps; a meter's drafts are of each product.
const TESTS = { 'drive-off': ['creep', 'shutoff'], meter: ['leak', 'draft.regular'] };

const plain = { 'north-basin': { district: 'north-basin', adds: {} } };
for (const procedure of USUAL)
  scenario(`${procedure}, as it ships`, { tweak: shipped(plain) }, async (w) => {
    const job = await new Worked(w, { procedure }).to('testing');
    // A test goes on beside the other side, which nobody may use meanwhile.
    const taken = PROCEDURES[procedure].takes === 'dispenser' ? 'isolated-with' : 'work-beside';
    await w.position('3B', (d) => d.service === 'out-of-service' && d.cause === taken);
    await job.to('returned');
    await w.position('3B', (d) => d.service === 'in-service');
    for (const id of TESTS[procedure] ?? ['leak', 'shutoff'])
      assert.ok(job.tests.includes(id), `no test ${id} among ${job.tests}`);
    await w.position('3A', (d) => d.service === 'in-service');
  });

// The day has come.
const now = { 'north-basin': { ...LATER, effective: '2020-01-01' } };
for (const procedure of Object.keys(LATER.adds))
  scenario(`${procedure}, under the district's later rules`, { tweak: shipped(now), clock: true }, async (w) => {
    const job = await new Worked(w, { procedure }).to('returned');
    assert.equal(job.asked.effective, '2020-01-01');
    for (const { test } of LATER.adds[procedure].tests)
      assert.ok(
        job.tests.some((id) => id === test || id.startsWith(`${test}.`)),
        `${test} is not among ${job.tests}`,
      );
  });
