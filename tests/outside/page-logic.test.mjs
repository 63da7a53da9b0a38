// What the pages work out from documents and clocks, without a browser.
import assert from 'node:assert/strict';
import test from 'node:test';
import { flat, load } from './harness/pages.mjs';

const dir = flat('common', 'at');
const { Liveness } = await load(dir, 'liveness.js');
const { verdictOf } = await load(dir, 'verdict.js');
const { ladder } = await load(dir, 'at-steps.js');
const { seen } = await load(dir, 'at-verdict.js');
const { standing } = await load(dir, 'at-actions.js');
const { refusalSentence, whySentence } = await load(dir, 'refusals.js');
await load(dir, 'sign-words.js');
const { formOf } = await load(dir, 'at-fields.js');
await load(dir, 'at-form-words.js');

// Two clocks of ours in ms.
function clocks() {
  const at = { line: 1000, wall: 1_700_000_000_000 };
  const alive = new Liveness({ line: () => at.line, wall: () => at.wall });
  const pass = (ms) => ((at.line += ms), (at.wall += ms));
  return { at, alive, pass };
}

test('no news: unknown, live, late from 3 s, dead from 10 s', () => {
  const { at, alive, pass } = clocks();
  assert.equal(alive.read().level, 'unknown');
  alive.pulse(at.wall);
  pass(2900);
  assert.equal(alive.read().level, 'live');
  pass(100);
  assert.equal(alive.read().level, 'late');
  pass(7000);
  assert.equal(alive.read().level, 'dead');
  alive.pulse(at.wall);
  assert.equal(alive.read().level, 'live');
});

test('a phone that slept does not think that the news are fresh', () => {
  const { at, alive } = clocks();
  alive.pulse(at.wall);
  at.wall += 60_000; // the other clock stood still
  assert.equal(alive.read().level, 'dead');
});

test('pulses that waited on the way are as old as they are late', () => {
  const { at, alive, pass } = clocks();
  alive.pulse(at.wall - 5000); // its clock is behind ours, which says nothing
  assert.equal(alive.read().level, 'live');
  const sent = at.wall - 5000 + 1000;
  pass(8000);
  alive.pulse(sent);
  assert.equal(alive.read().level, 'late');
  alive.opened();
  alive.pulse(sent + 1000);
  assert.equal(alive.read().level, 'live');
});

const job = (more) => ({
  job: 'J-1',
  position: '3A',
  phase: 'working',
  lockout: 'confirmed',
  technician: 't-1',
  crew: [{ person: 't-1', protected: true }],
  checks: [],
  tests: [],
  missing: [],
  since: '2026-01-01T00:00:00.000Z',
  ...more,
});
const site = (told, jobs = [], alarms = []) => ({
  positions: { '3A': { position: '3A', job: null, cause: null, ...told } },
  jobs: Object.fromEntries(jobs.map((j) => [j.job, j])),
  alarms: Object.fromEntries(alarms.map((a) => [a.alarm, a])),
  points: {},
});
const on = (more, alarms) => site({ service: 'out-of-service', job: 'J-1' }, [job(more)], alarms);
const kind = (state) => verdictOf(state, '3A').kind;

test('what is unknown, missing or contradictory is not safe', () => {
  assert.equal(verdictOf(null, '3A').kind, 'not-safe');
  assert.equal(verdictOf(site({ service: 'in-service' }), '9Z').kind, 'not-safe');
  assert.equal(kind(site({ service: 'out-of-service', job: 'J-1' })), 'not-safe');
  assert.equal(kind(site({})), 'not-safe');
  assert.equal(kind(site({ service: 'in-service' })), 'in-service');
  for (const lockout of ['unconfirmed', 'unproven'])
    assert.equal(kind(on({ lockout })), 'not-safe');
  assert.equal(kind(on({})), 'confirmed');
  assert.equal(
    kind(on({ phase: 'open', missing: [{ code: 'link-down', subject: '' }] })),
    'not-safe',
  );
  assert.equal(kind(on({ phase: 'restoring' })), 'not-safe');
  assert.equal(kind(on({ phase: 'testing', lockout: 'unconfirmed' })), 'test');
});

test('a stop goes before everything, and a blind site is not safe', () => {
  const broken = { alarm: 'a', kind: 'lockout-broken', job: 'J-1', state: 'unacknowledged' };
  assert.equal(kind(on({}, [broken])), 'stop');
  assert.equal(kind(on({ phase: 'testing' }, [broken])), 'stop');
  assert.equal(kind(on({ phase: 'stopped' })), 'stop');
  assert.equal(kind(on({ lockout: 'broken' }, [{ ...broken, state: 'acknowledged' }])), 'stop');
  assert.equal(kind(on({}, [{ ...broken, job: 'J-2' }])), 'confirmed');
  const down = { alarm: 'l', kind: 'link-down', job: null, position: null, state: 'acknowledged' };
  assert.equal(kind(on({}, [down])), 'not-safe');
  assert.equal(kind(site({ service: 'in-service' }, [], [down])), 'not-safe');
});

