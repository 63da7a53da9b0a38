// The schemas of the configuration against the loader that reads it: whatever one of them says of a field's
// name, kind, bounds and need, the other says too; and every field that the loader knows is in a schema.
import assert from 'node:assert/strict';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import test from 'node:test';
import { run } from './harness/child.mjs';
import { parseCommented, schemas, TOP, wrongBy } from './harness/schemas.mjs';
import { DAEMON } from './harness/world.mjs';

// One configuration in which every field of every schema stands.
const full = () => ({
  'forelock.json': {
    instance: 'edge-1',
    root: 'forelock',
    broker: {
      host: '127.0.0.1',
      port: 1883,
      username: 'forelock',
      password_file: 'secret',
      ca_file: 'secret',
      cert_file: 'secret',
      key_file: 'secret',
    },
    http: {
      listen: '127.0.0.1:8080',
      url: 'https://juniper.example',
      cert_file: 'secret',
      key_file: 'secret',
    },
    journal: 'forelock.db',
    people: 'people.json',
    instruments: 'instruments.json',
    credentials: 'credentials.json',
    procedures: ['procedure.json'],
    districts: ['district.json'],
    sites: ['site.json'],
    feeds: ['feeds.json'],
    webhooks: [
      {
        webhook: 'tracker',
        url: 'https://tracker.example/hook',
        secret_file: 'hook',
        sites: ['juniper'],
        ca_file: 'secret',
        alarm_after_s: 60,
        events: ['work.stopped'],
      },
    ],
  },
  'people.json': {
    people: [
      {
        person: 't-1',
        title: 'Technician',
        roles: ['technician'],
        sites: ['juniper'],
        credentials: [{ credential: 'vapor-b', until: '2099-01-31' }],
        token_sha256: 'ab'.repeat(32),
      },
    ],
  },
  'instruments.json': {
    instruments: [
      {
        instrument: 'tw-3',
        kind: 'torque-wrench',
        calibrated_until: '2099-01-31',
        uncertainty: { value: 0.8, unit: 'N.m' },
        wrench_in: 12,
        adapter_in: 3,
        angle_deg: 45,
      },
      {
        instrument: 'tw-4',
        kind: 'torque-wrench',
        calibrated_until: '2099-01-31',
        wrench_mm: 300,
        adapter_mm: 75,
      },
    ],
  },
  'credentials.json': {
    credentials: [
      { credential: 'vapor-a', title: 'Vapor A', includes: ['vapor-b'] },
      { credential: 'vapor-b' },
    ],
  },
  'procedure.json': {
    procedure: 'boot',
    title: 'Replace the boot',
    credentials: [['vapor-b']],
    isolate: ['electrical'],
    match: 'nozzle_family',
    kind: null, // a repair
    takes: 'position',
    check_in_s: 1800,
    prepare: [
      { check: 'barricade', ask: 'Barricaded', valid_s: 3600, by: 'technician', note: true },
      { check: 'label', ask: 'Label', equals: 'nozzle_family' },
    ],
    relieve: [
      { check: 'no-pressure', ask: 'No pressure', unit: 'psi', max: 1, measure: 'line-pressure' },
    ],
    verify: [{ check: 'no-voltage', ask: 'No voltage', unit: 'V', min: 0, max: 1 }],
    work: [
      {
        ...{ check: 'nut', ask: 'Torqued', unit: 'N.m', min: 1, max: 2, instrument: 'torque-wrench' },
        ...{ rule: 'torque-applied', twin: true },
      },
    ],
    clear: [{ check: 'clear', ask: 'Clear' }],
    tests: [
      {
        test: 'ratio',
        rule: 'range',
        title: { en: 'Ratio', es: 'Relación' },
        ask: 'From spout to ground',
        method: 'TP-201.5',
        edition: '2026',
        unit: 'ohm',
        min: 1,
        max: 2,
        instrument: 'torque-wrench',
        powered: true,
        valid_s: 600,
        runs: 3,
        borderline: 0.02,
        each: 'product',
        fails: 'dispenser',
        notice: 'barricade',
        notice_h: 0.5,
      },
    ],
    finish: [{ check: 'clean', ask: 'Clean' }],
    leave: [{ check: 'safe', ask: 'Made safe' }],
  },
  'district.json': {
    district: 'north',
    effective: '2026-01-01',
    adds: {
      boot: {
        credentials: [['vapor-a']],
        isolate: ['product'],
        prepare: [
          { check: 'told', ask: 'Told', by: 'manager', valid_s: 60, note: true },
          { check: 'plate', ask: 'Plate', equals: 'nozzle_family' },
        ],
        relieve: [
          {
            check: 'no-gas',
            ask: 'No gas',
            unit: '%LEL',
            max: 10,
            measure: 'gas',
            instrument: 'torque-wrench',
          },
        ],
        verify: [{ check: 'no-voltage', max: 0.5, min: 0.1 }],
        work: [{ check: 'nut', unit: 'N.m', min: 1.5, rule: 'torque-applied', twin: true }],
        clear: [],
        tests: [
          {
            test: 'more',
            rule: 'range',
            title: 'More',
            ask: { en: 'Once more', es: 'Otra vez' },
            method: 'TP-201.5',
            edition: '2026',
            unit: 'ohm',
            min: 1,
            max: 2,
            instrument: 'torque-wrench',
            powered: false,
            valid_s: 300,
            runs: 3,
            borderline: 0.02,
            each: 'product',
            fails: 'dispenser',
            notice: 'plate',
            notice_h: 2,
          },
        ],
        finish: [],
        leave: [],
      },
    },
  },
  'site.json': {
    site: 'juniper',
    title: 'Juniper Crossing',
    languages: ['en', 'es'],
    district: 'north',
    time_zone: 'UTC',
    volume_unit: 'L',
    controllers: ['panel-1'],
    positions: [
      {
        position: '3A',
        dispenser: '3',
        title: 'Side A',
        products: ['regular'],
        nozzle_family: 'k2',
      },
    ],
    points: [
      {
        point: '3-power',
        energy: 'electrical',
        kind: 'breaker',
        title: 'Breaker',
        isolates: ['3A'],
        sensors: ['3-power'],
        controller: 'panel-1',
        max_age_s: 30,
        settle_s: 2,
        locks: 'reader',
      },
      {
        point: '3-product',
        energy: 'product',
        isolates: ['3A'],
        sensors: [],
        witnesses: 1,
        witness_valid_s: 3600,
      },
    ],
    measures: [
      {
        measure: '3-psi',
        kind: 'line-pressure',
        unit: 'psi',
        title: 'Line pressure',
        positions: ['3A'],
        controller: 'panel-1',
        max_age_s: 30,
      },
      { measure: '3-gas', kind: 'gas', unit: '%LEL', positions: ['3A'] },
    ],
    vapor: {
      basis: 'tp-201.3',
      system: 'balance',
      nozzles: 8,
      tanks: [{ tank: '1', product: 'regular', gallons: 10000 }],
    },
  },
  'feeds.json': {
    feeds: [
      {
        feed: 'panel',
        topic: 'plant/{site}/{circuit}/status',
        to: 'signal',
        sensor: '{circuit}-power',
        payload: 'json',
        each: '/all',
        state: { at: '/s', from: 'message', isolated: ['open', 0, false], live: ['closed', 1] },
        time: { at: '/t', as: 'unix-ms', from: 'message' },
        seq: { at: '/n', modulus: 256, from: 'message' },
        quality: { at: '/q', good: ['GOOD'], from: 'message' },
      },
      {
        feed: 'reader',
        topic: 'plant/{site}/reader',
        to: 'tag',
        payload: 'json',
        captures: { where: { at: '/point', map: { 7: '3-power' } } },
        point: '{where}',
        person: { at: '/badge', map: { 4711: 't-1' } },
        state: { at: '/e', hung: ['in'], lifted: ['out'] },
      },
      {
        feed: 'cards',
        topic: 'plant/{site}/cards/{where}/{card}',
        to: 'tag',
        payload: 'text',
        point: '{where}',
        person: { capture: 'card' },
        state: { hung: ['in'], lifted: ['out'] },
      },
      {
        feed: 'alive',
        topic: 'plant/{site}/{controller}/alive',
        to: 'controller',
        controller: '{controller}',
        payload: 'text',
        state: { online: ['1'], offline: ['0'] },
      },
      {
        feed: 'pressure',
        topic: 'plant/{site}/psi/{line}',
        to: 'measure',
        measure: '{line}-psi',
        payload: 'json',
        value: { at: '/v', scale: 2, offset: 1 },
      },
    ],
  },
});

