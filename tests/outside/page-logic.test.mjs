// What the pages work out from documents and clocks, without a browser.
import assert from 'node:assert/strict';
import test from 'node:test';
import { flat, load } from './harness/pages.mjs';

const dir = flat('common', 'at');
const { Liveness } = await load(dir, 'liveness.js');
const { stillSo, verdictOf } = await load(dir, 'verdict.js');
const { ladder } = await load(dir, 'at-steps.js');
const { seen } = await load(dir, 'at-verdict.js');
const actions = await load(dir, 'at-actions.js');
const { standing } = actions;
const { sentenceOf, stopsIn } = await load(dir, 'at-history.js');
const { Gates } = await load(dir, 'gates.js');
const { refusalSentence, wasSentence, whySentence } = await load(dir, 'refusals.js');
const { inLanguage, speaking } = await load(dir, 'said.js');
await load(dir, 'sign-words.js');
const { formOf } = await load(dir, 'at-fields.js');
const numbers = await load(dir, 'numbers.js');
const { setLanguage } = await load(dir, 'words.js');
await load(dir, 'at-form-words.js');
await load(dir, 'at-words.js');

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
    ['prepare', 'isolate', 'lock', 'relieve', 'verify', 'unlock', 'other'],
  );
  assert.equal(rungs.flatMap((r) => r.items).length, missing.length);
  assert.deepEqual(
    rungs.filter((r) => r.current).map((r) => r.rung),
    ['prepare'],
  );
});

test('a rung that is done stands there as far as the gate of this job and phase says so', () => {
  const requirements = [
    { met: true, code: 'tag-missing', subject: 'p-1' },
    { met: true, code: 'link-down', subject: '' }, // nothing that anybody climbs
    { met: false, code: 'point-live', subject: 'p-1' },
  ];
  const stands = job({ phase: 'open', missing: [{ code: 'point-live', subject: 'p-1' }] });
  const drawn = (gate) => ladder(stands, gate).map((r) => `${r.rung} ${r.done}`);
  const gate = { job: 'J-1', phase: 'open', requirements };
  assert.deepEqual(drawn(gate), ['isolate false', 'lock true']);
  assert.deepEqual(drawn({ ...gate, phase: 'stopped' }), ['isolate false']);
  assert.deepEqual(drawn({ ...gate, job: 'J-2' }), ['isolate false']);
  assert.deepEqual(drawn(null), ['isolate false']);
});

// A technician in the crew of an open job, before whom the daemon lays what may be asked.
function asked(choices, next = null) {
  const state = on({ phase: 'open' });
  state.points = { 'p-1': { state: 'isolated', tags: [] } };
  const may = [...new Set(choices.map((c) => c.verb))];
  return {
    state,
    position: '3A',
    job: state.jobs['J-1'],
    alarms: [],
    who: standing({ person: 't-1', roles: ['technician'] }, state.jobs['J-1']),
    equipment: { points: [{ point: 'p-1', title: 'Breaker P1/7' }], positions: [], procedures: [] },
    procedure: { points: ['p-1'], checks: [{ check: 'v', ask: 'Proved dead', by: null }], tests: [] },
    gate: { job: 'J-1', phase: 'open', gate: 'start', may, choices, next, requirements: [] },
  };
}
const keys = (list) => list.map((a) => a.key);

test('what may be asked is what the daemon lists, and nothing else', () => {
  const none = asked([]);
  assert.deepEqual(actions.pointActions(none, 'p-1'), []);
  assert.equal(actions.checkAction(none, 'v'), undefined);
  assert.deepEqual(actions.moreActions(none), []);
  assert.equal(actions.nextStep(none), null);
  assert.equal(actions.stopAction(none), null);
  const some = asked(
    [
      { verb: 'hang-tag', point: 'p-1' },
      { verb: 'sign-check', check: 'v' },
      { verb: 'sign-check', check: 'unheard-of' },
      { verb: 'cancel-job' },
      { verb: 'stop-work' },
      { verb: 'verb-of-tomorrow' },
    ],
    { verb: 'hang-tag', mine: true, by: [], code: 'tag-missing', subject: 'p-1', point: 'p-1' },
  );
  assert.deepEqual(keys(actions.pointActions(some, 'p-1')), ['hang p-1']);
  assert.equal(actions.checkAction(some, 'v').key, 'sign v');
  assert.equal(actions.checkAction(some, 'unheard-of'), undefined);
  assert.deepEqual(keys(actions.moreActions(some)), ['cancel-job']);
  assert.equal(actions.nextStep(some).key, 'hang p-1');
  assert.equal(actions.stopAction(some).key, 'stop-work');
});

