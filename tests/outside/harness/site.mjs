// The configuration of an invented site. `tweak` may change every part of it before it is written.
import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';

const point = (id, energy, kind, isolates, more = {}) => ({
  point: id,
  energy,
  kind,
  title: `Point ${id}`,
  isolates,
  ...more,
});

function site({ maxAge, settle }) {
  const times = { max_age_s: maxAge, settle_s: settle };
  const sensed = (id, energy, kind, isolates, more) =>
    point(id, energy, kind, isolates, { ...times, ...more });
  const position = (id, dispenser) => ({
    position: id,
    dispenser,
    title: `Dispenser ${dispenser}, ${id}`,
    products: ['regular'],
    nozzle_family: 'k2',
  });
  return {
    site: 'juniper',
    title: 'Juniper Crossing',
    district: 'north-basin',
    time_zone: 'UTC',
    controllers: ['panel-1'],
    positions: [
      position('3A', '3'),
      position('3B', '3'),
      position('4A', '4'),
      position('5A', '5'),
      position('9A', '9'),
    ],
    points: [
      sensed('3-power', 'electrical', 'breaker', ['3A', '3B'], { controller: 'panel-1' }),
      sensed('3-product', 'product', 'shear-valve', ['3A', '3B']),
      // Isolates 3A alone, and of the procedures only `lines`, of which no job is opened, requires it.
      sensed('3-vapor', 'vapor', 'line-valve', ['3A']),
      sensed('4-power', 'electrical', 'breaker', ['4A']),
      point('4-product', 'product', 'shear-valve', ['4A'], {
        sensors: [],
        witnesses: 1,
        witness_valid_s: 3600,
      }),
      sensed('5-power', 'electrical', 'breaker', ['5A'], { sensors: ['5-power-a', '5-power-b'] }),
      sensed('5-product', 'product', 'shear-valve', ['5A']),
      // Only here to see that the daemon has come past everything sent before it.
      sensed('9-fence', 'air', 'line-valve', ['9A'], { settle_s: 0 }),
    ],
  };
}

const until = '2099-12-31';
const person = (id, roles, more = {}) => ({
  person: id,
  title: `Person ${id}`,
  roles,
  sites: ['*'],
  ...more,
});
const holds = (day = until, credential = 'vapor-b') => ({
  credentials: [{ credential, until: day }],
});

const people = () => [
  person('t-104', ['technician'], holds()),
  person('t-105', ['technician'], holds()),
  person('t-106', ['technician'], holds('2020-01-31')),
  person('t-107', ['technician']),
  person('t-108', ['technician'], { ...holds(), sites: ['elsewhere'] }),
  person('s-1', ['supervisor']),
  person('s-2', ['technician', 'supervisor'], holds()),
  person('m-1', ['manager']),
  person('k-1', ['tracker']),
  person('v-1', ['viewer']),
];

const credentials = [['vapor-a', 'vapor-b', 'vapor-c', 'vapor-d']];

// The contract's own example.
const spoutAndBoot = () => ({
  procedure: 'spout-and-boot',
  title: 'Replace spout assembly and vapor boot',
  credentials,
  isolate: ['electrical', 'product'],
  match: 'nozzle_family',
  takes: 'position',
  prepare: [
    { check: 'barricade', ask: 'Work area barricaded against vehicles', valid_s: 28800 },
    { check: 'site-told', ask: 'Site staff told before locks go on', by: 'manager' },
  ],
  relieve: [
    { check: 'drained', ask: 'Liquid drained to an approved container', unit: 'L', min: 0 },
  ],
  verify: [
    { check: 'no-flow', ask: 'Trigger squeezed, nothing flows' },
    {
      check: 'no-voltage',
      ask: 'Absence of voltage, meter proved before and after',
      unit: 'V',
      max: 1,
    },
  ],
  work: [
    {
      check: 'spout-nut',
      ask: 'Spout nut torqued',
      unit: 'N.m',
      min: 43.8,
      max: 48.4,
      instrument: 'torque-wrench',
    },
  ],
  clear: [
    { check: 'tools-clear', ask: 'Tools removed' },
    { check: 'people-clear', ask: 'Everyone clear' },
  ],
  tests: [
    { test: 'leak', rule: 'pass-fail' },
    { test: 'shutoff', rule: 'pass-fail' },
    { test: 'continuity', rule: 'range', unit: 'ohm', max: 1000000, powered: false },
  ],
  finish: [{ check: 'barricade-removed', ask: 'Barricade removed, area clean' }],
  leave: [{ check: 'made-safe', ask: 'Hose off or capped, position bagged' }],
});