const SCHEMA = {
  'forelock.json': 'configuration',
  'people.json': 'people',
  'instruments.json': 'instruments',
  'credentials.json': 'credentials',
  'procedure.json': 'procedure',
  'district.json': 'district',
  'site.json': 'site',
  'feeds.json': 'feeds',
};

// Fields whose mutation is judged by more than their shape on the loader's side alone are left to its own tests.
class Loader {
  constructor() {
    this.dir = mkdtempSync(join(tmpdir(), 'forelock-outside-'));
    writeFileSync(join(this.dir, 'secret'), 'sesame\n');
    writeFileSync(join(this.dir, 'hook'), `whsec_${Buffer.alloc(32, 7).toString('base64')}\n`);
  }

  // The loader's errors in that file, without its warnings.
  async errors(files, name) {
    for (const [file, value] of Object.entries(files))
      writeFileSync(join(this.dir, file), JSON.stringify(value, null, 1));
    const { code, err } = await run(DAEMON, ['-t', '-c', join(this.dir, 'forelock.json')], {
      cwd: this.dir,
    });
    const lines = err.split('\n').filter((l) => /^\S+:\d+:\d+: /.test(l) && !/: warning: /.test(l));
    assert.ok(code === 0 || code === 3, `status ${code}: ${err}`);
    return name ? lines.filter((l) => basename(l.split(':')[0]) === name) : lines;
  }