test('a step that is not for who looks says whom it waits for', () => {
  const waits = (next) => actions.nextStep(asked([], { mine: false, by: [], ...next })).wait;
  const check = { verb: 'sign-check', check: 'v', code: 'check-missing', subject: 'v' };
  assert.equal(waits({ ...check, by: ['manager'] }), 'wait.by-manager');
  assert.equal(waits({ ...check, by: ['crew'] }), 'wait.crew');
  assert.equal(waits({ verb: 'start-work', by: ['leader'], code: null }), 'wait.start-work');
  assert.equal(waits({ verb: null, code: 'point-settling', subject: 'p-1' }), 'wait.settle');
  assert.equal(waits({ verb: null, code: 'link-down', subject: null }), 'wait.link-down');
  assert.equal(waits({ verb: null, code: 'brand-new', subject: null }), 'wait.other');
});

test('a stop is offered while nobody has said yet who may', () => {
  const late = { ...asked([]), gate: null };
  assert.equal(actions.stopAction(late).key, 'stop-work');
  const before = asked([]);
  before.gate.phase = 'stopped'; // judged before the work began
  assert.equal(actions.stopAction(before).key, 'stop-work');
  assert.equal(actions.stopAction({ ...late, job: null }), null);
});

test('gates are read one at a time, and what changes meanwhile makes one stale again', async (t) => {
  const reads = [];
  const answer = (ok, body) => reads.shift().resolve({ ok, status: ok ? 200 : 503, json: async () => body });
  t.mock.method(globalThis, 'fetch', (path) => {
    const read = { path };
    const came = new Promise((resolve) => (read.resolve = resolve));
    reads.push(read);
    return came;
  });
  let later = null;
  t.mock.method(globalThis, 'setTimeout', (what, ms) => {
    if (ms === 2000) later = what;
  });
  const turn = () => new Promise(setImmediate);
  let drawn = 0;
  const gates = new Gates('juniper', () => drawn++);
  gates.want(['3A', '3B']);
  for (let i = 0; i < 20; i++) gates.touch(['3B']);
  assert.deepEqual(reads.map((r) => r.path), ['/api/juniper/position/3A/gate']);
  assert.equal(gates.fresh('3A'), false);
  answer(true, { may: ['first'] });
  await turn();
  assert.equal(gates.fresh('3A'), true);
  assert.deepEqual(reads.map((r) => r.path), ['/api/juniper/position/3B/gate']);
  gates.touch(['3B']); // while it is on its way
  answer(true, { may: ['old'] });
  await turn();
  assert.equal(gates.of('3B').may[0], 'old');
  assert.equal(gates.fresh('3B'), false);
  assert.equal(reads.length, 1);
  answer(true, { may: ['new'] });
  await turn();
  assert.deepEqual([gates.of('3B').may[0], gates.fresh('3B'), reads.length], ['new', true, 0]);
  assert.equal(drawn, 3);
  gates.touch(['3A', '9Z']); // of one that nobody looks at nothing is read
  answer(false);
  await turn();
  assert.deepEqual([gates.of('3A').may[0], gates.fresh('3A'), reads.length], ['first', false, 0]);
  later();
  await turn();
  assert.equal(reads.length, 1); // asked again
  gates.want(['3B']);
  answer(true, { may: ['late'] });
  await turn();
  assert.equal(gates.of('3A'), null);
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
    'Not in this phase of the job: it is “working”, and this takes “not started” or “stopped”.',
  );
  assert.equal(
    say('part-mismatch', { say: 'part-mismatch', family: 'k2' }),
    'The kit (none named) must match the nozzle (k2): do not fit it.',
  );
});

