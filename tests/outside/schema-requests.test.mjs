// The schema of requests against the daemon that takes them: a body is `malformed` to the one exactly when it is
// to the other, and both know the same verbs and fields. A stop is never refused for its form: of one only what it
// cannot be without need be as the schema says.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { test } from 'node:test';
import { schemas, wrongBy } from './harness/schemas.mjs';
import { scenario, VERBS_JSON } from './harness/world.mjs';

const VERBS = Object.keys(schemas.request.$defs);

// A body of a verb in which every field stands, by the kinds of its schema.
const SAMPLES = {
  id: 'x-1',
  asked: new Date().toISOString(),
  state: 'live',
  value: 1.5,
  unit: 'V',
  readings: { pass: true, value: 2, system: 'balance' },
  data: { order: 7 },
  attest: { not_on_site: true, contact_tried: true, will_be_told: true },
};
const SOME_SPILL = 'some-spill';
const bodyOf = (verb) =>
  Object.fromEntries(
    Object.keys(schemas.request.$defs[verb].properties)
      .filter((name) => verb !== 'lift-absent-tag' || name !== 'badge')
      .map((name) => [name, SAMPLES[name] ?? `some-${name.replace('_', '-')}`]),
  );

const WRONG = [null, {}, [], '', ' ', 'x'.repeat(501), 'x'.repeat(65), 'ä/ö', 7, true, [{ a: 1 }]];

function* variants(verb) {
  const whole = bodyOf(verb);
  yield whole;
  for (const name of Object.keys(whole)) {
    if (name === 'id') continue; // asked anew each time
    const less = { ...whole };
    delete less[name];
    if (name !== 'asked') yield less; // which over HTTP need not be there
    for (const value of WRONG)
      if (name !== 'asked' || value !== null) yield { ...whole, [name]: value };
  }
  for (const readings of [{ a: null }, { a: [1] }, { a: {} }, { a: 'x'.repeat(40) }, { '': 1 }])
    if ('readings' in whole) yield { ...whole, readings };
  for (const attest of [{ not_on_site: null }, { not_on_site: 1 }, { unheard_of: 7 }, { unheard_of: null }])
    if ('attest' in whole) yield { ...whole, attest };
  yield { ...whole, unheard_of: 1 };
  yield { ...whole, unheard_of: null };
  if (verb === 'witness-point') yield { ...whole, state: 'isolated', unheard_of: 1 };
  if (verb === 'lift-absent-tag') yield { ...whole, badge: '0451' };
}

let number = 0;

// A spill that is not reported: each is reported once.
async function spillOf(w) {
  const spill = { position: '3A', product: 'regular', quantity: 1, unit: 'gal' };
  return (await w.ok('s-2', 'record-spill', spill)).result.spill;
}

async function isMalformed(w, verb, body) {
  const asked = 'id' in body ? { ...body, id: `r-${(number += 1)}` } : body;
  if (asked.spill === SOME_SPILL) asked.spill = await spillOf(w);
  const answer = await w.seen.request('s-2', verb, asked);
  return answer.accepted ? false : answer.refusals.some((r) => r.code === 'malformed');
}

// What ends or stops, by its body alone.
const isStop = (verb, body) =>
  ['stop-work', 'lift-tag'].includes(verb) || (verb === 'witness-point' && body.state === 'live');

// What of a body is wrong by the schema, and not to be left out of it.
function refusedBy(verb, body) {
  const wrong = wrongBy(`request#${verb}`, body);
  if (!isStop(verb, body)) return wrong;
  const needed = schemas.request.$defs[verb].required;
  const less = Object.fromEntries(Object.entries(body).filter(([name]) => needed.includes(name)));
  return wrongBy(`request#${verb}`, less);
}

scenario('a body is malformed to the daemon exactly when it is to the schema', {}, async (w) => {
  for (const verb of VERBS)
    for (const body of variants(verb)) {
      const wrong = refusedBy(verb, body);
      assert.equal(
        await isMalformed(w, verb, body),
        wrong.length > 0,
        `${verb} ${JSON.stringify(body).slice(0, 300)}: the schema says ${JSON.stringify(wrong)}`,
      );
    }
});

scenario('an id of a request has 1 to 64 characters', {}, async (w) => {
  for (const id of ['a', 'ä'.repeat(64), null, '', 'x'.repeat(65), 7, {}]) {
    const body = { id, job: 'J-9' };
    const answer = await w.seen.request('t-104', 'join-job', body);
    assert.equal(
      answer.refusals.some((r) => r.code === 'malformed'),
      wrongBy('request#join-job', body).length > 0,
      JSON.stringify(id),
    );
  }
});

// The rows of the daemon's verbs, as its own program prints them.
const ROWS = JSON.parse(execFileSync(VERBS_JSON));

test('the verbs and fields of the schema are those of the rows', () => {
  assert.deepEqual(
    VERBS,
    ROWS.map((row) => row.verb),
  );
  for (const { verb, fields } of ROWS)
    assert.deepEqual(
      Object.keys(schemas.request.$defs[verb].properties),
      ['id', 'asked', ...fields.map((field) => field.name)],
      verb,
    );
});
