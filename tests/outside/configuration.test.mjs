// Broken configurations: each error names its file, line, column and JSON Pointer, and all are told at once.
import assert from 'node:assert/strict';
import test from 'node:test';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { run } from './harness/child.mjs';
import { plan, write } from './harness/site.mjs';
import { DAEMON } from './harness/world.mjs';

const LINE =
  /^(?:(?:error|warning)[:,]? )?(.*?):(\d+):(\d+): (?:(error|warning): )?(\/[^\s:]*|(?=: )|""): ?(.+)$/;

// `forelockd -t` on a plan: its status and its lines of the form file:line:column: pointer: text.
async function check(tweak) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-configuration-'));
  try {
    const p = plan();
    tweak?.(p);
    const { code, err, out } = await run(DAEMON, ['-t', '-c', write(dir, p)]);
    const text = err + out;
    const found = text
      .split('\n')
      .map((line) => line.match(LINE))
      .filter(Boolean)
      .map((m) => ({
        file: basename(m[1]),
        line: Number(m[2]),
        column: Number(m[3]),
        pointer: m[5] === '""' ? '' : m[5],
        text: m[0],
        warning: /^warning: /.test(m[6]),
      }));
    return { code, text, found };
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

// One error at least, at this file and pointer; `phrase` is something its reader needs.
async function broken(tweak, file, pointer, phrase) {
  const { code, text, found } = await check(tweak);
  assert.equal(code, 3, `status ${code}, expected an error at ${file} ${pointer}:\n${text}`);
  const here = found.filter(
    (e) => !e.warning && e.file === file && [pointer].flat().includes(e.pointer),
  );
  assert.ok(here.length > 0, `no error at ${file} ${pointer}:\n${text}`);
  assert.ok(here.every((e) => e.line >= 1 && e.column >= 1));
  if (phrase) assert.match(here.map((e) => e.text).join('\n'), phrase);
}

const MAIN = 'forelock.json';
const SITE = 'juniper.json';
const site = (change) => (p) => change(p.sites.juniper);
const points = (change) => (p) => change(p.sites.juniper.points);
const people = (change) => (p) => change(p.people);
const spout = (change) => (p) => change(p.procedures['spout-and-boot']);
const adds = (more) => (p) => (p.districts['north-basin'].adds = more);

const CASES = [
  ['an unknown field', (p) => (p.main.color = 'red'), MAIN, '/color', /color/],
  ['a missing part', (p) => delete p.main.broker, MAIN, ['', '/'], /broker/],
  ['a port out of range', (p) => (p.main.broker.port = 70000), MAIN, '/broker/port'],
  ['a port as text', (p) => (p.main.broker.port = '1883'), MAIN, '/broker/port'],
  ['an instance that is no id', (p) => (p.main.instance = 'edge 1'), MAIN, '/instance'],
  [
    'a file that is not there',
    (p) => (p.main.people = 'nobody.json'),
    MAIN,
    '/people',
    /nobody\.json/,
  ],
  [
    'a secret that is not there',
    (p) => (p.main.broker.password_file = 'no.secret'),
    MAIN,
    '/broker/password_file',
    /no\.secret/,
  ],
  [
    'sites that no file holds',
    (p) => (p.main.sites = ['nowhere/*.json']),
    MAIN,
    '/sites/0',
    /nowhere/,
  ],
  [
    'procedures that no file holds',
    (p) => (p.main.procedures = ['nowhere/*.json']),
    MAIN,
    '/procedures/0',
    /nowhere/,
  ],
  [
    'a hook that is no address',
    (p) => (p.main.webhooks = [{ url: 'tracker', secret_file: 'people.json', sites: ['*'] }]),
    MAIN,
    '/webhooks/0/url',
  ],

  ['an unknown district', site((s) => (s.district = 'atlantis')), SITE, '/district', /atlantis/],
  ['an unknown time zone', site((s) => (s.time_zone = 'Juniper/Crossing')), SITE, '/time_zone'],
  [
    'a position that is no id',
    site((s) => (s.positions[0].position = '3/A')),
    SITE,
    '/positions/0/position',
  ],
  [
    'a position twice',
    site((s) => (s.positions[1].position = '3A')),
    SITE,
    '/positions/1/position',
    /3A/,
  ],
  ['a point twice', points((l) => (l[1].point = '3-power')), SITE, '/points/1/point', /3-power/],
  [
    'a point of a position that is not there',
    points((l) => (l[0].isolates = ['3A', '7Z'])),
    SITE,
    '/points/0/isolates/1',
    /7Z/,
  ],
  [
    'a controller that is not there',
    points((l) => (l[0].controller = 'panel-9')),
    SITE,
    '/points/0/controller',
    /panel-9/,
  ],
  [
    'a sensor of two points',
    points((l) => (l[1].sensors = ['3-power'])),
    SITE,
    ['/points/1/sensors/0', '/points/0/sensors/0', '/points/0'],
    /3-power/,
  ],
  [
    'an age above the limit',
    points((l) => (l[0].max_age_s = 301)),
    SITE,
    '/points/0/max_age_s',
    /300/,
  ],
  ['an age of nothing', points((l) => (l[0].max_age_s = -1)), SITE, '/points/0/max_age_s'],
  [
    'settling above the limit',
    points((l) => (l[0].settle_s = 60.5)),
    SITE,
    '/points/0/settle_s',
    /60/,
  ],
  [
    'words that stand too long',
    points((l) => (l[4].witness_valid_s = 43201)),
    SITE,
    '/points/4/witness_valid_s',
    /43200/,
  ],
  [
    'a witnessed point with a sensor’s field',
    points((l) => (l[4].max_age_s = 30)),
    SITE,
    ['/points/4/max_age_s', '/points/4'],
  ],
  [
    'a sensor’s point with witnesses',
    points((l) => Object.assign(l[0], { sensors: ['3-power'], witnesses: 1 })),
    SITE,
    ['/points/0/witnesses', '/points/0'],
  ],
  [
    'both ways of proving a point',
    points((l) => (l[0].witnesses = 1)),
    SITE,
    ['/points/0/witnesses', '/points/0/max_age_s', '/points/0'],
  ],
  [
    'an emergency stop as a point',
    points((l) => (l[0].kind = 'emergency-stop')),
    SITE,
    '/points/0/kind',
    /1910\.147/,
  ],
  [
    'a push button as a point',
    points((l) => (l[0].kind = 'push-button')),
    SITE,
    '/points/0/kind',
    /1910\.147/,
  ],

  [
    'a person twice',
    people((l) => (l[1].person = 't-104')),
    'people.json',
    '/people/1/person',
    /t-104/,
  ],
  [
    'an unknown role',
    people((l) => (l[0].roles = ['boss'])),
    'people.json',
    '/people/0/roles/0',
    /boss/,
  ],
  [
    'a day that no calendar has',
    people((l) => (l[0].credentials[0].until = '2027-02-29')),
    'people.json',
    '/people/0/credentials/0/until',
  ],
  [
    'a token instead of its hash',
    people((l) => (l[0].token_sha256 = 'secret')),
    'people.json',
    '/people/0/token_sha256',
  ],
  [
    'an instrument without a date',
    (p) => delete p.instruments[0].calibrated_until,
    'instruments.json',
    '/instruments/0',
    /calibrated_until/,
  ],

  ['nothing to isolate', spout((p) => (p.isolate = [])), 'spout-and-boot.json', '/isolate'],
  ['nothing to verify', spout((p) => (p.verify = [])), 'spout-and-boot.json', '/verify'],
  ['nothing to clear', spout((p) => (p.clear = [])), 'spout-and-boot.json', '/clear'],
  ['nothing to test', spout((p) => (p.tests = [])), 'spout-and-boot.json', '/tests'],
  [
    'no verification at all',
    spout((p) => delete p.verify),
    'spout-and-boot.json',
    ['', '/'],
    /verify/,
  ],
  [
    'a check twice, in two groups',
    spout((p) => (p.clear[0].check = 'drained')),
    'spout-and-boot.json',
    '/clear/0/check',
    /drained/,
  ],
  [
    'a test twice',
    spout((p) => (p.tests[1].test = 'leak')),
    'spout-and-boot.json',
    '/tests/1/test',
    /leak/,
  ],
  [
    'an unknown rule',
    spout((p) => (p.tests[0].rule = 'by-feel')),
    'spout-and-boot.json',
    '/tests/0/rule',
    /by-feel/,
  ],
  [
    'a rule for calculation only',
    spout((p) => (p.tests[0].rule = 'torque')),
    'spout-and-boot.json',
    '/tests/0/rule',
  ],
  [
    'a range without a limit',
    spout((p) => delete p.tests[2].max),
    'spout-and-boot.json',
    '/tests/2',
  ],
  [
    'a range without a unit',
    spout((p) => delete p.tests[2].unit),
    'spout-and-boot.json',
    '/tests/2',
    /unit/,
  ],
  [
    'limits the wrong way round',
    spout((p) => (p.work[0].min = 50)),
    'spout-and-boot.json',
    ['/work/0/min', '/work/0/max', '/work/0'],
  ],
  [
    'a validity where none is',
    spout((p) => (p.work[0].valid_s = 60)),
    'spout-and-boot.json',
    '/work/0/valid_s',
  ],
  [
    'a role that nobody can have',
    spout((p) => (p.prepare[1].by = 'king')),
    'spout-and-boot.json',
    '/prepare/1/by',
    /king/,
  ],
  ['an unknown thing to take', spout((p) => (p.takes = 'island')), 'spout-and-boot.json', '/takes'],
  ['an unknown thing to match', spout((p) => (p.match = 'color')), 'spout-and-boot.json', '/match'],

  [
    'an addition to nothing',
    adds({ polish: { tests: [{ test: 'x', rule: 'pass-fail' }] } }),
    'north-basin.json',
    '/adds/polish',
    /polish/,
  ],
  [
    'a loosened limit',
    adds({ 'spout-and-boot': { verify: [{ check: 'no-voltage', ask: 'x', unit: 'V', max: 2 }] } }),
    'north-basin.json',
    ['/adds/spout-and-boot/verify/0/max', '/adds/spout-and-boot/verify/0'],
  ],

  [
    'broken JSON',
    (p) => (p.sites.juniper = '{\n  "site": "juniper",\n  "title": }\n'),
    SITE,
    ['', '/', '/title'],
  ],
  ['a key twice', (p) => (p.people = '{"people": [], "people": []}'), 'people.json', '/people'],
  [
    'text that is not UTF-8',
    (p) => (p.people = Buffer.from([0x7b, 0x22, 0xff, 0x22, 0x3a, 0x31, 0x7d])),
    'people.json',
    ['', '/'],
  ],
];

for (const [name, tweak, file, pointer, phrase] of CASES)
  test(name, () => broken(tweak, file, pointer, phrase));

test('a good one, with comments', async () => {
  const { code, text } = await check((p) => {
    p.people = `// who is who\n{/* the list */"people": ${JSON.stringify(p.people)} // its end\n}\n`;
  });
  assert.equal(code, 0, text);
});

test('a limit may be tightened, and people may name sites that are not here', async () => {
  const tighter = adds({
    'spout-and-boot': { verify: [{ check: 'no-voltage', ask: 'x', unit: 'V', max: 0.5 }] },
  });
  const { code, text } = await check((p) => {
    tighter(p);
    p.people[0].sites = ['juniper', 'nowhere'];
  });
  assert.equal(code, 0, text);
});

test('line and column are those of the value, or of the object that lacks a key', async () => {
  const lines = [
    '{',
    '  // the crew',
    '  "people": [',
    '    {"person": "t-104", "title": "T", "roles": ["boss"], "sites": ["*"]},',
    '    {"person": "t-105", "title": "T", "sites": ["*"]}',
    '  ]',
    '}',
  ];
  const { code, text, found } = await check((p) => (p.people = lines.join('\n')));
  assert.equal(code, 3);
  const wrong = found.find((e) => e.pointer === '/people/0/roles/0');
  assert.deepEqual([wrong?.line, wrong?.column], [4, lines[3].indexOf('"boss"') + 1], text);
  const lacking = found.find((e) => e.pointer === '/people/1');
  assert.deepEqual([lacking?.line, lacking?.column], [5, 5], text);
});

test('all errors of a run are told at once', async () => {
  const { code, text, found } = await check((p) => {
    p.main.color = 'red';
    p.sites.juniper.district = 'atlantis';
    p.sites.juniper.points[0].max_age_s = 301;
    p.people[0].roles = ['boss'];
    p.procedures.boot.tests = [];
  });
  assert.equal(code, 3);
  const places = found.map((e) => `${e.file} ${e.pointer}`);
  for (const place of [
    `${MAIN} /color`,
    `${SITE} /district`,
    `${SITE} /points/0/max_age_s`,
    'people.json /people/0/roles/0',
    'boot.json /tests',
  ])
    assert.ok(places.includes(place), `${place}:\n${text}`);
});

test('what is only a warning does not stop', async () => {
  const districts = await check((p) => {
    p.main.districts.push('nowhere/*.json');
  });
  assert.equal(districts.code, 0, districts.text);
  assert.match(districts.text, /nowhere/);
  // 9A has no electrical point, and the procedures isolate that energy.
  assert.match(districts.text, /9A/);
  const alone = await check((p) => (p.people = p.people.filter((x) => x.person !== 'm-1')));
  assert.equal(alone.code, 0, alone.text);
  assert.match(alone.text, /manager/);
  const unskilled = await check((p) => p.people.forEach((x) => delete x.credentials));
  assert.equal(unskilled.code, 0, unskilled.text);
  assert.match(unskilled.text, /vapor/);
});

const signal = (feed, topic, sensor) => ({
  feed,
  topic,
  to: 'signal',
  sensor,
  payload: 'json',
  state: { at: '/s', isolated: [0], live: [1] },
});

test('feeds: two claims of one sensor, an unknown target, a pointer that is none', async () => {
  const put = (feeds) => (p) => {
    p.main.feeds = ['feeds.json'];
    p.files = { 'feeds.json': { feeds } };
  };
  const two = put([signal('a', 'plant/a', '3-power'), signal('b', 'plant/b', '3-power')]);
  await broken(
    two,
    'feeds.json',
    ['/feeds/1/sensor', '/feeds/1', '/feeds/0/sensor', '/feeds/0'],
    /3-power/,
  );
  await broken(
    put([{ ...signal('a', 'plant/a', '3-power'), to: 'moon' }]),
    'feeds.json',
    '/feeds/0/to',
  );
  const slash = {
    ...signal('a', 'plant/a', '3-power'),
    state: { at: 's', isolated: [0], live: [1] },
  };
  await broken(put([slash]), 'feeds.json', '/feeds/0/state/at');
});