test('what the configuration says in two languages is said in the one of the page', () => {
  const document = speaking({
    title: 'Hose',
    titles: { en: 'Hose', es: 'Manguera' },
    checks: [
      { check: 'dry', ask: 'Dry', asks: { en: 'Dry', es: 'Seco' } },
      { check: 'plain', ask: 'Only so' },
    ],
  });
  try {
    assert.deepEqual([document.title, document.checks[0].ask], ['Hose', 'Dry']);
    setLanguage('es');
    assert.deepEqual([document.title, document.checks[0].ask], ['Manguera', 'Seco']);
    assert.equal(document.checks[1].ask, 'Only so');
    assert.equal({ ...document.checks[0] }.ask, 'Seco');
    // A refusal quotes the text of the site's first language alone.
    assert.deepEqual([inLanguage('Dry'), inLanguage('Unheard of')], ['Seco', 'Unheard of']);
    const args = { say: 'check-missing', check: 'dry', title: 'Dry' };
    assert.match(refusalSentence({ code: 'check-missing', say: '', args }), /Seco/);
  } finally {
    setLanguage('en');
  }
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
  assert.equal(wasSentence('point-live', 'Breaker P1/7'), 'Breaker P1/7 read LIVE.');
  assert.equal(wasSentence('point-live', undefined), null);
});

test('what an alarm names is so now, or only was', () => {
  const alarm = { why: 'point-live', point: 'p-1', state: 'acknowledged' };
  const reads = (state, trust = 'fresh') => ({ points: { 'p-1': { state, trust } }, alarms: {} });
  assert.equal(stillSo(reads('live'), alarm), true);
  assert.equal(stillSo(reads('isolated'), alarm), false);
  const stale = { ...alarm, why: 'point-stale' };
  assert.equal(stillSo(reads('isolated', 'stale'), stale), true);
  assert.equal(stillSo(reads('isolated'), stale), false);
  const link = { kind: 'link-down', state: 'unacknowledged' };
  const down = (state) => ({ points: {}, alarms: { a1: { ...link, state } } });
  assert.equal(stillSo(down('acknowledged'), { why: 'link-down' }), true);
  assert.equal(stillSo(down('returned-unacknowledged'), { why: 'link-down' }), false);
});