// The least that a procedure may be: for scenarios that are not about checks.
const boot = () => ({
  procedure: 'boot',
  title: 'Replace boot',
  credentials,
  isolate: ['electrical', 'product'],
  takes: 'position',
  verify: [{ check: 'no-flow', ask: 'Trigger squeezed, nothing flows' }],
  clear: [{ check: 'tools-clear', ask: 'Tools removed' }],
  tests: [{ test: 'leak', rule: 'pass-fail' }],
  leave: [{ check: 'made-safe', ask: 'Hose off or capped' }],
});

// The same, but it takes the whole dispenser.
const cabinet = () => ({
  ...boot(),
  procedure: 'cabinet',
  title: 'Open the cabinet',
  takes: 'dispenser',
});

// What the two points are for that nothing else isolates.
const lines = () => ({
  ...boot(),
  procedure: 'lines',
  title: 'Work on the vapor and air lines',
  isolate: ['vapor', 'air'],
});

export function plan({ maxAge = 5, settle = 0.1 } = {}) {
  return {
    main: {
      instance: 'edge-1',
      root: 'forelock',
      broker: { host: '127.0.0.1', port: 1883 },
      http: { listen: '127.0.0.1:8080' },
      journal: 'journal/forelock.db',
      people: 'people.json',
      instruments: 'instruments.json',
      procedures: ['procedures/*.json'],
      districts: ['districts/*.json'],
      sites: ['sites/*.json'],
      feeds: [],
      webhooks: [],
    },
    sites: { juniper: site({ maxAge, settle }) },
    people: people(),
    instruments: [
      { instrument: 'tw-3', kind: 'torque-wrench', calibrated_until: until },
      { instrument: 'tw-old', kind: 'torque-wrench', calibrated_until: '2020-01-31' },
      { instrument: 'gauge-1', kind: 'gauge', calibrated_until: until },
    ],
    procedures: { 'spout-and-boot': spoutAndBoot(), boot: boot(), cabinet: cabinet(), lines: lines() },
    districts: { 'north-basin': { district: 'north-basin', adds: {} } },
  };
}

// Finds a point of the plan's site.
export const pointOf = (p, id) => p.sites.juniper.points.find((x) => x.point === id);

// Writes a plan below `dir`; a part that is a string is written as it is. Returns the main file's path.
export function write(dir, p) {
  const put = (name, value) => {
    const file = join(dir, name);
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(
      file,
      typeof value === 'string' || Buffer.isBuffer(value)
        ? value
        : JSON.stringify(value, null, 2) + '\n',
    );
    return file;
  };
  const raw = (v) => typeof v === 'string' || Buffer.isBuffer(v);
  put('people.json', raw(p.people) ? p.people : { people: p.people });
  put('instruments.json', raw(p.instruments) ? p.instruments : { instruments: p.instruments });
  for (const kind of ['procedures', 'districts', 'sites'])
    for (const [name, value] of Object.entries(p[kind])) put(`${kind}/${name}.json`, value);
  for (const [name, value] of Object.entries(p.files ?? {})) put(name, value);
  mkdirSync(join(dir, 'journal'), { recursive: true });
  return put('forelock.json', p.main);
}