  end() {
    rmSync(this.dir, { recursive: true, force: true });
  }
}

// Every place of a value: [path, parent, key].
function* places(value, path = []) {
  if (value === null || typeof value !== 'object') return;
  for (const key of Object.keys(value)) {
    yield [[...path, key], value, key];
    yield* places(value[key], [...path, key]);
  }
}

const at = (root, path) => path.reduce((v, k) => v[k], root);

// The schema at a place of a file, with references followed.
function* propertiesOf(schema, root, seen = new Set()) {
  if (schema.$ref?.startsWith('#/')) {
    const to = at(root, schema.$ref.slice(2).split('/'));
    if (!seen.has(to)) yield* propertiesOf(to, root, seen.add(to));
    return;
  }
  for (const list of ['anyOf', 'oneOf', 'allOf'])
    for (const one of schema[list] ?? []) yield* propertiesOf(one, root, seen);
  for (const [name, one] of Object.entries(schema.properties ?? {})) {
    yield name;
    yield* propertiesOf(one, root, seen);
  }
  for (const one of [schema.items, schema.additionalProperties])
    if (one && typeof one === 'object') yield* propertiesOf(one, root, seen);
}

test('the whole configuration is taken by both, and has every field of every schema', async () => {
  const loader = new Loader();
  try {
    const files = full();
    assert.deepEqual(await loader.errors(files), []);
    for (const [file, schema] of Object.entries(SCHEMA)) {
      assert.deepEqual(wrongBy(schema, files[file]), [], file);
      const used = new Set([...places(files[file])].map(([path]) => path.at(-1)));
      for (const name of propertiesOf(schemas[schema], schemas[schema]))
        assert.ok(name === '$schema' || used.has(name), `${file}: ${name} does not stand in it`);
    }
  } finally {
    loader.end();
  }
});