test('a stop is of the person who said so, or of the point that broke the lockout', () => {
  const event = (type, at, data) =>
    ({ type: `forelock.${type}`, time: at, data: { job: 'j-1', at, ...data } });
  const broke = event('lockout.broken', 't1', { why: 'point-live', point: 'p-1' });
  const stopped = event('work.stopped', 't1', { why: 'point-live', reason: 'It reads LIVE.' });
  const called = event('work.stopped', 't2', { by: 'm-1', reason: 'Smell of vapor' });
  const of = (...events) => stopsIn(events).get('j-1');
  assert.deepEqual(of(called, broke, stopped), { why: 'point-live', point: 'p-1', at: 't1' });
  assert.deepEqual(of(broke, stopped, called), { by: 'm-1', reason: 'Smell of vapor', at: 't2' });
  const later = event('work.stopped', 't3', { why: 'check-failed', reason: 'It is off.' });
  assert.deepEqual(of(broke, stopped, later), { why: 'check-failed', point: undefined, at: 't3' });
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

// What is typed, and the value that it is or what is said to write instead.
const TYPED = [
  ['-3', -3],
  ['1.25', 1.25],
  ['1,25', 1.25],
  ['12,5', 12.5],
  ['.5', 0.5],
  ['0', 0],
  ['-0', 0],
  ['007', 7],
  [' 45 ', 45],
  ['700000', 700000],
  ['1,2340', 1.234],
  ['8,500', /8500 .+ 8\.5\./],
  ['8.500', /8500 .+ 8\.5\./],
  ['700,000', /700000 .+ 700\./],
  ['1.234', /1234 .+ 1\.2340\./],
  ['-1,234', /-1234 .+ -1\.2340\./],
  ['0,125', /0\.1250\.$/],
  ['1,000,000', /8500 .+ 8\.5\./],
  ['1,234.5', /8500 .+ 8\.5\./],
  ['1 000', /8500 .+ 8\.5\./],
  ['1\u202f000', /8500 .+ 8\.5\./],
  ['1e3', /8500 .+ 8\.5\./],
  ['+3', /8500 .+ 8\.5\./],
  ['--3', /8500 .+ 8\.5\./],
  ['3-', /8500 .+ 8\.5\./],
  ['8.', /8500 .+ 8\.5\./],
  ['.', /8500 .+ 8\.5\./],
  ['-', /8500 .+ 8\.5\./],
  ['', /8500 .+ 8\.5\./],
  ['abc', /8500 .+ 8\.5\./],
  ['1½', /8500 .+ 8\.5\./],
  ['１２', /8500 .+ 8\.5\./],
  ['١٢', /8500 .+ 8\.5\./],
  ['0x10', /8500 .+ 8\.5\./],
  ['9'.repeat(400), /larger|mayor/],
];

test('a number is read in one way, or not at all, in both languages', () => {
  for (const language of ['en', 'es']) {
    setLanguage(language);
    for (const [typed, expected] of TYPED) {
      const { value, wrong } = numbers.readNumber(typed);
      if (typeof expected === 'number') assert.equal(value, expected, `${language} ${typed}`);
      else assert.match(wrong ?? `taken as ${value}`, expected, `${language} ${typed}`);
      assert.equal((value === undefined) !== (wrong === undefined), true);
    }
  }
  setLanguage('en');
});

test('what is typed is said as it is understood, and nothing before it is a number', () => {
  assert.deepEqual(numbers.understood('8500', 'gal'), { said: 'Understood: 8500 gal' });
  assert.deepEqual(numbers.understood('1,25', 'in WC'), { said: 'Understood: 1.25 inH2O' });
  assert.deepEqual(numbers.understood('-3', 'V'), { said: 'Understood: -3 V' });
  assert.match(numbers.understood('8,500', 'gal').wrong, /^This can be read in two ways. Write 8500/);
  for (const begun of ['', ' ', '-', '8.', '8,', '-.'])
    assert.deepEqual(numbers.understood(begun, 'gal'), {}, begun);
  assert.ok(numbers.understood('8..', 'gal').wrong);
});

test('numbers are shown with the digits that they are worth, and can be typed again', () => {
  const { shown, shownMargin } = numbers;
  assert.equal(shown(0.2), '0.2');
  assert.equal(shown(1000000), '1000000');
  assert.equal(shown(12345.678), '12345.678');
  assert.equal(shown(2 * Math.exp(-500.887 / 1000)), '1.2120');
  assert.equal(shown(1 / 3), '0.33333');
  assert.equal(shown(1234567 / 1.1), '1122334');
  assert.equal(shown(0.1 + 0.2), '0.3');
  assert.equal(shownMargin(1.25 - 2 * Math.exp(-500.887 / 1000)), '0.038');
  assert.equal(shownMargin(48.4 - 45), '3.4');
  assert.equal(shownMargin(0), '0');
  setLanguage('es');
  assert.equal(shown(1.25), '1.25');
  assert.equal(numbers.limitWords({ max: 1000000, unit: 'ohm' }), 'como máximo 1000000 Ω');
  setLanguage('en');
});

test('a result says value, limit, its direction, margin and unit in words', () => {
  const least = 2 * Math.exp(-500.887 / 1000);
  const of = (result) => numbers.resultWords({ min: null, max: null, margin: null, ...result });
  assert.equal(
    of({ value: 1.25, unit: 'in WC', min: least, margin: 1.25 - least }),
    '1.25 inH2O, at least 1.2120; margin 0.038',
  );
  assert.equal(of({ value: 12, unit: 'gpm', max: 10, margin: -2 }), '12 gpm, at most 10; margin -2');
  assert.equal(of({ value: 0.2, unit: 'V', min: -1, max: 1, margin: undefined }), '0.2 V, from -1 to 1; margin 0.8');
  assert.equal(of({ value: 1.5, unit: 'L' }), '1.5 L');
  assert.equal(of({ value: null, unit: 'V', max: 1 }), '');
});

test('a limit that is a number alone is told apart by its margin', () => {
  const words = (result, test = {}) => numbers.resultWords(numbers.testResult(result, test));
  const least = 2 * Math.exp(-500.887 / 1000);
  assert.equal(
    words({ value: 1.25, limit: least, margin: 1.25 - least }, { unit: 'in WC' }),
    '1.25 inH2O, at least 1.2120; margin 0.038',
  );
  assert.equal(words({ value: 1, limit: least, margin: 1 - least }), '1, at least 1.2120; margin -0.21');
  assert.equal(
    words({ value: 12, limit: 10, margin: -2 }, { unit: 'gpm', max: 10 }),
    '12 gpm, at most 10; margin -2',
  );
  assert.equal(words({ value: 10, limit: 10, margin: 0 }, { max: 10 }), '10, at most 10; margin 0');
  assert.equal(words({ value: 5, limit: 5, margin: 0 }, { min: 5 }), '5, at least 5; margin 0');
  assert.equal(words({ value: 5, limit: null, margin: null }), '5');
  assert.equal(
    words({ value: 1, limit: { min: 0.95, max: 1.15 }, margin: 0.05 }),
    '1, from 0.95 to 1.15; margin 0.05',
  );
});

test('the form of a test says the limits that hold for it, with their unit', () => {
  const hint = (test) =>
    formOf(
      { equipment: { instruments: [], positions: [], procedures: [] } },
      { form: 'test', test: { test: 'one', title: 'One', readings: [], instrument: null, ...test } },
    ).hint;
  assert.equal(hint({ rule: 'flow-rate', max: 10, unit: 'gpm' }), 'Limits: at most 10 gpm.');
  const moves = { rule: 'new', unit: 'in WC', limits_move: true, formula: 'a <= b' };
  assert.equal(hint(moves), 'Its limit follows from the readings: a <= b.');
  assert.match(hint({ ...moves, min: 1.5 }), /^Limits: at least 1.5 inH2O. .+ the stricter holds.$/);
});

test('a reading outside the method is refused with its unit, or without where it has none', () => {
  const say = (args) =>
    refusalSentence({ code: 'reading-not-valid', args: { say: 'reading-not-valid', ...args } });
  assert.equal(
    say({ reading: 'liquid_gal', value: 3, min: 4.5, max: 5, unit: 'gal' }),
    'Liquid dispensed: 3 gal read, and the method holds for 4.5 to 5 gal. Measure again within it.',
  );
  assert.equal(
    say({ reading: 'meter_factor', value: 1.2, min: 0.9, max: 1.1 }),
    'Factor of the vapor meter: 1.2 read, and the method holds for 0.9 to 1.1. Measure again within it.',
  );
});

test('a limit that must be exceeded is not called a least value', () => {
  const test = { unit: 'in WC', min: 1.77, max: null, exceeds: true };
  assert.equal(numbers.limitWords(test), 'more than 1.77 inH2O');
  const words = numbers.resultWords(numbers.testResult({ value: 1.77, limit: 1.77, margin: 0 }, test));
  assert.equal(words, '1.77 inH2O, more than 1.77; margin 0');
});

test('locks that come off when the work is over are told as that', () => {
  const event = (type, more) => ({ type: `forelock.${type}`, data: { job: 'J-1', ...more } });
  const ctx = { equipment: null, procedures: new Map() };
  const off = event('crew.unprotected', { person: 't-1' });
  const said = (...before) => sentenceOf(ctx, off, before.map((type) => event(type)));
  assert.equal(said('work.finished', 'work.started'), 'The locks of t-1 are off');
  assert.equal(said('work.started'), 't-1 is NOT protected');
  assert.equal(said('work.reopened', 'test.begun'), 't-1 is NOT protected');
  assert.equal(said(), 't-1 is NOT protected');
});