test('a lockout protects those whose own locks hang', () => {
  const look = (person, roles, more, level = 'live') => {
    const state = on(more);
    const who = standing({ person, roles }, state.jobs['J-1']);
    return seen({ state, position: '3A', who, level, alarms: [] }).kind;
  };
  assert.equal(look('t-1', ['technician']), 'confirmed');
  assert.equal(look('t-2', ['technician']), 'not-safe');
  const crew = [{ person: 't-1', protected: false }];
  assert.equal(look('t-1', ['technician'], { crew }), 'not-safe');
  assert.equal(look('v-1', ['viewer']), 'confirmed');
  assert.equal(look('t-1', ['technician'], {}, 'late'), 'late');
  for (const level of ['dead', 'unknown'])
    assert.equal(look('t-1', ['technician'], {}, level), 'not-live');
});

test('the ladder stands in the order of the trade, and nothing missing falls off it', () => {
  const checks = ['prepare', 'relieve', 'verify'].map((group) => ({ check: group[0], group }));
  const missing = [
    { code: 'journal-down', subject: '' },
    { code: 'check-missing', subject: 'v' },
    { code: 'tag-missing', subject: 'p-1' },
    { code: 'check-void', subject: 'r' },
    { code: 'point-live', subject: 'p-1' },
    { code: 'check-missing', subject: 'p' },
    { code: 'tag-hung', subject: 'p-1' }, // of no rung of this gate
    { code: 'something-new', subject: 'x' },
  ];
  const rungs = ladder(job({ phase: 'open', checks, missing }));
  assert.deepEqual(
    rungs.map((r) => r.rung),
    ['prepare', 'isolate', 'lock', 'relieve', 'verify', 'other', 'unlock'],
  );
  assert.equal(rungs.flatMap((r) => r.items).length, missing.length);
  assert.deepEqual(
    rungs.filter((r) => r.current).map((r) => r.rung),
    ['prepare'],
  );
});

test('refusals become sentences of titles, not of ids', () => {
  const equipment = { people: [{ person: 't-1', title: 'Technician 1' }] };
  const point = { point: 'p-1', title: 'Breaker P1/7' };
  const say = (code, args) => refusalSentence({ code, say: 'Nobody reads this.', args }, equipment);
  assert.equal(
    say('point-live', { say: 'point-live', ...point }),
    'Breaker P1/7 reads LIVE: isolate it.',
  );
  assert.equal(
    say('tag-missing', { say: 'tag-missing.again', person: 't-1', ...point }),
    'Technician 1 must hang lock and tag on Breaker P1/7 again.',
  );
  assert.equal(
    say('tag-hung', { say: 'tag-hung.badge', badge: '0451', ...point }),
    'The lock of 0451 still hangs on Breaker P1/7.',
  );
  assert.equal(
    say('wrong-phase', { say: 'wrong-phase', phase: 'working', phases: ['open', 'stopped'] }),
    'Not in this phase of the job: it is working, and this takes not started or stopped.',
  );
  assert.equal(
    say('part-mismatch', { say: 'part-mismatch', family: 'k2' }),
    'The kit (none named) must match the nozzle (k2): do not fit it.',
  );
});

test('a refusal that has no sentence here is said as the daemon says it', () => {
  const plain = { code: 'brand-new', subject: 'x', say: 'The moon is full.' };
  assert.equal(refusalSentence(plain), 'The moon is full.'); // kept before sentences had names
  assert.equal(refusalSentence({ ...plain, args: { say: 'brand-new' } }), 'The moon is full.');
  assert.equal(refusalSentence({ code: 'brand-new' }), 'Refused (brand-new).');
});

test('why a lockout broke is said of its point, or not at all', () => {
  assert.equal(whySentence('point-stale', 'Breaker P1/7'), 'Breaker P1/7 has fallen silent.');
  assert.equal(whySentence('point-stale', null), null);
  assert.equal(whySentence('link-down', null), 'The link to the site’s hardware is down.');
  assert.equal(whySentence('brand-new', 'Breaker P1/7'), null);
});

// The daemon knows every rule of a test; the page has words of its own for those it can translate.
test('a rule that the page has no words for has its form all the same', () => {
  const reading = (name, title, more) => ({
    name,
    title,
    kind: 'number',
    unit: 'gal',
    choices: [],
    twin: null,
    optional: false,
    whole: false,
    ...more,
  });
  const form = (rule, title, readings) =>
    formOf(
      { equipment: { instruments: [], positions: [], procedures: [] } },
      { form: 'test', test: { test: 'one', rule, title, readings, instrument: null } },
    );
  const strange = form('new-rule', 'A new rule', [
    reading('new_gal', 'What is new'),
    reading('new_kind', 'Its kind', { kind: 'text', choices: ['new', 'chain'] }),
  ]);
  assert.equal(strange.title, 'Test one: A new rule');
  const [first, second] = strange.fields;
  assert.equal(first.label, 'What is new');
  assert.equal(second.label, 'Its kind');
  const labels = second.options.map((o) => o.label);
  assert.deepEqual(labels, ['new', 'the whole chain']);
  const known = form('flow-rate', 'Rate', [reading('volume_gal', 'Volume dispensed')]);
  assert.equal(known.title, 'Test one: flow rate');
  assert.equal(known.fields[0].label, 'Volume');
});