test('every field that the loader knows is in a schema', () => {
  const dir = join(TOP, 'daemon/config');
  const names = new Set(
    Object.values(schemas).flatMap((schema) => [...propertiesOf(schema, schema)]),
  );
  let count = 0;
  for (const file of readdirSync(dir).filter((f) => f.endsWith('.c')))
    for (const [, name] of readFileSync(join(dir, file), 'utf8').matchAll(
      /\{\s*"([a-z_0-9]+)",\s*CONFIG_[A-Z]+,/g,
    )) {
      count++;
      assert.ok(names.has(name), `${file}: "${name}" is in no schema`);
    }
  assert.ok(count > 80, `${count} fields were found`);
});

// What may happen to a value: what both have to refuse.
function mutations(value) {
  const wrong = [{}, [[]], 'not what it was', -1e12, true].filter(
    (v) => typeof v !== typeof value || Array.isArray(v) !== Array.isArray(value),
  );
  return [{ odd: [{ odd: 1 }] }, ...wrong];
}

// A map's keys are names of the user's; a wrong kind of value in them is refused all the same.
const MAPS = new Set(['map', 'captures', 'adds']);

test('what one refuses of kinds and names, the other does', async () => {
  const loader = new Loader();
  try {
    for (const [file, schema] of Object.entries(SCHEMA)) {
      const paths = [...places(full()[file])].map(([path]) => path);
      for (const path of paths) {
        const value = at(full()[file], path);
        for (const mutant of mutations(value)) {
          const files = full();
          at(files[file], path.slice(0, -1))[path.at(-1)] = mutant;
          const ours = wrongBy(schema, files[file]);
          const theirs = await loader.errors(files, file);
          assert.equal(
            ours.length > 0,
            theirs.length > 0,
            `${file} /${path.join('/')} = ${JSON.stringify(mutant)}: the schema says ${JSON.stringify(ours)}, the loader ${JSON.stringify(theirs)}`,
          );
        }
      }
    }
  } finally {
    loader.end();
  }
});

test('an unknown field, and a missing one, are seen by both', async () => {
  const loader = new Loader();
  try {
    for (const [file, schema] of Object.entries(SCHEMA)) {
      for (const [path] of [[[]], ...places(full()[file])]) {
        const value = at(full()[file], path);
        if (value === null || typeof value !== 'object' || Array.isArray(value)) continue;
        const isMap = MAPS.has(path.at(-1));
        const files = full();
        if (!isMap) {
          at(files[file], path).unheard_of = 1;
          assert.ok(wrongBy(schema, files[file]).length > 0, `${file} /${path.join('/')}: schema`);
          const lines = await loader.errors(files, file);
          assert.ok(
            lines.some((l) => l.includes('unheard_of')),
            `${file} /${path.join('/')}: ${lines}`,
          );
        }
        for (const key of isMap ? [] : Object.keys(value)) {
          const less = full();
          delete at(less[file], path)[key];
          const ours = wrongBy(schema, less[file]).filter((w) => /required/.test(w));
          const theirs = (await loader.errors(less, file)).filter((l) =>
            new RegExp(`(lacks|needs|missing|without) .*"?${key}"?`).test(l),
          );
          if (ours.length > 0)
            assert.ok(theirs.length > 0, `${file} /${[...path, key].join('/')} may be absent`);
        }
      }
    }
  } finally {
    loader.end();
  }
});

test('the shipped configuration names its schemas and is taken by them', () => {
  const dir = join(TOP, 'config');
  const list = (below, schema) =>
    readdirSync(join(dir, below))
      .filter((f) => f.endsWith('.json'))
      .map((f) => [join(below, f), schema]);
  const files = [
    ['forelock.json', 'configuration'],
    ['people.json', 'people'],
    ['instruments.json', 'instruments'],
    ['credentials.json', 'credentials'],
    ...list('procedures', 'procedure'),
    ...list('districts', 'district'),
    ...list('sites', 'site'),
    ...list('feeds', 'feeds'),
  ];
  for (const [file, schema] of files) {
    const value = parseCommented(readFileSync(join(dir, file), 'utf8'));
    assert.deepEqual(wrongBy(schema, value), [], file);
    const named = join(dirname(join(dir, file)), value.$schema ?? '');
    assert.equal(named, join(TOP, 'docs/schema', `${schema}.schema.json`), `${file}: $schema`);
  }
});
